//! Random small layout tasks, the same on every run. One unit is one nanometre: the planner does not care.

use crate::calc::layout::meeting::PositionRange;
use crate::calc::layout::task::*;

/// Xorshift: enough to scatter test cases.
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    pub(crate) fn roll(&mut self, from: i64, to: i64) -> i64 {
        for _ in 0..2 {
            self.0 ^= self.0 << 13;
            self.0 ^= self.0 >> 7;
            self.0 ^= self.0 << 17;
        }
        from + (self.0 >> 11) as i64 % (to - from + 1)
    }

    pub(crate) fn chance(&mut self, percent: i64) -> bool {
        self.roll(1, 100) <= percent
    }

    pub(crate) fn pick(&mut self, from: &[i64]) -> i64 {
        from[self.roll(0, from.len() as i64 - 1) as usize]
    }
}

/// A task small enough to try everything: one or two rails, now and then three, every kind of requirement.
pub(crate) fn small_task(seed: u64) -> LayoutTask {
    let mut dice = Dice::new(seed);
    let d = &mut dice;
    let pitch = d.pick(&[2, 3, 4, 6]);
    let rails = if d.chance(12) { 3 } else { d.roll(1, 2) as usize };
    let from = d.pick(&[0, 0, -7, 5]);
    let most = if rails == 3 { 18 } else { 32 };
    let near = d.roll(1, pitch - 1);
    let mut stock = Vec::new();
    for _ in 0..d.roll(1, 3) {
        let (near, far) = if d.chance(80) { (near, pitch - near) } else { (d.roll(1, pitch), d.roll(1, pitch)) };
        let length = near + far + pitch * d.roll(1, 11 / pitch);
        let count = d.chance(20).then(|| d.roll(0, 6) as u32);
        stock.push(Bar { length, near, far, count });
    }
    // Mostly a run that bars make up, or one of whole pitches.
    let mut run = 0;
    while run == 0 || (run < most / 2 && d.chance(70)) {
        run += stock[d.roll(0, stock.len() as i64 - 1) as usize].length;
    }
    let run = match d.roll(0, 9) {
        0 => d.roll(8, most),
        1..=3 => d.roll(8 / pitch, most / pitch) * pitch,
        _ => run.min(most),
    };
    let cutting = d.chance(60).then(|| CuttingSpec {
        grid: if d.chance(70) { pitch } else { d.roll(1, 4) },
        kerf: d.roll(0, 2),
        hole_keep: d.roll(0, 1),
        in_joints: d.chance(15),
    });
    let profile = ProfileSpec {
        pitch,
        pattern_tolerance: d.pick(&[0, 0, 1]),
        stock: stock.clone(),
        cutting,
        least_segment: if d.chance(20) { d.roll(1, 5) } else { 0 },
        least_end: d.pick(&[0, 0, 0, 0, 1, 2]),
        most_end: d.chance(10).then(|| d.roll(1, pitch)),
    };
    let rail = |d: &mut Dice| RailSpec {
        profile: 0,
        seams: (0..d.pick(&[0, 0, 1, 2])).map(|_| from + d.roll(0, run)).collect(),
        seam_clearance: d.roll(0, 3),
        supports: if d.chance(30) { supports(d, from, run) } else { SupportsSpec::default() },
    };
    let rails: Vec<RailSpec> = (0..rails).map(|_| rail(d)).collect();
    let mut owned = Vec::new();
    while d.chance(12) && owned.len() < 2 {
        let near = d.roll(1, pitch);
        let far = pitch - near.min(pitch - 1);
        let rail = d.chance(60).then(|| d.roll(0, rails.len() as i64 - 1) as usize);
        let at = d.chance(40).then(|| from + d.roll(0, run / 2));
        let (length, near, far) = match d.chance(70) {
            true => (stock[0].length, stock[0].near, stock[0].far),
            false => (near + far + pitch * d.roll(0, 2), near, far),
        };
        let (near_sawn, far_sawn) = (false, false);
        owned.push(Owned { profile: 0, length, near, far, near_sawn, far_sawn, rail, at });
    }
    let carriage = d.chance(55).then(|| CarriageSpec {
        blocks: (0..d.roll(1, 3))
            .map(|_| BlockSpec {
                rail: d.roll(0, rails.len() as i64 - 1) as usize,
                offset: d.roll(-6, 6),
                length: d.roll(1, 4),
            })
            .collect(),
        stroke: d.chance(60).then(|| {
            let start = from + d.roll(-3, run / 2);
            PositionRange { from: start, to: start + d.roll(0, run / 2 + 3) }
        }),
        margin: d.pick(&[0, 0, 1]),
    });
    let stagger = d.chance(70).then(|| d.roll(0, 4));
    let profiles = vec![profile];
    LayoutTask { from, to: from + run, profiles, rails, owned, stagger, carriage, budget: 400_000 }
}

