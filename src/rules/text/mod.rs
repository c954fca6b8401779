//! Rules about the text itself. The checks of most run while it is read: in the reader, the schema check and the
//! resolving of names. Here are their pages and examples.

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
