//! Tests of what the room does inside.

use sha2::{Digest, Sha256};

mod angles;
mod bolts;
mod coverage;
mod grooves;
pub(crate) mod layout;
mod life;
mod local;
mod motion;
mod shims;
mod survey;
mod tie;
mod uncertainty;

/// The first sixteen digits of the SHA-256 of a text: enough to see that it is another one.
fn fingerprint(text: &str) -> String {
    Sha256::digest(text)[..8].iter().map(|byte| format!("{byte:02x}")).collect()
}
