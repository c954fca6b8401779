//! That what was released meets a limit which became narrower is said only where a rule holds something against that limit:
//! each entry of the rulebook is tightened in turn, a little and beyond anything that can be built or read.
//!
//! Nothing here is from outside: what no machine can meet must be told, or nothing may be said to conform to it. No limit is
//! spared.

use std::fmt::Write;
use std::path::Path as Folder;

use crate::finding::Grade;
use crate::judging::lint::judge_ledger;
use crate::language::rulebook::{ENTRIES, LimitEntry, LimitName, LimitType, Looser};
use crate::ledger::{Ledger, TextFile};
use crate::rules::judge::verdicts;
use crate::rules::{self, About, Case, Rule, Verdict};
use crate::testing::today;
use crate::world::Path;

/// What is changed in the example so that no part of it lies exactly where it should: such a part meets any limit.
const A_LITTLE_OFF: &[(&str, &str)] = &[
    ("joint-support J1 at=2400 length=200", "joint-support J1 at=2400.01 length=201"),
    // The holes across both joints.
    ("segment 2400 serial=K-121", "segment 2400 near-distance=30.01 serial=K-121"),
    // Received a tenth shorter than it is described.
    ("lot=\"7731\" far-mark=A1 profile=R20 length=2400", "lot=\"7731\" far-mark=A1 profile=R20 length=2399.9"),
    ("beam front material=steel", "beam front material=aluminium"),
    // Sawn in a joint, though that is told as it is.
    ("segment 2400 serial=K-118", "segment 2400 far-end=sawn serial=K-118"),
    // Some light, as wide as a feeler says.
    ("    light none\n    UL -0.040", "    light seen\n    feeler 0.01\n    UL -0.040"),
];

/// The example machine with some limits of its own, released under a seal that holds one entry as wide as can be.
fn released(entry: &LimitEntry, rulebook: &str, with_records: bool) -> Ledger {
    let folder = Folder::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard");
    let read = |name: &str| std::fs::read_to_string(folder.join(name)).expect("an example");
    let machine = read("hull-gantry/machine.kdl");
    // What stands last of an entry holds.
    let mut text = machine.replace("    }\n    axis X {", &format!("{rulebook}    }}\n    axis X {{"));
    assert!(text.contains(rulebook) && machine.contains("    }\n    axis X {"));
    if with_records {
        for day in [
            "03-30-inspector-1",
            "04-14-fitter-2",
            "04-15-inspector-1",
            "04-16-inspector-1",
            "04-17-fitter-2",
            "04-18-inspector-1",
        ] {
            text += &read(&format!("hull-gantry/2026-{day}.kdl"));
        }
    }
    for (exact, off) in A_LITTLE_OFF {
        let is_record = !machine.contains(exact);
        assert!(text.contains(exact) || is_record && !with_records, "{exact}");
        text = text.replacen(exact, off, 1);
    }
    let widest = match (entry.holds, entry.looser) {
        (LimitType::Choice(_), Looser::Word(words)) => format!("fact \"{} is\" {}", entry.name, words[words.len() - 1]),
        _ => format!("fact \"{} none\" \"\"", entry.name),
    };
    writeln!(text, "release X date=\"2026-04-20\" by=fitter-2 {{ sealed \"limits\" digest=\"\" {{ {widest} }} }}")
        .expect("a text");
    let shop = TextFile::read(Path("shop.kdl".into()), read("shop.kdl").into_bytes());
    let file = TextFile::read(Path("m/machine.kdl".into()), text.into_bytes());
    Ledger::new(Path("m".into()), vec![file], &[shop])
}

fn says_conforms(ledger: &Ledger) -> bool {
    let mut of_it = verdicts(&Case::new(ledger, today())).into_iter().filter(|it| it.0.as_str() == "limit-tightened");
    of_it.any(|(.., verdict)| matches!(verdict, Verdict::Conforms(_)))
}

/// The message of the finding that the release would not meet an entry.
fn told(ledger: Ledger) -> Option<String> {
    let found = judge_ledger(ledger, today()).findings;
    let mut of_it = found.into_iter().filter(|it| it.rule.as_str() == "limit-tightened");
    of_it.next().map(|it| {
        assert_eq!(it.grade, Grade::Observation);
        it.message
    })
}

/// Rows of a rulebook that state an entry so that anything meets it, and so that nothing does.
fn rows(entry: &LimitEntry) -> [String; 2] {
    // As long as leaves a few stations within it.
    let over = if entry.is_local() { " over=2000" } else { "" };
    let row = |parts: &str| format!("        {} {parts}{over} reason=\"learnt\"\n", entry.name);
    if let LimitType::Choice(_) = entry.holds {
        let Looser::Word(words) = entry.looser else { panic!("{} is a word", entry.name) };
        // What must be proven is proven by no reading with so wide a guard.
        let strictest = row(&format!("is={}", words[0]));
        let guard = "        guard-band most=1000 reason=\"learnt\"\n";
        return [strictest.clone(), strictest + guard];
    }
    let ends: Vec<&str> = ["least", "most"].into_iter().filter(|end| entry.takes(end)).collect();
    let wide = |end: &str| match (end, entry.looser) {
        ("least", _) | (_, Looser::FurtherIn) => format!("{end}=0.001"),
        _ => format!("{end}=900"),
    };
    let narrow = |end: &str| match (end, entry.looser) {
        (_, Looser::FurtherIn) => format!("{end}=1000"),
        // Between two ends nothing has a place.
        ("least", _) if ends.len() == 2 => "least=0.000001".to_string(),
        ("most", _) if ends.len() == 2 => "most=0.000002".to_string(),
        ("least", _) => "least=900000".to_string(),
        _ => "most=0.000001".to_string(),
    };
    let count = |text: String| match entry.holds {
        LimitType::Count => text.replace("0.001", "1").replace("0.000001", "1"),
        _ => text,
    };
    let all = |of: &dyn Fn(&str) -> String| count(row(&ends.iter().map(|end| of(end)).collect::<Vec<_>>().join(" ")));
    // A default is met by the example.
    let mild = if entry.least.or(entry.most).is_some() { String::new() } else { all(&wide) };
    [mild, all(&narrow)]
}

