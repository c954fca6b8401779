//! Machines of real size, for tests and the benchmark. Demonstration data.

use wayledger::planning::layout::*;

pub(crate) const MM: i64 = 1_000_000;

/// An axis of so many millimetres with so many parallel rails: four bar lengths, cutting to whole pitches, a beam seam
/// about every 3.6 m at other places under every rail, supports every 240 mm, and a carriage with two blocks a rail.
pub(crate) fn gantry(run: i64, rails: usize) -> LayoutTask {
    let bar = |length: i64| Bar { length: length * MM, near: 30 * MM, far: 30 * MM, count: None };
    let profile = ProfileSpec {
        pitch: 60 * MM,
        pattern_tolerance: MM / 2,
        stock: vec![bar(1200), bar(1440), bar(2400), bar(3000)],
        cutting: Some(CuttingSpec { grid: 60 * MM, kerf: 3 * MM, hole_keep: 6 * MM, in_joints: false }),
        least_segment: 600 * MM,
        least_end: 0,
        most_end: None,
    };
    let rail = |rail: usize| {
        let first = 3600 - 600 * rail as i64;
        RailSpec {
            profile: 0,
            seams: (0..).map(|i| (first + 3600 * i) * MM).take_while(|seam| *seam < run * MM).collect(),
            seam_clearance: 100 * MM,
            supports: SupportsSpec {
                grid: (1..)
                    .map(|i| SupportSpec { at: 240 * i * MM, covers: 80 * MM })
                    .take_while(|s| s.at < run * MM)
                    .collect(),
                may_drop: true,
                joint_covers: Some(200 * MM),
                off_centre: 5 * MM,
                joint_bolts: 2,
                edge: 10 * MM,
                grid_bolts: 0,
                most_spacing: None,
            },
        }
    };
    let block = |i: usize| {
        let offset = if i.is_multiple_of(2) { -180 * MM } else { 180 * MM };
        BlockSpec { rail: i / 2, offset, length: 78 * MM }
    };
    LayoutTask {
        from: 0,
        to: run * MM,
        profiles: vec![profile],
        rails: (0..rails).map(rail).collect(),
        owned: Vec::new(),
        stagger: Some(78 * MM),
        carriage: Some(CarriageSpec {
            blocks: (0..2 * rails).map(block).collect(),
            stroke: Some(PositionRange { from: 540 * MM, to: (run - 540) * MM }),
            margin: 0,
        }),
        budget: USUAL_BUDGET,
    }
}
