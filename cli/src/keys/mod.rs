//! The keys that sign records, as files: the private one of this shop, and the public ones that are known.

mod fault;

pub use fault::KeyFault;

use config::Config;
use protocol::record::{PublicKey, SecretKey, Signature, Signed, check_name};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use std::ffi::OsStr;
use std::fs::{self, DirBuilder, File, Metadata, OpenOptions};
use std::io::{self, ErrorKind, Read, Write};
use std::os::unix::fs::{DirBuilderExt, MetadataExt, OpenOptionsExt};
use std::path::{Path, PathBuf};

/// The directory of the keys, beside the configuration.
const DIRECTORY: &str = "keys";
/// The private key in it.
const PRIVATE: &str = "private.json";
/// The directory of the known keys in it.
const KNOWN: &str = "known";
/// A larger file is no key.
const MAX_BYTES: u64 = 64 * 1024;
/// Rights of the group and of others, and among these the right to write.
const OTHERS: u32 = 0o077;
const OTHERS_WRITE: u32 = 0o022;

/// Where the keys lie.
#[derive(Debug, Clone)]
pub struct Keys {
    private: PathBuf,
    known: PathBuf,
}

/// What signs records.
#[derive(Debug, Clone)]
pub struct Signer {
    /// The name under which it signs.
    pub name: String,
    key: SecretKey,
}

/// A public key whose owner is known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Known {
    /// Whose it is.
    pub name: String,
    /// The key.
    pub key: PublicKey,
    /// The file that says so.
    pub file: PathBuf,
}

/// What is known of who signed a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing {
    /// The key is known, by this name.
    Known(String),
    /// Neither the key nor its name is known.
    Unknown,
    /// A key of that name is known, and it is another one.
    OtherKey(PathBuf),
}

/// The file of a private key.
#[derive(Serialize, Deserialize)]
struct PrivateFile {
    about: String,
    name: String,
    private: String,
}

/// The file of a public key.
#[derive(Serialize, Deserialize)]
struct PublicFile {
    name: String,
    public: String,
    #[serde(default)]
    fingerprint: String,
}

impl Keys {
    /// The places of `[sign]`, or else the usual ones beside the configuration that was named, or that is searched for.
    ///
    /// # Errors
    /// [`KeyFault::NoPlace`] without a home.
    pub fn of(named: Option<&OsStr>, config: &Config) -> Result<Self, KeyFault> {
        let environment = |name: &str| std::env::var_os(name);
        let named = named.filter(|named| !named.is_empty()).map(Path::new);
        let file = Config::find(named, &environment).or_else(|| Config::usual_place(&environment));
        let beside = || {
            let file = file.as_deref().ok_or(KeyFault::NoPlace)?;
            let folder = file.parent().unwrap_or(Path::new(""));
            Ok(folder.join(DIRECTORY))
        };
        let place = |stated: &Option<PathBuf>, usual: &str| match stated {
            Some(stated) => Ok(stated.clone()),
            None => Ok(beside()?.join(usual)),
        };
        Ok(Self {
            private: place(&config.sign.key, PRIVATE)?,
            known: place(&config.sign.known, KNOWN)?,
        })
    }

    /// Makes a key of random numbers; its public half is known from then on.
    ///
    /// # Errors
    /// [`KeyFault`]: the name cannot sign, there is a key already, or the files cannot be written.
    pub fn make(&self, name: &str) -> Result<(PathBuf, Known), KeyFault> {
        check_name(name).map_err(|source| KeyFault::Name {
            name: name.to_owned(),
            source,
        })?;
        let mut seed = [0; 32];
        let got = rustix::rand::getrandom(&mut seed[..], rustix::rand::GetRandomFlags::empty());
        let got = got.map_err(|error| KeyFault::NoRandomness(error.into()))?;
        if got != seed.len() {
            return Err(KeyFault::NoRandomness(ErrorKind::UnexpectedEof.into()));
        }
        let key = SecretKey::of_seed(&seed);
        let content = PrivateFile {
            about: format!(
                "Private: whoever has this file can sign records as {name}. Keep a copy in a safe place."
            ),
            name: name.to_owned(),
            private: key.text(),
        };
        write_new(&self.private, 0o600, &content).map_err(|fault| match fault {
            KeyFault::System { path, source, .. } if source.kind() == ErrorKind::AlreadyExists => {
                KeyFault::Already { path }
            }
            fault => fault,
        })?;
        match self.add(name, key.public()) {
            Ok(known) => Ok((self.private.clone(), known)),
            Err(fault) => {
                // Without its public half nobody knows the key: so that the same command works when the reason is gone.
                let _ = fs::remove_file(&self.private);
                Err(fault)
            }
        }
    }

