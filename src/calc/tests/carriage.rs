//! Carriage statics at the edges of the computation: nothing may hang on where the axes start, or on the size of the numbers.

use crate::calc::carriage::{CarriageBlock, CarriageError, FREE_FALL, Force, Motion, Point, RigidCarriage, weight};

fn point(x: f64, y: f64, z: f64) -> Point {
    Point { x, y, z }
}

fn moved(at: Point, by: Point) -> Point {
    point(at.x + by.x, at.y + by.y, at.z + by.z)
}

/// Four blocks of which none is opposite to another, nor at its height, nor as stiff.
fn uneven() -> Vec<CarriageBlock> {
    [
        (210.0, -150.0, 3.0, 0.4, 0.3),
        (190.0, 160.0, -20.0, 0.5, 0.2),
        (-205.0, -145.0, 8.0, 0.3, 0.6),
        (-230.0, 155.0, 40.0, 0.7, 0.5),
    ]
    .map(|(x, y, z, vertical, lateral)| CarriageBlock { vertical, lateral, ..CarriageBlock::alike(point(x, y, z)) })
    .to_vec()
}

const FORCES: [Force; 2] = [
    Force { at: Point { x: 40.0, y: -30.0, z: 180.0 }, x: 55.0, y: -70.0, z: -900.0 },
    Force { at: Point { x: -300.0, y: 80.0, z: 60.0 }, x: -20.0, y: 35.0, z: 120.0 },
];

#[test]
fn the_loads_balance_the_forces_in_every_direction() {
    // The conditions of equilibrium of a rigid body: forces and moments about any point sum to nothing (any book of
    // statics). The drive takes the sum along x at its place.
    let blocks = uneven();
    let carriage = RigidCarriage::new(blocks.clone()).expect("a carriage");
    let drive = point(0.0, 25.0, -15.0);
    let loads = carriage.loads(&FORCES, drive).expect("it stands");
    let along: f64 = FORCES.iter().map(|force| force.x).sum();
    let mut all: Vec<(Point, [f64; 3])> = FORCES.iter().map(|force| (force.at, [force.x, force.y, force.z])).collect();
    all.push((drive, [-along, 0.0, 0.0]));
    // What a block passes to its rail comes back at it.
    all.extend(blocks.iter().zip(&loads).map(|(block, load)| (block.at, [0.0, -load.right, load.down])));
    for about in [point(0.0, 0.0, 0.0), point(1000.0, -500.0, 300.0)] {
        let mut sum = [0.0; 6];
        for (at, [x, y, z]) in &all {
            let (dx, dy, dz) = (at.x - about.x, at.y - about.y, at.z - about.z);
            let parts = [*x, *y, *z, dy * z - dz * y, dz * x - dx * z, dx * y - dy * x];
            sum.iter_mut().zip(parts).for_each(|(sum, part)| *sum += part);
        }
        for (which, rest) in sum.iter().enumerate() {
            assert!(rest.abs() < 1e-7, "component {which} about {about:?}: {rest}");
        }
    }
}

#[test]
fn where_the_axes_start_does_not_matter() {
    let drive = point(0.0, 25.0, -15.0);
    let here = RigidCarriage::new(uneven()).expect("a carriage").loads(&FORCES, drive).expect("it stands");
    for by in [point(700.0, 0.0, 0.0), point(0.0, -400.0, 0.0), point(0.0, 0.0, 350.0), point(-60.0, 90.0, -800.0)] {
        let blocks = uneven().into_iter().map(|block| CarriageBlock { at: moved(block.at, by), ..block }).collect();
        let forces = FORCES.map(|force| Force { at: moved(force.at, by), ..force });
        let there =
            RigidCarriage::new(blocks).expect("a carriage").loads(&forces, moved(drive, by)).expect("it stands");
        for (a, b) in here.iter().zip(&there) {
            assert!((a.down - b.down).abs() < 1e-8 && (a.right - b.right).abs() < 1e-8, "{by:?}: {here:?} {there:?}");
        }
    }
}

