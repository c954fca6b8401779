//! A survey is cleared by one that reads it all again, in the same plane, and by none of some stations that are not tied to it.

use wayledger::lint::Grade;

use crate::common::lint_text;

/// Grade, rule, address and message of what the rules of surveys say, in that order.
fn said(text: &str) -> Vec<String> {
    let ours = ["straightness-range", "height-range", "gap-range", "station-missing", "shim-missing", "shim-total"];
    let all = lint_text(text);
    let own = all.iter().filter(|finding| ours.contains(&finding.rule.as_str()));
    let mut own: Vec<String> =
        own.map(|it| format!("{}: {} {}: {}", it.grade.name(), it.rule, it.address, it.message)).collect();
    own.sort();
    own
}

#[test]
fn another_plane_and_two_stations_clear_no_bent_rail() {
    let said = said(
        r#"
machine m {
    rulebook { straightness most=0.03 reason="drawing 12" }
    axis X { rail a { segment 7200; supports S first=240 pitch=240 count=29 } }
}
survey straightness X.a date="2026-04-15" by=inspector-1 stage=as-fitted plus=right { at S1 0; at S10 0.2; at S20 0.1; at S29 0 }
survey straightness X.a date="2026-04-16" by=inspector-1 stage=as-fitted plus=up { at S1 0; at S10 0.01; at S20 0.01; at S29 0 }
survey straightness X.a date="2026-04-17" by=inspector-1 stage=as-fitted plus=right { at S1 0; at S29 0.4 }
"#,
    );
    assert_eq!(
        said,
        [
            "nonconformity: straightness-range X.a: the rail is straight within 0.2 mm: S10 stands farthest out",
            "outstanding: station-missing X.a: the as-fitted straightness survey has no reading at S2..S9, S11..S19, S21..S28",
            "outstanding: station-missing X.a: the as-fitted straightness survey has no reading at S2..S9, S11..S19, S21..S28",
            "outstanding: station-missing X.a: the as-fitted straightness survey is partial: it has no reading at S10, S20, and is not tied to the one before: 2 stations of both did not move in between, and 3 are needed",
        ]
    );
}

#[test]
fn two_heights_clear_no_uneven_rails() {
    let said = said(
        r#"
machine m {
    rulebook { height-range most=0.04 reason="drawing 12" }
    axis X {
      rail a { segment 2400; supports S first=120 pitch=240 count=10 }
      rail b follows=a { segment 2400; supports S first=120 pitch=240 count=10 }
    }
}
survey gap X.b date="2026-04-14" by=inspector-1 stage=as-fitted { at S1 0; at S2 0; at S3 0; at S4 0; at S5 0; at S6 0; at S7 0; at S8 0; at S9 0; at S10 0 }
survey height X.b date="2026-04-15" by=inspector-1 stage=as-fitted plus=up { at S1 0; at S5 0.1; at S10 0 }
survey height X.b date="2026-04-16" by=inspector-1 stage=as-fitted plus=up { at S1 0; at S2 0.01 }
"#,
    );
    assert_eq!(
        said,
        [
            "nonconformity: height-range X.b: the height varies by 0.1 mm: S1 is the lowest place, S5 the highest",
            "outstanding: station-missing X.b: the as-fitted height survey is partial: it has no reading at S5, S10, and is not tied to the one before: 1 station of both did not move in between, and 2 are needed",
        ]
    );
}

const SPINDLE: &str = r#"
shop { profile R20 hole-pitch=60 end-distance=30
    gauge LV-1 kind=laser graduation=0.001 plus=wider { calibrated "2026-01-01" due="2027-01-01" } }
machine m {
    rulebook { gap-range most=0.02 reason="spindle"; straightness most=0.02 reason="spindle" }
    axis X {
        beam b { piece 2400 }
        rail a beam=b profile=R20 datum=left { segment 2400; supports S first=240 pitch=240 count=9 length=80 }
        rail c beam=b profile=R20 datum=right follows=a shims=widen { segment 2400; supports S first=240 pitch=240 count=9 length=80 }
    }
}
"#;

