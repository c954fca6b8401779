//! The words of the language: what another word for one is answered with, units with and without quotes, and the edition.

use std::fs;

use wayledger::amounts::{Acceleration, Amount, PerKelvin, Stiffness, Torque};
use wayledger::lint::Finding;
use wayledger::records::tidy;

use crate::common::program::run;
use crate::common::{judge, lint_text};

fn machine(rail: &str, axis: &str) -> String {
    format!("machine m {{ axis X {{ run from=0 to=1200\nrail a profile=R20 {{ segment 1200\n{rail} }}\n{axis} }} }}\n")
}

/// The finding of a rule and what is to be done.
fn told(text: &str, rule: &str) -> String {
    let findings = lint_text(text);
    let of_rule: Vec<&Finding> = findings.iter().filter(|finding| finding.rule.as_str() == rule).collect();
    let [finding] = of_rule[..] else { panic!("{text}: {findings:#?}") };
    format!("{}; {}", finding.message, finding.next)
}

#[test]
fn another_word_is_answered_with_the_word_of_the_language() {
    for (text, rule, word, meant) in [
        (machine("supports S first=100 pitch=240 count=4 covers=80", ""), "unknown-property", "covers", "length"),
        (machine("support S1 at=100 covers=80", ""), "unknown-property", "covers", "length"),
        (machine("support S1 at=100 length=80", "carriage { rail-at a y=-100 }"), "unknown-node", "rail-at", "track"),
        (
            machine("support S1 at=100 length=80", "carriage { track a y=-100; load (N)10 case=one }"),
            "unknown-property",
            "case",
            "load-case",
        ),
        (
            machine("support S1 at=100 length=80", "") + "run-force X date=\"2026-04-19\" by=i-1 { at 600 14 }\n",
            "unknown-node",
            "run-force",
            "running-force",
        ),
        ("shop { wrench TW-1 kind=clicking }\n".to_owned() + &machine("", ""), "wrong-value", "clicking", "setting"),
        ("shop { wrench TW-1 kind=reading }\n".to_owned() + &machine("", ""), "wrong-value", "reading", "indicating"),
    ] {
        let told = told(&text, rule);
        assert!(told.contains(&format!("`{word}`")) && told.contains(&format!("did you mean `{meant}`?")), "{told}");
    }
    let inspect = "inspect X.a.J1 date=\"2026-04-15\" by=i-1 stylus=square { light none }\n";
    let two = "machine m { axis X { run from=0 to=2400; rail a { segment 1200; segment 1200 } } }\n";
    assert!(told(&format!("{two}{inspect}"), "wrong-value").contains("did you mean `normal`?"));
}

/// The name on the left is the SI's with a point and powers, as the Unified Code for Units of Measure spells it.
#[test]
fn units_need_no_quotes_and_may_have_them() {
    fn same<A: Amount + std::fmt::Debug>(names: &[&str], plain: &str) {
        for name in names {
            assert_eq!(A::read("12", Some(name)).ok(), A::read(plain, None).ok(), "{name}");
        }
        assert!(A::read(plain, None).is_ok());
    }
    same::<Torque>(&["N.m", "N·m", "Nm"], "12");
    same::<Acceleration>(&["m.s-2", "m/s2"], "12");
    same::<Stiffness>(&["N.um-1", "N/um"], "12");
    same::<Stiffness>(&["N.mm-1", "N/mm"], "0.012");
    same::<PerKelvin>(&["K-1", "1/K"], "12");
    same::<PerKelvin>(&["um.m-1.K-1", "um/m/K"], "0.000012");
    let text = machine("support S1 at=(um)100000 length=(in)3", "carriage acceleration=(m.s-2)3 { block a at=0 }");
    let quoted = text.replace("(m.s-2)", "(\"m/s2\")").replace("(um)", "(\"um\")").replace("(in)", "(\"in\")");
    for text in [text, quoted] {
        assert_eq!(
            lint_text(&text).iter().filter(|finding| finding.rule.as_str().starts_with("wrong")).count(),
            0,
            "{text}"
        );
        // The layout leaves either spelling as it is.
        let tidy = tidy(&text).expect("it reads");
        for unit in ["(um)", "(\"um\")", "(in)", "(\"in\")", "(m.s-2)", "(\"m/s2\")"] {
            assert_eq!(text.matches(unit).count(), tidy.matches(unit).count(), "{unit}");
        }
    }
    assert!(told(&machine("", "carriage acceleration=\"3m/s2\" { block a at=0 }"), "wrong-value").contains("(m.s-2)3"));
}