/// The same with owned bars of which some have sawn ends, so that they belong at an end of the axis.
pub(crate) fn sawn_bars_task(seed: u64) -> LayoutTask {
    let mut task = small_task(seed);
    let mut dice = Dice::new(seed ^ 0x5a17);
    let d = &mut dice;
    while task.owned.len() < 2 {
        let bar = task.profiles[0].stock[0];
        let rail = d.chance(60).then(|| d.roll(0, task.rails.len() as i64 - 1) as usize);
        let (near_sawn, far_sawn) = (false, false);
        let (length, near, far) = (bar.length, bar.near, bar.far);
        task.owned.push(Owned { profile: 0, length, near, far, near_sawn, far_sawn, rail, at: None });
    }
    for owned in &mut task.owned {
        (owned.near_sawn, owned.far_sawn) = (d.chance(40), d.chance(40));
    }
    task
}

/// Scarce bars with everything else that a stock may have: kerfs of nothing, grids, ground and sawn ends, owned bars with
/// sawn ends, margins. Small enough to try everything many times.
pub(crate) fn scarce_task(seed: u64) -> LayoutTask {
    let mut dice = Dice::new(seed ^ 0x5ca2ce);
    let d = &mut dice;
    let pitch = d.pick(&[2, 3]);
    let mut stock: Vec<Bar> = Vec::new();
    for _ in 0..d.roll(2, 3) {
        let near = d.roll(1, pitch - 1);
        let length = pitch * d.roll(2, 8 / pitch);
        let count = d.chance(85).then(|| d.roll(0, 4) as u32);
        stock.push(Bar { length, near, far: pitch - near, count });
    }
    let rails = d.roll(1, 2) as usize;
    let in_joints = d.chance(50);
    // Cuts in joints leave many more layouts to try.
    let most = if rails == 1 {
        14
    } else if in_joints {
        8
    } else {
        10
    };
    let run = pitch * d.roll(8 / pitch, most / pitch);
    let from = d.pick(&[0, -7]);
    let cutting = d.chance(85).then(|| CuttingSpec {
        grid: if d.chance(80) { pitch } else { d.roll(1, 4) },
        kerf: d.roll(0, 1),
        hole_keep: d.roll(0, 1),
        in_joints,
    });
    let owned = (0..d.pick(&[0, 0, 0, 1, 2])).map(|_| {
        let bar = stock[0];
        let rail = d.chance(50).then(|| d.roll(0, rails as i64 - 1) as usize);
        let (near_sawn, far_sawn) = (d.chance(30), d.chance(30));
        Owned { profile: 0, length: bar.length, near: bar.near, far: bar.far, near_sawn, far_sawn, rail, at: None }
    });
    let owned = owned.collect();
    let profile = ProfileSpec {
        pitch,
        pattern_tolerance: d.pick(&[0, 0, 1]),
        stock,
        cutting,
        least_segment: d.pick(&[0, 0, 2, 4]),
        least_end: 0,
        most_end: None,
    };
    let rail = |d: &mut Dice| RailSpec {
        profile: 0,
        seams: (0..d.roll(0, 2)).map(|_| from + d.roll(1, run - 1)).collect(),
        seam_clearance: d.roll(0, 2),
        supports: if d.chance(15) { supports(d, from, run) } else { SupportsSpec::default() },
    };
    let rails: Vec<RailSpec> = (0..rails).map(|_| rail(d)).collect();
    let block = |d: &mut Dice| BlockSpec {
        rail: d.roll(0, rails.len() as i64 - 1) as usize,
        offset: d.roll(-5, 5),
        length: d.roll(1, 3),
    };
    let carriage = d.chance(60).then(|| CarriageSpec {
        blocks: (0..d.roll(1, 4)).map(|_| block(d)).collect(),
        stroke: d.chance(40).then(|| PositionRange { from: from + 2, to: from + run - d.roll(2, 4) }),
        margin: d.pick(&[0, 0, 1]),
    });
    let stagger = d.chance(70).then(|| d.roll(0, 3));
    let profiles = vec![profile];
    LayoutTask { from, to: from + run, profiles, rails, owned, stagger, carriage, budget: 400_000 }
}

