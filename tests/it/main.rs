//! All integration tests link into this one binary, so that building them stays cheap.
