//! What the stock allows: limited bars, bars that must be used, and the cheapest way to cut pieces from bars.
//!
//! The model of cutting: a piece comes from one bar; a bar may give several pieces, at most one of which keeps its
//! near end and at most one its far end; the blade takes one kerf between two pieces. Waste is the length of all bars
//! taken, less the length of all segments.

use std::collections::{BTreeSet, HashMap};

use super::graph::{ActiveRequirements, Supply};
use super::meter::{BudgetError, Meter};
use super::pieces::{KeptEnd, PieceKind, place_on_bar};
use super::requirement::Requirement;
use super::sweep::KeyHash;
use super::task::{LayoutTask, ProfileSpec};

/// A bar that is cut: index into the profile's stock, and the pieces on it with their starts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct PackedBar {
    pub bar: usize,
    pub pieces: Vec<(u32, i64)>,
}

/// Limited things: how many there are, and whether every one must be used.
#[derive(Clone, Copy, Debug)]
struct SupplyLimit {
    supply: Supply,
    profile: usize,
    most: u32,
    must: bool,
}

type PackKey = (usize, Vec<u32>, Vec<u32>);

pub(super) struct BarStock<'a> {
    task: &'a LayoutTask,
    /// Pieces by profile.
    pub pieces: &'a [Vec<PieceKind>],
    limits: Vec<SupplyLimit>,
    /// Least length of bars for pieces, by profile, pieces and bars left; `None` when they do not suffice.
    cheapest: HashMap<PackKey, Option<i64>, KeyHash>,
}

/// What a half layout has taken so far: counts by limit, and cut pieces by profile.
#[derive(Clone, Debug)]
pub(super) struct Taken {
    pub counts: Vec<u32>,
    pub pieces: Vec<(u32, u32)>,
}

impl<'a> BarStock<'a> {
    pub(crate) fn new(task: &'a LayoutTask, pieces: &'a [Vec<PieceKind>], active: &ActiveRequirements) -> Self {
        let mut limits = Vec::new();
        for (i, owned) in task.owned.iter().enumerate() {
            let must = active.contains(&Requirement::Owned { owned: i });
            limits.push(SupplyLimit { supply: Supply::Owned(i), profile: owned.profile, most: 1, must });
        }
        for (profile, spec) in task.profiles.iter().enumerate() {
            for (bar, count) in spec.stock.iter().enumerate().filter_map(|(bar, kind)| Some((bar, kind.count?))) {
                if active.contains(&Requirement::StockCount { profile, bar }) {
                    limits.push(SupplyLimit { supply: Supply::Whole(bar), profile, most: count, must: false });
                }
            }
        }
        Self { task, pieces, limits, cheapest: HashMap::default() }
    }

    /// Whether anything is limited, so that the search has to keep count.
    pub(crate) fn limited(&self) -> bool {
        !self.limits.is_empty()
    }

    pub(crate) fn nothing(&self) -> Taken {
        Taken { counts: vec![0; self.limits.len()], pieces: Vec::new() }
    }

    /// Takes a segment; `false` when there is none left, and then nothing is taken.
    pub(crate) fn take(&self, taken: &mut Taken, profile: usize, supply: Supply) -> bool {
        if let Supply::Cut(piece) = supply {
            taken.pieces.push((profile as u32, piece as u32));
            return true;
        }
        match self.limit(profile, supply) {
            Some(i) if taken.counts[i] >= self.limits[i].most => false,
            Some(i) => {
                taken.counts[i] += 1;
                true
            }
            None => true,
        }
    }

    /// Gives back the segment taken last.
    pub(crate) fn give_back(&self, taken: &mut Taken, profile: usize, supply: Supply) {
        if let Supply::Cut(_) = supply {
            taken.pieces.pop();
        } else if let Some(i) = self.limit(profile, supply) {
            taken.counts[i] -= 1;
        }
    }

    fn limit(&self, profile: usize, supply: Supply) -> Option<usize> {
        self.limits.iter().position(|limit| limit.supply == supply && (limit.profile == profile))
    }

