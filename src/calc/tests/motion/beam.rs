//! Beams against handbook cases.

use super::{Dice, near};
use crate::calc::motion::beam::{BeamHold, Feel, SegmentBeam};

const RIGIDITY: f64 = 2.06e5 * 2.0e4;

fn hold(at: f64) -> BeamHold {
    BeamHold { at, stiffness: None }
}

fn beam(ends: [f64; 2], holds: &[BeamHold]) -> SegmentBeam {
    SegmentBeam::new(ends, holds, RIGIDITY).expect("a beam")
}

type Felt = (f64, Feel);

fn give(beam: &SegmentBeam, (x, feel): Felt, (load_at, load): Felt) -> f64 {
    beam.compliance((&beam.grip(x), feel), (&beam.grip(load_at), load))
}

#[test]
fn one_span_yields_as_the_handbook_says() {
    // Roark's Formulas for Stress and Strain, simply supported beam, overhanging beam.
    let l = 240.0;
    let simple = beam([0.0, l], &[hold(0.0), hold(l)]);
    let at = |x: f64, feel, a: f64, load| give(&simple, (x, feel), (a, load)) * RIGIDITY;
    near(at(l / 2.0, Feel::Way, l / 2.0, Feel::Way), l.powi(3) / 48.0, 1e-9);
    // P a² b² / 3 l under a load at a.
    near(at(60.0, Feel::Way, 60.0, Feel::Way), 60.0_f64.powi(2) * 180.0_f64.powi(2) / (3.0 * l), 1e-9);
    // A moment at an end: l/3 there, −l/6 at the other; w = l²/16 in the middle.
    near(at(0.0, Feel::Slope, 0.0, Feel::Slope), l / 3.0, 1e-9);
    near(at(l, Feel::Slope, 0.0, Feel::Slope), -l / 6.0, 1e-9);
    near(at(l / 2.0, Feel::Way, 0.0, Feel::Slope), l * l / 16.0, 1e-9);
    // A moment in the middle turns the middle by l/12.
    near(at(l / 2.0, Feel::Slope, l / 2.0, Feel::Slope), l / 12.0, 1e-9);
    // Overhang a: a² (l + a) / 3 at its end.
    let over = beam([0.0, 300.0], &[hold(0.0), hold(l)]);
    near(give(&over, (300.0, Feel::Way), (300.0, Feel::Way)) * RIGIDITY, 60.0_f64.powi(2) * 300.0 / 3.0, 1e-9);
}

#[test]
fn a_beam_over_three_supports_yields_as_three_moments_say() {
    // Two equal spans, load in the middle of one: moment over the middle support 3 P l / 32 (AISC Manual, beam diagrams: two
    // equal spans, concentrated load at the centre of one; reactions 13/32, 22/32, −3/32), hence 0.014974 P l³ / EI under the load.
    let l = 240.0;
    let two = beam([0.0, 2.0 * l], &[hold(0.0), hold(l), hold(2.0 * l)]);
    let way = |x: f64| give(&two, (x, Feel::Way), (l / 2.0, Feel::Way)) * RIGIDITY;
    near(way(l / 2.0), l.powi(3) * (1.0 / 48.0 - 3.0 / 32.0 / 16.0), 1e-9);
    // The other span is bent up by that moment: l² M / 16.
    near(way(1.5 * l), -l * l * (3.0 / 32.0 * l) / 16.0, 1e-9);
    assert!(way(l).abs() < 1e-9 * l.powi(3));
}

#[test]
fn supports_that_yield_are_in_series() {
    let (l, k) = (240.0, 3.0e5);
    let soft = |at| BeamHold { at, stiffness: Some(k) };
    let two = beam([0.0, l], &[soft(0.0), soft(l)]);
    near(give(&two, (l / 2.0, Feel::Way), (l / 2.0, Feel::Way)), l.powi(3) / 48.0 / RIGIDITY + 0.5 / k, 1e-9);
    near(give(&two, (0.0, Feel::Way), (0.0, Feel::Way)), 1.0 / k, 1e-9);
    // Very stiff ones are rigid ones.
    let stiff = |at| BeamHold { at, stiffness: Some(1e14) };
    let (stiff, rigid) = (beam([0.0, l], &[stiff(0.0), stiff(l)]), beam([0.0, l], &[hold(0.0), hold(l)]));
    let of = |beam: &SegmentBeam| give(beam, (70.0, Feel::Way), (130.0, Feel::Way));
    near(of(&stiff), of(&rigid), 1e-5);
}

#[test]
fn what_one_place_does_to_another_it_does_back() {
    // Maxwell and Betti; and half the second moment yields twice as much.
    let mut dice = Dice(3);
    let holds: Vec<BeamHold> =
        (0..8).map(|n| BeamHold { at: 60.0 + 200.0 * f64::from(n), stiffness: (n % 3 == 0).then_some(2e5) }).collect();
    let rigid: Vec<BeamHold> = holds.iter().map(|of| hold(of.at)).collect();
    let (some, half) = (beam([0.0, 1500.0], &holds), SegmentBeam::new([0.0, 1500.0], &rigid, RIGIDITY / 2.0));
    let (half, whole) = (half.expect("a beam"), beam([0.0, 1500.0], &rigid));
    for _ in 0..200 {
        let feel = |dice: &mut Dice| if dice.between(0.0, 1.0) < 0.5 { Feel::Way } else { Feel::Slope };
        let a = (dice.between(0.0, 1500.0), feel(&mut dice));
        let b = (dice.between(0.0, 1500.0), feel(&mut dice));
        let own = (give(&some, a, a) * give(&some, b, b)).sqrt();
        assert!((give(&some, a, b) - give(&some, b, a)).abs() <= 1e-9 * own);
        // Energy: what yields never gives back more than it takes.
        assert!(give(&some, a, b).abs() <= own * (1.0 + 1e-9));
        assert!((give(&half, a, b) - 2.0 * give(&whole, a, b)).abs() <= 1e-7 * own);
    }
}

#[test]
fn a_beam_that_nothing_holds_is_none() {
    assert_eq!(SegmentBeam::new([0.0, 100.0], &[hold(50.0)], RIGIDITY), None);
    assert_eq!(SegmentBeam::new([0.0, 100.0], &[hold(-50.0), hold(50.0)], RIGIDITY), None);
    assert_eq!(SegmentBeam::new([0.0, 100.0], &[hold(0.0), hold(50.0)], 0.0), None);
    assert_eq!(SegmentBeam::new([100.0, 100.0], &[hold(100.0), hold(100.0)], RIGIDITY), None);
}
