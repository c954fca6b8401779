//! What the stock allows while rails are laid: owned bars that must be used, and how many segments of each length there
//! can be.
//!
//! Which bar a segment comes from is left open until the layout is whole: `packing` settles it then. Until then lengths
//! are counted by class: between two lengths of bars all segments need a bar of the longer kind. What the classes
//! rule out cannot be; what they allow may still fail to be packed. Segments that share a bar with others are told apart
//! where they can be but few (`open_bars`).

use std::collections::{BTreeSet, HashMap};
use std::ops::Bound;

use smallvec::SmallVec;

use super::graph::{ActiveRequirements, Edge, Graph, Paths, Supply};
use super::memo::{KeyHash, Memo};
use super::meter::{BudgetError, Meter};
use super::open_bars::{OpenBar, OpenBars, Taking};
use super::packing::{PackItem, Packing, PackingAnswer, PackingGoal, least_bars, pack};
use super::pieces::PieceKind;
use super::requirement::Requirement;
use super::task::LayoutTask;

/// Segments longer than the next class, and no longer than this one.
#[derive(Clone, Copy, Debug)]
struct LengthClass {
    longest: i64,
    /// Most segments of this and the longer classes together; `None` when there is no end of them.
    most: Option<u32>,
}

/// How many bars there are, by profile and kind of bar; `u32::MAX` when as many as wanted can be bought.
pub(super) type BarRoom = Vec<Vec<u32>>;

pub(super) struct BarStock<'a> {
    task: &'a LayoutTask,
    /// Pieces by profile.
    pub pieces: &'a [Vec<PieceKind>],
    pub room: BarRoom,
    /// Whether an owned bar must be used.
    must: Vec<bool>,
    /// By profile, the longest first.
    classes: Vec<Vec<LengthClass>>,
    /// By profile: how many segments may come from open bars. Others that share a bar are counted by class alone.
    shares: Vec<u32>,
    /// By profile: no piece is shorter.
    least_cut: Vec<i64>,
    /// Whether cuts lie at the ends of the rails alone.
    at_ends: bool,
    /// By profile: all lengths that bars make up together, up to the first beyond the run.
    sums: Vec<Vec<i64>>,
    /// Least length of bars for items of a profile; `None` when they do not suffice.
    cheapest: HashMap<(usize, Vec<PackItem>), Option<i64>, KeyHash>,
    items: ItemIds,
    /// Whether the bars suffice for the items of a profile.
    packable: Memo<bool>,
}

/// Most segments that are told apart for sharing a bar with others.
const MOST_SHARES: u32 = 2;

/// What packings cost is forgotten beyond so many, so that memory stays small.
const MOST_CHEAPEST: usize = 10_000;

/// Numbers for all that segments may be made of.
#[derive(Default)]
struct ItemIds {
    all: Vec<PackItem>,
    ids: HashMap<PackItem, u32, KeyHash>,
    /// By rail and the two nodes between which a segment lies; nothing for owned bars.
    of_segments: HashMap<(usize, u32, u32), u32, KeyHash>,
}

impl ItemIds {
    /// The item that a segment is, given by the node that it starts from and the edge that it takes; nothing for an owned
    /// bar.
    fn of_segment(&mut self, graph: &Graph, rail: usize, (node, edge): (u32, u32)) -> Option<u32> {
        let chosen = graph.out[node as usize][edge as usize];
        if matches!(chosen.supply, Supply::Owned(_)) {
            return None;
        }
        let known = self.of_segments.get(&(rail, node, chosen.to)).copied();
        Some(known.unwrap_or_else(|| {
            let item = open_item(graph, node, chosen);
            let next = self.all.len() as u32;
            let id = *self.ids.entry(item.clone()).or_insert(next);
            if id == next {
                self.all.push(item);
            }
            self.of_segments.insert((rail, node, chosen.to), id);
            id
        }))
    }
}