#[test]
fn a_service_survey_of_two_stations_clears_no_gap() {
    let said = said(&format!(
        r#"{SPINDLE}
survey gap X.c date="2026-05-01" by=inspector-1 gauge=LV-1 stage=verification {{ at S1 0; at S2 0.01; at S3 0.03; at S4 0.05; at S5 0.06; at S6 0.05; at S7 0.03; at S8 0.01; at S9 0 }}
survey gap X.c date="2026-05-02" by=inspector-1 gauge=LV-1 stage=service {{ at S1 0; at S2 0.01 }}
"#
    ));
    assert_eq!(
        said,
        [
            "nonconformity: gap-range X.c: the gap varies by 0.06 mm: S1 is the narrowest place, S5 the widest",
            "outstanding: station-missing X.c: the service gap survey is partial: it has no reading at S3..S9, and is not tied to the one before: no station beyond S2 is of both and did not move in between, and the rail goes on there",
        ]
    );
}

#[test]
fn a_service_survey_of_two_stations_clears_no_bend() {
    let said = said(&format!(
        r#"{}
survey straightness X.a date="2026-05-01" by=inspector-1 gauge=LV-1 stage=as-fitted {{
    at S1 0; at S2 0.01; at S3 0.03; at S4 0.05; at S5 0.06; at S6 0.05; at S7 0.03; at S8 0.01; at S9 0
}}
survey straightness X.a date="2026-05-02" by=inspector-1 gauge=LV-1 stage=service {{ at S1 0; at S2 0.01 }}
"#,
        SPINDLE.replace("plus=wider", "plus=right").replace(" follows=a shims=widen", "")
    ));
    assert_eq!(
        said,
        [
            "nonconformity: straightness-range X.a: the rail is straight within 0.06 mm: S5 stands farthest out",
            "outstanding: station-missing X.a: the service straightness survey is partial: it has no reading at S3..S9, and is not tied to the one before: 2 stations of both did not move in between, and 3 are needed",
        ]
    );
}

/// Five supports a rail, each kind of survey limited to 0.05.
const LIMITED: &str = r#"
shop {
    gauge LA-0 kind=laser graduation=0.001 { calibrated "2026-01-02" due="2027-01-02" }
    gauge LA-1 kind=laser graduation=0.001 plus=right { calibrated "2026-01-02" due="2027-01-02" }
    gauge LA-2 kind=laser graduation=0.001 plus=up { calibrated "2026-01-02" due="2027-01-02" }
}
machine m {
    rulebook { straightness most=0.05 reason="r x"; height-range most=0.05 reason="r x" }
    axis X {
        rail a { segment 2400; supports S first=240 pitch=480 count=5 }
        rail b follows=a shims=widen { segment 2400; supports S first=240 pitch=480 count=5 }
    }
}
"#;

fn survey(kind: &str, day: u32, stage: &str, plus: &str, rows: &[(&str, &str)]) -> String {
    let rows: Vec<String> = rows.iter().map(|(at, reading)| format!("at {at} {reading}")).collect();
    let gauge = if plus.contains("gauge=") { "" } else { "gauge=LA-0" };
    format!(
        "survey {kind} X.b date=\"2026-05-{day:02}\" by=inspector-1 stage={stage} {gauge} {plus} {{ {} }}\n",
        rows.join("; ")
    )
}

const BROKEN: [(&str, &str); 5] = [("S1", "0"), ("S2", "0"), ("S3", "0.2"), ("S4", "0"), ("S5", "0")];
const GOOD: [(&str, &str); 5] = [("S1", "0"), ("S2", "0.01"), ("S3", "0.02"), ("S4", "0.01"), ("S5", "0")];

/// Whether a fault of what was read is told, and whether a survey is called partial.
fn fault_and_partial(records: &str) -> (bool, bool) {
    let all = lint_text(&format!("{LIMITED}{records}"));
    let fault = ["straightness-range", "height-range", "gap-range", "shim-missing"];
    assert!(
        all.iter().filter(|it| it.rule.as_str() == "station-missing").all(|it| it.grade == Grade::Outstanding),
        "{all:#?}"
    );
    (
        // That nothing says what cured it is no fault of what is read.
        all.iter().any(|it| fault.contains(&it.rule.as_str()) && !it.message.contains("nothing says what was done")),
        all.iter().any(|it| it.rule.as_str() == "station-missing" && it.message.contains("is partial")),
    )
}

