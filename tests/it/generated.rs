//! The generated pages are what the program says now. `UPDATE_PAGES=1 cargo test generated` writes them anew.

use wayledger::format::{JSON_FORMATS, columns_page};
use wayledger::lint::catalogue;
use wayledger::schema::{language, reference};

use crate::common::same_page;

#[test]
fn the_language_reference_is_current() {
    same_page("schema/language.md", &reference(language()));
}

#[test]
fn the_rule_catalogue_is_current() {
    same_page("schema/rules.md", &catalogue());
}

#[test]
fn the_json_schemas_are_current() {
    for it in JSON_FORMATS {
        let text = serde_json::to_string_pretty(&it.schema()).expect("it can be written");
        same_page(&it.file(), &(text + "\n"));
    }
}

#[test]
fn the_columns_of_the_export_are_current() {
    same_page("schema/export.md", &columns_page());
}