/// What a half layout has taken so far.
#[derive(Clone, Debug)]
pub(super) struct Taken {
    /// Owned bars in use.
    owned: Vec<u32>,
    /// By profile and class: segments of this and the longer classes.
    longer: Vec<Vec<u32>>,
    /// By profile.
    open: Vec<OpenBars>,
    /// Cut pieces, where waste is weighed: profile and piece.
    pub pieces: Vec<(u32, u32)>,
}

impl Taken {
    /// What is begun of bars of one profile.
    pub(crate) fn open(&self, profile: usize) -> &OpenBars {
        &self.open[profile]
    }

    fn note(&mut self, profile: usize, supply: Supply) {
        if let Supply::Cut(piece) = supply {
            self.pieces.push((profile as u32, piece as u32));
        }
    }
}

/// The ways to take a segment.
pub(super) type Ways = SmallVec<[Taking; 4]>;

/// Stock that is there, with the requirements in force.
pub(super) fn room(task: &LayoutTask, active: &ActiveRequirements) -> BarRoom {
    let of = |(profile, spec): (usize, &super::task::ProfileSpec)| {
        let count = |(bar, kind): (usize, &super::task::Bar)| match kind.count {
            Some(count) if active.contains(&Requirement::StockCount { profile, bar }) => count,
            _ => u32::MAX,
        };
        spec.stock.iter().enumerate().map(count).collect()
    };
    task.profiles.iter().enumerate().map(of).collect()
}

impl<'a> BarStock<'a> {
    /// `loose` says that pieces may lie anywhere on a bar and anywhere in a rail; `joints` is the most there may be.
    pub(crate) fn new(
        task: &'a LayoutTask,
        pieces: &'a [Vec<PieceKind>],
        active: &ActiveRequirements,
        room: BarRoom,
        (loose, joints): (bool, Option<u32>),
    ) -> Self {
        let must: Vec<bool> =
            (0..task.owned.len()).map(|owned| active.contains(&Requirement::Owned { owned })).collect();
        let used = must.iter().filter(|must| **must).count() as u32;
        let bars: Vec<u32> = (0..task.profiles.len()).map(|of| fewest_bars(task, of, &room[of], 0)).collect();
        let mut shares = Vec::new();
        let classes = (0..task.profiles.len()).map(|of| {
            let others =
                (0..bars.len()).filter(|other| *other != of).fold(used, |sum, of| sum.saturating_add(bars[of]));
            let spare = joints.map_or(u32::MAX, |joints| {
                most_shared(task, of, &room[of], (joints + task.rails.len() as u32).saturating_sub(others))
            });
            // Where sawn ends belong at the ends of the axis, a rail has two cut pieces at the most.
            let rails = task.rails.iter().filter(|rail| rail.profile == of).count() as u32;
            let shared = if loose { spare } else { spare.min(2 * rails) };
            let told_apart = shared <= MOST_SHARES && room[of].iter().any(|count| *count != u32::MAX);
            shares.push(if told_apart { shared } else { 0 });
            let shared = if told_apart { 0 } else { shared };
            length_classes(task, active, of, &room[of], shared)
        });
        let classes = classes.collect();
        let least_cut =
            |of| least_length(task, active, of).max(task.profiles[of].cutting.map_or(0, |cutting| cutting.grid));
        let least_cut = (0..task.profiles.len()).map(least_cut).collect();
        let sums = (0..task.profiles.len()).map(|of| sums_of_bars(task, of, &room[of])).collect();
        Self {
            task,
            pieces,
            room,
            must,
            classes,
            shares,
            least_cut,
            at_ends: !loose,
            sums,
            cheapest: HashMap::default(),
            items: ItemIds::default(),
            packable: Memo::new(),
        }
    }

    /// Whether anything is limited, so that the search has to keep count.
    pub(crate) fn limited(&self) -> bool {
        !self.must.is_empty() || self.bars_limited()
    }

    /// Whether there are only so many bars of some kind.
    pub(crate) fn bars_limited(&self) -> bool {
        bars_limited(&self.room)
    }

