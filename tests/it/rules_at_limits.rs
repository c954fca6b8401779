//! Rules at exactly their limit and one unit beyond it, where a slip in a comparison or a sign shows. The figures are plane
//! geometry and sums done by hand, beside each check.

use wayledger::lint::Finding;

use crate::common::{judge, lint_text};

fn of_rule(text: &str, rule: &str) -> Vec<Finding> {
    lint_text(text).into_iter().filter(|finding| finding.rule.as_str() == rule).collect()
}

fn messages(text: &str, rule: &str) -> Vec<String> {
    of_rule(text, rule).into_iter().map(|finding| finding.message).collect()
}

#[test]
fn a_carriage_may_reach_the_end_of_its_run_and_no_further() {
    // 320 mm long, so 160 mm to each side of its middle; the run is 0 to 1200.
    for (stroke, over) in [
        ("from=160 to=1040", None),
        ("from=159.999 to=1040", Some("0.001 mm")),
        ("from=160 to=1040.002", Some("0.002 mm")),
        ("from=159.99 to=1040.002", Some("0.01 mm")),
        ("from=170 to=1030 overtravel=10", None),
        ("from=170 to=1030 overtravel=10.001", Some("0.001 mm")),
    ] {
        let text = format!("machine m {{ axis X {{ run to=1200; stroke {stroke}; carriage length=320 }} }}\n");
        let expected: Vec<String> =
            over.iter().map(|over| format!("the carriage reaches {over} beyond the run")).collect();
        assert_eq!(messages(&text, "overtravel"), expected, "{stroke}");
    }
}

#[test]
fn a_block_may_stand_flush_with_the_end_of_its_rail_and_no_further() {
    // A block of 80 mm at −100 and one at 100: they reach 140 mm to each side. The rail starts at 50 and ends at 1250.
    for (stroke, expected) in [
        ("from=190 to=1110", vec![]),
        (
            "from=189.999 to=1110",
            vec!["at the near end of the stroke a block stands 0.001 mm over the end of rail `a`"],
        ),
        ("from=190 to=1110.001", vec!["at the far end of the stroke a block stands 0.001 mm over the end of rail `a`"]),
        ("from=200 to=1100 overtravel=10", vec![]),
        (
            "from=200 to=1100 overtravel=11",
            vec![
                "at the near end of the stroke a block stands 1 mm over the end of rail `a`",
                "at the far end of the stroke a block stands 1 mm over the end of rail `a`",
            ],
        ),
    ] {
        let text = format!(
            "shop {{ block B20 length=80 }}\nmachine m {{ axis X {{ stroke {stroke}; rail a from=50 {{ segment 1200 }}; \
             carriage {{ block a at=-100 type=B20; block a at=100 type=B20 }} }} }}\n"
        );
        assert_eq!(messages(&text, "overtravel"), expected, "{stroke}");
    }
}

#[test]
fn two_blocks_on_two_joints_are_apart_by_a_block_and_the_margin() {
    // Blocks of 80 mm at 180 and −180 meet a joint at the middle places joint − offset: 1200 − 180 = 1020 on `a`, and on
    // `b` joint + 180. A block's middle is within 40 mm of the joint while it stands over it, so both stand over theirs
    // together unless the places differ by 80 mm and the margin, here 25.
    let text = |joint: &str, rest: &str| {
        format!(
            "shop {{ block B20 length=80; rulebook {{ meeting-margin least=25 reason=\"test\" }} }}\n\
             machine m {{ axis X {{ rail a {{ segment 1200; segment 1200 }}; rail b {{ segment {joint}; segment {rest} }}; \
             stroke from=300 to=2100; carriage {{ block a at=180 type=B20; block b at=-180 type=B20 }} }} }}\n"
        )
    };
    for (joint, rest, meet) in [
        ("735", "1665", false),
        ("735.001", "1664.999", true),
        ("840", "1560", true),
        ("944.999", "1455.001", true),
        ("945", "1455", false),
    ] {
        let found = of_rule(&text(joint, rest), "joint-meeting");
        assert_eq!(!found.is_empty(), meet, "{joint}: {found:?}");
    }
}

