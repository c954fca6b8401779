//! How the ledger understands words and places at their edges: names in lists, omitted places, and how far from a joint or a
//! station a loosening still counts (common practice, no source).

use crate::common::lint_text;

fn messages(text: &str, rule: &str) -> Vec<(String, String)> {
    let all = lint_text(text).into_iter().filter(|finding| finding.rule.as_str() == rule);
    all.map(|finding| (finding.message, finding.next)).collect()
}

/// What is added where a support may have been there once.
const TAKEN_AWAY: &str = "; where it was taken away since, keep its row with `until=`, or give its `omit` a `since=`";

#[test]
fn twelve_names_are_listed_and_more_are_cut_short() {
    for (count, next) in [
        (1, "known here: S1"),
        (12, "known here: S1, S2, S3, S4, S5, S6, S7, S8, S9, S10, S11, S12"),
        (13, "known here: S1, S2, S3 … S13"),
    ] {
        let text = format!(
            "machine m {{ axis X {{ rail a {{ supports S first=100 pitch=100 count={count} }} }} }}\n\
             fasten X.a date=\"2026-04-14\" by=f stage=full setting=10.5 {{ clicked Qwertz }}\n"
        );
        assert_eq!(
            messages(&text, "unknown-reference"),
            [("there is no support `Qwertz`".to_string(), format!("{next}{TAKEN_AWAY}"))],
            "{count}"
        );
    }
}

#[test]
fn only_places_of_the_row_can_be_left_out() {
    for (omit, known) in [
        ("S1", true),
        ("S5", true),
        ("S0", false),
        ("S6", false),
        ("S05", false),
        ("T5", false),
        ("S", false),
        ("S1x", false),
    ] {
        let text = format!(
            "machine m {{ axis X {{ rail a {{ supports S first=100 pitch=100 count=5 {{ omit \"{omit}\" }} }} }} }}\n"
        );
        let found = messages(&text, "unknown-reference");
        assert_eq!(found.is_empty(), known, "{omit}: {found:?}");
    }
}

#[test]
fn the_nearest_loosening_tells_what_became_of_a_joint() {
    // Supports every 240 mm; S5 and S10 would lie under the joints.
    let text = |joint_support: &str, loosened: &str| {
        let loosen: Vec<String> = loosened
            .split(' ')
            .filter(|support| !support.is_empty())
            .map(|support| format!("loosen X.a date=\"2026-04-17\" by=f {{ at {support} }}\n"))
            .collect();
        format!(
            "machine m {{ axis X {{ rail a {{ segment 1200; segment 1200; {joint_support}\n\
             supports S first=240 pitch=240 count=9 length=80 {{ omit S5 }} }} }} }}\n\
             inspect X.a.J1 date=\"2026-04-15\" by=i {{ light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }}\n{}",
            loosen.concat()
        )
    };
    let own = "joint-support J1 at=1200 length=200";
    for (joint_support, loosened, expected) in [
        (own, "", None),
        (own, "J1", Some("is stale: its own support J1")),
        (own, "S4", Some("is stale: its neighbour S4")),
        (own, "S6", Some("is stale: its neighbour S6")),
        (own, "S3", Some("may have changed: S3, two supports away,")),
        (own, "S7", Some("may have changed: S7, two supports away,")),
        (own, "S2", None),
        (own, "S8", None),
        // The nearest counts, whichever came first.
        (own, "S3 S4", Some("is stale: its neighbour S4")),
        (own, "S4 S3", Some("is stale: its neighbour S4")),
        (own, "S7 S6 J1", Some("is stale: its own support J1")),
        (own, "J1 S6 S7", Some("is stale: its own support J1")),
        // Without a support of its own, a joint has a neighbour on either side.
        ("", "S4", Some("is stale: its neighbour S4")),
        ("", "S6", Some("is stale: its neighbour S6")),
        ("", "S3", Some("may have changed: S3, two supports away,")),
        ("", "S7", Some("may have changed: S7, two supports away,")),
        ("", "S2", None),
        ("", "S8", None),
        ("", "S3 S6", Some("is stale: its neighbour S6")),
    ] {
        let found = messages(&text(joint_support, loosened), "inspection-stale");
        let expected: Vec<String> = expected
            .iter()
            .map(|said| format!("the inspection of J1 {said} was loosened after it on 2026-04-17"))
            .collect();
        let found: Vec<&String> = found.iter().map(|(message, _)| message).collect();
        assert_eq!(found, expected.iter().collect::<Vec<_>>(), "{joint_support} {loosened}");
    }
}

