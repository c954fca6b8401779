//! Whatever is typed, the server goes on: random edits of a real ledger, and after each of them something is asked.

use serde_json::json;

use super::{Editor, able, yard};

/// A small generator of our own, so that a failure comes again (xorshift, G. Marsaglia, 2003).
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % most.max(1) as u64) as usize
    }
}

const PIECES: [&str; 20] = [
    "\"",
    "{",
    "}",
    "(",
    ")",
    "=",
    "#",
    "\n",
    "at S1 ",
    "#null",
    "/*",
    "//",
    "-",
    "..",
    "𝄞",
    "\u{0}",
    "\r",
    "fasten X.left ",
    "9e999",
    "X.left.J1 ",
];

/// What an allocator may keep back, in kB.
const MARGIN: u64 = 40_000;

const ASKED: [&str; 10] = [
    "textDocument/diagnostic",
    "textDocument/completion",
    "textDocument/hover",
    "textDocument/definition",
    "textDocument/references",
    "textDocument/documentSymbol",
    "textDocument/inlayHint",
    "textDocument/codeAction",
    "textDocument/foldingRange",
    "textDocument/rename",
];

/// Edits so many times. What the server takes of memory after the first tenth is nearly what it takes at the end.
fn edit(count: usize, seed: u64) {
    let mut early = None;
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let files = ["mast-router/2026-10-26-fitter-3.kdl", "mast-router/machine.kdl", "shop.kdl"];
    files.iter().for_each(|file| drop(editor.open(file)));
    let mut dice = Dice(seed);
    for round in 0..count {
        if round == count / 10 {
            early = editor.memory();
        }
        let which = dice.below(files.len());
        let uri = editor.uri(files[which]);
        if round % 50 == 49 {
            // Now and then the text is whole again, else all would be rubble soon.
            let text = editor.on_disk(files[which]);
            editor.change(files[which], &text);
        }
        let mut place = || json!({ "line": dice.below(40), "character": dice.below(60) });
        let (start, end) = (place(), place());
        let short = json!({ "line": start["line"], "character": start["character"].as_u64().map(|it| it + 1) });
        let end = if round % 5 == 0 { end } else { short };
        let piece = PIECES[dice.below(PIECES.len())];
        let change = json!({ "range": { "start": start, "end": end }, "text": piece });
        editor.tell(
            "textDocument/didChange",
            json!({ "textDocument": { "uri": uri, "version": round + 2 }, "contentChanges": [change] }),
        );
        let method = ASKED[dice.below(ASKED.len())];
        let at = json!({ "line": dice.below(40), "character": dice.below(60) });
        let params = json!({
            "textDocument": { "uri": uri }, "position": at, "range": { "start": at, "end": at }, "newName": "n",
            "context": { "diagnostics": [], "includeDeclaration": true }
        });
        if let Err(why) = editor.try_ask(method, params) {
            assert_ne!(why["code"], -32603, "seed {seed}, round {round}: {why}");
        }
    }
    if let (Some(early), Some(late)) = (early, editor.memory()) {
        assert!(late < early + early / 2 + MARGIN, "from {early} kB to {late} kB, seed {seed}");
    }
    assert_eq!(editor.leave(), (Some(0), String::new()), "seed {seed}");
}

#[test]
fn some_hundred_random_edits() {
    edit(300, 0x5eed_0001);
}

#[test]
#[ignore = "thousands of edits take minutes; `.ci/run` has them, and `.ci/run all` a hundred thousand"]
fn many_random_edits() {
    let count = std::env::var("WAYLEDGER_TYPED_EDITS").map_or(3000, |count| count.parse().expect("a number"));
    edit(count, 0x9e37_79b9);
}
