//! Holds and lifts on small ledgers, and the story of a step that was recorded honestly.

use wayledger::lint::{Finding, Grade};

use crate::common::yard::{GOOD, Ran, SAW, Yard, bad};
use crate::common::{judge, lint_text};

const RAILS: &str = "shop { gauge DI-4 kind=dial-indicator graduation=0.002 permissible-error=0.005 plus=outward { carrier reach=40 travel=15; calibrated \"2026-01-12\" due=\"2027-01-12\" } }\nmachine m { axis X { run to=2400; rail a { segment 1200; segment 1200 } } }\n";
const STEP: &str = "inspect X.a.J1 date=\"2026-04-15T10:00\" by=inspector-1 { light none; UL 0 -> 0.05 }\n";

fn hold(on: &str, at: &str) -> String {
    format!("hold {on} date=\"{at}\" by=inspector-1 reason=\"read twice\"\n")
}

fn step(findings: Vec<Finding>) -> Finding {
    findings.into_iter().find(|finding| finding.rule.as_str() == "joint-step").expect("the step is found")
}

fn is_held(text: &str) -> bool {
    let step = step(lint_text(text));
    assert_eq!(step.held.is_some(), step.to_hold.is_none(), "held, or offered to be: {step:?}");
    assert!(step.is_broken(), "a hold cures nothing");
    step.held.is_some()
}

#[test]
fn a_hold_lets_in_what_was_read_at_its_address_up_to_its_own_moment() {
    for (on, covers) in [("X.a.J1", true), ("X.a", true), ("X", true), ("X.a.seg1", false)] {
        assert_eq!(is_held(&format!("{RAILS}{STEP}{}", hold(on, "2026-04-15T10:00"))), covers, "{on}");
    }
    for (at, covers) in
        [("2026-04-15T10:01", true), ("2026-04-16", true), ("2026-04-15T09:59", false), ("2026-04-14", false)]
    {
        assert_eq!(is_held(&format!("{RAILS}{STEP}{}", hold("X.a.J1", at))), covers, "{at}");
    }
    // A later slip needs its own, on the same day too.
    let later = STEP.replace("T10:00", "T11:00");
    assert!(!is_held(&format!("{RAILS}{STEP}{}{later}", hold("X.a.J1", "2026-04-15T10:30"))));
    let untimed = STEP.replace("T10:00", "");
    assert!(!is_held(&format!("{RAILS}{}{untimed}", hold("X.a.J1", "2026-04-15"))), "it stands above the reading");
    assert!(is_held(&format!("{RAILS}{untimed}{}", hold("X.a.J1", "2026-04-15"))));
    // In another file nobody knows which came first.
    let files = [("machine.kdl", RAILS), ("a.kdl", &hold("X.a.J1", "2026-04-15")), ("b.kdl", &untimed)];
    assert!(step(judge(&files, &[]).findings).held.is_some());
}

#[test]
fn the_offered_line_holds_what_it_is_offered_for() {
    let offered = step(lint_text(&format!("{RAILS}{STEP}"))).to_hold.expect("a line");
    assert_eq!(offered, "hold X.a.J1 date=\"2026-04-15T10:00\" by=inspector-1 reason=\"this is what was read\"");
    assert!(is_held(&format!("{RAILS}{STEP}{offered}\n")));
    // Of names that need quotes, and of any rule at the machine that shows a reading.
    for rule in wayledger::lint::rules() {
        let text = rule.wrong.replace("by=fitter-2", "by=\"fitter 2\"");
        for finding in lint_text(&text).iter().filter(|finding| finding.to_hold.is_some()) {
            let line = finding.to_hold.as_deref().expect("a line");
            let after = lint_text(&format!("{text}\n{line}\n"));
            let same = |other: &&Finding| {
                (other.rule, &other.address, &other.message) == (finding.rule, &finding.address, &finding.message)
            };
            let other = after.iter().find(same);
            assert!(other.is_some_and(|other| other.held.is_some()), "{}: {line}: {after:#?}", rule.name);
        }
    }
}

fn of_rule(text: &str, rule: &str) -> Vec<String> {
    let about = |finding: &&Finding| finding.rule.as_str() == rule;
    lint_text(text)
        .iter()
        .filter(about)
        .map(|finding| format!("{} {}", finding.address, finding.grade.name()))
        .collect()
}