#[test]
fn a_joint_beyond_the_last_support_has_one_neighbour() {
    let text = "machine m { axis X { rail a { segment 1200; segment 1200; supports S first=240 pitch=240 count=3 length=80 } } }\n\
                inspect X.a.J1 date=\"2026-04-15\" by=i { light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }\n\
                loosen X.a date=\"2026-04-17\" by=f { at S3 }\n";
    let found = messages(text, "inspection-stale");
    let expected = "the inspection of J1 is stale: its neighbour S3 was loosened after it on 2026-04-17";
    assert_eq!(found.iter().map(|(message, _)| message.as_str()).collect::<Vec<_>>(), [expected]);
}

#[test]
fn each_record_is_about_its_own_sort_of_thing() {
    let word = |kind: &str| kind.split(' ').next().expect("a word").to_owned();
    // An axis, a rail, a joint, a segment, a support.
    let targets = ["X", "X.a", "X.a.J1", "X.a.seg1", "X.a.S1"];
    for (kind, rest, right) in [
        ("fasten", "stage=full setting=10.5 { clicked S1 }", [false, true, false, false, false]),
        ("survey gap", "stage=verification { at S1 0 }", [false, true, false, false, false]),
        ("shim", "{ at S1 0.1 }", [false, true, false, false, false]),
        ("inspect", "{ light none }", [false, false, true, false, false]),
        ("loosen", "{ at S1 }", [false, true, true, true, true]),
        ("release", "", [true, false, false, false, false]),
        ("service", "task=lubricate", [true, false, false, false, false]),
    ] {
        for (target, right) in targets.into_iter().zip(right) {
            let text = format!(
                "machine m {{ axis X {{ rail a {{ segment 1200; segment 1200; supports S first=100 pitch=100 count=2 }} }} }}\n\
                 {kind} {target} date=\"2026-04-14\" by=e {rest}\n"
            );
            let found = messages(&text, "wrong-value");
            let wrong = found.iter().any(|(message, _)| message.starts_with(&format!("`{}` is about ", word(kind))));
            assert_eq!(!wrong, right, "{kind} {target}: {found:?}");
        }
    }
}

/// A shimmed support is tight again once every bolt of it, base bolts included where they are known, has full torque.
#[test]
fn a_support_is_loose_until_every_bolt_has_full_torque_again() {
    let fasten = |what: &str, rows: &str| format!("fasten X.b date=\"2026-04-17\" by=f {what} {{ {rows} }}\n");
    let full = |rows: &str| fasten("stage=full setting=10.5", rows);
    let base = |rows: &str| fasten("stage=full setting=21 interface=base", rows);
    const KNOWN: &str = "profile=R20";
    for (profile, base_bolts, done, tight) in [
        ("", "", full("at S2 10.5 10.5"), true),
        // How many bolts there are is not known: as many as the row names.
        ("", "", full("at S2 10.5 #null"), false),
        ("", "", full("at S2 10.5"), true),
        (KNOWN, "", String::new(), false),
        (KNOWN, "", full("at S2 10.5 10.5"), true),
        (KNOWN, "", full("at S2 10.5"), false),
        (KNOWN, "", full("at S2 10.5 #null"), false),
        (KNOWN, "", full("at S3 10.5 10.5"), false),
        (KNOWN, "", full("at S2 10.5") + &full("at S2 #null 10.5"), true),
        (KNOWN, "", full("clicked S2"), true),
        (KNOWN, "", full("clicked S2; missed S2 bolt=2"), false),
        (KNOWN, "", fasten("stage=snug setting=1.5", "clicked S2"), false),
        (KNOWN, "", base("clicked S2"), false),
        (KNOWN, "base-bolts=1", full("clicked S2"), false),
        (KNOWN, "base-bolts=1", base("clicked S2"), false),
        (KNOWN, "base-bolts=1", full("clicked S2") + &base("clicked S2"), true),
    ] {
        let text = format!(
            "shop {{ profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 }}
machine m {{ axis X {{ rail a; rail b follows=a shims=widen {profile} {{
    segment 1200
    supports S first=120 pitch=240 count=4 length=80 {base_bolts}
}} }} }}
survey gap X.b date=\"2026-04-15\" by=f stage=as-fitted {{ at S1 0; at S2 -0.06; at S3 0; at S4 0 }}
shim X.b date=\"2026-04-16\" by=f {{ at S2 0.05 }}
{done}"
        );
        let next = match tight {
            true => "survey the gap with stage=verification",
            false => "snug and full torque at S2, then survey the gap with stage=verification",
        };
        let found = messages(&text, "shim-unverified");
        assert_eq!(
            found.iter().map(|(_, next)| next.as_str()).collect::<Vec<_>>(),
            [next],
            "{profile} {base_bolts} {done}"
        );
    }
}

