//! The derivation of what one block carries.

use super::{Carriage, CarriageError, Force, Point};
use crate::calc::derivation::{Derivation, Origin, figures};
use crate::calc::life::combined_load;

/// A force with what it is called and where it was written.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedForce<P> {
    /// What it is called: `weight`, `load 2`.
    pub name: String,
    /// The force.
    pub force: Force,
    /// Where it was written, or from what it follows.
    pub origin: Origin<P>,
}

/// How the load of block number `block`, counted from 0, comes about: the size |F_down| + |F_side| in N that counts for
/// life, with what each force alone gives the block. Errors as [`Carriage::loads`], and when there is no such block.
pub fn derive_block_load<P: Clone>(
    carriage: &Carriage,
    block: usize,
    forces: &[NamedForce<P>],
    drive: Point,
    blocks_at: &Origin<P>,
) -> Result<Derivation<P>, CarriageError> {
    let blocks = carriage.blocks();
    let at = blocks.get(block).ok_or(CarriageError::NoSuchBlock { number: block, blocks: blocks.len() })?.at;
    let load_of = |forces: &[Force]| carriage.loads(forces, drive).map(|loads| loads[block]);
    let load = load_of(&forces.iter().map(|named| named.force).collect::<Vec<_>>())?;
    let total = figures(combined_load(load.right, load.down), 5);
    let formula = "P = |F_down| + |F_side|, forces and moments in balance, blocks giving way as one rigid body";
    let mut sheet =
        Derivation::new("load of the block", formula, "statics; the sum: common practice, no source", total, "N")
            .input("blocks", blocks.len().to_string(), "", blocks_at.clone())
            .input("this block at x, y, z", place(at), "mm", blocks_at.clone());
    for NamedForce { name, force, origin } in forces {
        let parts = [force.x, force.y, force.z].map(|part| figures(part, 5)).join(", ");
        sheet = sheet.input(format!("{name} x, y, z"), parts, "N", origin.clone());
        sheet = sheet.input(format!("{name} acts at"), place(force.at), "mm", origin.clone());
    }
    for named in forces {
        // One force alone may be more than the blocks can hold although all together are not; then nothing is said of it.
        if let Ok(part) = load_of(&[named.force]) {
            sheet = sheet.step(format!("{} alone, down and right", named.name), pair(part.down, part.right), "N");
        }
    }
    Ok(sheet
        .step("together, down and right", pair(load.down, load.right), "N")
        .note("the carriage is taken as rigid, its blocks as springs that resist no moment of their own"))
}

fn pair(down: f64, right: f64) -> String {
    [down, right].map(|part| figures(part, 5)).join(", ")
}

fn place(at: Point) -> String {
    [at.x, at.y, at.z].map(|part| figures(part, 9)).join(", ")
}