const MACHINE: &str = "machine m { axis X { run from=0 to=1200\nrail a { segment 1200; segment 600 } } }\n";

#[test]
fn a_known_edition_changes_nothing() {
    let plain = judge(&[("machine.kdl", MACHINE)], &[]).findings;
    let stated = judge(&[("machine.kdl", &format!("// ours\nedition 1\n\n{MACHINE}"))], &[]).findings;
    let say =
        |all: &[Finding]| all.iter().map(|it| format!("{} {} {}", it.rule, it.address, it.message)).collect::<Vec<_>>();
    assert!(!plain.is_empty());
    assert_eq!(say(&plain), say(&stated));
}

#[test]
fn a_file_of_an_unknown_edition_is_not_judged_wherever_it_lies() {
    let record = "edition 3\nfasten X.a date=\"2026-04-14\" by=f-1 stage=full setting=900 { clicked S1 }\n";
    let shop = "edition 2\nshop { wrench TW-1 kind=of-later }\n";
    for (files, shops, said) in [
        (vec![("machine.kdl", format!("edition 2\n{MACHINE}"))], vec![], "2"),
        (vec![("machine.kdl", format!("{MACHINE}edition 2\n"))], vec![], "2"),
        (vec![("machine.kdl", format!("edition \"1\"\n{MACHINE}"))], vec![], "\"1\""),
        (vec![("machine.kdl", MACHINE.to_owned()), ("r.kdl", record.to_owned())], vec![], "3"),
        (vec![("machine.kdl", MACHINE.to_owned())], vec![shop], "2"),
    ] {
        let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (*name, text.as_str())).collect();
        let judged = judge(&files, &shops);
        assert!(judged.ledger.not_judged.is_some() && judged.ledger.machine.axes.is_empty(), "{files:?}");
        let [finding] = &judged.findings[..] else { panic!("{files:?}: {:#?}", judged.findings) };
        assert_eq!(finding.rule.as_str(), "unknown-edition");
        assert!(finding.message.contains(&format!("edition {said} ")), "{}", finding.message);
        assert!(finding.next.starts_with("known: 1;"), "{}", finding.next);
        let source = judged.ledger.sources.get(finding.at.place.source);
        assert_eq!(&source.document.text()[finding.at.place.span.range()], said);
    }
    // In its place, but not above all else.
    let below = judge(&[("machine.kdl", &format!("{MACHINE}edition 1\n"))], &[]).findings;
    assert!(
        below.iter().any(|it| it.rule.as_str() == "unknown-node" && it.next == "it belongs at the top of the file")
    );
}

#[test]
fn the_program_refuses_an_unknown_edition() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = format!("// a bridge\nedition 2\n{MACHINE}");
    fs::create_dir(folder.path().join("m")).expect("made");
    fs::write(folder.path().join("m/machine.kdl"), &text).expect("written");
    let (out, _, code) = run(folder.path(), &["lint", "m"]);
    assert_eq!(code, Some(1), "{out}");
    assert!(out.contains("unknown-edition") && out.contains("m/machine.kdl:2:9") && out.contains("known: 1;"), "{out}");
    let record = ["record", "service", "X", "--by", "f-1", "--task", "lubricate", "--travelled", "1", "--ledger", "m"];
    let release = ["release", "X", "--by", "e-1", "--ledger", "m"];
    let layout = ["layout", "X", "--ledger", "m", "--write", "--replace"];
    for command in [&record[..], &release, &layout] {
        let (_, err, code) = run(folder.path(), command);
        assert_eq!(code, Some(2), "{command:?}: {err}");
        assert!(err.contains("edition 2"), "{command:?}: {err}");
    }
    assert_eq!(fs::read_dir(folder.path().join("m")).expect("listed").count(), 1);
    assert_eq!(fs::read_to_string(folder.path().join("m/machine.kdl")).expect("read"), text);
}
