//! The segments that a stock can give: whole bars, owned bars and cut pieces, with their end distances.
//!
//! A cut piece keeps the bar's near end, its far end, or neither. What a saw can do with a bar is decided here alone;
//! the planner and the cut list both ask this file.

use std::collections::BTreeSet;

use super::holes::holes_beside;
use super::task::{Bar, CuttingSpec, ProfileSpec};

/// Which ground end of its bar a cut piece keeps.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum KeptEnd {
    Near,
    Far,
    Neither,
}

/// A kind of cut piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct PieceKind {
    pub form: KeptEnd,
    pub length: i64,
    pub near: i64,
    pub far: i64,
}

/// Every kind of piece that the bars there are can give, longest first within each form. `None` when there are more
/// than `most` places to cut, that is when the grid is far too fine to plan with. Pieces sawn at both ends are left out
/// unless `both_sawn`.
pub(super) fn pieces(profile: &ProfileSpec, room: &[u32], both_sawn: bool, most: u64) -> Option<Vec<PieceKind>> {
    let Some(cutting) = profile.cutting else { return Some(Vec::new()) };
    let mut found = BTreeSet::new();
    let mut tried: u64 = 0;
    for (bar, _) in profile.stock.iter().zip(room).filter(|(_, count)| **count > 0) {
        let places = bar.length.div_euclid(cutting.grid).unsigned_abs();
        // Starts of a piece sawn at both ends repeat their hole pattern after one pitch; take the first of each.
        let mut starts = BTreeSet::new();
        let mut near_distances = BTreeSet::new();
        tried = tried.saturating_add(places.saturating_mul(2));
        if tried > most {
            return None;
        }
        for step in 1.. {
            let at = step * cutting.grid;
            if at >= bar.length {
                break;
            }
            found.extend(cut_piece(profile, bar, cutting, 0, at));
            found.extend(cut_piece(profile, bar, cutting, bar.length - at, bar.length));
            let (_, near) = holes_beside(at, bar.length, bar.near, profile.pitch, bar.far);
            if both_sawn
                && sawable(profile, bar, cutting, at, true)
                && near.is_some_and(|near| near_distances.insert(near))
            {
                starts.insert(at);
            }
        }
        tried = tried.saturating_add(places.saturating_mul(starts.len() as u64));
        if tried > most {
            return None;
        }
        for start in starts {
            let ends = (1..).map(|step| start + step * cutting.grid).take_while(|&end| end < bar.length);
            found.extend(ends.filter_map(|end| cut_piece(profile, bar, cutting, start, end)));
        }
    }
    let mut list: Vec<PieceKind> = found.into_iter().collect();
    list.sort_by_key(|piece| (piece.form, -piece.length, piece.near, piece.far));
    Some(list)
}

/// Where a piece of this kind can start on the bar, not before `free`; the first place there is.
///
/// `free` is 0 on an untouched bar, else the end of the last cut plus the kerf.
pub(super) fn place_on_bar(piece: &PieceKind, profile: &ProfileSpec, bar: &Bar, free: i64) -> Option<i64> {
    let cutting = profile.cutting?;
    let is = |start: i64| cut_piece(profile, bar, cutting, start, start + piece.length).as_ref() == Some(piece);
    match piece.form {
        KeptEnd::Near => (free == 0 && is(0)).then_some(0),
        KeptEnd::Far => Some(bar.length - piece.length).filter(|&start| start >= free && start > 0 && is(start)),
        KeptEnd::Neither => {
            // Round up to the grid; a start of 0 would keep the ground end.
            let first = (free.max(1) + cutting.grid - 1) / cutting.grid;
            let starts = (first..).map(|step| step * cutting.grid);
            starts.take_while(|start| start + piece.length < bar.length).find(|&start| is(start))
        }
    }
}

/// The piece between two places of a bar, one of them a cut; `None` when a blade would meet a hole or no hole is left.
fn cut_piece(profile: &ProfileSpec, bar: &Bar, cutting: CuttingSpec, start: i64, end: i64) -> Option<PieceKind> {
    if start < 0 || end > bar.length || start >= end {
        return None;
    }
    let form = match (start == 0, end == bar.length) {
        (true, false) => KeptEnd::Near,
        (false, true) => KeptEnd::Far,
        (false, false) => KeptEnd::Neither,
        (true, true) => return None,
    };
    if form != KeptEnd::Near && !sawable(profile, bar, cutting, start, true) {
        return None;
    }
    if form != KeptEnd::Far && !sawable(profile, bar, cutting, end, false) {
        return None;
    }
    let near = holes_beside(start, bar.length, bar.near, profile.pitch, bar.far).1?;
    let far = holes_beside(end, bar.length, bar.near, profile.pitch, bar.far).0?;
    (near + far <= end - start).then_some(PieceKind { form, length: end - start, near, far })
}

/// Whether a blade that leaves an end at `at` clears the holes. `piece_right` says on which side the piece lies: the
/// blade takes its kerf on the other side.
fn sawable(profile: &ProfileSpec, bar: &Bar, cutting: CuttingSpec, at: i64, piece_right: bool) -> bool {
    let keep = cutting.hole_keep.max(1);
    let (left, right) = holes_beside(at, bar.length, bar.near, profile.pitch, bar.far);
    let (own, other) = if piece_right { (right, left) } else { (left, right) };
    own.is_none_or(|distance| distance >= keep) && other.is_none_or(|distance| distance >= keep + cutting.kerf)
}