#[test]
fn a_hold_is_in_force_until_it_is_lifted_or_voided() {
    let held = format!("{RAILS}{STEP}{}", hold("X.a.J1", "2026-04-15T10:00"));
    let in_force = |more: &str| of_rule(&format!("{held}{more}\n"), "hold-in-force");
    let lift = "lift X.a.J1 date=\"2026-04-16\" by=inspector-1 disposition=rework reason=\"read again\"";
    assert_eq!(in_force(""), ["X.a.J1 outstanding"]);
    let again = "inspect X.a.J1 date=\"2026-04-16\" by=inspector-1 { light none; UL 0 -> 0 }";
    assert!(in_force(&format!("{again}\n{lift}")).is_empty());
    assert_eq!(in_force(lift).len(), 1, "nothing shows that it was worked on");
    assert_eq!(in_force(&lift.replace("X.a.J1", "X.a")).len(), 1, "a lift names what is held");
    assert_eq!(in_force(&lift.replace("04-16", "04-14")).len(), 1, "a lift before the hold lifts nothing");
    assert_eq!(in_force(&format!("{again}\n{lift}\n{}", hold("X.a.J1", "2026-04-17"))).len(), 1, "a second hold");
    let void = "void hold X.a.J1 of=\"2026-04-15T10:00\" date=\"2026-04-16\" by=engineer-1 reason=\"a slip\"";
    assert!(in_force(void).is_empty());
    let unlift = "void lift X.a.J1 of=\"2026-04-16\" date=\"2026-04-17\" by=engineer-1 reason=\"too early\"";
    assert_eq!(in_force(&format!("{again}\n{lift}\n{unlift}")).len(), 1);
    // Once lifted, it lets nothing in any more.
    assert!(!is_held(&format!("{held}{lift}\n")));
}

/// The words of ISO 9000:2015, 3.12.8, 3.12.9, 3.12.5, 3.12.4 and 3.12.10, from memory.
#[test]
fn a_lift_says_what_was_done_in_the_words_of_the_standard() {
    for word in ["rework", "repair", "concession", "regrade", "scrap", "ignored"] {
        let text = format!(
            "{RAILS}{STEP}{}lift X.a.J1 date=\"2026-04-16\" by=inspector-1 disposition={word} reason=\"so\"\n",
            hold("X.a.J1", "2026-04-15T10:00")
        );
        assert_eq!(of_rule(&text, "wrong-value").is_empty(), word != "ignored", "{word}");
    }
}

#[test]
fn a_hold_that_nothing_asks_for_any_more_is_an_observation() {
    let idle = |more: &str| of_rule(&format!("{RAILS}{STEP}{}{more}", hold("X.a.J1", "2026-04-15T10:00")), "hold-idle");
    assert!(idle("").is_empty());
    let all = "light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0.005";
    let again = format!("inspect X.a.J1 date=\"2026-04-16\" by=inspector-1 gauge=DI-4 {{ {all} }}\n");
    let unnamed = again.replace(" gauge=DI-4", "");
    assert!(idle(&unnamed).is_empty(), "what no gauge vouches for cures nothing");
    assert_eq!(idle(&again), ["X.a.J1 observation"]);
    assert!(idle(&again.replace("0.005", "0.05")).is_empty(), "it is still broken");
    // A hold that names no reading is the engineer's own to end.
    let chip = format!(
        "{RAILS}inspect X.a.J1 date=\"2026-04-14\" by=inspector-1 {{ {all} }}\n{}",
        hold("X.a.J1", "2026-04-15")
    );
    assert!(of_rule(&chip, "hold-idle").is_empty());
    assert_eq!(of_rule(&chip, "hold-in-force"), ["X.a.J1 outstanding"]);
}

/// A hold may be put on a released axis at any day, and its seal still holds.
#[test]
fn holds_never_alter_a_seal() {
    let yard = released();
    let mut text = String::new();
    for record in [
        "hold X date=\"2026-05-01\" by=engineer-1 reason=\"found out later\"\n",
        "lift X date=\"2026-05-02\" by=engineer-1 disposition=rework reason=\"done\"\n",
        "void hold X of=\"2026-05-01\" date=\"2026-05-03\" by=engineer-1 reason=\"not this one\"\n",
    ] {
        text.push_str(record);
        yard.write("slide/found-out-later.kdl", &text);
        let lint = yard.wayledger(&["lint", "--today", "2026-06-01", "slide"]);
        assert_eq!((lint.code, lint.out.contains("release-altered")), (0, false), "{record}{}", lint.out);
    }
}

