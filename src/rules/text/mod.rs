//! Rules about the text itself. The checks of most run while it is read: in the reader, the schema check and the
//! resolving of names. Here are their pages and examples.

use crate::rules::Rule;

pub mod duplicate_name;
pub mod joined_punctuation;
pub mod missing_part;
pub mod repeated_part;
pub mod repeated_row;
pub mod too_much;
pub mod unknown_edition;
pub mod unknown_node;
pub mod unknown_property;
pub mod unknown_reference;
pub mod unreadable;
pub mod wrong_unit;
pub mod wrong_value;

/// In the order of the catalogue.
pub static RULES: &[&Rule] = &[
    &unreadable::RULE,
    &unknown_node::RULE,
    &unknown_property::RULE,
    &wrong_value::RULE,
    &wrong_unit::RULE,
    &missing_part::RULE,
    &repeated_part::RULE,
    &repeated_row::RULE,
    &joined_punctuation::RULE,
    &unknown_reference::RULE,
    &duplicate_name::RULE,
    &too_much::RULE,
    &unknown_edition::RULE,
];
