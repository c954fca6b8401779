//! Rework is read again beside it and tied to what was read before, or the lint says what is lacking.

use wayledger::lint::{Finding, Grade};

use crate::common::lint_text;

/// Nine supports on each of two rails, all tight.
fn machine(shims: &str) -> String {
    let supports = "supports S first=240 pitch=240 count=9";
    format!(
        r#"
shop {{
    gauge EI-1 kind=electronic-indicator graduation=0.001 permissible-error=0.002 {{ calibrated "2026-01-02" due="2027-01-02" }}
    gauge LA-1 kind=laser graduation=0.001 permissible-error=0.002 {{ calibrated "2026-01-02" due="2027-01-02" }}
}}
machine m {{
    rulebook {{ straightness most=0.03 reason="drawing 12"; height-range most=0.03 reason="drawing 12" }}
    axis X {{ rail a {{ {supports} }}; rail b follows=a {shims} {{ {supports} }} }}
}}
fasten X.a date="2026-04-30" by=fitter-2 stage=full setting=10.5 {{ clicked S1..S9 }}
fasten X.b date="2026-04-30" by=fitter-2 stage=full setting=10.5 {{ clicked S1..S9 }}
"#
    )
}

fn survey(kind: &str, day: u32, gauge: &str, plus: &str, rows: &[(u32, &str)]) -> String {
    let rows: Vec<String> = rows.iter().map(|(at, reading)| format!("at S{at} {reading}")).collect();
    format!(
        "survey {kind} X.b date=\"2026-05-{day:02}\" by=inspector-1 gauge={gauge} plus={plus} stage=verification {{ {} }}\n",
        rows.join("; ")
    )
}

/// One rail loosened at a support and tight again.
fn rework(rail: &str, at: u32) -> String {
    format!(
        "loosen X.{rail} date=\"2026-05-02\" by=fitter-2 reason=\"pushed back to its line\" {{ at S{at} }}\n\
         fasten X.{rail} date=\"2026-05-03\" by=fitter-2 stage=full setting=10.5 {{ clicked S{at} }}\n"
    )
}

const BENT: [(u32, &str); 9] =
    [(1, "0"), (2, "0"), (3, "0"), (4, "0.02"), (5, "0.1"), (6, "0.02"), (7, "0"), (8, "0"), (9, "0")];

fn about_surveys(text: &str) -> Vec<Finding> {
    let ours =
        ["gap-range", "straightness-range", "height-range", "station-missing", "survey-stale", "shim-unverified"];
    let all = lint_text(text).into_iter();
    all.filter(|it| ours.contains(&it.rule.as_str()) && !it.message.contains("is not surveyed")).collect()
}

fn said(text: &str) -> Vec<String> {
    about_surveys(text).iter().map(|it| format!("{}: {}", it.rule, it.message)).collect()
}

#[test]
fn a_gap_is_read_again_beside_the_rework_from_another_zero() {
    let first = machine("shims=widen") + &survey("gap", 1, "EI-1", "wider", &BENT);
    assert_eq!(said(&first), ["gap-range: the gap varies by 0.1 mm: S1 is the narrowest place, S5 the widest"]);
    // Zeroed elsewhere, and with the other way for plus.
    let again = [(2, "-0.5"), (3, "-0.5"), (4, "-0.51"), (5, "-0.5"), (6, "-0.5"), (7, "-0.5"), (8, "-0.5")];
    for rail in ["a", "b"] {
        let reworked = first.clone() + &rework(rail, 5);
        let both = reworked.clone() + &survey("gap", 4, "EI-1", "narrower", &again);
        assert_eq!(said(&both), [""; 0], "the rail {rail} was pushed");
        // Without rework on record the same readings only show that something is wrong.
        let unsaid = first.clone() + &survey("gap", 4, "EI-1", "narrower", &again);
        let all = about_surveys(&unsaid);
        assert_eq!(all.len(), 2, "{all:#?}");
        assert!(all.iter().any(|it| it.rule.as_str() == "gap-range" && it.grade == Grade::Nonconformity));
        let partial = all.iter().find(|it| it.rule.as_str() == "station-missing").unwrap();
        assert_eq!(partial.grade, Grade::Outstanding);
        // The mean change without sign is 0.5 − 0.13/7; U by hand: 2²/3 + 2.5²/3 for either survey, four graduations: u² =
        // 2 · (1.3333 + 2.0833) + 4/12 = 7.1667 µm², U = 5.354 µm.
        assert!(partial.message.contains("S5 misfits by 0.081429 mm, beyond U = 0.005355 mm"), "{}", partial.message);
        assert!(partial.next.contains("record what was loosened before this survey"), "{}", partial.next);
        assert!(partial.also.iter().any(|label| label.text == "read here before"));
    }
}

