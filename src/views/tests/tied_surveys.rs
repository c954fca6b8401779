//! How a number came about of surveys that are tied to each other, and how sure a straightness is: by hand.

use crate::calc::derivation::{Derivation, Origin};
use crate::finding::Place;
use crate::ledger::Target;
use crate::rules::Case;
use crate::testing::{judge, today};
use crate::views::derived::quantities;

fn how(text: &str, address: &str, word: &str) -> Derivation<Place> {
    let judged = judge(&[("machine.kdl", text)], &[]);
    let target = Target::find(&judged.ledger.machine, address).expect("an address");
    let all = quantities(&Case::new(&judged.ledger, today()), target);
    all.into_iter().find(|it| it.word == word).expect("a number").how
}

fn step<'d>(how: &'d Derivation<Place>, name: &str) -> &'d str {
    &how.steps.iter().find(|step| step.name.starts_with(name)).unwrap_or_else(|| panic!("{:?}", how.steps)).value
}

const TIED: &str = r#"
shop { gauge EI-1 kind=electronic-indicator graduation=0.0002 permissible-error=0.0015 plus=wider { calibrated "2026-01-12" due="2027-01-12" } }
machine m { axis X { rail a; rail b follows=a { supports S first=240 pitch=240 count=9 } } }
survey gap X.b date="2026-04-16" by=inspector-1 gauge=EI-1 stage=verification {
    at S1 0; at S2 0; at S3 0; at S4 0.05; at S5 0.1; at S6 0; at S7 0.004; at S8 0; at S9 -0.02
}
loosen X.b date="2026-04-17" by=fitter-2 reason="pushed over" { at S5 }
survey gap X.b date="2026-04-18" by=inspector-1 gauge=EI-1 stage=verification {
    at S2 0.3; at S3 0.3; at S4 0.31; at S5 0.32; at S6 0.3; at S7 0.303; at S8 0.3
}
"#;

#[test]
fn a_range_over_two_surveys_tells_the_tie_and_its_uncertainty() {
    let how = how(TIED, "X.b", "gap-range");
    // Changes at the four that did not move: 0.3, 0.3, 0.299, 0.3; their mean 0.29975; so S5 is at 0.02025.
    assert_eq!(how.result, "0.04025");
    let Origin::Derived(tied) = &how.inputs[0].origin else { panic!("{how:#?}") };
    assert_eq!(tied.result, "0.02025");
    assert_eq!(step(tied, "taken off here"), "0.29975");
    let names: Vec<&str> = tied.inputs.iter().map(|input| input.name.as_str()).collect();
    assert_eq!(
        names,
        ["reading", "S2 before", "S2 after", "S3 before", "S3 after", "S7 before", "S7 after", "S8 before", "S8 after"]
    );
    // In µm²: of one survey 1.5²/3 + 2 · 0.2²/12 + 2.5²/3 for the closure = 2.84; of the tie 1.5²/3 + 2.5²/3 that the first
    // survey's readings share, and 2 · 0.2²/12 of the single ones by four = 2.835; U = 2 √5.675 = 4.7645 µm.
    assert_eq!(step(&how, "U, with"), "0.004765");
    // Within the later survey alone the tie plays no part: 2 √2.84 = 3.3705 µm.
    let within = TIED.replace("at S9 -0.02", "at S9 0").replace("at S4 0.31", "at S4 0.27");
    let within = self::how(&within, "X.b", "gap-range");
    assert_eq!((within.result.as_str(), step(&within, "U, with")), ("0.05", "0.003371"));
}

/// Only two stations tie.
fn tied_at_two() -> String {
    TIED.replace("at S2 0.3; at S3", "at S3").replace("at S7 0.303; at S8 0.3", "at S7 0.303")
}

#[test]
fn what_a_tie_scatters_is_known_no_better_than_its_repeats() {
    // One place read twice: s² = 6²/2 = 18 µm² with one degree of freedom. In µm²: of S5 and S9 18 each, of the tie
    // 2 · 18 / 2, together 54; known well are 2 · (1.5²/3 + 2.5²/3) = 5.6667. Welch and Satterthwaite: (59.6667 / 54)² = 1
    // degree, k = 13.97 (GUM table G.2), U = 107.9 µm. With the tie's scatter as known well it would be 2 and 4.53.
    let how = how(&tied_at_two().replace("at S1 0;", "at S1 0 0.006;"), "X.b", "gap-range");
    assert_eq!(how.result, "0.0405");
    let told: f64 = step(&how, "U, with").parse().expect("a number");
    assert!((0.1078..0.1080).contains(&told), "{told}");
}

#[test]
fn a_tie_joins_the_gauges_of_both_surveys() {
    let second = "gauge EI-2 kind=electronic-indicator graduation=0.001 permissible-error=0.003 plus=wider { calibrated \"2026-01-12\" due=\"2027-01-12\" }; gauge EI-1";
    let later = TIED.replace("shop { gauge EI-1", &format!("shop {{ {second}"));
    let later =
        later.replace("date=\"2026-04-18\" by=inspector-1 gauge=EI-1", "date=\"2026-04-18\" by=inspector-1 gauge=EI-2");
    // In µm²: of S5 3²/3 + 2.5²/3 + 1²/12; of S9 0.2²/12; of the tie 1.5²/3 + 2.5²/3 and (0.2²/12 + 1²/12) / 4; together
    // 8.025, U = 5.6657 µm.
    assert_eq!(step(&how(&later, "X.b", "gap-range"), "U, with"), "0.005666");
    // The finer gauge last: 1.5²/3 + 2.5²/3 + 0.2²/12 and 1²/12, 3²/3 + 2.5²/3 and the same quarter: 8.025 again.
    let earlier = later
        .replace("EI-1 stage", "EI-3 stage")
        .replace("EI-2 stage", "EI-1 stage")
        .replace("EI-3 stage", "EI-2 stage");
    assert_eq!(step(&how(&earlier, "X.b", "gap-range"), "U, with"), "0.005666");
}

#[test]
fn the_uncertainty_of_a_straightness_is_that_of_its_three_contact_points() {
    let how = how(
        r#"
shop { gauge LA-1 kind=laser graduation=0.001 permissible-error=0.005 plus=right { calibrated "2026-01-12" due="2027-01-12" } }
machine m {
    rulebook { straightness most=0.03 reason="drawing 12" }
    axis X { rail a { supports S first=240 pitch=240 count=5 } }
}
survey straightness X.a date="2026-04-16" by=inspector-1 gauge=LA-1 stage=as-fitted { at S1 0; at S2 0.02; at S3 0.005; at S4 0; at S5 0 }
"#,
        "X.a",
        "straightness",
    );
    assert_eq!(how.result, "0.02");
    // A quarter of the way. In µm²: u² = 5²/3 + 1²/12 + 1.5²/3 for a closure of a tenth of 30 = 9.1667; times
    // 1 + 1/16 + 9/16 = 14.8958; U = 7.7190 µm.
    assert_eq!(step(&how, "lever a of S2"), "0.25");
    assert_eq!(step(&how, "U = k"), "0.00772");
}