fn released() -> Yard {
    released_as("machine slide { axis X { rail left { segment 600; support S1 at=120 } } }\n")
}

/// A slide with one support, described as somebody wants it, and released.
pub(crate) fn released_as(machine: &str) -> Yard {
    let yard = Yard::empty();
    yard.write(
        "slide/machine.kdl",
        String::from("shop {\n    not-applicable torque-window date=\"2026-05-01\" by=office reason=\"bolts of the maker\"\n    not-applicable snug-window date=\"2026-05-01\" by=office reason=\"bolts of the maker\"\n    not-applicable overtravel date=\"2026-05-01\" by=office reason=\"no carriage here\"\n    not-applicable bolt-off-hole date=\"2026-05-01\" by=office reason=\"holes are drilled in place\"\n    not-applicable joint-needless date=\"2026-05-01\" by=office reason=\"cut from what was there\"\n    not-applicable segment-stock date=\"2026-05-01\" by=office reason=\"cut from what was there\"\n    not-applicable torque-window-fit date=\"2026-05-01\" by=office reason=\"bolts of the maker\"\n    not-applicable run-length date=\"2026-05-01\" by=office reason=\"one bar is all\"\n    not-applicable parts-mixed date=\"2026-05-01\" by=office reason=\"one bar is all\"\n    not-applicable support-overlap date=\"2026-05-01\" by=office reason=\"one support is all\"\n    wrench TW-1 kind=setting least=0.5 most=5 { calibrated \"2026-02-02\" due=\"2027-02-02\" }\n    wrench TW-2 kind=setting least=4 most=20 { calibrated \"2026-02-02\" due=\"2027-02-02\" }\n}\n") + machine,
    );
    yard.write(
        "slide/records.kdl",
        "fasten X.left date=\"2026-05-04\" by=fitter-2 wrench=TW-1 stage=snug setting=1.5 { clicked S1 }\nfasten X.left date=\"2026-05-04\" by=fitter-2 wrench=TW-2 stage=full setting=10.5 { clicked S1 }\n",
    );
    let ran = yard.release("slide", "2026-05-08");
    assert_eq!(ran.code, 0, "{ran:?}");
    yard
}

#[test]
fn a_release_is_refused_and_says_which_hold() {
    let yard = released();
    let void = "void release X of=\"2026-05-08\" date=\"2026-05-09\" by=engineer-2 reason=\"a wrong drawing\"\n";
    yard.write("slide/void.kdl", void);
    let release = |on: &str| {
        yard.wayledger(&["release", "X", "--by", "engineer-9", "--ledger", "slide", "--today", on, "--date", on])
    };
    let refused = release("2026-05-10");
    assert_eq!(refused.code, 1);
    assert!(
        refused
            .out
            .contains("hold-in-force X: X is on hold since its release was withdrawn on 2026-05-09: a wrong drawing"),
        "{refused:?}"
    );
    let lift = "lift X date=\"2026-05-10\" by=engineer-2 disposition=concession reason=\"the drawing is right\"\n";
    yard.write("slide/void.kdl", format!("{void}{lift}"));
    assert_eq!(release("2026-05-11").code, 0);
}

#[test]
fn after_a_release_nobody_lifts_a_hold_on_their_own_work() {
    let yard = released();
    for (by, broken) in [("fitter-2", true), ("inspector-3", false)] {
        yard.write(
            "slide/hold.kdl",
            format!("hold X date=\"2026-06-01\" by={by} reason=\"noise\"\nlift X date=\"2026-06-02\" by={by} disposition=repair reason=\"quiet\"\n"),
        );
        let lint = yard.wayledger(&["lint", "--today", "2026-06-03", "slide"]);
        assert_eq!((lint.code, lint.out.contains("lift-self X")), (i32::from(broken), broken), "{}", lint.out);
    }
}

