//! How the loads on a carriage spread over its blocks.
//!
//! The carriage is rigid and every block is a pair of springs, one upright and one across, both linear in pull and push
//! as preloaded blocks are. Along the axis the blocks roll freely and the drive holds the carriage. That is statics with
//! one rule for what statics leaves open, and gives the textbook answer for four equal blocks at the corners. Blocks are
//! taken to resist no moment of their own.
//!
//! Axes as in the ledger: x along increasing position, y to the right, z up; all places in mm from one common point of the
//! carriage, forces in N, stiffnesses in N/µm.

use std::array::from_fn;

/// A place on the carriage in mm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Point {
    /// Along the axis.
    pub x: f64,
    /// To the right, seen along increasing position.
    pub y: f64,
    /// Up, square to the plane of the rails.
    pub z: f64,
}

/// A force on the carriage and where it acts; components in N.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Force {
    /// Where it acts.
    pub at: Point,
    /// Along the axis.
    pub x: f64,
    /// To the right.
    pub y: f64,
    /// Up: a weight on a level axis is negative.
    pub z: f64,
}

/// The acceleration of free fall in m/s² (the standard value of the third CGPM, 9.80665).
pub(crate) const FREE_FALL: f64 = 9.806_65;

/// The weight of a mass in kg at its centre. `down` is the direction of gravity in the carriage's axes and is scaled to
/// length one: (0, 0, −1) on a level axis, (−1, 0, 0) where the axis climbs. `None` when it has no direction.
pub(crate) fn weight(mass_kg: f64, centre: Point, down: [f64; 3]) -> Option<Force> {
    let [x, y, z] = down;
    let length = x.hypot(y).hypot(z);
    (length > 0.0 && length.is_finite()).then(|| {
        let per = mass_kg * FREE_FALL / length;
        Force { at: centre, x: x * per, y: y * per, z: z * per }
    })
}

/// The inertia of a mass in kg at its centre under an acceleration along the axis in m/s²: it acts backward.
pub(crate) fn inertia(mass_kg: f64, centre: Point, acceleration: f64) -> Force {
    Force { at: centre, x: -mass_kg * acceleration, y: 0.0, z: 0.0 }
}

/// A block under the carriage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct CarriageBlock {
    /// Its middle.
    pub at: Point,
    /// Upright stiffness in N/µm.
    pub vertical: f64,
    /// Stiffness across in N/µm.
    pub lateral: f64,
}

impl CarriageBlock {
    /// A block whose stiffness does not matter because all are alike.
    pub(crate) const fn alike(at: Point) -> Self {
        Self { at, vertical: 1.0, lateral: 1.0 }
    }
}

/// What a block passes on to its rail, in N.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct BlockLoad {
    /// Downward; negative where the block pulls the rail up.
    pub down: f64,
    /// To the right.
    pub right: f64,
}

impl std::ops::Add for BlockLoad {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self { down: self.down + other.down, right: self.right + other.right }
    }
}

/// How far the rail under a block lies off its place, in mm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Offset {
    /// Upward.
    pub up: f64,
    /// To the right.
    pub right: f64,
}

/// Why the loads cannot be told.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub(crate) enum CarriageError {
    /// There is no block.
    #[error("the carriage has no blocks")]
    NoBlocks,
    /// A place, force, offset or stiffness is no number, or a stiffness not positive.
    #[error("{0} must be a finite number, and a stiffness above zero")]
    Number(&'static str),
    /// The blocks cannot hold the load: it would tip or push the carriage.
    #[error("the blocks cannot hold this load: nothing resists it {0}")]
    Loose(Motion),
    /// The number of offsets is not that of the blocks.
    #[error("{found} offsets for {blocks} blocks")]
    Offsets {
        /// How many were given.
        found: usize,
        /// How many blocks there are.
        blocks: usize,
    },
}

/// A motion of the carriage that the blocks may resist.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Motion {
    /// To a side.
    Side,
    /// Up and down.
    Height,
    /// Nodding: front up, rear down.
    Pitch,
    /// Tilting about the axis.
    Roll,
    /// Turning in the plane of the rails.
    Yaw,
}

impl std::fmt::Display for Motion {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Side => "to the side",
            Self::Height => "up and down",
            Self::Pitch => "in pitch, which takes two blocks behind each other",
            Self::Roll => "in roll, which takes blocks beside each other",
            Self::Yaw => "in yaw, which takes two blocks behind each other",
        })
    }
}