#[test]
fn a_narrower_limit_is_met_only_where_something_was_held_against_it() {
    let (mut conforming, mut wrong) = (Vec::new(), Vec::new());
    for proof in ["observed", "required"] {
        for entry in ENTRIES {
            let stated = |own: &str| match entry.limit {
                LimitName::Proof => own.to_string(),
                _ => format!("{own}        proof is={proof} reason=\"drawing 118-4\"\n"),
            };
            let [mild, beyond] = rows(entry).map(|rows| stated(&rows));
            if !says_conforms(&released(entry, &mild, true)) {
                continue;
            }
            conforming.push(entry.name);
            let told = told(released(entry, &beyond, true));
            if !told.as_ref().is_some_and(|told| told.contains(entry.name)) {
                wrong.push(format!("{} (proof {proof}): says conforms, and of {beyond} tells {told:?}", entry.name));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let held = rules::all().flat_map(|rule| rule.holds).map(|limit| limit.word());
    // Height and static safety are of no matter in this machine.
    for judged in held.filter(|it| !["height-range", "height-local", "static-safety"].contains(it)) {
        assert!(conforming.contains(&judged), "{judged} is judged: {conforming:?}");
    }
    let guarded = conforming.iter().filter(|it| **it == "guard-band").count();
    assert_eq!(guarded, 1, "a guard band counts where proof is required, and there alone");
    for nothing in ["limit-loosening", "calibration-months", "error-graduations", "temperature-jump", "due-soon"] {
        assert!(!conforming.contains(&nothing), "nothing released is held against {nothing}");
    }
}

#[test]
fn without_readings_no_narrower_limit_of_readings_is_met() {
    let of_readings = [
        LimitName::JointStep,
        LimitName::GapRange,
        LimitName::Straightness,
        LimitName::FullTorque,
        LimitName::SnugTorque,
        LimitName::RunningForce,
        LimitName::HeightRange,
        LimitName::GapLocal,
        LimitName::StraightnessLocal,
        LimitName::HeightLocal,
        LimitName::GuardBand,
        LimitName::GaugeGraduation,
        LimitName::SurveyClosure,
        LimitName::LightGap,
        LimitName::RecordTemperature,
    ];
    for limit in of_readings {
        let entry = limit.entry();
        let [mild, _] = rows(entry);
        let met = says_conforms(&released(entry, &mild, false));
        // The window of a torque is held against its bolt, which is described.
        assert_eq!(met, limit == LimitName::FullTorque, "{}", entry.name);
    }
}

/// Limits that a rule judges facts by, and that not everything it says conforms is held against.
const HELD_BY_NONE: &[(LimitName, &str)] = &[
    (LimitName::DueSoon, "how far ahead a service is mentioned"),
    (LimitName::BoltHoleOffset, "bolts that nobody described are put where the holes are, and lie there by any limit"),
    (LimitName::ProofLoadShare, "what a window holds of it is known only of a bolt with its thread and class"),
    (LimitName::Feeler, "a joint without light conforms though no feeler was tried"),
];

/// Without a rule that holds a limit, whoever tries it is told that nothing is judged by it: so a rule that forgot to say that
/// it does is found here.
#[test]
fn each_limit_that_facts_are_judged_by_is_held_or_named() {
    let held: Vec<LimitName> = rules::all().flat_map(|rule| rule.holds).copied().collect();
    let breaks = |rule: &&Rule| rule.grade == Grade::Nonconformity && rule.about == About::Facts;
    // How a record is written is no fact of the machine; and a limit by word needs no holder.
    let of_facts = rules::all().filter(breaks).filter(|rule| !rule.never_conceded);
    let judged_by = of_facts.flat_map(|rule| rule.limits.iter().map(move |limit| (*limit, rule.name.as_str())));
    let by_number = judged_by.filter(|(limit, _)| !matches!(limit.entry().holds, LimitType::Choice(_)));
    let unheld: Vec<(LimitName, &str)> = by_number.filter(|(limit, _)| !held.contains(limit)).collect();
    let is_named = |limit: LimitName| HELD_BY_NONE.iter().any(|(named, _)| *named == limit);
    for (limit, rule) in &unheld {
        assert!(is_named(*limit), "{limit}, by which {rule} judges, is held by no rule");
    }
    for (limit, why) in HELD_BY_NONE {
        assert!(unheld.iter().any(|(of, _)| of == limit), "{limit} is held now, and named: {why}");
    }
}
