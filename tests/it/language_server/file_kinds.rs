//! Every kind of file that the language knows: its own words are at home in it, and no others.

use std::collections::BTreeSet;

use super::{Editor, able, place};

const SHOP: &str = "shop \"Quarry 3\" {\n    profile P1 hole-pitch=60 end-distance=30 contact=outward\n}\n";
const DESIGN: &str =
    "design bridge revision=1 {\n    axis A1 {\n        rail R1 profile=P1 { segment 1200; segment 1200 }\n    }\n}\n";
const MACHINE: &str = "machine saw {\n    built-to bridge revision=1\n}\n";
const RECORD: &str = "inspect A1.R1.J1 date=\"2026-10-01\" by=inspector-1 {\n    light none\n}\n";

/// Each kind: its file, its text, a word of it, and one that stands at the top of others.
const KINDS: [(&str, &str, &str, &str, &str); 4] = [
    ("shop", "shop.kdl", SHOP, "profile", "inspect"),
    ("design", "design.kdl", DESIGN, "rail", "inspect"),
    ("machine", "saw/machine.kdl", MACHINE, "built-to", "column"),
    ("record", "saw/2026-10-01-inspector-1.kdl", RECORD, "light", "shop"),
];

/// The words of the schema for the kinds of files are those above.
#[test]
fn every_kind_of_file_is_known_here() {
    let mut kinds: BTreeSet<String> = BTreeSet::new();
    for file in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/schema")).expect("listed") {
        let path = file.expect("a file").path();
        if path.extension().is_none_or(|end| end != "kdl") {
            continue;
        }
        let text = std::fs::read_to_string(path).expect("text");
        let lines = text.lines().filter_map(|line| line.strip_prefix("    files "));
        kinds.extend(lines.flat_map(str::split_whitespace).map(str::to_owned));
    }
    assert_eq!(kinds, KINDS.iter().map(|kind| kind.0.to_owned()).collect());
}

#[test]
fn its_words_are_at_home_in_each_kind_of_file() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::create_dir(folder.path().join("saw")).expect("made");
    for (_, file, text, ..) in KINDS {
        std::fs::write(folder.path().join(file), text).expect("written");
    }
    let mut editor = Editor::start(folder.path(), able());
    for (_, file, ..) in KINDS {
        editor.open(file);
    }
    for (kind, file, text, word, foreign) in KINDS {
        // Diagnostics: nothing is out of place, and a misspelt word is.
        let rules = |editor: &mut Editor| -> Vec<String> {
            let all = editor.findings(file);
            all.iter().map(|it| it["code"].as_str().expect("text").to_owned()).collect()
        };
        let found = rules(&mut editor);
        assert!(!found.iter().any(|rule| rule.starts_with("unknown")), "{kind}: {found:?}");
        let wrong = text.replacen(word, &format!("{word}q"), 1);
        editor.change(file, &wrong);
        let found = rules(&mut editor);
        assert!(found.iter().any(|rule| rule == "unknown-node"), "{kind}: {found:?}");
        // Completion: the top of its own files, and of no others.
        let begun = format!("{text}\n");
        editor.change(file, &begun);
        let items = editor.at("textDocument/completion", file, (begun.matches('\n').count(), 0));
        let labels: Vec<&str> =
            items.as_array().expect("a list").iter().map(|it| it["label"].as_str().expect("text")).collect();
        let own = text.split_whitespace().next().expect("a word");
        assert!(labels.iter().any(|label| label.split(' ').next() == Some(own)), "{kind}: {labels:?}");
        assert!(!labels.iter().any(|label| label.split(' ').next() == Some(foreign)), "{kind}: {labels:?}");
        editor.change(file, text);
        // Hover.
        let told = editor.at("textDocument/hover", file, place(text, word, 1));
        let told = told["contents"]["value"].as_str().unwrap_or_default();
        assert!(!told.is_empty(), "{kind}");
    }
    // Names are known in a design too, of the ledgers that are open: what is cited, and what it describes.
    let told = editor.at("textDocument/hover", "design.kdl", place(DESIGN, "R1", 1));
    assert!(told["contents"]["value"].as_str().expect("text").contains("A1.R1"), "{told}");
    let begun = DESIGN.replace("profile=P1 {", "profile= {");
    editor.change("design.kdl", &begun);
    let items = editor.at("textDocument/completion", "design.kdl", place(&begun, "profile=", 8));
    assert_eq!(items[0]["label"], "P1", "{items}");
    // And what is wrong in a design is told once it is changed, in the machine that is built to it.
    editor.change("design.kdl", &DESIGN.replace("profile=P1", "profile=P7"));
    let found = editor.findings("design.kdl");
    assert!(found.iter().any(|it| it["message"].as_str().expect("text").contains("P7")), "{found:?}");
}
