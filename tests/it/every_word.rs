//! Every word of the language counts: some ledger's findings, what `how` tells, or its report is another one when the word is
//! taken away or has another value. A word that the schema marks as written for people stands in the report, and no finding
//! and no number hangs on it.
//!
//! The words come from the schema, the texts from the examples and from a ledger made for this (`every_word/dock.kdl`). That
//! each entry of a `rulebook` is judged by is held by `rules_at_limits` and `limits_read`.

#[path = "every_word/changes.rs"]
mod changes;
#[path = "every_word/ledgers.rs"]
mod ledgers;

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use wayledger::schema::language;

use changes::{Word, words};
use ledgers::{Corpus, Effect};

use crate::common::{share, whole};

const DESIGNS: &str = "what is history by it: tests/it/designs.rs";
const CAME: &str = "what came when there was none: tests/it/parts_in_time.rs";
const LIVES: &str = "what is history by it: tests/it/parts_in_time.rs";

/// Words that change nothing of what is looked at here, each with the reason; a `*` stands for all that begin so. Those whose
/// reason begins with `open` should count, and do not yet.
const WITHOUT_EFFECT: &[(&str, &str)] = &[
    ("shop readings-file*", "`wayledger import` reads it: tests/it/import_command.rs"),
    ("shop passed-over*", "it says which folders are read: tests/it/hidden_names.rs"),
    ("shop profile hole-diameter=", "the drawing of a layout alone shows it: tests/it/layout_drawing.rs"),
    ("shop profile cutting allowed=", "the planner alone cuts: src/calc/tests/layout"),
    ("shop profile cutting ends=", "the planner alone cuts: src/calc/tests/layout"),
    ("machine axis rail segment owned=", "the planner alone uses what is owned: src/calc/tests/layout"),
    ("machine corrected*", "it is held against the state before: src/judging/tests/history.rs"),
    ("machine part since=", DESIGNS),
    ("machine deviation since=", DESIGNS),
    ("machine axis rail segment since=", LIVES),
    ("machine axis rail segment until=", LIVES),
    ("machine axis rail supports until=", LIVES),
    ("machine axis rail supports omit since=", LIVES),
    ("machine axis rail supports omit until=", LIVES),
    ("machine axis rail support until=", LIVES),
    ("machine axis rail joint-support until=", LIVES),
    ("edition*", "there is one edition, and a file of another one is not read: tests/it/words.rs"),
    ("release supersedes=", "services are counted from that release: tests/it/released_again.rs"),
    ("release reason=", "why a release is replaced, which is sealed: tests/it/released_again.rs"),
    ("release added*", "a copy of what came between two releases, which is sealed: tests/it/released_again.rs"),
    ("survey angles base=", "a step of another length is told of the text: tests/it/angles.rs"),
    ("shop gauge since=", "what was made on another day: tests/it/inherited.rs"),
    ("shop gauge until=", "what was made on another day: tests/it/inherited.rs"),
    ("shop wrench since=", "what was made on another day: tests/it/inherited.rs"),
    ("shop wrench until=", "what was made on another day: tests/it/inherited.rs"),
    ("shop person from=", "who signs when: tests/it/keeping_rules.rs"),
    ("shop person until=", "who signs when: tests/it/keeping_rules.rs"),
    ("shop person successor=", "who may what then: tests/it/keeping_rules.rs"),
    ("shop shim-stock leaf since=", "what was put in earlier: tests/it/inherited.rs"),
    ("shop shim-stock leaf until=", "what was put in later: tests/it/inherited.rs"),
    ("shop profile since=", CAME),
    ("shop profile until=", CAME),
    ("shop block since=", CAME),
    ("shop block until=", CAME),
    ("machine axis carriage block since=", CAME),
    ("machine axis carriage block until=", "what rides no more: tests/it/parts_in_time.rs"),
    ("shop <name>", "open: the report does not name the shop"),
];

#[test]
fn every_word_of_the_language_counts() {
    let corpus = Corpus::whole();
    let words = words(language());
    assert!(words.len() > 250, "{} words", words.len());
    let tried: Vec<Word> = share(words, 3).collect();
    let seen: Vec<(Word, BTreeMap<Effect, String>, usize)> = tried
        .into_par_iter()
        .map(|word| {
            let (effects, tried) = corpus.effects(&word, !word.informative);
            (word, effects, tried)
        })
        .collect();
    let excepted = |path: &str| {
        WITHOUT_EFFECT.iter().find(|(of, _)| of.strip_suffix('*').map_or(*of == path, |start| path.starts_with(start)))
    };
    let (mut wrong, mut met) = (Vec::new(), BTreeSet::new());
    for (word, effects, tried) in &seen {
        let people = [Effect::Finding, Effect::Number].iter().find_map(|it| effects.get(it));
        match excepted(&word.path) {
            Some((of, _)) if effects.is_empty() => {
                met.insert(*of);
            }
            Some(_) => wrong.push(format!("{}: has an effect, and is excepted", word.path)),
            None if effects.is_empty() => wrong.push(format!("{}: no effect in {tried} tries", word.path)),
            None if word.informative && people.is_some() => {
                wrong.push(format!("{}: is written for people, and what is judged hangs on it: {people:?}", word.path));
            }
            None => {}
        }
    }
    assert!(wrong.is_empty(), "{} words:\n{}", wrong.len(), wrong.join("\n"));
    let needless: Vec<&str> =
        WITHOUT_EFFECT.iter().map(|(of, _)| *of).filter(|of| whole() && !met.contains(of)).collect();
    assert!(needless.is_empty(), "excepted for nothing: {needless:?}");
    assert!(seen.iter().filter(|(word, ..)| word.informative).count() > if whole() { 10 } else { 3 });
}
