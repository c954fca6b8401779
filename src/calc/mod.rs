//! Pure mathematics on plain numbers: no nodes, files or spans in here.
//!
//! Every function states the shape and unit of what goes in and comes out, and the source of its formula.

pub(crate) mod angles;
pub(crate) mod bolts;
pub(crate) mod carrier;
pub(crate) mod coverage;
pub(crate) mod derivation;
pub(crate) mod exact;
pub(crate) mod expansion;
pub(crate) mod grooves;
pub(crate) mod layout;
pub(crate) mod life;
pub(crate) mod local;
pub(crate) mod motion;
pub(crate) mod shims;
pub(crate) mod step;
pub(crate) mod straightness;
pub(crate) mod survey;
#[cfg(test)]
mod tests;
pub(crate) mod tie;
pub(crate) mod uncertainty;