#[test]
fn the_report_and_the_json_say_what_is_held_and_since_when() {
    let yard = Yard::with_saw();
    yard.write(
        "saw/2021-04-15.kdl",
        bad() + "hold X.left.J1 date=\"2021-04-15\" by=inspector-1 reason=\"read twice\"\n",
    );
    let json = yard.wayledger(&["lint", "--format", "json", "--today", "2021-05-02"]);
    let json: serde_json::Value = serde_json::from_str(&json.out).expect("JSON");
    let ledgers = json["ledgers"].as_array().expect("ledgers");
    let ledger = ledgers.iter().find(|one| one["path"] == "saw").expect("the saw");
    assert_eq!((&ledger["on_hold"], &ledger["at_machine"], &ledger["by_writing"]), (&1.into(), &0.into(), &0.into()));
    let step = ledger["findings"].as_array().unwrap().iter().find(|one| one["rule"] == "joint-step").unwrap();
    assert_eq!((&step["held"]["since"], &step["put_right"]), (&"2021-04-15".into(), &"at-machine".into()));
    let report = |format: &str| yard.wayledger(&["report", "saw", "--today", "2021-05-02", "--format", format]).out;
    assert!(
        report("text").contains("X.left.J1 on hold since 2021-04-15 by inspector-1, nonconforming now: read twice"),
        "{}",
        report("text")
    );
    assert!(report("text").contains("1 nonconformity (1 held)"));
    assert!(
        report("markdown").contains("| X.left.J1 | hold | nonconforming | on 2021-04-15 by inspector-1 | read twice |"),
        "{}",
        report("markdown")
    );
    // The traveler and the fleet show it too, and a sheet for each hold hangs at the part.
    let traveler = |more: &[&str]| {
        let head = ["traveler", "X", "--ledger", "saw", "--today", "2021-05-02"];
        yard.wayledger(&[&head[..], more].concat()).out
    };
    assert!(traveler(&[]).contains("| X.left.J1 | 2021-04-15 | inspector-1 | read twice |"), "{}", traveler(&[]));
    let sheets = traveler(&["--holds"]);
    for said in [
        "## ON HOLD: X.left.J1",
        "- On hold since: 2021-04-15",
        "- Reason: read twice",
        "groove UL steps by 0.03 mm",
        "[ ] rework [ ] repair [ ] concession [ ] regrade [ ] scrap",
        "lift X.left.J1 date=\"…\" by=… disposition=… reason=\"…\"",
    ] {
        assert!(sheets.contains(said), "{said}: {sheets}");
    }
    assert!(!sheets.contains("\n---\n"), "one hold is one page: {sheets}");
    yard.write("saw-2/machine.kdl", SAW.replace("machine saw", "machine saw-2"));
    let fleet = yard.wayledger(&["report", ".", "--today", "2021-05-02"]).out;
    assert!(fleet.contains("on hold since") && fleet.contains("lift the hold"), "{fleet}");
    let json: serde_json::Value = serde_json::from_str(&report("json")).expect("JSON");
    assert_eq!((&json["holds"][0]["on"], &json["holds"][0]["date"]), (&"X.left.J1".into(), &"2021-04-15".into()));
}

#[test]
fn a_lifted_hold_shows_its_disposition_and_a_scrapped_part_stays_on_hold() {
    let yard = Yard::with_saw();
    let hold = |on: &str| format!("hold {on} date=\"2021-04-15\" by=inspector-1 reason=\"read twice\"\n");
    let lift = |on: &str, word: &str| {
        format!("lift {on} date=\"2021-04-16\" by=engineer-1 disposition={word} reason=\"so decided\"\n")
    };
    let (joint, segment) = ("X.left.J1", "X.left.seg1");
    let records = bad() + &hold(joint) + &hold(segment) + &lift(joint, "concession") + &lift(segment, "scrap");
    yard.write("saw/2021-04-15.kdl", records);
    let report = yard.wayledger(&["report", "saw", "--today", "2021-05-02", "--format", "markdown"]).out;
    let (held, lifted) = report.split_once("Holds that were lifted").expect("both tables");
    assert!(held.contains("| read twice | scrap on 2021-04-16 by engineer-1: so decided |"), "{held}");
    assert!(lifted.contains("| read twice | concession on 2021-04-16 by engineer-1: so decided |"), "{lifted}");
    let sheets = yard.wayledger(&["traveler", "X", "--ledger", "saw", "--today", "2021-05-02", "--holds"]).out;
    assert!(
        sheets.contains("It was decided on 2021-04-16: scrap.") && !sheets.contains("ON HOLD: X.left.J1"),
        "{sheets}"
    );
    yard.write("saw/2021-04-17.kdl", hold("X") + &hold("X.left").replace("04-15", "04-17"));
    let sheets = yard.wayledger(&["traveler", "X", "--ledger", "saw", "--today", "2021-05-02", "--holds"]).out;
    assert_eq!((sheets.matches("## ON HOLD").count(), sheets.matches("\n---\n").count()), (3, 2), "{sheets}");
}

