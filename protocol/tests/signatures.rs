//! A record's signature: who vouches for it cannot be exchanged, moved to another record or named otherwise unseen.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod written;

use conewright_protocol::record::{
    KeyError, PublicKey, Record, SecretKey, Signature, SignatureError, Verified, check_name,
    sign_end, verify,
};
use metrology::setup::Setup;
use serde_json::Value;

/// The key of RFC 8032, section 7.1, TEST 1.
const SECRET: &str = "ed25519:9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60";
const PUBLIC: &str = "ed25519:d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a";

fn key() -> SecretKey {
    SecretKey::parse(SECRET).unwrap()
}

fn record(name: &str) -> Record {
    written::record(name, Setup::default(), Vec::new())
}

fn signed(name: &str, by: &str) -> Record {
    let record = record(name);
    Record {
        signature: Some(key().sign(by, &record.seal())),
        ..record
    }
}

fn why(text: &str) -> SignatureError {
    match verify(text) {
        Ok(Verified::NotSigned { why, .. }) => why,
        other => panic!("a signature that does not hold, not {other:?}"),
    }
}

#[test]
fn keys_and_signatures_are_those_of_the_standard() {
    assert_eq!(key().public().to_string(), PUBLIC);
    assert_eq!(key().text(), SECRET);
    // Made with OpenSSL 3.0, `openssl pkeyutl -sign -rawin`, over the three lines that the published schema names.
    let seal = format!("sha256:{:064}", 0);
    let signature = key().sign("Toolroom", &seal);
    assert_eq!(
        signature.signature,
        "2dd7d855a8852d150e29206a4197d3db75c6b1b7e7483a0de2ca92f4fbf3ac02cac5b7bfad1407d787c0a1c67f48826fe26dfd3fc1836838d0971bc12d195204"
    );
    // `sha256sum` of the key's 32 bytes.
    assert_eq!(
        key().public().fingerprint(),
        "21fe 31df a154 a261 626b f854 046f d227"
    );
    assert!(signature.check(&seal).is_ok());
}

#[test]
fn a_signed_record_says_by_whom_and_keeps_its_seal() {
    let bare = record("spindle 7").write();
    let text = signed("spindle 7", "Toolroom").write();
    let Ok(Verified::Agrees {
        signed: Some(by), ..
    }) = verify(&text)
    else {
        panic!("{:?}", verify(&text))
    };
    assert_eq!((by.by.as_str(), by.key), ("Toolroom", key().public()));
    let seal = |text: &str| Record::read(text).unwrap().digest;
    assert_eq!(seal(&bare), seal(&text));
    assert_eq!(Record::read(&text).unwrap().write(), text, "written again");
    // Laid out anew it holds too.
    let squeezed: String = text.split('\n').map(str::trim_start).collect();
    assert!(matches!(
        verify(&squeezed),
        Ok(Verified::Agrees {
            signed: Some(_),
            ..
        })
    ));
}

/// What is written as it comes gets its signature at the end, with the same bytes.
#[test]
fn a_record_is_signed_at_its_end_as_in_one_piece() {
    for by in ["Toolroom", "digest", "a \"digest\": \"b\" & Söhne", "\\"] {
        let whole = signed("spindle 7", by).write();
        let bare = record("spindle 7").write();
        for from in [0, bare.rfind("\"digest\"").unwrap()] {
            let (before, end) = bare.split_at(from);
            let end = sign_end(end, |seal| key().sign(by, seal)).unwrap();
            assert_eq!(format!("{before}{end}"), whole);
        }
        let Ok(Verified::Agrees {
            signed: Some(signed),
            ..
        }) = verify(&whole)
        else {
            panic!("{by}: {:?}", verify(&whole))
        };
        assert_eq!(signed.by, by);
    }
    for no_end in [
        "",
        "}",
        "\"digest\"",
        "\"digest\": \"sha256:00",
        "\"digest\": ",
    ] {
        assert_eq!(
            sign_end(no_end, |seal| key().sign("Toolroom", seal)),
            None,
            "{no_end}"
        );
    }
}

