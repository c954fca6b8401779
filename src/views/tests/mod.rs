//! Tests of what the room does inside.

mod derived;
mod one_number;
mod release_evidence;
mod report;
mod report_order;
mod tied_surveys;
mod traveler;