#[test]
fn in_each_kind_and_stage_only_a_whole_survey_clears() {
    let stages = ["as-fitted", "verification", "service"];
    for kind in ["gap", "straightness", "height"] {
        for (first, second) in stages.iter().flat_map(|first| stages.map(|second| (first, second))) {
            let about = format!("{kind}, {first}, then {second}");
            let broken = survey(kind, 1, first, "", &BROKEN);
            assert_eq!(fault_and_partial(&broken), (true, false), "{about}");
            // Every choice of stations.
            for chosen in 0..32_u32 {
                let rows: Vec<(&str, &str)> = (0..5).filter(|at| chosen >> at & 1 == 1).map(|at| GOOD[at]).collect();
                if rows.is_empty() {
                    continue;
                }
                let whole = chosen == 31;
                let both = broken.clone() + &survey(kind, 2, second, "", &rows);
                // The two ends of a gap agree with what was read before: they are tied, and change nothing.
                let tied = kind == "gap" && chosen == 0b10001;
                assert_eq!(fault_and_partial(&both), (!whole, !whole && !tied), "{about}: {rows:?}");
                // A whole one after the partial one leaves nothing of either.
                let third = both + &survey(kind, 3, second, "", &GOOD);
                assert_eq!(fault_and_partial(&third), (false, false), "{about}: {rows:?}");
            }
            // A blank is no reading.
            let mut blank = GOOD;
            blank[2].1 = "#null";
            let both = broken + &survey(kind, 2, second, "", &blank);
            assert_eq!(fault_and_partial(&both), (true, true), "{about}");
        }
    }
}

#[test]
fn a_partial_survey_that_shows_a_fault_is_broken_until_its_stations_are_read_again() {
    let bent: [(&str, &str); 3] = [("S1", "0"), ("S3", "0.2"), ("S5", "0")];
    for (kind, stage) in
        [("gap", "verification"), ("gap", "service"), ("straightness", "as-fitted"), ("height", "service")]
    {
        let good = survey(kind, 1, stage, "", &GOOD);
        assert_eq!(fault_and_partial(&good), (false, false), "{kind}");
        let then = good.clone() + &survey(kind, 2, stage, "", &bent);
        assert_eq!(fault_and_partial(&then), (true, true), "{kind}");
        let other = then.clone() + &survey(kind, 3, stage, "", &[("S2", "0"), ("S4", "0")]);
        assert_eq!(fault_and_partial(&other), (true, true), "{kind}");
        // The same stations again clear this fault; the survey of before still stands, and both are partial.
        let same = then.clone() + &survey(kind, 3, stage, "", &[("S1", "0"), ("S3", "0"), ("S5", "0")]);
        assert_eq!(fault_and_partial(&same), (false, true), "{kind}");
        assert_eq!(fault_and_partial(&(then + &survey(kind, 3, stage, "", &GOOD))), (false, false), "{kind}");
    }
}

