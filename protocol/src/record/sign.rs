//! Signatures of records: who vouches for one, with a key of the shop.
//!
//! The seal says that a record is as it was written; it does not say by whom, since anybody can seal anew what he changed. A
//! signature is over the seal and over the name of who signs, so that neither can be exchanged. It stands behind the seal, so that
//! the same record has the same seal with a signature and without one.
//!
//! The kind of signature is Ed25519 (RFC 8032).

use ed25519_dalek::{Signer, SigningKey, VerifyingKey};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fmt;

/// What a key's text begins with: the kind of key, so that another kind can be told from it later.
const KIND: &str = "ed25519:";
/// A signature of this program is for nothing else: it never fits what another program lets a user sign.
const PURPOSE: &str = "conewright record signature 1";
/// The longest name, in characters: it must fit on a page.
pub const LONGEST_NAME: usize = 80;

/// Why a text is not a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum KeyError {
    /// Another form.
    #[error("a key is written as `{KIND}` and 64 hexadecimal digits")]
    Form,
    /// The form is right, and there is no such public key.
    #[error("these 64 digits are not a public key of Ed25519")]
    NoKey,
}

/// Why a name is not one that can sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error(
    "a name has 1 to {LONGEST_NAME} characters, no control characters, and no blanks at its ends"
)]
pub struct NameError;

/// Why a signature does not hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SignatureError {
    /// The name of who signed.
    #[error("its name cannot be one: {0}")]
    Name(#[from] NameError),
    /// The public key.
    #[error("its key cannot be read: {0}")]
    Key(#[from] KeyError),
    /// The signature is no 128 hexadecimal digits.
    #[error("a signature is 128 hexadecimal digits, and this is not")]
    Form,
    /// It was not made with this key, under this name, for this seal.
    #[error("the key did not sign this record under this name")]
    Wrong,
}

/// A signature as a record has it, behind its seal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Signature {
    /// The name of who signed, as that shop wrote it.
    pub by: String,
    /// The public key: `ed25519:` and 64 hex digits.
    pub key: String,
    /// 128 hex digits.
    pub signature: String,
}

/// Who signed, after the signature was found to hold. Whether that key is the one of the shop with that name, only those can say
/// who know its key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signed {
    /// The name.
    pub by: String,
    /// The key.
    pub key: PublicKey,
}

/// The half of a key that everybody may have.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct PublicKey(VerifyingKey);

/// The half of a key that only its owner has. It is wiped from the memory when it is dropped, and it is never shown.
#[derive(Clone)]
pub struct SecretKey(SigningKey);

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn unhex<const N: usize>(text: &str) -> Option<[u8; N]> {
    // Small letters only: there is one way to write a key.
    let is_digit = |digit: u8| matches!(digit, b'0'..=b'9' | b'a'..=b'f');
    if text.len() != 2 * N || !text.bytes().all(is_digit) {
        return None;
    }
    let mut bytes = [0; N];
    for (at, byte) in bytes.iter_mut().enumerate() {
        *byte = u8::from_str_radix(&text[2 * at..2 * at + 2], 16).ok()?;
    }
    Some(bytes)
}

fn key_bytes(text: &str) -> Result<[u8; 32], KeyError> {
    text.strip_prefix(KIND)
        .and_then(unhex)
        .ok_or(KeyError::Form)
}

/// Whether a name can sign.
///
/// # Errors
/// [`NameError`] when it is empty, longer than [`LONGEST_NAME`], or not one line of text.
pub fn check_name(name: &str) -> Result<(), NameError> {
    let length = name.chars().count();
    let well = (1..=LONGEST_NAME).contains(&length)
        && name.trim() == name
        && !name.chars().any(char::is_control);
    if well { Ok(()) } else { Err(NameError) }
}

/// What is signed. The seal is of a fixed form and stands at the end, so that no two pairs of name and seal are the same text.
fn message(name: &str, seal: &str) -> Vec<u8> {
    format!("{PURPOSE}\n{name}\n{seal}\n").into_bytes()
}

impl PublicKey {
    /// Reads `ed25519:` and 64 hex digits.
    ///
    /// # Errors
    /// [`KeyError`] when the text has another form, or there is no such key.
    pub fn parse(text: &str) -> Result<Self, KeyError> {
        let key = VerifyingKey::from_bytes(&key_bytes(text)?).map_err(|_| KeyError::NoKey)?;
        // With a key of small order a signature can be made that fits any text.
        if key.is_weak() {
            return Err(KeyError::NoKey);
        }
        Ok(Self(key))
    }

    /// What people compare: the first half of the key's SHA-256, as eight groups of four digits.
    #[must_use]
    pub fn fingerprint(&self) -> String {
        let digest = hex(&Sha256::digest(self.0.as_bytes()));
        let groups: Vec<&str> = (0..8).map(|at| &digest[4 * at..4 * at + 4]).collect();
        groups.join(" ")
    }
}

impl fmt::Display for PublicKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{KIND}{}", hex(self.0.as_bytes()))
    }
}

impl fmt::Debug for PublicKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl SecretKey {
    /// The key of 32 random bytes. They must come from the system's source of randomness.
    #[must_use]
    pub fn of_seed(seed: &[u8; 32]) -> Self {
        Self(SigningKey::from_bytes(seed))
    }

    /// Reads what [`SecretKey::text`] wrote.
    ///
    /// # Errors
    /// [`KeyError::Form`].
    pub fn parse(text: &str) -> Result<Self, KeyError> {
        Ok(Self::of_seed(&key_bytes(text)?))
    }

    /// The key as text, for the file of its owner.
    #[must_use]
    pub fn text(&self) -> String {
        format!("{KIND}{}", hex(self.0.as_bytes()))
    }

    /// Its public half.
    #[must_use]
    pub fn public(&self) -> PublicKey {
        PublicKey(self.0.verifying_key())
    }

    /// Signs the record of a seal under a name.
    #[must_use]
    pub fn sign(&self, name: &str, seal: &str) -> Signature {
        Signature {
            by: name.to_owned(),
            key: self.public().to_string(),
            signature: hex(&self.0.sign(&message(name, seal)).to_bytes()),
        }
    }
}

impl fmt::Debug for SecretKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "SecretKey of {}", self.public())
    }
}

impl Signature {
    /// Whether it is a signature for a seal, and whose.
    ///
    /// # Errors
    /// [`SignatureError`] when a part of it cannot be read, or the key did not make it for this seal under this name.
    pub fn check(&self, seal: &str) -> Result<Signed, SignatureError> {
        check_name(&self.by)?;
        let key = PublicKey::parse(&self.key)?;
        let bytes = unhex(&self.signature).ok_or(SignatureError::Form)?;
        let signature = ed25519_dalek::Signature::from_bytes(&bytes);
        key.0
            .verify_strict(&message(&self.by, seal), &signature)
            .map_err(|_| SignatureError::Wrong)?;
        Ok(Signed {
            by: self.by.clone(),
            key,
        })
    }
}
