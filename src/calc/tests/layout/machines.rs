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

/// Numbers that scatter well enough for machines.
struct Scatter(u64);

impl Scatter {
    fn roll(&mut self, from: i64, to: i64) -> i64 {
        for _ in 0..2 {
            self.0 ^= self.0 << 13;
            self.0 ^= self.0 >> 7;
            self.0 ^= self.0 << 17;
        }
        from + (self.0 >> 11) as i64 % (to - from + 1)
    }
}

/// The same axis from the bars that a shop happens to have: three or four lengths, so many bars in all, up to half more
/// than is needed; the beam's pieces are of unequal length.
pub(crate) fn scarce_gantry(seed: u64, (run, rails): (i64, usize), bars: (i64, i64), ground: bool) -> LayoutTask {
    let mut dice = Scatter(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
    let mut task = gantry(run, rails);
    let need = run * rails as i64;
    let stock = loop {
        let mut stock: Vec<(i64, u32)> = Vec::new();
        let kinds = dice.roll(3, 4) as usize;
        while stock.len() < kinds {
            let length = [1200, 1440, 1800, 2100, 2400, 2700, 2880, 3000, 3600][dice.roll(0, 8) as usize];
            if stock.iter().all(|(known, _)| *known != length) {
                stock.push((length, 1));
            }
        }
        for _ in kinds as i64..dice.roll(bars.0, bars.1) {
            stock[dice.roll(0, kinds as i64 - 1) as usize].1 += 1;
        }
        let sum: i64 = stock.iter().map(|(length, count)| length * i64::from(*count)).sum();
        if (need + 600..need * 3 / 2).contains(&sum) {
            break stock;
        }
    };
    let bar =
        |(length, count): (i64, u32)| Bar { length: length * MM, near: 30 * MM, far: 30 * MM, count: Some(count) };
    task.profiles[0].stock = stock.into_iter().map(bar).collect();
    task.profiles[0].cutting = task.profiles[0].cutting.map(|cutting| CuttingSpec { in_joints: ground, ..cutting });
    let seams = (run / 4800 - 1).max(1);
    for rail in &mut task.rails {
        let seam = |i: i64| (run * i / (seams + 1) + dice.roll(-10, 10) * 60) * MM;
        rail.seams = (1..=seams).map(seam).collect();
    }
    task
}
