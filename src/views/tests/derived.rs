//! Each derivation's result is the number that the lint or the report has, and its inputs stand where they were written.

use crate::calc::derivation::{Derivation, Origin};
use crate::facts::shim_plan::shim_plan;
use crate::finding::Place;
use crate::judging::lint::Judged;
use crate::ledger::{RailId, Target};
use crate::quantity::Amount;
use crate::rules::Case;
use crate::views::derived::quantities;

use crate::testing::{judge, today};

const MACHINE: &str = r#"
shop {
    gauge DI-4 kind=dial-indicator graduation=0.002 permissible-error=0.005 local-error=0.003 plus=outward
    gauge DI-6 kind=dial-indicator graduation=0.01 permissible-error=0.012 local-error=0.005 plus=wider
    gauge LA-1 kind=laser graduation=0.001 permissible-error=0.005 plus=right
    wrench TW-2 kind=indicating least=4 most=25 graduation=0.1 permissible-error=(%)4
    shim-stock { leaf 0.02; leaf 0.05 }
    profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 contact=outward { stock 1200 2400 }
    block B20 length=80 C=(kN)3 C0=(kN)2
    fastener weak thread=M6 class="8.8" head=button into=steel {
        friction 0.12 0.14
        full least=10 most=11 reason="as on the other rails"
        snug least=1 most=2 reason="as on the other rails"
    }
}
machine m {
    rulebook {
        static-safety least=4 reason="impacts of the head"
        expansion most=0.3 reason="the joints must not open"
        straightness most=0.02 reason="polishing"
    }
    axis X {
        run from=0 to=3600
        stroke from=300 to=3300
        temperature least=10 most=30
        life-required (km)20000
        beam bed material=aluminium { piece 1250; piece 2350 }
        rail a beam=bed profile=R20 rail-bolt=weak {
            segment 1200; segment 2400
            supports S first=120 pitch=240 count=15 length=80 { omit S5 S6 }
            joint-support J1 at=1200 length=280
        }
        rail b beam=bed profile=R20 follows=a shims=widen rail-bolt=weak {
            segment 1260; segment 2340
            supports S first=120 pitch=240 count=15 length=80 { omit S5 S6 }
            joint-support J1 at=1260 length=280
        }
        carriage length=400 mass=80 {
            block a at=-150 type=B20
            block a at=150 type=B20
            block b at=-150 type=B20
            block b at=150 type=B20
            track a y=-300
            track b y=300
            load (N)2000 x=100
        }
    }
}
fasten X.a date="2026-04-14T09:00" by=fitter-2 wrench=TW-2 stage=full {
    at S1 10.4 10.6
}
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 {
    UL -0.04 -> -0.01 -0.04 -> -0.009
    UR 0.01 -> 0.02
    LL 0 -> -0.01
    LR 0.02 -> 0.01
}
survey straightness X.a date="2026-04-15" by=inspector-1 gauge=LA-1 stage=verification {
    at S1 0
    at S7 0.031
    at S15 0
}
survey gap X.b date="2026-04-16" by=inspector-1 gauge=DI-6 stage=verification {
    at S1 0
    at S2 -0.03
    at S7 -0.081
    at S15 0
}
"#;

fn judged() -> Judged {
    let judged = judge(&[("machine.kdl", MACHINE)], &[]);
    assert!(judged.ledger.text_findings.is_empty(), "{:#?}", judged.ledger.text_findings);
    judged
}

/// The derivation of a number, found as a person would ask for it.
#[track_caller]
fn how(judged: &Judged, address: &str, word: &str) -> Derivation<Place> {
    let target = Target::find(&judged.ledger.machine, address).expect("an address");
    let all = quantities(&Case::new(&judged.ledger, today()), target);
    let known: Vec<&str> = all.iter().map(|it| it.word.as_str()).collect();
    match all.iter().find(|it| it.word == word) {
        Some(it) => it.how.clone(),
        None => panic!("{address} has {known:?}"),
    }
}

/// The number that a rule found at an address.
#[track_caller]
fn found(judged: &Judged, rule: &str, address: &str) -> String {
    let all: Vec<String> = judged.findings.iter().map(|it| format!("{} {}", it.rule, it.address)).collect();
    let finding = judged.findings.iter().find(|it| it.rule.as_str() == rule && it.address == address);
    let finding = finding.unwrap_or_else(|| panic!("no {rule} at {address}: {all:#?}"));
    finding.found.as_ref().map(ToString::to_string).expect("a number")
}

/// The texts in the ledger that the inputs point at, those of derived inputs too.
fn pointed_at(judged: &Judged, how: &Derivation<Place>) -> Vec<String> {
    let mut all = Vec::new();
    for input in &how.inputs {
        match &input.origin {
            Origin::Place(place) | Origin::Told(place, _) => {
                all.push(judged.ledger.sources.text(*place).to_string());
            }
            Origin::Derived(from) => all.extend(pointed_at(judged, from)),
            Origin::Standard(_) | Origin::Assumed(_) => {}
        }
    }
    all
}