#[test]
fn the_nearest_lengths_are_those_that_can_be_had() {
    let next = |stock: &str, segment: &str| {
        let text = format!(
            "shop {{ profile R20 hole-pitch=60 end-distance=30 {{ {stock} }} }}\n\
             machine m {{ axis X {{ rail a profile=R20 {{ segment {segment} }} }} }}\n"
        );
        of_rule(&text, "segment-stock").first().map(|finding| finding.next.clone())
    };
    for (stock, segment, expected) in [
        ("stock 1200 2400", "1260", Some("the nearest that can be had are 1200 mm and 2400 mm")),
        ("stock 1200 2400", "2460", Some("the nearest that can be had is 2400 mm")),
        ("stock 1200 2400", "1140", Some("the nearest that can be had is 1200 mm")),
        ("stock 1200 2400; cutting grid=60", "1250", Some("the nearest that can be had are 1200 mm and 1260 mm")),
        ("stock 1200 2400; cutting grid=60", "2399", Some("the nearest that can be had are 2340 mm and 2400 mm")),
        ("stock 1200 2400; cutting grid=60", "2460", Some("the nearest that can be had is 2400 mm")),
        ("stock 1200 2400; cutting grid=60", "59", Some("the nearest that can be had is 60 mm")),
        ("stock 1200 2400; cutting grid=60", "2340", None),
        ("stock 1200 2400; cutting grid=60", "2400", None),
    ] {
        assert_eq!(next(stock, segment).as_deref(), expected, "{stock}: {segment}");
    }
}

#[test]
fn a_part_may_be_off_by_just_the_limit_and_longer_only_where_it_may_be_cut() {
    let found = |cutting: &str, came: &str| {
        let text = format!(
            "shop {{ profile R20 {{ stock 1200; {cutting} }}; rulebook {{ received-length most=0.5 reason=\"test\" }} }}\n\
             machine m {{ axis X {{ rail a profile=R20 {{ segment 1200 serial=Q-1 }} }} }}\n\
             receive date=\"2026-03-01\" by=i {{ part serial=Q-1 length={came} }}\n"
        );
        messages(&text, "length-mismatch").len()
    };
    for (came, whole, cut) in
        [("1200", 0, 0), ("1199.5", 0, 0), ("1199.499", 1, 1), ("1200.5", 0, 0), ("1200.501", 1, 0), ("2400", 1, 0)]
    {
        assert_eq!((found("", came), found("cutting", came)), (whole, cut), "{came}");
    }
}

#[test]
fn a_loosening_of_the_reference_on_the_same_day_leaves_the_gap_in_doubt() {
    // The gap is read between two rails, so loosening either may undo it; straightness is of one rail alone.
    let machine = "machine m { axis X { rail a { supports S first=100 pitch=240 count=3 }; \
                   rail b follows=a { supports S first=100 pitch=240 count=3 } } }\n";
    for (kind, loosened, doubt) in [
        ("gap", "X.a", true),
        ("gap", "X.b", true),
        ("height", "X.a", true),
        ("height", "X.b", true),
        ("straightness", "X.a", false),
        ("straightness", "X.b", true),
    ] {
        let tight = "fasten X.a date=\"2026-04-14\" by=f stage=full setting=10.5 { clicked S1..S3 }\n\
                     fasten X.b date=\"2026-04-14\" by=f stage=full setting=10.5 { clicked S1..S3 }\n";
        let survey = format!("survey {kind} X.b date=\"2026-04-16\" by=i stage=verification {{ at S1 0; at S2 0 }}\n");
        let loosen = format!("loosen {loosened} date=\"2026-04-16\" by=f {{ at S2 }}\n");
        let files =
            [("machine.kdl", machine), ("1.kdl", tight), ("2.kdl", survey.as_str()), ("3.kdl", loosen.as_str())];
        let judged = judge(&files, &[]);
        let found: Vec<_> = judged.findings.iter().filter(|finding| finding.rule.as_str() == "date-order").collect();
        assert_eq!(!found.is_empty(), doubt, "{kind} {loosened}: {found:?}");
    }
}