    /// What signs.
    ///
    /// # Errors
    /// [`KeyFault`]: there is no private key, others may read it, or it is none.
    pub fn signer(&self) -> Result<Signer, KeyFault> {
        let path = &self.private;
        let (metadata, text) = match read(path) {
            Err(KeyFault::System { source, .. }) if source.kind() == ErrorKind::NotFound => {
                return Err(KeyFault::NoPrivate { path: path.clone() });
            }
            read => read?,
        };
        let user = rustix::process::getuid().as_raw();
        if metadata.uid() != user {
            return Err(KeyFault::Foreign {
                path: path.clone(),
                owner: metadata.uid(),
            });
        }
        let mode = metadata.mode() & 0o7777;
        if mode & OTHERS != 0 {
            return Err(KeyFault::Open {
                path: path.clone(),
                mode,
            });
        }
        let file: PrivateFile = parsed(path, "private", &text)?;
        named_well(path, "private", &file.name)?;
        let key = SecretKey::parse(&file.private).map_err(|source| KeyFault::Key {
            path: path.clone(),
            source,
        })?;
        Ok(Signer {
            name: file.name,
            key,
        })
    }

    /// The keys that are known, by name.
    ///
    /// # Errors
    /// [`KeyFault`]: others may write there, or a file is no key.
    pub fn known(&self) -> Result<Vec<Known>, KeyFault> {
        let entries = match fs::read_dir(&self.known) {
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
            entries => entries.map_err(|source| system(&self.known, "read", source))?,
        };
        let metadata = fs::metadata(&self.known);
        let metadata = metadata.map_err(|source| system(&self.known, "read", source))?;
        nobody_else_writes(&self.known, &metadata)?;
        let mut known = Vec::new();
        for entry in entries {
            let path = entry
                .map_err(|source| system(&self.known, "read", source))?
                .path();
            if path.extension().is_some_and(|ending| ending == "json") {
                known.push(public_file(&path, true)?);
            }
        }
        known.sort_by(|a, b| (&a.name, &a.file).cmp(&(&b.name, &b.file)));
        Ok(known)
    }

    /// Knows the key of a file from now on; false when it was known before.
    ///
    /// # Errors
    /// [`KeyFault`]: the file is no public key, or its name or key is known otherwise.
    pub fn trust(&self, file: &Path) -> Result<(Known, bool), KeyFault> {
        let given = public_file(file, false)?;
        for known in self.known()? {
            let (same_key, same_name) = (known.key == given.key, alike(&known.name, &given.name));
            match (same_key, same_name) {
                (true, true) => return Ok((known, false)),
                (true, false) => {
                    return Err(KeyFault::OtherName {
                        known: known.name,
                        path: known.file,
                    });
                }
                (false, true) => {
                    return Err(KeyFault::OtherKey {
                        name: known.name,
                        path: known.file,
                    });
                }
                (false, false) => {}
            }
        }
        Ok((self.add(&given.name, given.key)?, true))
    }

    fn add(&self, name: &str, key: PublicKey) -> Result<Known, KeyFault> {
        let fingerprint = key.fingerprint();
        // Half of it tells files apart.
        let digits: String = fingerprint.split(' ').take(4).collect();
        let file = self.known.join(format!("{digits}.json"));
        let content = PublicFile {
            name: name.to_owned(),
            public: key.to_string(),
            fingerprint,
        };
        write_new(&file, 0o644, &content)?;
        Ok(Known {
            name: name.to_owned(),
            key,
            file,
        })
    }

    /// What is known of who signed.
    ///
    /// # Errors
    /// Those of [`Keys::known`].
    pub fn standing(&self, signed: &Signed) -> Result<Standing, KeyFault> {
        let known = self.known()?;
        if let Some(of) = known.iter().find(|known| known.key == signed.key) {
            return Ok(Standing::Known(of.name.clone()));
        }
        let other = known
            .into_iter()
            .find(|known| alike(&known.name, &signed.by));
        Ok(other.map_or(Standing::Unknown, |known| Standing::OtherKey(known.file)))
    }
}