fn number(text: &str) -> f64 {
    text.split(' ').next().and_then(|number| number.parse().ok()).unwrap_or_else(|| panic!("{text}"))
}

#[test]
fn results_are_the_numbers_of_the_findings() {
    let judged = judged();
    for (address, word, rule) in [
        ("X.a.J1", "step-UL", "joint-step"),
        ("X.b", "gap-range", "gap-range"),
        ("X.a", "straightness", "straightness-range"),
        ("X.a", "expansion", "expansion"),
    ] {
        let how = how(&judged, address, word);
        assert_eq!(number(&how.result), number(&found(&judged, rule, address)), "{word} of {address}");
    }
    // Two joints 60 apart where 80 are required, by hand: the longer of the pitch 60 and the block 80.
    assert_eq!(how(&judged, "X.b.J1", "stagger-slack").result, "-20");
    assert_eq!(number(&found(&judged, "joint-stagger", "X.b.J1")), 60.0);
    // Joint at 1200, seam at 1250, support of 280: 50 less 140.
    assert_eq!(how(&judged, "X.a.J1", "seam-slack").result, "-90");
    assert_eq!(number(&found(&judged, "joint-over-seam", "X.a.J1")), 50.0);
    // Blocks at ±150 of both rails meet joints 60 apart: 60 − 80 = −20.
    assert_eq!(how(&judged, "X.b.J1", "meeting-slack").result, "-20");
    assert_eq!(number(&found(&judged, "joint-meeting", "X.b.J1")), 60.0);
}

/// The seat's mean diameter is the head's by its standard, unless the shop states another one.
#[test]
fn a_seat_comes_from_its_standard_or_from_where_it_is_stated() {
    let seat = |machine: &str| {
        let judged = judge(&[("machine.kdl", machine)], &[]);
        let how = how(&judged, "X.a.S1", "preload");
        let seat = how.inputs.iter().find(|input| input.name == "D_Km").expect("a seat").clone();
        let place = match seat.origin {
            Origin::Place(place) => judged.ledger.sources.text(place).to_string(),
            Origin::Standard(name) => name.to_string(),
            other => panic!("{other:?}"),
        };
        (seat.value, place)
    };
    let hexagon = "the hexagon head's (ISO 4014, ISO 273), smaller than a button's: safe side";
    assert_eq!(seat(MACHINE), ("7.74".to_string(), hexagon.to_string()));
    let stated = MACHINE.replace("head=button", "head=button seat-diameter=9.25");
    assert_eq!(seat(&stated), ("9.25".to_string(), "seat-diameter=9.25".to_string()));
}

#[test]
fn life_and_safety_are_those_of_the_rules() {
    let judged = judged();
    let least = |word: &str| {
        (1..=4).map(|block| number(&how(&judged, "X", &format!("{word}-{block}")).result)).fold(f64::MAX, f64::min)
    };
    assert_eq!(least("static-safety-nominal"), number(&found(&judged, "static-safety", "X")));
    assert_eq!(least("life-nominal"), number(&found(&judged, "rated-life", "X")));
}

/// A static safety is derived from the static load: the moments weigh by C0 and M0.
#[test]
fn a_static_safety_rests_on_the_static_load() {
    let levers = "roll-stiffness=20 pitch-stiffness=20 yaw-stiffness=20 M-roll=30 M-pitch=20 M-yaw=20 M0-roll=15 M0-pitch=10 M0-yaw=10";
    let text = MACHINE.replace("C0=(kN)2", &format!("C0=(kN)2 stiffness=200 lateral-stiffness=150 {levers}"));
    let judged = judge(&[("machine.kdl", &text)], &[]);
    let safety = how(&judged, "X", "static-safety-nominal-1");
    let load = safety.inputs.iter().find_map(|input| match &input.origin {
        Origin::Derived(load) => Some(load),
        _ => None,
    });
    let load = load.expect("it rests on a load");
    assert!(load.name.starts_with("greatest static load of block 1"), "{}", load.name);
    assert!(load.formula.contains("C0 Σ|M|/M0"), "{}", load.formula);
    let value = |name: &str| {
        let input = load.inputs.iter().find(|input| input.name == name);
        input.map_or(0.0, |input| number(&input.value))
    };
    let step =
        |name: &str| load.steps.iter().find(|step| step.name == name).map_or(0.0, |step| number(&step.value).abs());
    let moments: f64 = [("roll", 15.0), ("pitch", 10.0), ("yaw", 10.0)]
        .map(|(way, rating)| {
            assert_eq!(value(&format!("M0 {way}")), rating);
            step(&format!("M {way}")) / rating
        })
        .iter()
        .sum();
    let by_hand = step("F_v, down") + step("F_l, to the right") + 2000.0 * moments;
    assert!(
        moments > 0.0 && (by_hand - number(&load.result)).abs() <= 1.0 + 1e-4 * by_hand,
        "{by_hand} {}",
        load.result
    );
    // The dynamic load is another number, by another formula.
    let dynamic = how(&judged, "X", "greatest-load-nominal-1");
    assert!(dynamic.formula.contains("C Σ|M|/M_C") && dynamic.result != load.result);
}