/// A support right under the end of a segment carries that segment too.
#[test]
fn loosening_a_segment_loosens_every_support_under_it() {
    let text = |what: &str| {
        format!(
            "machine m {{ axis X {{ rail a {{ segment 600; segment 600; segment 600
               support A at=300; support B at=600; support C at=900; support D at=1200; support E at=1201 }} }} }}
             fasten X.a date=\"2026-04-14\" by=f stage=snug setting=1.5 {{ clicked A..E }}
             fasten X.a date=\"2026-04-15\" by=f stage=full setting=10.5 {{ clicked A..E }}
             loosen X.a.{what} date=\"2026-04-16\" by=f"
        )
    };
    let loose = |what: &str| -> Vec<String> {
        let all = lint_text(&text(what)).into_iter().filter(|finding| finding.rule.as_str() == "torque-missing");
        all.map(|finding| finding.message).collect()
    };
    for (segment, supports) in [("seg1", ": A, B"), ("seg2", ": B..D"), ("seg3", ": D, E")] {
        let told = loose(segment);
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(told[0].ends_with(supports), "{segment}: {told:?}");
    }
}

#[test]
fn a_bolt_that_was_missed_is_one_that_the_support_has() {
    let missed = |bolt: &str| {
        let text = format!(
            "shop {{ profile R20 hole-pitch=60 end-distance=30 }}
             machine m {{ axis X {{ rail a profile=R20 {{ segment 600; support S1 at=300 length=140 }} }} }}
             fasten X.a date=\"2026-04-14\" by=f stage=snug setting=1.5 {{ clicked S1; missed S1 bolt={bolt} }}"
        );
        let all = lint_text(&text)
            .into_iter()
            .filter(|finding| ["unknown-reference", "wrong-value"].contains(&finding.rule.as_str()));
        all.map(|finding| finding.message).collect::<Vec<_>>()
    };
    // Holes at 30, 90, … 570: those at 270 and 330 lie on a support that reaches from 230 to 370.
    assert_eq!(missed("1"), [""; 0]);
    assert_eq!(missed("2"), [""; 0]);
    assert_eq!(missed("3"), ["S1 has 2 bolts, and no bolt 3"]);
    // Left unsaid, it would pass for tight.
    assert_eq!(missed("0"), ["`bolt` of `missed` is 0; it must be above zero"]);
}

/// What a machine says of its own beside the shop's file goes before it, and is no second one of that name.
#[test]
fn the_machines_own_gauge_goes_before_the_shops() {
    let shop = "shop { gauge DI-4 graduation=0.01 plus=outward }";
    let machine = |own: &str| format!("{own}\nmachine m {{ axis X {{ rail a {{ segment 600 }} }} }}");
    let doubles = |own: &str| {
        let judged = crate::common::judge(&[("machine.kdl", &machine(own))], &[shop]);
        let all = judged.findings.iter().filter(|finding| finding.rule.as_str() == "duplicate-name");
        all.map(|finding| finding.message.clone()).collect::<Vec<_>>()
    };
    assert_eq!(doubles(shop), [""; 0]);
    assert_eq!(doubles("shop { gauge DI-4 graduation=0.01; gauge DI-4 graduation=0.002 }").len(), 1);
}

/// A void that states no time withdraws the one record of that day, whether that has a time or none.
#[test]
fn a_record_is_withdrawn_by_its_day_or_by_its_time() {
    let told = |of: &str| {
        let text = format!(
            "machine m {{ axis X {{ rail a {{ segment 600; segment 600; joint-support J1 at=600 length=200 }} }} }}
             inspect X.a.J1 date=\"2026-04-14T10:00\" by=i {{ light seen }}
             void inspect X.a.J1 of=\"{of}\" date=\"2026-04-15\" by=i reason=\"wrong joint\""
        );
        let all = lint_text(&text).into_iter();
        let mut rules: Vec<_> = all
            .map(|finding| finding.rule.as_str())
            .filter(|rule| rule.starts_with("light-through") || rule.starts_with("unknown"))
            .collect();
        rules.sort_unstable();
        rules
    };
    assert_eq!(told("2026-04-14"), [""; 0]);
    assert_eq!(told("2026-04-14T10:00"), [""; 0]);
    assert_eq!(told("2026-04-14T10:01"), ["light-through-joint", "unknown-reference"]);
    assert_eq!(told("2026-04-13"), ["light-through-joint", "unknown-reference"]);
}