#[test]
fn each_plane_of_straightness_stands_for_itself() {
    let read = |day, plus: &str, rows| survey("straightness", day, "as-fitted", plus, rows);
    let after = |records: &[String]| fault_and_partial(&records.concat());
    for (plane, other) in [("right", "up"), ("left", "down"), ("up", "left"), ("down", "right")] {
        let (plane, other) = (format!("plus={plane}"), format!("plus={other}"));
        let bent = read(1, &plane, &BROKEN);
        assert_eq!(after(&[bent.clone(), read(2, &other, &GOOD)]), (true, false), "{plane}");
        assert_eq!(after(&[bent.clone(), read(2, "", &GOOD)]), (true, false), "{plane}, then no plane");
        assert_eq!(after(&[bent.clone(), read(2, &plane, &GOOD)]), (false, false), "{plane}");
        assert_eq!(after(&[read(2, &plane, &GOOD), read(1, &plane, &BROKEN)]), (false, false), "{plane}, file order");
        // Without a plane: cleared by one without, or by both.
        let unsaid = read(1, "", &BROKEN);
        assert_eq!(after(&[unsaid.clone(), read(2, &plane, &GOOD)]), (true, false));
        assert_eq!(after(&[unsaid.clone(), read(2, "", &GOOD)]), (false, false));
        assert_eq!(after(&[unsaid.clone(), read(2, &plane, &GOOD), read(3, &other, &GOOD)]), (false, false));
        assert_eq!(after(&[unsaid, read(2, &plane, &GOOD), read(3, &other, &GOOD[..4])]), (true, false));
    }
    for same in [("left", "right"), ("up", "down")] {
        let (one, two) = (format!("plus={}", same.0), format!("plus={}", same.1));
        assert_eq!(after(&[read(1, &one, &BROKEN), read(2, &two, &GOOD)]), (false, false), "{same:?}");
    }
    // The gauge says the plane where the record does not.
    let by = |gauge: &str, day, rows| read(day, &format!("gauge={gauge}"), rows);
    let bent = by("LA-1", 1, &BROKEN);
    assert_eq!(after(&[bent.clone(), by("LA-2", 2, &GOOD)]), (true, false));
    assert_eq!(after(&[bent, read(2, "plus=left gauge=LA-2", &GOOD)]), (false, false));
}

#[test]
fn stations_are_known_by_where_they_lie() {
    let rows = |all: &[(&'static str, &'static str)]| all.to_vec();
    let by_name = survey("height", 1, "as-fitted", "", &BROKEN);
    let by_place = rows(&[("240", "0"), ("720", "0"), ("1200", "0"), ("1680", "0"), ("2160", "0")]);
    assert_eq!(fault_and_partial(&(by_name + &survey("height", 2, "as-fitted", "", &by_place))), (false, false));
    // A place between supports that stood out is read again itself; one that did not, with both supports beside it.
    let between = rows(&[("240", "0"), ("960", "0.2"), ("2160", "0")]);
    let first = survey("height", 1, "as-fitted", "", &between);
    let again =
        |second: &[(&str, &str)]| fault_and_partial(&(first.clone() + &survey("height", 2, "as-fitted", "", second)));
    assert_eq!(again(&GOOD), (true, true));
    let even = survey("height", 1, "as-fitted", "", &[("240", "0"), ("960", "0.1"), ("2160", "0.2")]);
    assert_eq!(fault_and_partial(&(even.clone() + &survey("height", 2, "as-fitted", "", &GOOD))), (false, false));
    let without = [("S1", "0"), ("S2", "0"), ("S4", "0"), ("S5", "0")];
    assert_eq!(fault_and_partial(&(even + &survey("height", 2, "as-fitted", "", &without))), (true, true));
    assert_eq!(again(&[("S1", "0"), ("S2", "0"), ("S4", "0"), ("S5", "0")]), (true, true));
    assert_eq!(again(&[("S1", "0"), ("960", "0"), ("S5", "0")]), (false, false));
    // A place beyond the last support has a neighbour on one side only.
    let beyond = survey("height", 1, "as-fitted", "", &[("S1", "0"), ("2300", "0.2")]);
    assert_eq!(fault_and_partial(&(beyond + &survey("height", 2, "as-fitted", "", &GOOD))), (true, true));
}