#[test]
fn the_allowed_torque_is_the_one_that_the_window_is_held_against() {
    let judged = judged();
    let how = how(&judged, "X.a", "torque-allowed");
    let finding = judged
        .findings
        .iter()
        .find(|it| it.rule.as_str() == "torque-window-fit" && it.address == "X.a")
        .expect("a finding");
    let limit = &finding.limit.as_ref().expect("a limit").text;
    assert_eq!(*limit, format!("at most {} N·m", how.result));
    // VDI 2230 for M6 8.8 at a friction of 0.12, a button head carrying 80 % (ISO 7380-1): 8.1 N·m.
    assert!((number(&how.result) - 8.1).abs() < 0.06, "{}", how.result);
}

#[test]
fn the_preload_is_the_one_of_the_report() {
    let judged = judged();
    let how = how(&judged, "X.a.S1", "preload");
    let (least, most) = how.result.split_once(" to ").expect("a range");
    let report = crate::views::report::report(&judged, today());
    let text = serde_json::to_string(&report).expect("a report");
    let report: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    let mut preloads = Vec::new();
    collect(&report, "preload", &mut preloads);
    let (low, high) = preloads.first().copied().expect("one support was tightened");
    assert_eq!((number(least), number(most)), (low, high));
    let places = pointed_at(&judged, &how);
    assert!(
        places.iter().any(|text| text.contains("10.4")) && places.iter().any(|text| text.contains("10.6")),
        "{places:?}"
    );
}

/// Every range under a key, wherever it stands.
fn collect(value: &serde_json::Value, key: &str, all: &mut Vec<(f64, f64)>) {
    match value {
        serde_json::Value::Object(map) => {
            for (name, value) in map {
                if let (true, Some([low, high])) = (name == key, value.as_array().map(Vec::as_slice)) {
                    all.extend(low.as_f64().zip(high.as_f64()));
                }
                collect(value, key, all);
            }
        }
        serde_json::Value::Array(list) => list.iter().for_each(|value| collect(value, key, all)),
        _ => {}
    }
}

#[test]
fn shims_and_patterns_are_those_of_plan_and_trade() {
    let judged = judged();
    let id = RailId { axis: 0, rail: 1 };
    let plan = shim_plan(&judged.ledger, id, crate::testing::today()).expect("a plan");
    assert!(plan.rows.iter().any(|row| row.interpolated) && plan.rows.iter().any(|row| !row.interpolated));
    for row in &plan.rows {
        let name = &judged.ledger.machine.rail(id).supports[row.support].name;
        let how = how(&judged, &format!("X.b.{name}"), "shim-needed");
        assert_eq!(how.result, row.need.number(), "{name}");
    }
    // By hand: UL is the mean of 0.03 and 0.031, UR 0.01, LL and LR −0.01; the sums over four.
    let value = |word: &str| number(&how(&judged, "X.a.J1", word).result);
    // Told to the nearest tenth of a micrometre.
    let near = |word: &str, by_hand: f64| {
        assert!((value(word) - by_hand).abs() <= 0.000_05 + 1e-12, "{word}: {} {by_hand}", value(word));
    };
    near("height-pattern", 0.015_125);
    near("side-pattern", -0.005_125);
    near("twist-pattern", 0.005_125);
    near("size-pattern", 0.005_125);
    near("height-offset", 0.015_125 * 2.0_f64.sqrt());
    // GUM by hand: u² = 3²/3 + 2 · 2²/12 = 3.6667 µm², U = 2 u = 3.8297 µm.
    assert!((value("guard-band") - 0.003_83).abs() < 1e-5);
}

#[test]
fn inputs_stand_where_they_were_written() {
    let judged = judged();
    let texts = pointed_at(&judged, &how(&judged, "X.a.J1", "step-UL"));
    assert_eq!(texts, ["-0.04", "-0.01", "-0.04", "-0.009"]);
    let texts = pointed_at(&judged, &how(&judged, "X.b.J1", "position"));
    assert!(texts.iter().any(|text| text.contains("1260")), "{texts:?}");
    let texts = pointed_at(&judged, &how(&judged, "X.b", "gap-range"));
    assert!(texts.iter().any(|text| text.contains("-0.081")), "{texts:?}");
}