#[test]
fn every_character_of_a_signature_that_is_changed_is_noticed() {
    let text = signed("spindle 7", "Toolroom").write();
    let from = text.rfind("\"signature\": {").unwrap();
    let record = Record::read(&text).unwrap();
    let mut changed = 0;
    for (at, is) in text.bytes().enumerate().skip(from) {
        for to in [is ^ 1, is ^ 0x20] {
            let mut bytes = text.clone().into_bytes();
            bytes[at] = to;
            let Ok(other) = String::from_utf8(bytes) else {
                continue;
            };
            // White space between tokens says nothing; neither does a field that is not known.
            if Record::read(&other).is_ok_and(|read| read == record) {
                continue;
            }
            changed += 1;
            match verify(&other) {
                // Without its signature, or with its key misspelt, a record is as if nobody had signed it.
                Ok(Verified::Agrees { signed: None, .. }) => {
                    assert_eq!(Record::read(&other).unwrap().signature, None, "byte {at}");
                }
                Ok(Verified::Agrees { signed, .. }) => panic!("byte {at} unnoticed: {signed:?}"),
                _ => {}
            }
        }
    }
    assert!(changed > 400, "{changed}");
}

#[test]
fn a_signature_is_for_its_record_its_name_and_its_key() {
    let with = |change: &dyn Fn(&mut Signature)| {
        let mut record = signed("spindle 7", "Toolroom");
        change(record.signature.as_mut().unwrap());
        why(&record.write())
    };
    assert_eq!(with(&|s| s.by = "Tool room".into()), SignatureError::Wrong);
    let other = SecretKey::of_seed(&[7; 32]);
    assert_eq!(
        with(&|s| s.key = other.public().to_string()),
        SignatureError::Wrong
    );
    assert_eq!(
        with(&|s| s.key.truncate(40)),
        SignatureError::Key(KeyError::Form)
    );
    assert_eq!(with(&|s| s.signature.truncate(126)), SignatureError::Form);
    assert_eq!(
        with(&|s| s.signature = s.signature.to_uppercase()),
        SignatureError::Form
    );
    assert!(matches!(
        with(&|s| s.by.push('\n')),
        SignatureError::Name(_)
    ));
    // Moved to another record.
    let moved = Record {
        signature: signed("spindle 7", "Toolroom").signature,
        ..record("spindle 8")
    };
    assert_eq!(why(&moved.write()), SignatureError::Wrong);
    // Changed and sealed anew by somebody who has not the key.
    let mut forged = signed("spindle 7", "Toolroom");
    forged.session.name = "spindle 9".into();
    assert_eq!(why(&forged.write()), SignatureError::Wrong);
    // The seal is looked at first.
    let text = signed("spindle 7", "Toolroom")
        .write()
        .replacen("spindle 7", "spindle 9", 1);
    assert!(matches!(verify(&text), Ok(Verified::Differs(_))));
}

/// With the neutral point as the key one signature fits every text; the strict rule of the library refuses it, and so do we.
#[test]
fn a_key_that_fits_everything_is_none() {
    let neutral = format!("ed25519:01{:062}", 0);
    assert_eq!(PublicKey::parse(&neutral), Err(KeyError::NoKey));
    for text in [
        "",
        "ed25519:",
        "d75a98",
        "rsa:00",
        &PUBLIC.to_uppercase(),
        &PUBLIC.replace("d7", "é"),
    ] {
        assert_eq!(PublicKey::parse(text), Err(KeyError::Form), "{text}");
    }
}

#[test]
fn a_name_is_one_line_that_fits_on_a_page() {
    let longest = "ü".repeat(80);
    for name in ["T", "Toolroom 2", &longest] {
        assert!(check_name(name).is_ok(), "{name}");
    }
    let too_long = "ü".repeat(81);
    for name in ["", " ", " T", "T ", "a\nb", "a\u{1b}[0m", &too_long] {
        assert!(check_name(name).is_err(), "{name:?}");
    }
}

#[test]
fn a_signed_record_keeps_to_its_published_schema() {
    let wrong = [
        ("/signature/by", Value::from("")),
        ("/signature/key", Value::from("ed25519:00")),
        ("/signature/signature", Value::from("00")),
    ];
    written::keeps_to_the_schema(signed("spindle 7", "Toolroom"), &wrong);
}

/// Nothing that is printed of a key, in a log or a panic, gives its private half away.
#[test]
fn a_private_key_is_never_shown() {
    let digits = SECRET.strip_prefix("ed25519:").unwrap();
    assert!(!format!("{:?}", key()).contains(digits));
    assert!(format!("{:?}", key()).contains(PUBLIC));
}
