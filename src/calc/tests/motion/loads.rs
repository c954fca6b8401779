//! What acts on a carriage.

use super::near;
use crate::calc::motion::frame::{BodyPoint, LEFT, PITCH, ROLL, UP, YAW, error_names, moved};
use crate::calc::motion::loads::{ActingForce, ActingLoads, CarriedMass, FREE_FALL};

fn at(x: f64, y: f64, z: f64) -> BodyPoint {
    BodyPoint { x, y, z }
}

fn level(mass: f64, centre: BodyPoint) -> ActingLoads {
    ActingLoads { masses: vec![CarriedMass { mass, centre }], up: at(0.0, 0.0, 1.0), ..ActingLoads::default() }
}

#[test]
fn a_weight_presses_down_and_tips_to_where_it_lies() {
    let acts = level(10.0, at(50.0, 20.0, 300.0)).acts();
    let weight = 10.0 * FREE_FALL;
    near(acts[UP], -weight, 1e-12);
    assert_eq!(acts[LEFT], 0.0);
    // In front of the middle: the nose goes down. On the right: the left side rises.
    near(acts[PITCH], weight * 50.0, 1e-12);
    near(acts[ROLL], weight * 20.0, 1e-12);
    assert!(acts[YAW].abs() < 1e-9);
}

#[test]
fn a_climbing_axis_hangs_on_its_drive() {
    // Up is along the axis; the centre is 100 mm above the drive: the weight pulls backward over it, and the nose rises.
    let mut loads = level(40.0, at(0.0, 0.0, 150.0));
    loads.up = at(2.0, 0.0, 0.0);
    loads.drive = at(0.0, 0.0, 50.0);
    let acts = loads.acts();
    near(acts[PITCH], -40.0 * FREE_FALL * 100.0, 1e-12);
    assert!(acts[UP].abs() < 1e-9 && acts[LEFT].abs() < 1e-9);
    // On a wall: up is to the right, the carriage is pulled to the left.
    loads.up = at(0.0, 1.0, 0.0);
    near(loads.acts()[LEFT], 40.0 * FREE_FALL, 1e-12);
}

#[test]
fn inertia_turns_about_the_line_of_the_drive() {
    let mut loads = level(25.0, at(0.0, 120.0, 200.0));
    loads.up = BodyPoint::default();
    loads.acceleration = 4.0;
    loads.drive = at(999.0, -30.0, 20.0);
    let acts = loads.acts();
    // 100 N at an arm of 180 mm above the drive and 150 mm to its right: the nose rises, and it turns right.
    near(acts[PITCH], -100.0 * 180.0, 1e-12);
    near(acts[YAW], -100.0 * 150.0, 1e-12);
    // In the line of the drive nothing turns.
    loads.drive = at(0.0, 120.0, 200.0);
    assert!(loads.acts().iter().all(|act| act.abs() < 1e-9));
}

#[test]
fn loads_add_up() {
    let force = |x, y, z, at| ActingForce { force: BodyPoint { x, y, z }, at };
    let one = ActingLoads { forces: vec![force(10.0, -20.0, 30.0, at(1.0, 2.0, 3.0))], ..ActingLoads::default() };
    let other = ActingLoads { forces: vec![force(-7.0, 5.0, -11.0, at(40.0, -50.0, 60.0))], ..ActingLoads::default() };
    let both = ActingLoads { forces: [one.forces.clone(), other.forces.clone()].concat(), ..ActingLoads::default() };
    let (one, other, both) = (one.acts(), other.acts(), both.acts());
    for n in 0..5 {
        near(both[n], one[n] + other[n], 1e-12);
    }
}

#[test]
fn turns_move_a_place_by_the_right_hand() {
    // ISO 841: plus turns are right-handed about X, Y (left) and Z.
    let place = at(100.0, -30.0, 50.0);
    let off = |way: usize| moved(&std::array::from_fn(|n| if n == way { 1e-3 } else { 0.0 }), place);
    assert_eq!(off(ROLL), [0.0, -0.05, 0.03]);
    assert_eq!(off(PITCH), [0.05, 0.0, -0.1]);
    assert_eq!(off(YAW), [-0.03, 0.1, 0.0]);
}