#[test]
fn what_is_loose_does_not_hang_on_the_size_of_the_numbers() {
    // Two blocks behind each other on one rail hold what acts over the rail, and nothing that rolls the carriage.
    for stiffness in [1e-6, 1e-3, 1.0, 1e3, 1e6] {
        for size in [1e-6, 1e-3, 1.0, 1e3, 1e6] {
            for (x, y, z) in [(0.0, 0.0, 0.0), (0.1, 33.3, 7.7), (1234.567, -89.1, 0.3)] {
                let block = |along: f64| CarriageBlock {
                    vertical: stiffness,
                    lateral: stiffness / 3.0,
                    ..CarriageBlock::alike(point(x + along, y, z))
                };
                let carriage = RigidCarriage::new(vec![block(-70.1), block(70.1)]).expect("a carriage");
                let load = |off: f64| Force { at: point(x + 13.7, y + off, z), x: 0.0, y: 0.0, z: -size };
                let drive = point(0.0, y, z);
                let about = format!("stiffness {stiffness}, force {size}, at {x} {y} {z}");
                let held = carriage.loads(&[load(0.0)], drive).unwrap_or_else(|why| panic!("{about}: {why}"));
                // The lever rule.
                let front = size * (70.1 + 13.7) / 140.2;
                assert!((held[1].down / front - 1.0).abs() < 1e-9, "{about}: {held:?}");
                assert_eq!(carriage.loads(&[load(2.5)], drive), Err(CarriageError::Loose(Motion::Roll)), "{about}");
            }
        }
    }
}

#[test]
fn without_a_force_even_one_block_is_at_rest() {
    let one = RigidCarriage::new(vec![CarriageBlock::alike(point(1.0, 2.0, 3.0))]).expect("a carriage");
    for forces in [vec![], vec![Force { at: point(9.0, 9.0, 9.0), x: 0.0, y: 0.0, z: 0.0 }]] {
        let loads = one.loads(&forces, Point::default()).expect("nothing pushes it");
        assert!(loads[0].down == 0.0 && loads[0].right == 0.0, "{loads:?}");
    }
}

/// Three blocks and a weight half-way between two of them: by the balance of moments the third has no part in it,
/// whatever the digits do.
#[test]
fn a_block_that_carries_nothing_has_no_load_at_all() {
    for (x, y) in [(150.0, 400.0), (149.9, 400.0 / 3.0), (0.1, 0.3)] {
        let blocks = [point(-x, -y, 0.0), point(x, -y, 0.0), point(x, y, 0.0)].map(CarriageBlock::alike);
        let force = Force { at: Point::default(), x: 0.0, y: 0.0, z: -1234.567 };
        let loads = RigidCarriage::new(blocks.to_vec()).unwrap().loads(&[force], Point::default()).unwrap();
        assert!((loads[0].down - 1234.567 / 2.0).abs() < 1e-9, "{loads:?}");
        assert!((loads[2].down - 1234.567 / 2.0).abs() < 1e-9, "{loads:?}");
        assert!(loads[1].down == 0.0 && loads[1].right == 0.0, "{loads:?}");
    }
}

#[test]
fn weight_acts_along_gravity_whatever_its_length() {
    // A right triangle of 3, 4 and 5, and a box with the edges 2, 3, 6 and the diagonal 7.
    for (down, unit) in [
        ([0.0, 3.0, -4.0], [0.0, 0.6, -0.8]),
        ([-4.0, 0.0, 3.0], [-0.8, 0.0, 0.6]),
        ([2.0, -3.0, 6.0], [2.0 / 7.0, -3.0 / 7.0, 6.0 / 7.0]),
        ([0.02, -0.03, 0.06], [2.0 / 7.0, -3.0 / 7.0, 6.0 / 7.0]),
    ] {
        let force = weight(50.0, Point::default(), down).expect("a direction");
        for (found, part) in [force.x, force.y, force.z].into_iter().zip(unit) {
            assert!((found - 50.0 * FREE_FALL * part).abs() < 1e-9, "{down:?}: {force:?}");
        }
    }
}

#[test]
fn the_error_names_the_motion_that_is_loose() {
    for (motion, word) in [
        (Motion::Side, "to the side"),
        (Motion::Height, "up and down"),
        (Motion::Pitch, "pitch"),
        (Motion::Roll, "roll"),
        (Motion::Yaw, "yaw"),
    ] {
        let text = CarriageError::Loose(motion).to_string();
        assert!(text.contains(word), "{text}");
    }
}