const MOTIONS: [Motion; 5] = [Motion::Side, Motion::Height, Motion::Pitch, Motion::Roll, Motion::Yaw];

/// A rigid carriage on blocks.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct RigidCarriage {
    blocks: Vec<CarriageBlock>,
    /// The mean place of the blocks, from which lengths are taken inside, and a length that makes them of order one.
    middle: Point,
    scale: f64,
}

impl RigidCarriage {
    /// A carriage on these blocks. Errors when there are none or a number is out of order.
    pub(crate) fn new(blocks: Vec<CarriageBlock>) -> Result<Self, CarriageError> {
        if blocks.is_empty() {
            return Err(CarriageError::NoBlocks);
        }
        for block in &blocks {
            finite("the place of a block", &[block.at.x, block.at.y, block.at.z])?;
            finite("the stiffness of a block", &[block.vertical, block.lateral])?;
            if block.vertical <= 0.0 || block.lateral <= 0.0 {
                return Err(CarriageError::Number("the stiffness of a block"));
            }
        }
        let mean =
            |part: fn(&Point) -> f64| blocks.iter().map(|block| part(&block.at)).sum::<f64>() / blocks.len() as f64;
        let middle = Point { x: mean(|at| at.x), y: mean(|at| at.y), z: mean(|at| at.z) };
        let spread = blocks.iter().fold(0.0_f64, |most, block| {
            let at = block.at;
            most.max((at.x - middle.x).abs()).max((at.y - middle.y).abs()).max((at.z - middle.z).abs())
        });
        let scale = if spread > 0.0 { spread } else { 1.0 };
        Ok(Self { blocks, middle, scale })
    }

    /// Its blocks.
    pub(crate) fn blocks(&self) -> &[CarriageBlock] {
        &self.blocks
    }

    /// What each block passes to its rail under these forces, in the order of the blocks.
    ///
    /// `drive` is where the drive holds the carriage along the axis: it balances the sum of the x components there
    /// (its x does not matter). Errors when a number is not finite or the blocks cannot hold the load.
    pub(crate) fn loads(&self, forces: &[Force], drive: Point) -> Result<Vec<BlockLoad>, CarriageError> {
        finite("the place of the drive", &[drive.x, drive.y, drive.z])?;
        let mut acting = ActingForces::default();
        let mut along = 0.0;
        for force in forces {
            finite("a force", &[force.x, force.y, force.z])?;
            finite("the place of a force", &[force.at.x, force.at.y, force.at.z])?;
            acting.add(self.work(*force));
            along += force.x;
        }
        acting.add(self.work(Force { at: drive, x: -along, y: 0.0, z: 0.0 }));
        self.spring_loads(&acting, &vec![Offset::default(); self.blocks.len()])
    }

    /// What rails that lie off their places add to the block loads, in the order of the blocks. The sums of what is added, and
    /// its moments, are zero. Errors when the number of offsets is not that of the blocks, or one is not finite.
    pub(crate) fn forced_loads(&self, offsets: &[Offset]) -> Result<Vec<BlockLoad>, CarriageError> {
        if offsets.len() != self.blocks.len() {
            return Err(CarriageError::Offsets { found: offsets.len(), blocks: self.blocks.len() });
        }
        let mut acting = ActingForces::default();
        for (block, offset) in self.blocks.iter().zip(offsets) {
            finite("an offset", &[offset.up, offset.right])?;
            let (side, height) = self.shape(block.at);
            acting.add(from_fn(|n| {
                1000.0 * (block.lateral * side[n] * offset.right + block.vertical * height[n] * offset.up)
            }));
        }
        self.spring_loads(&acting, offsets)
    }

    /// How far a place moves to the right and up for each of the five motions, of size one (turns: of `scale`).
    fn shape(&self, at: Point) -> ([f64; 5], [f64; 5]) {
        let (x, y, z) = self.reduced(at);
        ([1.0, 0.0, 0.0, -z, x], [0.0, 1.0, x, y, 0.0])
    }

    fn reduced(&self, at: Point) -> (f64, f64, f64) {
        let middle = self.middle;
        ((at.x - middle.x) / self.scale, (at.y - middle.y) / self.scale, (at.z - middle.z) / self.scale)
    }

