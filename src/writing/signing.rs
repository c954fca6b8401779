//! Signatures under releases: made by `ssh-keygen -Y sign`, which asks the key file, the agent or the security key itself. No
//! secret passes through here, and nothing of the ledger's folder is read or written by it.

use std::ffi::OsStr;
use std::io;
use std::path::Path;
use std::process::{Command, Stdio};

use crate::language::public_key::PublicKey;
use crate::ledger::seal::{NAMESPACE, lines_of};

/// Why nothing was signed.
#[derive(Debug, thiserror::Error)]
pub(crate) enum SigningError {
    /// There is no such program.
    #[error(
        "`ssh-keygen` cannot be started ({0}): install OpenSSH 8.2 or newer, or put it on the PATH; nothing was written"
    )]
    NoProgram(io::Error),
    /// It did not sign.
    #[error(
        "`ssh-keygen` did not sign with `{0}`: it says why above; see that the key's file can be read, or that `ssh-add -l` lists it, and that a security key is plugged in and touched; nothing was written"
    )]
    Refused(String),
    /// It wrote something else.
    #[error("what `ssh-keygen` wrote is no signature; nothing was written")]
    Strange,
    /// The text could not be handed over.
    #[error("no file can be made for the text to be signed: {0}; nothing was written")]
    NoRoom(io::Error),
}

/// The key to sign with.
pub(crate) enum SigningKey<'k> {
    /// In this file, or the public half of one that an agent or a security key holds.
    File(&'k Path),
    /// The public half of a key that the agent holds.
    Agent(&'k PublicKey),
}

/// Signs a text; gives the lines of the signature.
pub(crate) fn sign(text: &str, key: &SigningKey) -> Result<Vec<String>, SigningError> {
    // A folder of its own, open to nobody else, which goes when this is done.
    let folder = tempfile::tempdir().map_err(SigningError::NoRoom)?;
    let file = folder.path().join("release.txt");
    std::fs::write(&file, text).map_err(SigningError::NoRoom)?;
    let public = folder.path().join("key.pub");
    let (key, called) = match key {
        SigningKey::File(path) => (path.as_os_str(), path.to_string_lossy().into_owned()),
        SigningKey::Agent(key) => {
            std::fs::write(&public, format!("{}\n", key.line())).map_err(SigningError::NoRoom)?;
            (public.as_os_str(), key.fingerprint())
        }
    };
    let status = command(key, file.as_os_str()).status().map_err(SigningError::NoProgram)?;
    if !status.success() {
        return Err(SigningError::Refused(called));
    }
    let armoured = std::fs::read_to_string(folder.path().join("release.txt.sig")).map_err(|_| SigningError::Strange)?;
    lines_of(&armoured).ok_or(SigningError::Strange)
}

/// The program with its fixed arguments. What it asks, it asks the person.
fn command(key: &OsStr, file: &OsStr) -> Command {
    let mut command = Command::new("ssh-keygen");
    command.args(["-Y", "sign", "-n", NAMESPACE, "-f"]).arg(key).arg("--").arg(file).stdout(Stdio::null());
    command
}
