//! Rules about the text itself. The checks of most run while it is read: in the reader, the schema check and the
//! resolving of names. Here are their pages and examples.

use crate::rules::Rule;

pub(crate) mod duplicate_name;
pub(crate) mod joined_punctuation;
pub(crate) mod missing_part;
pub(crate) mod repeated_part;
pub(crate) mod repeated_row;
pub(crate) mod too_much;
pub(crate) mod unknown_edition;
pub(crate) mod unknown_node;
pub(crate) mod unknown_property;
pub(crate) mod unknown_reference;
pub(crate) mod unreadable;
pub(crate) mod wrong_unit;
pub(crate) mod wrong_value;

/// In the order of the catalogue.
pub(crate) static RULES: &[&Rule] = &[
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