    /// Fewest segments that make up so much length with the bars left, the longest first; `u32::MAX` when all of them
    /// together do not. A lower bound: pieces cut from one bar are together no longer than the bar.
    pub(crate) fn segments_for(&self, taken: &Taken, profile: usize, mut length: i64) -> u32 {
        let stock = self.task.profiles[profile].stock.iter().enumerate();
        let bars = stock.map(|(bar, kind)| (kind.length, Supply::Whole(bar)));
        let own = self.task.owned.iter().enumerate().filter(|(_, owned)| owned.profile == profile);
        let owned = own.map(|(i, owned)| (owned.length, Supply::Owned(i)));
        let mut all: Vec<(i64, Supply)> = bars.chain(owned).collect();
        all.sort_unstable_by_key(|&(length, supply)| (-length, supply));
        let mut segments = 0_u32;
        for (bar, supply) in all {
            if length <= 0 {
                break;
            }
            let wanted = u32::try_from((length + bar - 1) / bar).unwrap_or(u32::MAX);
            let room = self.limit(profile, supply).map_or(u32::MAX, |i| self.limits[i].most - taken.counts[i]);
            let used = wanted.min(room);
            segments = segments.saturating_add(used);
            length -= bar * i64::from(used);
        }
        if length > 0 { u32::MAX } else { segments }
    }

    /// Adds what was taken to a search key: order of taking does not matter. Where waste does not matter either, pieces
    /// count only if the bars they are cut from are limited.
    pub(crate) fn key(&self, taken: &Taken, waste_matters: bool, key: &mut Vec<u32>) {
        key.extend(&taken.counts);
        let bars_limited = |profile: u32| {
            let bar =
                |limit: &SupplyLimit| matches!(limit.supply, Supply::Whole(_)) && limit.profile == profile as usize;
            self.limits.iter().any(bar)
        };
        let matters = |&&(profile, _): &&(u32, u32)| waste_matters || bars_limited(profile);
        let mut pieces: Vec<(u32, u32)> = taken.pieces.iter().filter(matters).copied().collect();
        pieces.sort_unstable();
        key.extend(pieces.iter().flat_map(|&(profile, piece)| [profile, piece]));
    }

    /// Waste of a whole layout, or `None` when the stock does not suffice or an owned bar is left over.
    pub(crate) fn waste(&mut self, taken: &Taken, meter: &mut Meter) -> Result<Option<i64>, BudgetError> {
        if self.limits.iter().zip(&taken.counts).any(|(limit, &count)| limit.must && count < limit.most) {
            return Ok(None);
        }
        let mut waste = 0;
        for profile in 0..self.task.profiles.len() {
            let (pieces, room) = self.of_profile(taken, profile);
            if pieces.is_empty() {
                continue;
            }
            let used: i64 = pieces.iter().map(|&piece| self.pieces[profile][piece as usize].length).sum();
            let key = (profile, pieces, room);
            let known = self.cheapest.get(&key).copied();
            let cost = match known {
                Some(cost) => cost,
                None => {
                    let cost = self.pack(profile, &key.1, &key.2, meter)?.map(|(cost, _)| cost);
                    self.cheapest.insert(key, cost);
                    cost
                }
            };
            let Some(cost) = cost else { return Ok(None) };
            waste += cost - used;
        }
        Ok(Some(waste))
    }

    /// The cheapest bars and where the pieces lie on them, for one profile of a whole layout.
    pub(crate) fn cut_list(
        &self,
        taken: &Taken,
        profile: usize,
        meter: &mut Meter,
    ) -> Result<Option<Vec<PackedBar>>, BudgetError> {
        let (pieces, room) = self.of_profile(taken, profile);
        Ok(self.pack(profile, &pieces, &room, meter)?.map(|(_, bars)| bars))
    }

    fn of_profile(&self, taken: &Taken, profile: usize) -> (Vec<u32>, Vec<u32>) {
        let own = taken.pieces.iter().filter(|&&(of, _)| of as usize == profile);
        let mut pieces: Vec<u32> = own.map(|&(_, piece)| piece).collect();
        let list = &self.pieces[profile];
        pieces.sort_by_key(|&piece| (-list[piece as usize].length, piece));
        let room = |bar| match self.limit(profile, Supply::Whole(bar)) {
            Some(i) => self.limits[i].most - taken.counts[i],
            None => u32::MAX,
        };
        (pieces, (0..self.task.profiles[profile].stock.len()).map(room).collect())
    }