    pub(crate) fn nothing(&self) -> Taken {
        let longer = self.classes.iter().map(|classes| vec![0; classes.len()]).collect();
        let open = vec![OpenBars::default(); self.classes.len()];
        Taken { owned: vec![0; self.must.len()], longer, open, pieces: Vec::new() }
    }

    /// Every way to take a segment so long; `at_end` says whether it is the first or the last of its rail.
    pub(crate) fn ways(&self, taken: &Taken, profile: usize, (supply, length): (Supply, i64), at_end: bool) -> Ways {
        let mut ways = Ways::from_slice(&[Taking::Alone]);
        let spec = &self.task.profiles[profile];
        let (shares, open) = (self.shares[profile], &taken.open[profile]);
        let Some(cutting) = spec.cutting.filter(|cutting| length % cutting.grid == 0) else { return ways };
        if shares == 0 || matches!(supply, Supply::Owned(_)) || (self.at_ends && !at_end) {
            return ways;
        }
        ways.extend(open.usable(shares).filter(|open| open.rest >= length).map(|open| Taking::Rest(*open)));
        ways.dedup();
        if open.shared < shares {
            let long = |class: &&LengthClass| class.longest - length - cutting.kerf >= self.least_cut[profile];
            ways.extend(self.classes[profile].iter().filter(long).map(|class| Taking::Opening(class.longest)));
        }
        ways
    }

    /// Takes a segment; `false` when there is none left, and then nothing is taken.
    pub(crate) fn take(
        &self,
        taken: &mut Taken,
        profile: usize,
        (supply, length): (Supply, i64),
        taking: Taking,
    ) -> bool {
        if let Taking::Rest(_) = taking {
            self.open(taken, profile, length, taking);
            taken.note(profile, supply);
            return true;
        }
        let longest = if let Taking::Opening(bar) = taking { bar } else { length };
        if !self.take_bar(taken, profile, supply, longest) {
            return false;
        }
        self.open(taken, profile, length, taking);
        taken.note(profile, supply);
        true
    }

    fn open(&self, taken: &mut Taken, profile: usize, length: i64, taking: Taking) {
        let kerf = self.task.profiles[profile].cutting.map_or(0, |cutting| cutting.kerf);
        taken.open[profile].take(taking, (length, kerf, self.least_cut[profile]));
    }

    fn take_bar(&self, taken: &mut Taken, profile: usize, supply: Supply, length: i64) -> bool {
        if let Supply::Owned(owned) = supply {
            taken.owned[owned] += 1;
            if taken.owned[owned] > 1 {
                taken.owned[owned] -= 1;
                return false;
            }
            return true;
        }
        let classes = &self.classes[profile];
        if classes.first().is_none_or(|class| class.longest < length) {
            return false;
        }
        let longer = &mut taken.longer[profile];
        let class = class_of(classes, length);
        let full = |class: usize| classes[class].most.is_some_and(|most| longer[class] >= most);
        if (class..classes.len()).any(full) {
            return false;
        }
        longer[class..].iter_mut().for_each(|count| *count += 1);
        true
    }

    /// Gives back the segment taken last, before which the open bars were these.
    pub(crate) fn give_back(
        &self,
        taken: &mut Taken,
        profile: usize,
        (supply, length): (Supply, i64),
        (taking, open): (Taking, OpenBars),
    ) {
        taken.open[profile] = open;
        if let Supply::Cut(_) = supply {
            taken.pieces.pop();
        }
        let length = match taking {
            Taking::Rest(_) => return,
            Taking::Opening(bar) => bar,
            Taking::Alone => length,
        };
        if let Supply::Owned(owned) = supply {
            taken.owned[owned] -= 1;
            return;
        }
        let class = class_of(&self.classes[profile], length);
        taken.longer[profile][class..].iter_mut().for_each(|count| *count -= 1);
    }

    /// The least length of whole bars, however many there are, that is so much or more: each segment takes the room of a
    /// whole one in its class, and no rest of it serves another rail. Where one may, nothing is added.
    pub(crate) fn whole_bars_for(&self, taken: &Taken, profile: usize, length: i64) -> i64 {
        if taken.open[profile].owing() || taken.open[profile].shared < self.shares[profile] {
            return length;
        }
        let sums = &self.sums[profile];
        sums.get(sums.partition_point(|sum| *sum < length)).copied().unwrap_or(length)
    }