#[test]
fn supports_that_came_or_went_since_do_not_matter() {
    let judged = |supports: &str, records: &str| {
        let text =
            LIMITED.replace("supports S first=240 pitch=480 count=5 }\n    }", &format!("{supports} }}\n    }}"));
        assert!(text.contains(supports), "{text}");
        let all = lint_text(&format!("{text}{records}"));
        (
            all.iter().any(|it| it.rule.as_str() == "height-range"),
            all.iter().any(|it| it.rule.as_str() == "station-missing" && it.message.contains("is partial")),
        )
    };
    // One was added after the first survey, and is read in the second.
    let more = "supports S first=240 pitch=480 count=5; support E1 at=480";
    let first = survey("height", 1, "as-fitted", "", &BROKEN);
    let mut rows = GOOD.to_vec();
    rows.push(("E1", "0.01"));
    assert_eq!(judged(more, &(first.clone() + &survey("height", 2, "as-fitted", "", &rows))), (false, false));
    assert_eq!(judged(more, &(first + &survey("height", 2, "as-fitted", "", &GOOD))), (false, false));
    // One was taken out; the first survey was read by place.
    let by_place = [("240", "0"), ("720", "0"), ("1200", "0.2"), ("1680", "0"), ("2160", "0")];
    let first = survey("height", 1, "as-fitted", "", &by_place);
    let fewer = "supports S first=240 pitch=480 count=5 { omit S3 }";
    let rest: Vec<(&str, &str)> = GOOD.iter().copied().filter(|(at, _)| *at != "S3").collect();
    let mut there = rest.clone();
    there.push(("1200", "0"));
    assert_eq!(judged(fewer, &(first.clone() + &survey("height", 2, "as-fitted", "", &there))), (false, false));
    assert_eq!(judged(fewer, &(first.clone() + &survey("height", 2, "as-fitted", "", &rest))), (true, true));
    assert_eq!(judged(fewer, &(first + &survey("height", 2, "as-fitted", "", &rest[..3]))), (true, true));
}

#[test]
fn shims_are_judged_by_the_survey_that_stood_and_verified_where_they_were_read() {
    let as_fitted =
        survey("gap", 1, "as-fitted", "", &[("S1", "0"), ("S2", "0"), ("S3", "0"), ("S4", "-0.12"), ("S5", "-0.02")]);
    let shims = "shim X.b date=\"2026-05-03\" by=fitter-2 { at S4 0.05 }\n\
                 fasten X.b date=\"2026-05-04\" by=fitter-2 stage=full setting=10.5 { clicked S4 }\n";
    let total = |records: &str| said(&format!("{LIMITED}{records}")).iter().any(|it| it.contains("shim-total X.b.S4"));
    assert!(total(&(as_fitted.clone() + shims)), "0.07 are missing at S4");
    // A survey of two other stations before the shims hides nothing.
    let few = survey("gap", 2, "service", "", &[("S1", "0"), ("S2", "0")]);
    assert!(total(&(as_fitted.clone() + &few + shims)));
    // A verification of some stations is partial, and still shows what it shows.
    let right = shims.replace("at S4 0.05", "at S4 0.12");
    let verified = |rows: &[(&str, &str)]| {
        said(&format!("{LIMITED}{as_fitted}{right}{}", survey("gap", 5, "verification", "", rows)))
    };
    let part = verified(&[("S3", "0"), ("S4", "0"), ("S5", "0")]);
    assert_eq!(
        part,
        [
            "outstanding: station-missing X.b: the verification gap survey is partial: it has no reading at S1, S2, and is not tied to the one before: 0 stations of both did not move in between, and 2 are needed"
        ]
    );
    let bad = verified(&[("S3", "0"), ("S4", "-0.09"), ("S5", "0")]);
    assert!(bad.iter().any(|it| it.starts_with("nonconformity: gap-range X.b")), "{bad:?}");
    assert_eq!(verified(&GOOD), [""; 0]);
}

#[test]
fn a_whole_survey_whose_gauge_cannot_vouch_for_it_clears_nothing() {
    for kind in ["gap", "straightness", "height"] {
        let broken = survey(kind, 1, "service", "", &BROKEN);
        let good = survey(kind, 2, "service", "", &GOOD);
        let unnamed = good.replace("gauge=LA-0", "");
        assert!(fault_and_partial(&(broken.clone() + &unnamed)).0, "{kind}");
        assert!(!fault_and_partial(&(broken.clone() + &good)).0, "{kind}");
        let third = survey(kind, 3, "service", "", &GOOD);
        assert!(!fault_and_partial(&(broken + &unnamed + &third)).0, "{kind}");
    }
}