    fn pack(
        &self,
        profile: usize,
        pieces: &[u32],
        room: &[u32],
        meter: &mut Meter,
    ) -> Result<Option<(i64, Vec<PackedBar>)>, BudgetError> {
        let spec = &self.task.profiles[profile];
        let list = &self.pieces[profile];
        let used = pieces.iter().map(|&piece| list[piece as usize].length).sum();
        let mut packer = Packer { spec, list, pieces, room: room.to_vec(), open: Vec::new(), best: None, used, meter };
        packer.next(0, 0)?;
        Ok(packer.best)
    }
}

/// Branch and bound over which bar each piece comes from, long pieces first.
struct Packer<'a> {
    spec: &'a ProfileSpec,
    list: &'a [PieceKind],
    pieces: &'a [u32],
    room: Vec<u32>,
    open: Vec<PackedBar>,
    best: Option<(i64, Vec<PackedBar>)>,
    used: i64,
    meter: &'a mut Meter,
}

impl Packer<'_> {
    fn next(&mut self, index: usize, cost: i64) -> Result<(), BudgetError> {
        self.meter.step()?;
        let best = self.best.as_ref().map_or(i64::MAX, |(best, _)| *best);
        if best == self.used || cost >= best {
            return Ok(());
        }
        let Some(&piece) = self.pieces.get(index) else {
            self.best = Some((cost, self.open.clone()));
            return Ok(());
        };
        let mut seen = BTreeSet::new();
        for i in 0..self.open.len() {
            let mut together: Vec<u32> = self.open[i].pieces.iter().map(|&(piece, _)| piece).collect();
            together.push(piece);
            together.sort_unstable();
            if !seen.insert((self.open[i].bar, together.clone())) {
                continue;
            }
            if let Some(places) = self.arrange(self.open[i].bar, together)? {
                let before = std::mem::replace(&mut self.open[i].pieces, places);
                self.next(index + 1, cost)?;
                self.open[i].pieces = before;
            }
        }
        for bar in 0..self.spec.stock.len() {
            if self.room[bar] == 0 {
                continue;
            }
            if let Some(pieces) = self.arrange(bar, vec![piece])? {
                self.room[bar] -= 1;
                self.open.push(PackedBar { bar, pieces });
                self.next(index + 1, cost + self.spec.stock[bar].length)?;
                self.open.pop();
                self.room[bar] += 1;
            }
        }
        Ok(())
    }

    /// Places the pieces on one bar, in whatever order works.
    fn arrange(&mut self, bar: usize, pieces: Vec<u32>) -> Result<Option<Vec<(u32, i64)>>, BudgetError> {
        let kerf = self.spec.cutting.map_or(0, |cutting| cutting.kerf);
        let total: i64 = pieces.iter().map(|&piece| self.list[piece as usize].length + kerf).sum();
        let only = |form| pieces.iter().filter(|&&piece| self.list[piece as usize].form == form).count() <= 1;
        if total - kerf > self.spec.stock[bar].length || !only(KeptEnd::Near) || !only(KeptEnd::Far) {
            return Ok(None);
        }
        let mut places = Vec::new();
        Ok(self.arrange_from(bar, &mut pieces.clone(), 0, &mut places)?.then_some(places))
    }

    fn arrange_from(
        &mut self,
        bar: usize,
        rest: &mut Vec<u32>,
        free: i64,
        places: &mut Vec<(u32, i64)>,
    ) -> Result<bool, BudgetError> {
        if rest.is_empty() {
            return Ok(true);
        }
        self.meter.step()?;
        let kerf = self.spec.cutting.map_or(0, |cutting| cutting.kerf);
        for i in 0..rest.len() {
            let piece = rest[i];
            if rest[..i].contains(&piece) {
                continue;
            }
            let kind = &self.list[piece as usize];
            // The piece at the far end comes last.
            if kind.form == KeptEnd::Far && rest.len() > 1 {
                continue;
            }
            if let Some(start) = place_on_bar(kind, self.spec, &self.spec.stock[bar], free) {
                rest.remove(i);
                places.push((piece, start));
                if self.arrange_from(bar, rest, start + kind.length + kerf, places)? {
                    return Ok(true);
                }
                places.pop();
                rest.insert(i, piece);
            }
        }
        Ok(false)
    }
}
