//! Tests of what the room does inside.

mod bolts;
mod carriage;
mod grooves;
mod layout;
mod life;
mod shims;
mod survey;
mod uncertainty;
