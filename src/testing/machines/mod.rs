//! Random machines that conform, with fully recorded ledgers, as KDL text: the same for the same seed.
//!
//! Nothing here uses the library, so that what it derives and judges can be held against what was planned here. All
//! lengths of a plan are whole millimetres, all readings whole hundredths or thousandths.

mod describe;
mod layout;
mod record;

use std::ops::RangeInclusive;

pub(crate) use describe::{machine_file, shop_file};
pub(crate) use layout::layout;

/// SplitMix64: enough to scatter test cases.
#[derive(Clone, Debug)]
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Dice {
        Dice(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number of a range.
    pub(crate) fn roll(&mut self, range: RangeInclusive<i64>) -> i64 {
        let span = (range.end() - range.start() + 1) as u64;
        range.start() + (self.next() % span) as i64
    }

    pub(crate) fn chance(&mut self, percent: i64) -> bool {
        self.roll(1..=100) <= percent
    }

    /// One of several.
    pub(crate) fn pick<'t, T>(&mut self, from: &'t [T]) -> &'t T {
        &from[self.roll(0..=from.len() as i64 - 1) as usize]
    }
}

/// How large the machines are to be.
#[derive(Clone, Debug)]
pub(crate) struct Size {
    pub rails: RangeInclusive<i64>,
    pub segments: RangeInclusive<i64>,
    /// Supports of one rail.
    pub supports: RangeInclusive<i64>,
}

impl Default for Size {
    fn default() -> Size {
        Size { rails: 1..=4, segments: 1..=6, supports: 5..=60 }
    }
}

/// A machine as planned, before anything is written down.
#[derive(Clone, Debug)]
pub(crate) struct Plan {
    pub name: String,
    pub from: i64,
    pub to: i64,
    pub pitch: i64,
    /// From a bolt to the edge of its support.
    pub edge: i64,
    pub beams: Vec<Beam>,
    pub rails: Vec<Rail>,
    pub carriage: Option<Carriage>,
    /// Bolts between each support and its beam, where they are recorded too.
    pub base_bolts: Option<i64>,
}

#[derive(Clone, Debug)]
pub(crate) struct Beam {
    pub pieces: Vec<i64>,
}

#[derive(Clone, Debug)]
pub(crate) struct Carriage {
    pub length: i64,
    /// The two blocks on each rail stand this far before and behind the middle.
    pub offset: i64,
    pub block: i64,
    pub stroke: (i64, i64),
    pub overtravel: i64,
}

/// What a shim under a rail does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Seat {
    Reference,
    Widen,
    Narrow,
    Lift,
}

#[derive(Clone, Debug)]
pub(crate) struct Rail {
    pub name: String,
    pub beam: usize,
    pub seat: Seat,
    pub segments: Vec<i64>,
    /// The row of equal supports: its pitch and how many places it has; the first place is one pitch from the start.
    pub row: (i64, i64),
    /// In order of position.
    pub supports: Vec<Support>,
}

impl Rail {
    /// Positions of the joints.
    pub(crate) fn joints(&self, from: i64) -> Vec<i64> {
        let mut at = from;
        let ends = self.segments.iter().map(|length| {
            at += length;
            at
        });
        let mut ends: Vec<i64> = ends.collect();
        ends.pop();
        ends
    }
}

#[derive(Clone, Debug)]
pub(crate) struct Support {
    pub name: String,
    pub at: i64,
    pub covers: i64,
    pub kind: Kind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A place of the row, by its number.
    Row(i64),
    /// Written on its own, with its bolts stated.
    Single,
    /// Under the joint of that index.
    Joint(usize),
}

impl Support {
    /// How many bolts hold the rail on it.
    pub(crate) fn bolts(&self) -> usize {
        if matches!(self.kind, Kind::Joint(_)) { 4 } else { 2 }
    }
}

/// A ledger as text.
#[derive(Clone, Debug)]
pub(crate) struct Written {
    pub plan: Plan,
    pub shop: String,
    /// Names and texts; `machine.kdl` is the first.
    pub files: Vec<(String, String)>,
}

/// The machine of a seed, fully recorded.
pub(crate) fn machine(seed: u64, size: &Size) -> Written {
    let mut dice = Dice::new(seed);
    let plan = layout(&mut dice, size);
    let mut files = vec![("machine.kdl".to_string(), machine_file(&plan))];
    files.extend(record::files(&plan, &mut dice));
    Written { shop: shop_file(&plan), plan, files }
}

/// A quarry saw's gantry of 14.4 m: two rails of four segments on 114 supports, fully recorded.
pub(crate) fn quarry_saw() -> Written {
    let (pitch, edge, to) = (60, 10, 14_400);
    let rail = |name: &str, beam: usize, seat: Seat, segments: &[i64]| {
        let mut rail =
            Rail { name: name.into(), beam, seat, segments: segments.to_vec(), row: (240, 59), supports: Vec::new() };
        rail.supports = layout::row(&rail.joints(0), (0, pitch, edge), 240, 59);
        rail
    };
    let rails = vec![
        rail("left", 0, Seat::Reference, &[3960, 3960, 3960, 2520]),
        rail("right", 1, Seat::Widen, &[2520, 3960, 3960, 3960]),
    ];
    let beam = |pieces: &[i64]| Beam { pieces: pieces.to_vec() };
    let carriage = Carriage { length: 600, offset: 200, block: 70, stroke: (360, 14_040), overtravel: 25 };
    let beams = vec![beam(&[4800, 4800, 4800]), beam(&[4800, 4800, 4800])];
    let name = "quarry-saw".to_string();
    let plan = Plan { name, from: 0, to, pitch, edge, beams, rails, carriage: Some(carriage), base_bolts: None };
    let mut files = vec![("machine.kdl".to_string(), machine_file(&plan))];
    files.extend(record::files(&plan, &mut Dice::new(3)));
    Written { shop: shop_file(&plan), plan, files }
}