#[test]
fn a_concession_without_effect_says_why() {
    let text = |rule: &str| {
        format!(
            "machine m {{ axis X {{ run to=2400; rail a {{ segment 1200; segment 1190 }} }} }}\n\
             concession {rule} X.a date=\"2026-04-18\" by=engineer-1 accepts=10 reason=\"end piece ordered\"\n"
        )
    };
    for (rule, message, next) in [
        (
            "concession-self",
            "a finding of `concession-self` cannot be accepted by a concession",
            "put right what it found",
        ),
        ("run-lenght", "there is no rule `run-lenght`", "did you mean `run-length`?"),
        ("qqqqqqqqqq", "there is no rule `qqqqqqqqqq`", "`wayledger rules` lists them all"),
    ] {
        let found = of_rule(&text(rule), "concession-idle");
        let said: Vec<_> = found.iter().map(|finding| (finding.message.as_str(), finding.next.as_str())).collect();
        assert_eq!(said, [(message, next)], "{rule}");
    }
}

#[test]
fn the_places_without_a_shim_are_named_while_they_are_few() {
    for (readings, said) in [
        ("0 0 0.06 0 0", "S3 is not shimmed"),
        ("0 0 0.06 0.06 0", "S3 and S4 are not shimmed"),
        ("0 0.06 0.06 0.06 0", "3 places are not shimmed"),
    ] {
        let rows: Vec<String> =
            readings.split(' ').enumerate().map(|(at, reading)| format!("at S{} {reading}", at + 1)).collect();
        let text = format!(
            "shop {{ gauge DI-6 graduation=0.01 plus=narrower; shim-stock {{ leaf 0.02; leaf 0.05 }} }}\n\
             machine m {{ axis X {{ rail a {{ supports S first=100 pitch=240 count=5 }}\n\
             rail b follows=a shims=widen {{ supports S first=100 pitch=240 count=5 }} }} }}\n\
             survey gap X.b date=\"2026-04-15\" by=i gauge=DI-6 stage=as-fitted {{ {} }}\n",
            rows.join("; ")
        );
        let found = messages(&text, "shim-missing");
        assert!(found.len() == 1 && found[0].ends_with(said), "{readings}: {found:?}");
    }
}

/// The tests judge on 2026-11-01, and the rulebook speaks of what is due 30 days ahead.
#[test]
fn a_calibration_is_mentioned_for_thirty_days_while_its_instrument_is_used() {
    for (due, used, said) in [
        ("2026-12-02", "2026-10-20", None),
        ("2026-12-01", "2026-10-20", Some("runs out in 30 days, on 2026-12-01")),
        ("2026-11-03", "2026-10-20", Some("runs out in 2 days, on 2026-11-03")),
        ("2026-11-02", "2026-10-20", Some("runs out tomorrow, on 2026-11-02")),
        ("2026-11-01", "2026-10-20", Some("runs out today, on 2026-11-01")),
        ("2026-10-31", "2026-10-31", Some("ran out yesterday, on 2026-10-31")),
        ("2026-10-30", "2026-10-30", Some("ran out 2 days ago, on 2026-10-30")),
        ("2026-11-05", "2026-11-01", Some("runs out in 4 days, on 2026-11-05")),
        ("2026-11-05", "2026-10-02", Some("runs out in 4 days, on 2026-11-05")),
        ("2026-11-05", "2026-10-01", None),
    ] {
        let text = format!(
            "shop {{ gauge I {{ calibrated \"2025-12-01\" due=\"{due}\" }} }}\n\
             machine m {{ axis X {{ rail a {{ segment 1200; segment 1200 }} }} }}\n\
             inspect X.a.J1 date=\"{used}\" by=i gauge=I {{ light none }}\n"
        );
        let expected: Vec<String> = said.iter().map(|said| format!("the calibration of I {said}")).collect();
        assert_eq!(messages(&text, "gauge-calibration"), expected, "due {due}, used {used}");
    }
}