/// Short bars under a long carriage: whether a joint may lie somewhere depends on several joints behind.
pub(crate) fn long_carriage_task(seed: u64) -> LayoutTask {
    let mut dice = Dice::new(seed);
    let d = &mut dice;
    let bar = |length: i64| Bar { length, near: 1, far: 1, count: None };
    let stock = d.pick(&[0, 1, 2]);
    let stock = [vec![bar(4), bar(6)], vec![bar(2), bar(8)], vec![bar(4), bar(6), bar(10)]][stock as usize].clone();
    let run = 2 * d.roll(9, 13);
    let (least_segment, least_end, most_end) = (0, 0, None);
    let profile =
        ProfileSpec { pitch: 2, pattern_tolerance: 0, stock, cutting: None, least_segment, least_end, most_end };
    let rail = |d: &mut Dice| RailSpec {
        profile: 0,
        seams: (0..d.roll(0, 2)).map(|_| d.roll(1, run - 1)).collect(),
        seam_clearance: 1,
        supports: SupportsSpec::default(),
    };
    let rails: Vec<RailSpec> = (0..2).map(|_| rail(d)).collect();
    let block = |d: &mut Dice| BlockSpec { rail: d.roll(0, 1) as usize, offset: d.roll(-10, 10), length: d.roll(1, 2) };
    let blocks = (0..d.roll(2, 4)).map(|_| block(d)).collect();
    let carriage = d.chance(60).then_some(CarriageSpec { blocks, stroke: None, margin: 0 });
    let stagger = d.chance(70).then(|| d.roll(1, 5));
    LayoutTask {
        from: 0,
        to: run,
        profiles: vec![profile],
        rails,
        owned: Vec::new(),
        stagger,
        carriage,
        budget: 400_000,
    }
}

/// Two or three rails crowded with seams, so that rules that could be met one by one often cannot be met together.
pub(crate) fn crowded_task(seed: u64) -> LayoutTask {
    let mut dice = Dice::new(seed);
    let d = &mut dice;
    let pitch = 2;
    let bar = |pitches: i64, count| Bar { length: pitch * pitches, near: 1, far: 1, count };
    let mut stock = vec![bar(d.roll(2, 3), None)];
    if d.chance(60) {
        stock.push(bar(4, d.chance(50).then(|| d.roll(1, 4) as u32)));
    }
    // With cutting, and that even in joints, there are many more layouts to try.
    let cut = stock.iter().all(|bar| bar.count.is_none()) && d.chance(50);
    let run = if cut { pitch * d.roll(4, 6) } else { pitch * d.roll(6, 10) };
    let cutting = cut.then_some(CuttingSpec { grid: pitch, kerf: 0, hole_keep: 0, in_joints: false });
    let least_segment = d.pick(&[0, 0, 4]);
    let profile =
        ProfileSpec { pitch, pattern_tolerance: 0, stock, cutting, least_segment, least_end: 0, most_end: None };
    let rails = (0..if d.chance(15) { 3 } else { 2 }).map(|_| RailSpec {
        profile: 0,
        seams: (0..d.roll(1, 3)).map(|_| d.roll(1, run - 1)).collect(),
        seam_clearance: d.roll(1, 2),
        supports: SupportsSpec::default(),
    });
    let rails: Vec<RailSpec> = rails.collect();
    let blocks = (0..rails.len()).map(|rail| BlockSpec { rail, offset: d.roll(-3, 3), length: d.roll(1, 2) }).collect();
    let carriage = d.chance(60).then_some(CarriageSpec { blocks, stroke: None, margin: 0 });
    let stagger = Some(d.roll(1, 3));
    LayoutTask {
        from: 0,
        to: run,
        profiles: vec![profile],
        rails,
        owned: Vec::new(),
        stagger,
        carriage,
        budget: 400_000,
    }
}

fn supports(d: &mut Dice, from: i64, run: i64) -> SupportsSpec {
    let spacing = d.roll(3, 7);
    let first = from + d.roll(0, 3);
    let grid = (0..).map(|i| first + i * spacing).take_while(|at| *at < from + run);
    let covers = d.roll(1, 4);
    SupportsSpec {
        grid: grid.map(|at| SupportSpec { at, covers }).collect(),
        may_drop: d.chance(85),
        joint_covers: d.chance(80).then(|| d.roll(4, 14)),
        off_centre: d.roll(0, 2),
        joint_bolts: d.pick(&[0, 0, 1, 2]),
        edge: d.pick(&[0, 0, 1]),
        grid_bolts: d.pick(&[0, 0, 0, 0, 1]) as usize,
        most_spacing: d.chance(40).then(|| d.roll(7, 14)),
    }
}
