//! Places on a carriage and the five ways it can be off: to a side, up, and three turns.
//!
//! The ledger's frame (x along, y right, z up) is left-handed. Inside this folder everything is right-handed as in ISO 841 and
//! ISO 230-1: X along, Y = −y to the left, Z up. A turn is counted by the right-hand rule about its axis: roll plus, the left
//! side rises; pitch plus, the nose goes down; yaw plus, the nose turns left.

/// A place in mm from the carriage's common point, in the ledger's frame.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct BodyPoint {
    /// Along the axis.
    pub x: f64,
    /// To the right, seen along increasing position.
    pub y: f64,
    /// Up, square to the plane of the rails.
    pub z: f64,
}

/// A force in N or a direction, in the ledger's frame.
pub(crate) type Arrow = BodyPoint;

/// How far a carriage is off its place (mm to the left, mm up, then roll, pitch and yaw in rad), or what acts along each of
/// these (N, N, then N·mm).
pub(crate) type Five = [f64; 5];

/// One of them for each block: most carriages have four blocks or fewer, and nothing is asked for at each place of a stroke.
pub(crate) type PerBlock = smallvec::SmallVec<[Five; 4]>;

pub(crate) const LEFT: usize = 0;
pub(crate) const UP: usize = 1;
pub(crate) const ROLL: usize = 2;
pub(crate) const PITCH: usize = 3;
pub(crate) const YAW: usize = 4;

/// How a place moves along, to the left and up, for each of the five being off by one: u = t + θ × r. The same rows say what a
/// force there does, since its work is force times way.
pub(crate) fn reach(at: BodyPoint) -> [Five; 3] {
    let (x, left, z) = (at.x, -at.y, at.z);
    [[0.0, 0.0, 0.0, z, -left], [1.0, 0.0, -z, 0.0, x], [0.0, 1.0, left, -x, 0.0]]
}

/// What a force at a place does along each of the five.
pub(crate) fn work(force: Arrow, at: BodyPoint) -> Five {
    let [along, left, up] = reach(at);
    std::array::from_fn(|n| force.x * along[n] - force.y * left[n] + force.z * up[n])
}

/// How far a place is off along, to the left and up when the carriage is off by `pose`.
pub(crate) fn moved(pose: &Five, at: BodyPoint) -> [f64; 3] {
    reach(at).map(|row| dot(&row, pose))
}

pub(crate) fn dot(a: &Five, b: &Five) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3] + a[4] * b[4]
}

/// A motion error by its name in ISO 230-1 and how it follows from what the carriage is off by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ErrorName {
    /// `EYX`: error along or about Y of the axis X.
    pub code: &'static str,
    /// Which of the five.
    pub of: usize,
    /// Plus of the named error is plus of it, or minus.
    pub sign: f64,
    /// Which way is plus, in words.
    pub plus: &'static str,
}

/// The five motion errors of an axis by its letter; `None` where it has none that ISO 841 would know, and plain words are used.
///
/// Axis X: along X, left is +Y. Axis Y: along Y, left is −X.
pub(crate) fn error_names(letter: &str) -> Option<[ErrorName; 5]> {
    let name = |code, of, sign, plus| ErrorName { code, of, sign, plus };
    match letter {
        "X" => Some([
            name("EYX", LEFT, 1.0, "to the left"),
            name("EZX", UP, 1.0, "up"),
            name("EAX", ROLL, 1.0, "left side rises"),
            name("EBX", PITCH, 1.0, "nose goes down"),
            name("ECX", YAW, 1.0, "turns left"),
        ]),
        "Y" => Some([
            name("EXY", LEFT, -1.0, "to the right"),
            name("EZY", UP, 1.0, "up"),
            name("EBY", ROLL, 1.0, "left side rises"),
            name("EAY", PITCH, -1.0, "nose rises"),
            name("ECY", YAW, 1.0, "turns left"),
        ]),
        _ => None,
    }
}