    /// The work of a force along each motion. Pitch moves a high place backward, yaw a right one.
    fn work(&self, force: Force) -> [f64; 5] {
        let (x, y, z) = self.reduced(force.at);
        [force.y, force.z, force.z * x - force.x * z, force.z * y - force.y * z, force.y * x - force.x * y]
    }

    /// The motion in mm at which the springs hold the acting forces: the stiffness matrix of the blocks, solved.
    fn settle(&self, acting: [f64; 5]) -> Result<[f64; 5], CarriageError> {
        let mut matrix = [[0.0; 6]; 5];
        for block in &self.blocks {
            let (side, height) = self.shape(block.at);
            for (row, line) in matrix.iter_mut().enumerate() {
                for column in 0..5 {
                    line[column] += 1000.0
                        * (block.lateral * side[row] * side[column] + block.vertical * height[row] * height[column]);
                }
            }
        }
        for (line, force) in matrix.iter_mut().zip(acting) {
            line[5] = force;
        }
        eliminate(matrix)
    }

    fn spring_loads(&self, acting: &ActingForces, offsets: &[Offset]) -> Result<Vec<BlockLoad>, CarriageError> {
        // A load below this share of what acts is rounding: that block is without load.
        const NOTHING: f64 = 1e-9;
        let motion = self.settle(acting.sum)?;
        let along = |shape: [f64; 5]| shape.iter().zip(motion).map(|(part, size)| part * size).sum::<f64>();
        let load = |load: f64| if load.abs() <= NOTHING * acting.strongest { 0.0 } else { load };
        let blocks = self.blocks.iter().zip(offsets);
        Ok(blocks
            .map(|(block, offset)| {
                let (side, height) = self.shape(block.at);
                BlockLoad {
                    down: load(1000.0 * block.vertical * (offset.up - along(height))),
                    right: load(1000.0 * block.lateral * (along(side) - offset.right)),
                }
            })
            .collect())
    }
}

/// What acts on the carriage along each of the five motions.
#[derive(Default)]
struct ActingForces {
    sum: [f64; 5],
    /// The greatest part of it, before parts cancelled each other.
    strongest: f64,
}

impl ActingForces {
    fn add(&mut self, work: [f64; 5]) {
        for (sum, work) in self.sum.iter_mut().zip(work) {
            *sum += work;
            self.strongest = self.strongest.max(work.abs());
        }
    }
}

/// Solves a symmetric, possibly singular system by elimination with the largest remaining diagonal as pivot. What nothing
/// resists stays at rest when nothing pushes it; else the motion that is loose is the error.
fn eliminate(mut matrix: [[f64; 6]; 5]) -> Result<[f64; 5], CarriageError> {
    // A pivot below this share of the largest one is rounding, not stiffness.
    const NOTHING: f64 = 1e-11;
    let stiffest = (0..5).fold(0.0_f64, |most, n| most.max(matrix[n][n]));
    let strongest = matrix.iter().fold(0.0_f64, |most, line| most.max(line[5].abs()));
    let mut open = vec![0, 1, 2, 3, 4];
    let mut used = Vec::with_capacity(5);
    while let Some((place, &pivot)) =
        open.iter().enumerate().max_by(|(_, a), (_, b)| matrix[**a][**a].total_cmp(&matrix[**b][**b]))
    {
        if matrix[pivot][pivot] <= NOTHING * stiffest {
            break;
        }
        open.remove(place);
        used.push(pivot);
        let top = matrix[pivot];
        for (row, line) in matrix.iter_mut().enumerate() {
            if row != pivot {
                let factor = line[pivot] / top[pivot];
                line.iter_mut().zip(top).for_each(|(part, above)| *part -= factor * above);
            }
        }
    }
    if let Some(&loose) = open.iter().find(|&&n| matrix[n][5].abs() > 1e-9 * strongest) {
        return Err(CarriageError::Loose(MOTIONS[loose]));
    }
    let mut motion = [0.0; 5];
    for n in used {
        motion[n] = matrix[n][5] / matrix[n][n];
    }
    Ok(motion)
}

fn finite(what: &'static str, values: &[f64]) -> Result<(), CarriageError> {
    if values.iter().all(|value| value.is_finite()) { Ok(()) } else { Err(CarriageError::Number(what)) }
}
