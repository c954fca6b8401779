//! Whether a signature under a release is over what the release says, and by a key that was the releaser's on that day.
//!
//! The format is SSHSIG (PROTOCOL.sshsig of OpenSSH), checked here as `ssh-keygen -Y verify` checks it.

use ssh_key::{LineEnding, SshSig};

use super::signed_text::{NAMESPACE, signed_text};
use crate::finding::Place;
use crate::language::public_key::PublicKey;
use crate::ledger::{Days, Ledger, Person, Release, Signature};

/// What is wrong with a signature.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum SignatureError {
    /// It is no signature.
    Unreadable,
    /// It was made with a key of another kind.
    Kind(String),
    /// It was made for something else.
    Namespace(String),
    /// It is not over this text, or not by the key that it states.
    Unfit,
    /// The key is nobody's whom the shop declares.
    Stranger { fingerprint: String },
    /// The key is somebody else's.
    Other { fingerprint: String, person: String, key: Place },
    /// The key was not theirs on that day.
    Outdated { fingerprint: String, days: Days, key: Place },
}

/// A signature that is in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct SoundSignature {
    pub fingerprint: String,
    /// The key in the shop's file.
    pub key: Place,
}

/// Whether the signature of a release is in order.
pub(crate) fn checked(
    ledger: &Ledger,
    index: usize,
    release: &Release,
) -> Option<Result<SoundSignature, SignatureError>> {
    let signature = release.signature.as_ref()?;
    Some(signed_by(ledger, index, signature))
}

fn signed_by(ledger: &Ledger, index: usize, signature: &Signature) -> Result<SoundSignature, SignatureError> {
    let text = signed_text(ledger, index).ok_or(SignatureError::Unreadable)?;
    let key = signer(&text, signature.lines.iter().map(|line| line.as_str()))?;
    let fingerprint = key.fingerprint();
    let record = &ledger.records[index];
    let by = record.by.as_ref().and_then(|by| ledger.shop.persons.get(by));
    let keys = |person: &Person| {
        let rows = person.keys.iter().filter(|(of, _)| **of == key);
        rows.map(|(of, days)| (of.place, *days)).collect::<Vec<_>>()
    };
    let theirs = by.map_or(Vec::new(), keys);
    let day = record.written.map(|date| date.date);
    let is_there = |day| by.is_none_or(|by| by.days.hold(day));
    if let Some((key, _)) = theirs.iter().find(|(_, days)| day.is_some_and(|day| days.hold(day) && is_there(day))) {
        return Ok(SoundSignature { fingerprint, key: *key });
    }
    if let Some((key, days)) = theirs.first() {
        let days = by.filter(|_| day.is_some_and(|day| days.hold(day))).map_or(*days, |by| by.days);
        return Err(SignatureError::Outdated { fingerprint, days, key: *key });
    }
    let mut others = ledger.shop.persons.iter();
    match others.find_map(|person| Some((person.as_str().to_owned(), keys(person).first()?.0))) {
        Some((person, key)) => Err(SignatureError::Other { fingerprint, person, key }),
        None => Err(SignatureError::Stranger { fingerprint }),
    }
}

/// The key that signed a text.
pub(crate) fn signer<'l>(text: &str, lines: impl Iterator<Item = &'l str>) -> Result<PublicKey, SignatureError> {
    let armoured = armour(lines);
    let sig = SshSig::from_pem(&armoured).map_err(|_| SignatureError::Unreadable)?;
    // Each signature has one spelling: lengths that do not fit are passed over by the reader, and by OpenSSH they are not.
    if !sig.to_pem(LineEnding::LF).is_ok_and(|own| own == armoured) {
        return Err(SignatureError::Unreadable);
    }
    let key = PublicKey::of(sig.public_key());
    let key = key.ok_or_else(|| SignatureError::Kind(sig.public_key().algorithm().as_str().to_owned()))?;
    if sig.namespace() != NAMESPACE {
        return Err(SignatureError::Namespace(sig.namespace().to_owned()));
    }
    // What stands in the reserved field is no part of what was signed: OpenSSH leaves it out, whatever it holds.
    let plain = SshSig::new(key.data().clone(), NAMESPACE, sig.hash_alg(), sig.signature().clone());
    let plain = plain.map_err(|_| SignatureError::Unreadable)?;
    let known = ssh_key::PublicKey::from(key.data().clone());
    known.verify(NAMESPACE, text.as_bytes(), &plain).map_err(|_| SignatureError::Unfit)?;
    Ok(key)
}

/// A signature as `ssh-keygen` writes it, from its lines, wherever they were broken.
pub(crate) fn armour<'l>(lines: impl Iterator<Item = &'l str>) -> String {
    let letters: Vec<char> = lines.flat_map(str::chars).collect();
    let mut text = String::from("-----BEGIN SSH SIGNATURE-----\n");
    for line in letters.chunks(70) {
        text.extend(line);
        text.push('\n');
    }
    text.push_str("-----END SSH SIGNATURE-----\n");
    text
}

/// The lines between BEGIN and END of a signature that `ssh-keygen` wrote.
pub(crate) fn lines_of(armoured: &str) -> Option<Vec<String>> {
    let inner = armoured.trim().strip_prefix("-----BEGIN SSH SIGNATURE-----")?;
    let inner = inner.strip_suffix("-----END SSH SIGNATURE-----")?;
    let lines: Vec<String> = inner.split_whitespace().map(str::to_owned).collect();
    (!lines.is_empty()).then_some(lines)
}
