//! Pure mathematics on plain numbers: no nodes, files or spans in here.
//!
//! Every function states the shape and unit of what goes in and comes out, and the source of its formula.
