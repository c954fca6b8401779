//! The signature under a release: shown before it is made, and held against the keys of who releases before it is written.

use super::CommandError;
use crate::formats::clean;
use crate::ledger::Ledger;
use crate::ledger::seal::{self, Sealing};
use crate::writing::signing::{SigningError, SigningKey, sign};

/// The signature of who releases an axis, over a text that is shown before.
pub(super) fn signed(
    ledger: &Ledger,
    axis: usize,
    sealing: &Sealing,
    file: Option<&std::path::Path>,
    out: &mut impl std::io::Write,
) -> Result<Vec<String>, CommandError> {
    let by = &sealing.by;
    let day = sealing.moment.date;
    let keys = ledger.shop.persons.get(by).map_or(&[][..], |person| &person.keys);
    let keys: Vec<_> = keys.iter().filter(|(_, days)| days.hold(day)).map(|(key, _)| key).collect();
    let Some(first) = keys.first() else {
        return Err(CommandError::Said(format!(
            "the shop declares no key of {} that holds on {day}: add `key \"ssh-ed25519 …\" from=\"{day}\"` to their person in the shop file, with the line of the key's .pub file; nothing was written",
            clean(by)
        )));
    };
    let text = seal::text_to_sign(&seal::release(ledger, axis, sealing));
    writeln!(out, "{} signs:", clean(by))?;
    text.lines().try_for_each(|line| writeln!(out, "  {line}"))?;
    out.flush()?;
    let lines = match file {
        Some(file) => sign(&text, &SigningKey::File(file)),
        None => keys[1..].iter().fold(sign(&text, &SigningKey::Agent(first)), |signed, key| match signed {
            Err(SigningError::Refused(_)) => sign(&text, &SigningKey::Agent(key)),
            signed => signed,
        }),
    };
    let lines = lines.map_err(|why| CommandError::Said(why.to_string()))?;
    let key = seal::signer(&text, lines.iter().map(String::as_str));
    let known = key.as_ref().is_ok_and(|key| keys.iter().any(|of| ***of == *key));
    if !known {
        let with = key.map_or("something that is no Ed25519 key".to_owned(), |key| key.fingerprint());
        return Err(CommandError::Said(format!(
            "it was signed with {with}, and the shop declares no such key of {} that holds on {day}: sign with one that it declares, {}, or declare this one first; nothing was written",
            clean(by),
            keys.iter().map(|key| key.fingerprint()).collect::<Vec<_>>().join(", ")
        )));
    }
    Ok(lines)
}