    /// Fewest segments that make up so much length with what is left, the longest first; `u32::MAX` when all of it
    /// together does not. What is `all` that is still to be laid takes what is owed of open bars.
    pub(crate) fn segments_for(&self, taken: &Taken, profile: usize, mut length: i64, all: bool) -> u32 {
        let own = self.task.owned.iter().enumerate().filter(|(_, owned)| owned.profile == profile);
        let mut owned: Vec<i64> = own.filter(|(i, _)| taken.owned[*i] == 0).map(|(_, owned)| owned.length).collect();
        let (mut owing, mut rests) = (0_u32, 0);
        for open in taken.open[profile].usable(self.shares[profile]) {
            if all && open.owed {
                owing += 1;
                rests += open.rest;
            } else {
                owned.push(open.rest);
            }
        }
        owned.sort_unstable();
        length -= rests;
        let classes = &self.classes[profile];
        let left = |class: usize| classes[class].most.map_or(u32::MAX, |most| most - taken.longer[profile][class]);
        let (mut segments, mut of_classes) = (owing, 0_u32);
        let mut use_up = |each: i64, most: u32| {
            let wanted = u32::try_from((length + each - 1).div_euclid(each).max(0)).unwrap_or(u32::MAX);
            let used = wanted.min(most);
            length -= each * i64::from(used);
            used
        };
        for class in 0..classes.len() {
            while let Some(longest) = owned.pop_if(|owned| *owned >= classes[class].longest) {
                segments = segments.saturating_add(use_up(longest, 1));
            }
            // A class has no more room than any class of shorter segments, which counts its segments too.
            let room = (class..classes.len()).map(left).min().unwrap_or(u32::MAX);
            let used = use_up(classes[class].longest, room.saturating_sub(of_classes));
            of_classes = of_classes.saturating_add(used);
            segments = segments.saturating_add(used);
        }
        while let Some(longest) = owned.pop() {
            segments = segments.saturating_add(use_up(longest, 1));
        }
        if length > 0 { u32::MAX } else { segments }
    }

    /// Adds what was taken to a search key: order of taking does not matter, and room for more than the `segments` still
    /// to come is as good as room for all of them.
    pub(crate) fn key(&self, taken: &Taken, waste_matters: bool, segments: u32, key: &mut Vec<u32>) {
        key.extend(&taken.owned);
        for (classes, longer) in self.classes.iter().zip(&taken.longer) {
            let left = classes.iter().zip(longer).filter_map(|(class, count)| Some(class.most? - count));
            key.extend(left.map(|left| left.min(segments)));
        }
        for (open, shares) in taken.open.iter().zip(&self.shares).filter(|(_, shares)| **shares > 0) {
            key.push((shares - open.shared).min(segments));
            for OpenBar { rest, owed } in open.usable(*shares) {
                key.extend([(rest >> 32) as u32, *rest as u32, u32::from(*owed)]);
            }
            key.push(u32::MAX);
        }
        if waste_matters {
            let mut pieces = taken.pieces.clone();
            pieces.sort_unstable();
            key.extend(pieces.iter().flat_map(|&(profile, piece)| [profile, piece]));
        }
    }

    /// Whether an owned bar that must be used is not, or a bar was opened for a single segment.
    pub(crate) fn left_over(&self, taken: &Taken) -> bool {
        taken.open.iter().any(OpenBars::owing)
            || self.must.iter().zip(&taken.owned).any(|(&must, &count)| must && count == 0)
    }

