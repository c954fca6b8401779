//! Another name for a thing: never one that is taken, and never for what other machines share.

use std::collections::BTreeSet;

use serde_json::json;

use super::{Editor, able, edited, place};

const SHOP: &str = r#"shop "Quarry 3" {
    gauge G1 kind=dial-indicator
    gauge G2 kind=dial-indicator
    wrench W1 kind=setting
    wrench W2 kind=setting
    profile P1 hole-pitch=60
    profile P2 hole-pitch=60
    fastener F1 thread=M6
    fastener F2 thread=M6
    block B1 length=78
    block B2 length=78
}
"#;

const MACHINE: &str = r#"machine saw {
    axis A1 {
        beam E1 from=0 to=1200
        beam E2 from=1200 to=2400
        rail R1 profile=P1 beam=E1 rail-bolt=F1 { segment 1200 }
        rail R2 profile=P2 beam=E2 rail-bolt=F2 { segment 1200 }
        carriage mass=80 { block R1 at=0 type=B1; block R2 at=0 type=B2 }
    }
    axis A2 {
        rail R1 { segment 1200 }
    }
}
"#;

/// The first letter of the two of each kind, by the word that the language cites them with.
const KINDS: [(&str, char); 9] = [
    ("gauge", 'G'),
    ("wrench", 'W'),
    ("instrument", 'G'),
    ("profile", 'P'),
    ("fastener", 'F'),
    ("block", 'B'),
    ("beam", 'E'),
    ("rail", 'R'),
    ("axis", 'A'),
];

/// What is cited and has no name of its own to change: joints and supports lie where they lie, rules are ours, designs and
/// records are never written anew.
const NO_NAMES: [&str; 10] =
    ["other-rail", "joint", "support", "row-place", "part", "address", "rule", "record", "hold", "design"];

/// A new sort of thing that is cited joins one of the two lists above.
#[test]
fn every_sort_of_name_is_known_here() {
    let mut cited: BTreeSet<String> = BTreeSet::new();
    for file in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/schema")).expect("listed") {
        let path = file.expect("a file").path();
        if path.extension().is_some_and(|end| end == "kdl") {
            let text = std::fs::read_to_string(path).expect("text");
            let words = text
                .split("ref=")
                .skip(1)
                .map(|rest| rest.chars().take_while(|c| c.is_alphanumeric() || *c == '-').collect::<String>());
            cited.extend(words);
        }
    }
    let known = |word: &String| {
        word == "revision" || NO_NAMES.contains(&word.as_str()) || KINDS.iter().any(|(of, _)| of == word)
    };
    assert!(cited.len() > 10);
    assert_eq!(cited.iter().filter(|word| !known(word)).count(), 0, "{cited:?}");
}

/// A folder with some files, and an editor in which all are open.
fn opened(files: &[(&str, &str)]) -> (tempfile::TempDir, Editor) {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, text) in files {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("made");
        std::fs::write(path, text).expect("written");
    }
    let mut editor = Editor::start(folder.path(), able());
    for (name, text) in files {
        editor.open_with(name, text);
    }
    (folder, editor)
}

/// The files as they would be with another name for what stands behind `before`; or why they would not.
fn renamed(editor: &mut Editor, (file, text): (&str, &str), at: (usize, usize), new: &str) -> Result<String, String> {
    let position = json!({ "line": at.0, "character": at.1 });
    let params = json!({ "textDocument": { "uri": editor.uri(file) }, "position": position, "newName": new });
    match editor.try_ask("textDocument/rename", params) {
        Ok(edit) => {
            let uri = editor.uri(file);
            let changes = edit["documentChanges"].as_array().expect("changes");
            let own = changes.iter().find(|it| it["textDocument"]["uri"] == json!(uri)).expect("this file");
            Ok(edited(text, &own["edits"]))
        }
        Err(why) => Err(why["message"].as_str().expect("text").to_owned()),
    }
}