#[test]
fn a_wrench_counts_its_bolts_from_its_calibration_on() {
    // Three cycles allowed. What was tightened before the calibration is over; the day of the calibration counts.
    for (before, same_day, after, beyond) in
        [(4, 0, 3, false), (4, 0, 4, true), (4, 1, 2, false), (4, 1, 3, true), (0, 3, 1, true), (9, 3, 0, false)]
    {
        let fasten = |date: &str, bolts: usize| match bolts {
            0 => String::new(),
            _ => {
                format!("fasten X.a date=\"{date}\" by=f wrench=W stage=full setting=10.5 {{ clicked S1..S{bolts} }}\n")
            }
        };
        let text = format!(
            "shop {{ wrench W kind=setting {{ calibrated \"2026-03-01\" }}; \
             rulebook {{ calibration-cycles most=3 reason=\"test\" }} }}\n\
             machine m {{ axis X {{ rail a {{ supports S first=100 pitch=200 count=9 }} }} }}\n{}{}{}",
            fasten("2026-02-28", before),
            fasten("2026-03-01", same_day),
            fasten("2026-03-02", after)
        );
        let found = messages(&text, "gauge-calibration");
        let counted = found.iter().any(|message| message.contains("beyond its cycles"));
        assert_eq!(counted, beyond, "{before} {same_day} {after}: {found:?}");
    }
}

#[test]
fn a_record_may_be_of_today_and_not_of_tomorrow() {
    for (date, ahead) in [("2026-10-31", 0), ("2026-11-01", 0), ("2026-11-02", 1), ("2027-11-01", 1)] {
        let text = format!(
            "machine m {{ axis X {{ rail a {{ supports S first=100 pitch=200 count=2 }} }} }}\n\
             fasten X.a date=\"{date}\" by=f stage=full setting=10.5 {{ clicked S1 S2 }}\n"
        );
        assert_eq!(messages(&text, "date-order").len(), ahead, "{date}");
    }
}

#[test]
fn a_row_has_no_more_torques_than_its_support_has_bolts() {
    // Holes every 60 mm from 30 mm on: 1350 and 1410 lie over the support from 1340 to 1420.
    for (torques, since, expected) in [
        ("10.4 10.5", "", vec![]),
        ("10.4 10.5 10.5", "", vec!["3 torques are recorded at S1, which has 2 bolts"]),
        ("10.4 10.5 10.5 10.6", "", vec!["4 torques are recorded at S1, which has 2 bolts"]),
        // Before the support came it was another one: its row is history.
        ("10.4 10.5 10.5", "since=\"2026-04-15\"", vec![]),
        ("10.4 10.5 10.5", "since=\"2026-04-14\"", vec!["3 torques are recorded at S1, which has 2 bolts"]),
        ("10.4 10.5 10.5", "since=\"2026-04-13\"", vec!["3 torques are recorded at S1, which has 2 bolts"]),
    ] {
        let text = format!(
            "shop {{ profile R20 hole-pitch=60 end-distance=30 }}\n\
             machine m {{ axis X {{ rail a profile=R20 {{ segment 2400; support S1 at=1380 length=80 {since} }} }} }}\n\
             fasten X.a date=\"2026-04-14\" by=f stage=full {{ at S1 {torques} }}\n"
        );
        let found: Vec<String> =
            messages(&text, "described-after").into_iter().filter(|message| message.contains("torques are")).collect();
        assert_eq!(found, expected, "{torques} {since}");
    }
}