#[test]
fn motion_errors_have_the_names_of_the_standard() {
    // ISO 230-1:2012: E, the direction of the error (A, B, C about X, Y, Z), the axis of motion.
    let codes = |letter| error_names(letter).map(|names| names.map(|name| (name.code, name.sign)));
    let x = [("EYX", 1.0), ("EZX", 1.0), ("EAX", 1.0), ("EBX", 1.0), ("ECX", 1.0)];
    // Along Y the left is −X: what moves or turns about it changes sign.
    let y = [("EXY", -1.0), ("EZY", 1.0), ("EBY", 1.0), ("EAY", -1.0), ("ECY", 1.0)];
    assert_eq!((codes("X"), codes("Y"), codes("Z2")), (Some(x), Some(y), None));
}

/// Another implementation: forces and cross products in the right-handed frame of ISO 841 (x along, Y left, Z up), the drive as
/// one more force that takes up what is left along the axis.
#[test]
fn whichever_way_is_up_the_loads_are_those_of_plain_statics() {
    type Vector = [f64; 3];
    let cross = |a: Vector, b: Vector| -> Vector {
        std::array::from_fn(|n| a[(n + 1) % 3] * b[(n + 2) % 3] - a[(n + 2) % 3] * b[(n + 1) % 3])
    };
    let right_handed = |at: BodyPoint| [at.x, -at.y, at.z];
    let mut dice = super::Dice(41);
    for _ in 0..500 {
        let mut point =
            |reach: f64| at(dice.between(-reach, reach), dice.between(-reach, reach), dice.between(-reach, reach));
        let (up, drive) = (point(1.0), point(400.0));
        let places: Vec<(BodyPoint, BodyPoint)> = (0..4).map(|_| (point(900.0), point(2000.0))).collect();
        let count = dice.count(1, 4);
        let masses: Vec<CarriedMass> = places[..count]
            .iter()
            .map(|(centre, _)| CarriedMass { mass: dice.between(1.0, 300.0), centre: *centre })
            .collect();
        let forces: Vec<ActingForce> =
            places[..dice.count(0, 4)].iter().map(|(at, force)| ActingForce { force: *force, at: *at }).collect();
        let acceleration = dice.between(-20.0, 20.0);
        let loads = ActingLoads { masses: masses.clone(), forces: forces.clone(), up, drive, acceleration };
        let [along, left, high] = right_handed(up);
        let size = (along * along + left * left + high * high).sqrt();
        let mut acting: Vec<(Vector, Vector)> = Vec::new();
        for CarriedMass { mass, centre } in &masses {
            let weight = [along, left, high].map(|of| -mass * FREE_FALL * of / size);
            acting.push((right_handed(*centre), [weight[0] - mass * acceleration, weight[1], weight[2]]));
        }
        acting.extend(forces.iter().map(|of| (right_handed(of.at), right_handed(of.force))));
        let pulled: f64 = acting.iter().map(|(_, force)| force[0]).sum();
        acting.push((right_handed(drive), [-pulled, 0.0, 0.0]));
        let mut sum = [0.0; 6];
        for (place, force) in &acting {
            let moment = cross(*place, *force);
            for n in 0..3 {
                sum[n] += force[n];
                sum[n + 3] += moment[n];
            }
        }
        let most = sum.iter().fold(1.0_f64, |most, of| most.max(of.abs()));
        let acts = loads.acts();
        for (way, expected) in [(LEFT, sum[1]), (UP, sum[2]), (ROLL, sum[3]), (PITCH, sum[4]), (YAW, sum[5])] {
            assert!((acts[way] - expected).abs() <= 1e-9 * most, "{way}: {} {expected}", acts[way]);
        }
    }
}