#[test]
fn withdrawing_a_release_asks_what_is_wrong_and_where() {
    let yard = released();
    let void = "void release X of=\"2026-05-08\" date=\"2026-05-09\" by=engineer-2 reason=\"a chip under a seat\"\n";
    let next = |more: &str| {
        yard.write("slide/void.kdl", format!("{void}{more}"));
        yard.wayledger(&["lint", "--today", "2026-05-10", "slide"]).out
    };
    assert!(next("").contains("say what is wrong and where it is: hold X…"), "{}", next(""));
    let hold = "hold X.left.S1 date=\"2026-05-09\" by=engineer-2 reason=\"a chip\"\n";
    assert!(!next(hold).contains("say what is wrong"), "{}", next(hold));
}

#[test]
fn the_summary_counts_what_is_put_right_by_writing_at_the_machine_and_held() {
    let text = format!("{RAILS}{STEP}{}loosen X.b date=\"2026-04-16\" by=x\n", hold("X.a.J1", "2026-04-15T10:00"));
    let findings = lint_text(&text);
    let counts = wayledger::format::Counts::from_findings(&findings);
    assert_eq!((counts.nonconformities, counts.by_writing, counts.held), (2, 1, 1), "{findings:#?}");
    assert!(counts.line().starts_with("2 nonconformities (1 by writing, 1 held), "), "{}", counts.line());
    assert!(findings.iter().all(|finding| finding.grade != Grade::Nonconformity || finding.cure.is_some()));
}

fn commit(yard: &Yard) -> Ran {
    yard.git(&["add", "-A"]);
    yard.run("git", &["commit", "-q", "-m", "a day's work"])
}

/// A step of 0.05 mm, as it happens to a team: nobody has a reason to go past the hook.
#[test]
fn a_step_honestly_recorded_stops_nobody_for_longer_than_a_line() {
    let yard = Yard::with_saw();
    assert_eq!(yard.wayledger(&["hook"]).code, 0);
    let read = |day: &str, step: &str| GOOD.replace("2021-04-15", day).replace("0 -> 0.01", step);
    // The step is read, and the commit stopped: most such are slips of the finger.
    let step = read("2021-04-16", "0 -> 0.05");
    yard.write("saw/2021-04-16.kdl", &step);
    let stopped = commit(&yard);
    assert_eq!(stopped.code, 1, "{stopped:?}");
    let shown = format!("{}{}", stopped.out, stopped.err).replace("\n  ", " ");
    let line = shown.split("or, if it is so: ").nth(1).and_then(|rest| rest.split('\n').next()).expect("the line");
    assert_eq!(line, "hold X.left.J1 date=\"2021-04-16\" by=inspector-1 reason=\"this is what was read\"");
    // It is what it showed: the line is pasted as it is offered.
    yard.write("saw/2021-04-16.kdl", format!("{step}{line}\n"));
    let held = commit(&yard);
    assert_eq!(held.code, 0, "{held:?}");
    assert!(held.err.contains("1 held") || held.out.contains("1 held"), "{held:?}");
    assert_eq!(yard.wayledger(&["lint", "-q"]).code, 1, "the lint is still red");
    assert_eq!(yard.wayledger(&["lint", "-q", "--allow-held"]).code, 0, "the pull request is not");
    // What the finding asks for.
    yard.write(
        "saw/2021-04-17.kdl",
        "loosen X.left date=\"2021-04-17\" by=fitter-2 reason=\"aligned anew\" { at S4 J1 S6 }\n",
    );
    assert_eq!(commit(&yard).code, 0);
    assert_eq!(yard.wayledger(&["lint", "-q", "--allow-held"]).code, 0);
    // Somebody else's day in the same ledger.
    yard.write(
        "saw/2021-04-18.kdl",
        "fasten X.left date=\"2021-04-18\" by=fitter-3 stage=snug setting=1.5 { clicked J1 S4 S6 }\nfasten X.left date=\"2021-04-18\" by=fitter-3 stage=full setting=10.5 { clicked J1 S4 S6 }\n",
    );
    assert_eq!(commit(&yard).code, 0);
    // A slip after the hold needs its own.
    yard.write("saw/2021-04-19.kdl", read("2021-04-19", "0 -> 0.5"));
    assert_eq!(commit(&yard).code, 1);
    // Read again; the hold is lifted.
    yard.write("saw/2021-04-19.kdl", read("2021-04-19", "0 -> 0.01"));
    assert_eq!(commit(&yard).code, 0);
    yard.write(
        "saw/2021-04-20.kdl",
        "lift X.left.J1 date=\"2021-04-20\" by=inspector-1 disposition=rework reason=\"aligned and read again\"\n",
    );
    assert_eq!(commit(&yard).code, 0);
    let lint = yard.wayledger(&["lint", "-q"]);
    assert_eq!((lint.code, lint.out.contains("hold")), (0, false), "{lint:?}");
}