#[test]
fn a_gap_may_open_evenly_by_just_the_limit() {
    // Five stations on a line: the gap grows by the difference of the first and the last.
    for (readings, found) in [
        ("0 0.01 0.02 0.03 0.04", 0),
        ("0 0.01 0.02 0.03 0.041", 1),
        ("0 -0.01 -0.02 -0.03 -0.04", 0),
        ("0 -0.011 -0.022 -0.033 -0.044", 1),
        // Three stations are too few to speak of a line.
        ("0 0.1 0.2", 0),
        ("0 0.1 0.2 0.3", 1),
    ] {
        let rows: Vec<String> =
            readings.split(' ').enumerate().map(|(at, reading)| format!("at S{} {reading}", at + 1)).collect();
        let text = format!(
            "shop {{ rulebook {{ toe-in most=0.04 reason=\"test\" }} }}\n\
             machine m {{ axis X {{ rail a {{ supports S first=100 pitch=240 count=5 }}\n\
             rail b follows=a {{ supports S first=100 pitch=240 count=5 }} }} }}\n\
             survey gap X.b date=\"2026-04-15\" by=i stage=as-fitted {{ {} }}\n",
            rows.join("; ")
        );
        assert_eq!(messages(&text, "toe-in").len(), found, "{readings}");
    }
}

#[test]
fn the_station_farthest_off_a_tilted_line_is_named() {
    // Off the line from S1 to S5 by hand: 0.2, 0.15, 0.1, 0.05, 0 with one station moved.
    for (readings, expected) in [
        ("0.2 0.15 0.06 0.05 0", vec!["the rail is straight within 0.04 mm: S3 stands farthest out"]),
        ("-0.2 -0.15 -0.06 -0.05 0", vec!["the rail is straight within 0.04 mm: S3 stands farthest out"]),
        ("0.2 0.15 0.121 0.05 0", vec!["the rail is straight within 0.021 mm: S3 stands farthest out"]),
        ("0.2 0.15 0.12 0.05 0", vec![]),
        ("0.2 0.15 0.1 0.05 0", vec![]),
    ] {
        let rows: Vec<String> =
            readings.split(' ').enumerate().map(|(at, reading)| format!("at S{} {reading}", at + 1)).collect();
        let text = format!(
            "shop {{ rulebook {{ straightness most=0.02 reason=\"test\" }} }}\n\
             machine m {{ axis X {{ rail a {{ supports S first=100 pitch=240 count=5 }} }} }}\n\
             survey straightness X.a date=\"2026-04-15\" by=i stage=verification {{ {} }}\n",
            rows.join("; ")
        );
        assert_eq!(messages(&text, "straightness-range"), expected, "{readings}");
    }
}

#[test]
fn an_uneven_gap_without_a_way_to_shim_it_says_what_is_missing() {
    for (shims, next) in [
        ("", "say on the rail what a shim under it does to the gap: shims=widen or shims=narrow"),
        (
            "shims=lift",
            "a shim under this rail lifts it and leaves the gap: loosen it, push it over, tighten it and survey again",
        ),
    ] {
        for (least, found) in [("-0.05", 0), ("-0.051", 1)] {
            let text = format!(
                "machine m {{ axis X {{ rail a {{ supports S first=100 pitch=240 count=3 }}\n\
                 rail b follows=a {shims} {{ supports S first=100 pitch=240 count=3 }} }} }}\n\
                 survey gap X.b date=\"2026-04-15\" by=i stage=as-fitted {{ at S1 0; at S2 {least}; at S3 0 }}\n"
            );
            let findings = of_rule(&text, "shim-missing");
            assert_eq!(findings.len(), found, "{shims} {least}: {findings:?}");
            assert!(findings.iter().all(|finding| finding.next == next), "{findings:?}");
        }
    }
}