    /// Waste of a whole layout, or `None` when the stock does not suffice or an owned bar is left over.
    pub(crate) fn waste(&mut self, taken: &Taken, meter: &mut Meter) -> Result<Option<i64>, BudgetError> {
        if self.left_over(taken) {
            return Ok(None);
        }
        let mut waste = 0;
        for profile in 0..self.task.profiles.len() {
            let own = taken.pieces.iter().filter(|&&(of, _)| of as usize == profile);
            let item = |&(_, piece): &(u32, u32)| PackItem {
                length: self.pieces[profile][piece as usize].length,
                whole: Vec::new(),
                pieces: vec![piece],
            };
            let mut items: Vec<PackItem> = own.map(item).collect();
            if items.is_empty() {
                continue;
            }
            items.sort_unstable();
            let used: i64 = items.iter().map(|item| item.length).sum();
            let key = (profile, items);
            let cost = match self.cheapest.get(&key) {
                Some(cost) => *cost,
                None => {
                    let answer = self.pack_items(profile, &key.1, PackingGoal::Least, meter);
                    if !answer.done {
                        return Err(BudgetError);
                    }
                    let cost = answer.best.map(|packing| packing.length);
                    if self.cheapest.len() >= MOST_CHEAPEST {
                        self.cheapest.clear();
                    }
                    self.cheapest.insert(key, cost);
                    cost
                }
            };
            let Some(cost) = cost else { return Ok(None) };
            waste += cost - used;
        }
        Ok(Some(waste))
    }

    fn pack_items(&self, profile: usize, items: &[PackItem], goal: PackingGoal, meter: &mut Meter) -> PackingAnswer {
        let spec = &self.task.profiles[profile];
        pack(spec, &self.pieces[profile], items, &self.room[profile], goal, meter)
    }

    /// Settles which bars the segments of one profile come from. The items are those of [`open_items`].
    pub(crate) fn pack(
        &self,
        graphs: &[Graph],
        paths: &Paths,
        profile: usize,
        goal: PackingGoal,
        meter: &mut Meter,
    ) -> PackingAnswer {
        let items: Vec<PackItem> =
            open_items(self.task, graphs, paths, profile).into_iter().map(|open| open.item).collect();
        self.pack_items(profile, &items, goal, meter)
    }

    /// Whether the bars suffice for the segments of one profile. The same segments in another order are packed alike.
    pub(crate) fn suffices(
        &mut self,
        graphs: &[Graph],
        paths: &Paths,
        profile: usize,
        meter: &mut Meter,
    ) -> Result<bool, BudgetError> {
        let mut key = Vec::with_capacity(16);
        for (rail, path) in paths.iter().enumerate().filter(|(rail, _)| self.task.rails[*rail].profile == profile) {
            let segments = path.iter().filter_map(|segment| self.items.of_segment(&graphs[rail], rail, *segment));
            key.extend(segments);
        }
        key.sort_unstable();
        key.push(profile as u32);
        if let Some(known) = self.packable.get(&key) {
            return Ok(known);
        }
        let items: Vec<PackItem> = key[..key.len() - 1].iter().map(|&id| self.items.all[id as usize].clone()).collect();
        let answer = self.pack_items(profile, &items, PackingGoal::Any, meter);
        let found = answer.best.is_some();
        if !found && !answer.done {
            return Err(BudgetError);
        }
        self.packable.keep(key, found);
        Ok(found)
    }

    /// The least length of bars for segments of so much length together; `None` when there are not enough.
    pub(crate) fn least_bars(&self, profile: usize, length: i64) -> Option<i64> {
        least_bars(&self.task.profiles[profile], &self.room[profile], length)
    }
}

/// A segment that is no owned bar.
pub(super) struct OpenItem {
    pub rail: usize,
    /// Its place on the rail.
    pub index: usize,
    pub item: PackItem,
}

/// The segments of one profile that come from the stock, in the order of the rails.
pub(super) fn open_items(task: &LayoutTask, graphs: &[Graph], paths: &Paths, profile: usize) -> Vec<OpenItem> {
    let mut all = Vec::new();
    for (rail, path) in paths.iter().enumerate().filter(|(rail, _)| task.rails[*rail].profile == profile) {
        for (index, &(node, edge)) in path.iter().enumerate() {
            let graph = &graphs[rail];
            let chosen = graph.out[node as usize][edge as usize];
            if matches!(chosen.supply, Supply::Owned(_)) {
                continue;
            }
            let item = open_item(graph, node, chosen);
            all.push(OpenItem { rail, index, item });
        }
    }
    all
}