/// A gauge whose calibration ran out before it was used: the commit with nothing but its new calibration goes through.
#[test]
fn a_commit_with_nothing_but_the_missing_calibration_goes_through() {
    let gauge = |more: &str| {
        format!(
            "shop \"Q\" {{\n    gauge DI-4 kind=dial-indicator graduation=0.001 permissible-error=0.002 plus=outward {{\n        calibrated \"2019-01-10\" due=\"2020-01-10\" certificate=\"C-1\"{more}\n    }}\n    profile R20 hole-pitch=60 end-distance=30\n}}\n"
        )
    };
    let yard = Yard::with_saw();
    yard.write("shop.kdl", gauge(""))
        .write("saw/2021-04-15.kdl", GOOD.replace("by=inspector-1", "by=inspector-1 gauge=DI-4"));
    yard.commit("read with a gauge that was overdue");
    let overdue = yard.wayledger(&["lint", "-q", "--complete"]);
    assert!(overdue.code == 1 && overdue.out.contains("gauge-calibration"), "{overdue:?}");
    assert_eq!(yard.wayledger(&["hook"]).code, 0);
    yard.write("shop.kdl", gauge("\n        calibrated \"2021-05-01\" due=\"2022-05-01\" certificate=\"C-2\""));
    let done = commit(&yard);
    assert_eq!(done.code, 0, "{done:?}");
}

/// Who may not judge their own work hangs on the name under it.
#[test]
fn a_commit_gives_no_record_to_somebody_else() {
    let yard = Yard::with_saw();
    yard.write("saw/2021-04-15.kdl", GOOD);
    yard.commit("read");
    assert_eq!(yard.wayledger(&["hook"]).code, 0);
    for other in ["by=inspector-9", ""] {
        yard.write("saw/2021-04-15.kdl", GOOD.replace("by=inspector-1", other));
        let done = commit(&yard);
        assert_eq!(done.code, 1, "{done:?}");
        assert!(done.out.contains("record-altered") || done.err.contains("record-altered"), "{done:?}");
        let said = format!("{}{}", done.out, done.err).replace('│', "");
        let said = said.split_whitespace().collect::<Vec<&str>>().join(" ");
        assert!(said.contains("`by` was `inspector-1`"), "{done:?}");
    }
    // In another file, or tidied, it is the same record.
    std::fs::remove_file(yard.root.join("saw/2021-04-15.kdl")).expect("removed");
    yard.write("saw/april.kdl", GOOD.replace("    ", "  "));
    assert_eq!(commit(&yard).code, 0);
}

/// The line that a finding offers has the moment of the reading, and may stand anywhere.
#[test]
fn an_offered_hold_may_stand_at_the_end_of_its_file() {
    let later = "inspect X.a.J1 date=\"2026-04-15T11:00\" by=inspector-1 { light none }\n";
    let text = format!("{RAILS}{STEP}{later}{}", hold("X.a.J1", "2026-04-15T10:00"));
    assert!(is_held(&text));
    assert_eq!(of_rule(&text, "date-order"), [""; 0]);
}