#[test]
fn a_joint_support_holds_two_bolts_of_each_end() {
    // Holes 30 and 90 mm from each rail end and 10 mm of edge beyond the outer bolt: 2 × (30 + 60 + 10) = 200 mm.
    let longer = Some("let the support cover 200 mm or more: it must hold 2 bolts of each end");
    let aside = Some("move or lengthen the support until it holds 2 bolts of each end");
    for (at, covers, next) in [
        ("1200", "120", longer),
        ("1200", "199.999", longer),
        ("1200", "200", None),
        ("1200", "260", None),
        ("1170", "200", aside),
        ("1230", "200", aside),
        ("1170", "260", None),
        ("1170", "199.999", longer),
    ] {
        let text = format!(
            "shop {{ profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 }}\n\
             machine m {{ axis X {{ rail a profile=R20 {{ segment 1200; segment 1200; \
             joint-support J1 at={at} length={covers} }} }} }}\n"
        );
        let found: Vec<Finding> =
            of_rule(&text, "joint-support").into_iter().filter(|finding| finding.message.contains("bolt")).collect();
        let said: Vec<&str> = found.iter().map(|finding| finding.next.as_str()).collect();
        assert_eq!(said, next.into_iter().collect::<Vec<_>>(), "{at} {covers}");
    }
}

#[test]
fn torques_outside_the_range_of_a_wrench_are_counted() {
    for (torques, expected) in [
        ("4 20", vec![]),
        ("3.999 20.001", vec!["this torque is outside it", "this torque is outside it"]),
        ("3.999 3 10", vec!["2 torques of this record are outside it"]),
        ("20.001 25 10", vec!["2 torques of this record are outside it"]),
        ("21 10 3.9 3.8", vec!["2 torques of this record are outside it", "this torque is outside it"]),
    ] {
        let text = format!(
            "shop {{ wrench W kind=indicating least=4 most=20 }}\n\
             machine m {{ axis X {{ rail a {{ support S1 at=100 length=80 }} }} }}\n\
             fasten X.a date=\"2026-04-14\" by=f wrench=W stage=full {{ at S1 {torques} }}\n"
        );
        let mut found: Vec<String> =
            of_rule(&text, "wrench-range").into_iter().map(|finding| finding.at.text).collect();
        found.sort();
        assert_eq!(found, expected, "{torques}");
    }
}

#[test]
fn a_row_of_supports_stays_within_what_a_ledger_holds() {
    // Positions are whole nanometres; four times the end of a row must fit into 63 bits: 9 223 372 036 854 775 807 / 4.
    let long = "the row runs beyond any position a ledger holds";
    for (row, expected) in [
        ("first=0 pitch=2305843009.213 count=1000", None),
        ("first=0 pitch=2305843009.214 count=1000", Some(long)),
        ("first=1000 pitch=2305843009.213 count=1000", Some(long)),
        ("first=-1000000 pitch=2305843009.214 count=1000", None),
        ("first=0 pitch=1 count=20000", None),
        ("first=0 pitch=1 count=20001", Some("with this, the ledger has 20001 supports; at most 20000 can be held")),
        ("first=0 count=1", None),
        ("first=0 count=2", Some("`supports` with more than one place does not say `pitch`")),
    ] {
        let text = format!("machine m {{ axis X {{ rail a {{ supports S {row} }} }} }}\n");
        let found: Vec<Finding> = lint_text(&text);
        let said = found.iter().find(|finding| finding.grade == wayledger::lint::Grade::Nonconformity);
        assert_eq!(said.map(|finding| finding.message.as_str()), expected, "{row}");
    }
}

#[test]
fn a_gauge_may_be_as_coarse_as_half_of_what_it_is_held_against() {
    for (kind, coarsest) in [("gap", 0.025), ("height", 0.05), ("straightness", 0.01)] {
        for (graduation, coarse) in [(coarsest, 0), (coarsest + 0.000_001, 1), (coarsest / 2.0, 0)] {
            let text = format!(
                "shop {{ gauge G graduation={graduation:.7} plus=narrower; rulebook {{ straightness most=0.02 reason=\"test\"; \
                 gap-range most=0.05 reason=\"test\"; height-range most=0.1 reason=\"test\" }} }}\n\
                 machine m {{ axis X {{ rail a {{ supports S first=100 pitch=100 count=2 }}\n\
                 rail b follows=a {{ supports S first=100 pitch=100 count=2 }} }} }}\n\
                 survey {kind} X.b date=\"2026-04-14\" by=e gauge=G stage=verification {{ at S1 0; at S2 0 }}\n"
            );
            let found = messages(&text, "gauge-graduation");
            assert_eq!(found.len(), coarse, "{kind} {graduation}: {found:?}");
        }
    }
}