/// All that a segment of the stock may be made of.
fn open_item(graph: &Graph, node: u32, chosen: Edge) -> PackItem {
    let length = graph.nodes[chosen.to as usize].at - graph.nodes[node as usize].at;
    let mut item = PackItem { length, whole: Vec::new(), pieces: Vec::new() };
    for other in alike(graph, node, chosen) {
        match graph.out[node as usize][other].supply {
            Supply::Whole(bar) => item.whole.push(bar),
            Supply::Cut(piece) => item.pieces.push(piece as u32),
            Supply::Owned(_) => {}
        }
    }
    item.whole.sort_unstable();
    item.pieces.sort_unstable();
    item
}

/// The same paths with each segment from where the packing takes it.
pub(super) fn supplied(task: &LayoutTask, graphs: &[Graph], paths: &Paths, profile: usize, packing: &Packing) -> Paths {
    let items = open_items(task, graphs, paths, profile);
    let whole = packing.whole.iter().map(|&(item, bar)| (item, Supply::Whole(bar)));
    let cut = packing.cut.iter().flat_map(|bar| &bar.pieces);
    let cut = cut.map(|placed| (placed.item, Supply::Cut(placed.piece as usize)));
    let mut all = paths.clone();
    for (item, supply) in whole.chain(cut) {
        let OpenItem { rail, index, .. } = items[item];
        let (node, edge) = paths[rail][index];
        let chosen = graphs[rail].out[node as usize][edge as usize];
        let mut others = alike(&graphs[rail], node, chosen);
        if let Some(other) = others.find(|&other| graphs[rail].out[node as usize][other].supply == supply) {
            all[rail][index] = (node, other as u32);
        }
    }
    all
}

/// Edges that differ in what the segment is made of alone.
fn alike(graph: &Graph, node: u32, chosen: Edge) -> impl Iterator<Item = usize> {
    let out = &graph.out[node as usize];
    (0..out.len()).filter(move |&i| out[i].to == chosen.to && !matches!(out[i].supply, Supply::Owned(_)))
}

/// The shortest class that holds a segment so long.
fn class_of(classes: &[LengthClass], length: i64) -> usize {
    classes.iter().rposition(|class| length <= class.longest).unwrap_or(0)
}

/// More sums of bars than this are not told apart.
const MOST_SUMS: usize = 20_000;

/// All sums of bars of one profile, the owned ones among them, up to the first beyond the run; none where there are too
/// many.
fn sums_of_bars(task: &LayoutTask, profile: usize, room: &[u32]) -> Vec<i64> {
    let bars = task.profiles[profile].stock.iter().zip(room).filter(|(_, count)| **count > 0);
    let owned = task.owned.iter().filter(|owned| owned.profile == profile).map(|owned| owned.length);
    let lengths: BTreeSet<i64> = bars.map(|(bar, _)| bar.length).chain(owned).collect();
    let mut sums = BTreeSet::from([0_i64]);
    let mut after = Some(0);
    while let Some(sum) = after.filter(|sum| *sum < task.run()) {
        sums.extend(lengths.iter().map(|length| sum + length));
        if sums.len() > MOST_SUMS {
            return Vec::new();
        }
        after = sums.range((Bound::Excluded(sum), Bound::Unbounded)).next().copied();
    }
    sums.into_iter().collect()
}

/// Whether there are only so many bars of some kind.
pub(super) fn bars_limited(room: &BarRoom) -> bool {
    room.iter().flatten().any(|&count| count != u32::MAX)
}

/// Whether all bars together are as long as the rails.
pub(super) fn bars_reach(task: &LayoutTask, room: &BarRoom) -> bool {
    room.iter().enumerate().all(|(profile, room)| fewest_bars(task, profile, room, 0) != u32::MAX)
}

