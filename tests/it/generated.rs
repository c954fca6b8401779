//! The generated pages are what the program says now. `UPDATE_PAGES=1 cargo test generated` writes them anew.

use std::path::Path;

use wayledger::rules::pages;
use wayledger::schema;

fn same(file: &str, now: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(file);
    if std::env::var_os("UPDATE_PAGES").is_some() {
        std::fs::write(&path, now).expect("the page can be written");
    }
    let committed = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(committed == now, "{file} differs from what the program says: run UPDATE_PAGES=1 cargo test generated");
}

#[test]
fn the_language_reference_is_current() {
    same("schema/language.md", &schema::reference::markdown(schema::language()));
}

#[test]
fn the_rule_catalogue_is_current() {
    same("schema/rules.md", &pages::catalogue());
}