#[test]
fn whoever_did_any_work_on_an_axis_does_not_release_it() {
    for work in [
        "fasten X.b date=\"2026-04-14\" by=NAME stage=full setting=10.5 { clicked S1 }",
        "shim X.b date=\"2026-04-14\" by=NAME { at S1 0.05 }",
        "loosen X.b date=\"2026-04-14\" by=NAME { at S1 }",
        "inspect X.b.J1 date=\"2026-04-14\" by=NAME { light none }",
        "survey gap X.b date=\"2026-04-14\" by=NAME stage=as-fitted { at S1 0; at S2 0 }",
    ] {
        for (name, own) in [("engineer-1", 1), ("fitter-2", 0)] {
            let text = format!(
                "machine m {{ axis X {{ rail a {{ segment 600; segment 600; supports S first=100 pitch=100 count=2 }}\n\
                 rail b follows=a shims=widen {{ segment 600; segment 600; supports S first=100 pitch=100 count=2 }} }} }}\n\
                 {}\nrelease X date=\"2026-04-20\" by=engineer-1\n",
                work.replace("NAME", name)
            );
            assert_eq!(of_rule(&text, "release-self").len(), own, "{work} {name}");
        }
    }
}

#[test]
fn words_follow_the_sign_and_the_number() {
    let survey = |readings: [&str; 4]| {
        let rows: Vec<String> = (1..).zip(readings).map(|(at, reading)| format!("at S{at} {reading}")).collect();
        format!(
            "shop {{ rulebook {{ toe-in most=0.04 reason=\"test\" }}; gauge G graduation=0.001 plus=wider }}\n\
             machine m {{ axis X {{ rail a {{ supports S first=100 pitch=240 count=4 }}\n\
             rail b follows=a {{ supports S first=100 pitch=240 count=4 }} }} }}\n\
             survey gap X.b date=\"2026-04-15\" by=i gauge=G stage=as-fitted {{ {} }}\n",
            rows.join("; ")
        )
    };
    let run = |length: &str| format!("machine m {{ axis X {{ run to=1200; rail a {{ segment {length} }} }} }}\n");
    let step = |row: &str| {
        format!(
            "shop {{ gauge G graduation=0.001 plus=outward }}\n\
             machine m {{ axis X {{ rail a {{ segment 1200; segment 1200 }} }} }}\n\
             inspect X.a.J1 date=\"2026-04-15\" by=i gauge=G {{ {row} }}\n"
        )
    };
    for (text, rule, said) in [
        (survey(["0", "0.02", "0.04", "0.06"]), "toe-in", "the gap widens by 0.06 mm from S1 to S4"),
        (survey(["0", "-0.02", "-0.04", "-0.06"]), "toe-in", "the gap narrows by 0.06 mm from S1 to S4"),
        (run("1210"), "run-length", "the rail ends at 1210 mm, 10 mm beyond the end of the run"),
        (run("1190"), "run-length", "the rail ends at 1190 mm, 10 mm short of the end of the run"),
        (step("UL 0 -> 0.03"), "joint-step", "step of 0.03 mm: the far rail's groove stands proud"),
        (step("UL 0 -> -0.03"), "joint-step", "step of 0.03 mm: the near rail's groove stands proud"),
        (
            step("UL 0 -> 0.03 0 -> 0.034"),
            "joint-step",
            "step of 0.032 mm, the mean of 2: the far rail's groove stands proud",
        ),
    ] {
        let found = of_rule(&text, rule);
        let texts: Vec<String> =
            found.iter().flat_map(|finding| [finding.message.clone(), finding.at.text.clone()]).collect();
        assert!(texts.iter().any(|text| text.starts_with(said)), "{said}: {texts:?}");
    }
}