#[test]
fn a_survey_that_cannot_be_tied_says_what_is_lacking() {
    let before = machine("") + &survey("gap", 1, "EI-1", "wider", &BENT) + &rework("b", 5);
    let partial = |rows: &[(u32, &str)]| {
        let all = about_surveys(&(before.clone() + &survey("gap", 4, "EI-1", "wider", rows)));
        let partial = all.iter().find(|it| it.rule.as_str() == "station-missing").expect("it is partial").clone();
        // What was loosened stays open with it.
        assert!(all.iter().any(|it| it.rule.as_str() == "survey-stale"), "{all:#?}");
        (partial.message, partial.next)
    };
    let (message, next) = partial(&[(3, "0"), (4, "0"), (5, "0"), (6, "0")]);
    assert!(message.ends_with("1 station of both did not move in between, and 2 are needed"), "{message}");
    assert!(next.starts_with("read also stations that did not move since, on both sides"), "{next}");
    let (message, next) = partial(&[(2, "0"), (3, "0"), (4, "0"), (5, "0"), (6, "0")]);
    assert!(
        message.ends_with("no station beyond S6 is of both and did not move in between, and the rail goes on there")
    );
    assert!(next.starts_with("read also a station beyond S6 that did not move"), "{next}");
    let (message, _) = partial(&[(4, "0"), (5, "0"), (6, "0"), (7, "0"), (8, "0")]);
    assert!(message.contains("no station before S4"), "{message}");
    // At the end of a rail there is one side only.
    let end = machine("") + &survey("gap", 1, "EI-1", "wider", &BENT[..9]) + &rework("b", 9);
    let rows = [(6, "1.02"), (7, "1"), (8, "1"), (9, "1")];
    let all = said(&(end + &survey("gap", 4, "EI-1", "wider", &rows)));
    assert!(!all.iter().any(|it| it.contains("partial") || it.contains("stale")), "{all:?}");
}

#[test]
fn straightness_and_a_line_of_sight_leave_the_slope_free_and_other_heights_do_not() {
    // The line was laid anew: 0.02 more from support to support.
    let again = [(2, "0.04"), (3, "0.06"), (4, "0.08"), (5, "0.1"), (6, "0.12"), (7, "0.14"), (8, "0.16")];
    let fitted = |kind: &str, gauge: &str, plus: &str| {
        let first = machine("") + &survey(kind, 1, gauge, plus, &BENT) + &rework("b", 5);
        said(&(first + &survey(kind, 4, gauge, plus, &again)))
    };
    assert_eq!(fitted("straightness", "EI-1", "left"), [""; 0]);
    assert_eq!(fitted("straightness", "LA-1", "up"), [""; 0]);
    assert_eq!(fitted("height", "LA-1", "up"), [""; 0]);
    let rail_to_rail = fitted("height", "EI-1", "up");
    assert!(rail_to_rail.iter().any(|it| it.contains("misfits")), "{rail_to_rail:?}");
    // Two ties carry no line that a third could speak against.
    let two = machine("") + &survey("straightness", 1, "LA-1", "up", &BENT) + &rework("b", 5);
    let two = said(&(two + &survey("straightness", 4, "LA-1", "up", &again[1..6])));
    assert!(
        two.iter().any(|it| it.ends_with("2 stations of both did not move in between, and 3 are needed")),
        "{two:?}"
    );
}

#[test]
fn only_what_is_read_again_changes() {
    // Bent at S5 and at S8; only S5 is reworked and read again.
    let mut bent = BENT;
    bent[7].1 = "-0.06";
    let first = machine("") + &survey("gap", 1, "EI-1", "wider", &bent) + &rework("b", 5);
    let again = [(2, "0"), (3, "0"), (4, "0"), (5, "0"), (6, "0"), (7, "0")];
    assert_eq!(
        said(&(first.clone() + &survey("gap", 4, "EI-1", "wider", &again))),
        ["gap-range: the gap varies by 0.06 mm: S8 is the narrowest place, S1 the widest"]
    );
    // What was loosened and not read again is stale, and nothing else.
    let without = [(2, "0"), (3, "0"), (5, "0"), (6, "0"), (7, "0")];
    let stale = said(&(first + &survey("gap", 4, "EI-1", "wider", &without)));
    assert!(stale.iter().any(|it| it.contains("the gap readings at S4 are stale")), "{stale:?}");
}

