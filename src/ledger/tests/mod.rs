//! Tests of what the room does inside.

mod derivation_model;
mod references;
mod seal;
mod shop_parts;
mod signature;
mod succession;