#[test]
fn no_name_that_is_taken_is_given() {
    // Entries of the shop: in its file above the ledger, and in the machine's own.
    let inside = format!("{SHOP}{MACHINE}");
    for (shop, machine) in [(SHOP, MACHINE), ("", inside.as_str())] {
        let mut files = vec![("saw/machine.kdl", machine)];
        if !shop.is_empty() {
            files.push(("shop.kdl", shop));
        }
        let (_folder, mut editor) = opened(&files);
        for (kind, letter) in KINDS {
            let (one, two, free) = (format!("{letter}1"), format!("{letter}2"), format!("{letter}9"));
            let (name, text) = *files.iter().rev().find(|(_, text)| text.contains(&format!(" {one}"))).expect("a file");
            let at = place(text, &format!(" {one}"), 1);
            let refused = renamed(&mut editor, (name, text), at, &two).expect_err(kind);
            assert!(refused.contains(&two), "{kind}: {refused}");
            let text = renamed(&mut editor, (name, text), at, &free).expect(kind);
            assert!(text.contains(&format!(" {free}")), "{kind}: {text}");
        }
    }
}

#[test]
fn a_fault_that_was_there_is_not_the_reason() {
    // A gauge that is there twice, and a beam that is not there.
    let shop = SHOP.replace("    wrench W1", "    gauge G2 kind=laser\n    wrench W1");
    let machine = MACHINE.replace("beam=E2", "beam=E7");
    let (_folder, mut editor) = opened(&[("saw/machine.kdl", &machine), ("shop.kdl", &shop)]);
    let refused = renamed(&mut editor, ("shop.kdl", &shop), place(&shop, "W1", 0), "W2").expect_err("taken");
    assert!(refused.contains("W2") && !refused.contains("G2"), "{refused}");
    renamed(&mut editor, ("shop.kdl", &shop), place(&shop, "W1", 0), "W9").expect("it is free");
    let refused =
        renamed(&mut editor, ("saw/machine.kdl", &machine), place(&machine, "E1", 0), "E2").expect_err("taken");
    assert!(refused.contains("E2") && !refused.contains("E7"), "{refused}");
}

/// A nearer shop file with that name would hide the one above, or be completed by it.
#[test]
fn a_name_of_another_shop_file_is_taken_too() {
    let nearer = "shop \"Hall 2\" {\n    gauge G5 kind=laser\n}\n";
    let (_folder, mut editor) =
        opened(&[("hall/saw/machine.kdl", MACHINE), ("hall/shop.kdl", nearer), ("shop.kdl", SHOP)]);
    let refused = renamed(&mut editor, ("shop.kdl", SHOP), place(SHOP, "G1", 0), "G5").expect_err("taken");
    assert!(refused.contains("there is a gauge `G5` already (shop.kdl, line 2)"), "{refused}");
}

#[test]
fn what_a_design_describes_keeps_its_name() {
    let design = MACHINE.replace("machine saw", "design bridge revision=1");
    let machine = "machine saw {\n    built-to bridge revision=1\n    part A1.R1.seg1 serial=K-1\n}\n";
    let (_folder, mut editor) = opened(&[("saw/machine.kdl", machine), ("design.kdl", &design), ("shop.kdl", SHOP)]);
    for (kind, letter) in KINDS.iter().filter(|(kind, _)| matches!(*kind, "beam" | "rail" | "axis")) {
        let at = place(&design, &format!(" {letter}1"), 1);
        let refused = renamed(&mut editor, ("design.kdl", &design), at, "Z9").expect_err(kind);
        assert!(refused.contains("design.kdl") && refused.contains("new revision"), "{kind}: {refused}");
    }
    // What it cites of the shop is renamed in it too.
    let renamed = renamed(&mut editor, ("design.kdl", &design), place(&design, "profile=P1", 8), "P9");
    assert_eq!(renamed.expect("it is free"), design.replace("P1", "P9"));
}