#[test]
fn shims_are_verified_where_they_lie() {
    let low: Vec<(u32, &str)> = (1..=9).map(|at| (at, if at == 5 { "-0.1" } else { "0" })).collect();
    let as_fitted = survey("gap", 1, "EI-1", "wider", &low).replace("verification", "as-fitted");
    let shimmed = machine("shims=widen")
        + &as_fitted
        + "shim X.b date=\"2026-05-02\" by=fitter-2 { at S5 0.1 }\n\
           fasten X.b date=\"2026-05-03\" by=fitter-2 stage=full setting=10.5 { clicked S5 }\n";
    let there = [(2, "0.3"), (3, "0.3"), (4, "0.3"), (5, "0.3"), (6, "0.3"), (7, "0.3"), (8, "0.3")];
    assert_eq!(said(&(shimmed.clone() + &survey("gap", 4, "EI-1", "wider", &there))), [""; 0]);
    // A later survey of another stretch agrees, and says nothing of the shims.
    let elsewhere = [(1, "0"), (2, "0"), (8, "0"), (9, "0")];
    assert_eq!(
        said(&(shimmed + &survey("gap", 4, "EI-1", "wider", &elsewhere))),
        ["shim-unverified: the shims at S5 are not verified by a survey"]
    );
}

#[test]
fn a_survey_whose_gauge_cannot_vouch_for_it_ties_nothing_away() {
    let first = machine("") + &survey("gap", 1, "EI-1", "wider", &BENT);
    let again = [(2, "0"), (3, "0"), (4, "0"), (5, "0"), (6, "0"), (7, "0"), (8, "0")];
    // Beside S8 only: S5 was not moved, and does not fit; with no gauge it would be no proof in any case.
    for records in [rework("b", 8), String::new()] {
        let unnamed = survey("gap", 4, "EI-1", "wider", &again).replace("gauge=EI-1 ", "");
        let all = said(&(first.clone() + &records + &unnamed));
        assert!(all.iter().any(|it| it.starts_with("gap-range")), "{all:?}");
    }
}

/// As seen: a closure of three graduations under a limit that is eighty times as wide.
const CLOSED: &str = r#"
shop { gauge G1 kind=electronic-indicator graduation=0.0002 permissible-error=0.0015 plus=wider { calibrated "2026-01-12" due="2027-01-12" } }
machine m { axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=2 } } }
survey gap X.b date="2026-04-16" by=inspector-1 gauge=G1 stage=as-fitted { at S1 0; at S2 -0.03; closure S1 0.0006 }
"#;

#[test]
fn a_closure_may_be_a_tenth_of_the_limit_however_fine_the_gauge() {
    let limit = |text: &str| {
        let all = lint_text(text);
        let open = all.iter().find(|it| it.rule.as_str() == "survey-closure");
        open.map(|it| it.limit.as_ref().unwrap().text.clone())
    };
    assert_eq!(limit(CLOSED), None);
    assert_eq!(limit(&CLOSED.replace("0.0006", "0.005")), None);
    let tenth = Some("at most 0.005 mm, a tenth of gap-range".to_string());
    assert_eq!(limit(&CLOSED.replace("0.0006", "0.005001")), tenth);
    // One graduation where that is more, a stated limit in any case.
    let coarse = CLOSED.replace("graduation=0.0002", "graduation=0.01");
    assert_eq!(limit(&coarse.replace("0.0006", "0.01")), None);
    let graduation = Some("at most 0.01 mm, one graduation of the gauge".to_string());
    assert_eq!(limit(&coarse.replace("0.0006", "0.010001")), graduation);
    let stated =
        CLOSED.replace("machine m {", "machine m { rulebook { survey-closure most=0.0004 reason=\"drawing 12\" };");
    assert_eq!(limit(&stated), Some("at most 0.0004 mm".to_string()));
    // What is surveyed has a limit of its own.
    let height = CLOSED.replace("survey gap", "survey height").replace("plus=wider", "plus=up");
    let height =
        height.replace("machine m {", "machine m { rulebook { height-range most=0.004 reason=\"drawing 12\" };");
    assert_eq!(limit(&height), Some("at most 0.0004 mm, a tenth of height-range".to_string()));
}
