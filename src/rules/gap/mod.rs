//! Rules about surveys, the gap and shims.
