//! Pure mathematics on plain numbers: no nodes, files or spans in here.
//!
//! Every function states the shape and unit of what goes in and comes out, and the source of its formula.

pub mod bolts;
pub mod carriage;
pub mod carrier;
pub mod derivation;
pub mod exact;
pub mod expansion;
pub mod grooves;
pub mod joint_life;
pub mod layout;
pub mod life;
pub mod shims;
pub mod step;
pub mod straightness;
pub mod survey;
#[cfg(test)]
mod tests;
pub mod uncertainty;