impl Signer {
    /// The public half of its key.
    #[must_use]
    pub fn key(&self) -> PublicKey {
        self.key.public()
    }

    /// Signs a record by its seal.
    #[must_use]
    pub fn sign(&self, seal: &str) -> Signature {
        self.key.sign(&self.name, seal)
    }
}

/// Whether people take one name for the other: blanks and capitals tell nobody apart.
fn alike(a: &str, b: &str) -> bool {
    let plain = |name: &str| -> String {
        let seen = name.chars().filter(|c| c.is_alphanumeric());
        seen.flat_map(char::to_lowercase).collect()
    };
    a == b || (!plain(a).is_empty() && plain(a) == plain(b))
}

fn named_well(path: &Path, half: &'static str, name: &str) -> Result<(), KeyFault> {
    check_name(name).map_err(|error| KeyFault::NoKeyFile {
        path: path.to_owned(),
        half,
        why: error.to_string(),
    })
}

fn system(path: &Path, doing: &'static str, source: io::Error) -> KeyFault {
    KeyFault::System {
        path: path.to_owned(),
        doing,
        source,
    }
}

/// Neither the group nor others, and its owner is the user or root.
fn nobody_else_writes(path: &Path, metadata: &Metadata) -> Result<(), KeyFault> {
    let (mode, owner) = (metadata.mode() & 0o7777, metadata.uid());
    if ![rustix::process::getuid().as_raw(), 0].contains(&owner) {
        return Err(KeyFault::Foreign {
            path: path.to_owned(),
            owner,
        });
    }
    if mode & OTHERS_WRITE != 0 {
        return Err(KeyFault::OthersWrite {
            path: path.to_owned(),
            mode,
        });
    }
    Ok(())
}

/// The metadata are those of the file that is read, and not of one that is put in its place meanwhile.
fn read(path: &Path) -> Result<(Metadata, String), KeyFault> {
    let read = || {
        let file = File::open(path)?;
        let metadata = file.metadata()?;
        let mut text = String::new();
        file.take(MAX_BYTES).read_to_string(&mut text)?;
        Ok((metadata, text))
    };
    read().map_err(|source| system(path, "read", source))
}

fn parsed<T: DeserializeOwned>(path: &Path, half: &'static str, text: &str) -> Result<T, KeyFault> {
    serde_json::from_str(text).map_err(|error| KeyFault::NoKeyFile {
        path: path.to_owned(),
        half,
        why: error.to_string(),
    })
}

/// Reads a public key; where it says whom to trust, nobody else may write it.
fn public_file(path: &Path, says_whom: bool) -> Result<Known, KeyFault> {
    let (metadata, text) = read(path)?;
    if says_whom {
        nobody_else_writes(path, &metadata)?;
    }
    let file: PublicFile = parsed(path, "public", &text)?;
    named_well(path, "public", &file.name)?;
    let key = PublicKey::parse(&file.public).map_err(|source| KeyFault::Key {
        path: path.to_owned(),
        source,
    })?;
    Ok(Known {
        name: file.name,
        key,
        file: path.to_owned(),
    })
}

/// Writes a file that must not be there, whose directory is made when it is missing.
fn write_new(path: &Path, mode: u32, content: &impl Serialize) -> Result<(), KeyFault> {
    let folder = path.parent().unwrap_or(Path::new(""));
    let made = DirBuilder::new().recursive(true).mode(0o700).create(folder);
    made.map_err(|source| system(folder, "made", source))?;
    let write = || {
        let mut text = serde_json::to_string_pretty(content)?;
        text.push('\n');
        let mut options = OpenOptions::new();
        let mut file = options.write(true).create_new(true).mode(mode).open(path)?;
        let written = file.write_all(text.as_bytes());
        let written = written.and_then(|()| file.sync_all());
        if written.is_err() {
            // Half a key is none, and would stand in the way of the next try.
            let _ = fs::remove_file(path);
        }
        written
    };
    write().map_err(|source: io::Error| system(path, "written", source))
}
