//! Tests of what the room does inside.

mod differential;
mod edit;
mod hostile;
mod mistakes;
mod places;
mod suite;