/// The fewest bars that are as long as all rails of a profile but its owned bars, and so much longer; `u32::MAX` where all
/// of them together are not.
fn fewest_bars(task: &LayoutTask, profile: usize, room: &[u32], longer: i64) -> u32 {
    let rails = task.rails.iter().filter(|rail| rail.profile == profile).count() as i64;
    let owned = task.owned.iter().filter(|owned| owned.profile == profile).map(|owned| owned.length).sum::<i64>();
    let mut length = rails * task.run() - owned + longer;
    let mut bars: Vec<(i64, u32)> =
        task.profiles[profile].stock.iter().map(|bar| bar.length).zip(room.iter().copied()).collect();
    bars.sort_unstable_by(|a, b| b.cmp(a));
    let mut fewest = 0_u32;
    for (bar, count) in bars {
        let wanted = u32::try_from((length + bar - 1).div_euclid(bar).max(0)).unwrap_or(u32::MAX).min(count);
        fewest = fewest.saturating_add(wanted);
        length -= bar * i64::from(wanted);
    }
    if length > 0 { u32::MAX } else { fewest }
}

/// Of so many segments, the most that may lie on a bar of which another one is cut too. Each of them costs a kerf, and
/// pieces are cut to the grid, so that the bars have to be longer than the rails.
fn most_shared(task: &LayoutTask, profile: usize, room: &[u32], segments: u32) -> u32 {
    let spec = &task.profiles[profile];
    let Some(cutting) = spec.cutting else { return 0 };
    let there = spec.stock.iter().zip(room).filter(|(_, count)| **count > 0);
    let once = there.map(|(bar, _)| cutting.kerf + (bar.length - cutting.kerf).rem_euclid(cutting.grid)).min();
    let fits = |shared: &u32| {
        let lost = once.unwrap_or(0).max(cutting.kerf.saturating_mul(i64::from(*shared)));
        fewest_bars(task, profile, room, lost).saturating_add(*shared) <= segments
    };
    (1..=segments).take_while(fits).last().unwrap_or(0)
}

/// The classes of one profile, where so many segments at the most share a bar with one counted before.
fn length_classes(
    task: &LayoutTask,
    active: &ActiveRequirements,
    profile: usize,
    room: &[u32],
    shared: u32,
) -> Vec<LengthClass> {
    let spec = &task.profiles[profile];
    let there = || spec.stock.iter().zip(room).filter(|(_, count)| **count > 0);
    let mut lengths: Vec<i64> = there().map(|(bar, _)| bar.length).collect();
    lengths.sort_unstable_by(|a, b| b.cmp(a));
    lengths.dedup();
    let least = least_length(task, active, profile);
    let most = |class: usize| {
        // The shortest segment that needs a bar of this class.
        let over = lengths.get(class + 1).copied().unwrap_or(0).max(least - 1) + 1;
        let per_bar = |length: i64| match spec.cutting {
            Some(cutting) => {
                let shortest = (over + cutting.grid - 1).div_euclid(cutting.grid) * cutting.grid;
                ((length + cutting.kerf) / (shortest + cutting.kerf)).max(1)
            }
            None => 1,
        };
        let (mut bars, mut segments) = (0_u32, 0_u32);
        for (bar, &count) in there().filter(|(bar, _)| bar.length >= over) {
            if count == u32::MAX {
                return None;
            }
            let pieces = u32::try_from(per_bar(bar.length)).unwrap_or(u32::MAX);
            bars = bars.saturating_add(count);
            segments = segments.saturating_add(pieces.saturating_mul(count));
        }
        Some(segments.min(bars.saturating_add(shared)))
    };
    (0..lengths.len()).map(|class| LengthClass { longest: lengths[class], most: most(class) }).collect()
}

/// No segment of a profile may be shorter; 0 where a rail may have shorter ones.
fn least_length(task: &LayoutTask, active: &ActiveRequirements, profile: usize) -> i64 {
    let mut rails = (0..task.rails.len()).filter(|&rail| task.rails[rail].profile == profile);
    let kept = rails.all(|rail| active.contains(&Requirement::LeastSegment { rail }));
    if kept { task.profiles[profile].least_segment } else { 0 }
}
