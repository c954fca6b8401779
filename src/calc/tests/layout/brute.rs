//! Every layout of a small task, tried one by one from the words of the rules. Shares no code with the planner.

use std::collections::BTreeSet;

use crate::calc::layout::requirement::Requirement;
use crate::calc::layout::task::*;

/// Requirements in force.
pub(crate) type Active = BTreeSet<Requirement>;

/// A piece of a bar: what it is, where it came from does not matter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Cut {
    pub keeps_near: bool,
    pub keeps_far: bool,
    pub length: i64,
    pub near: i64,
    pub far: i64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum From {
    Whole(usize),
    Owned(usize),
    Cut(Cut),
}

#[derive(Clone, Debug)]
pub(crate) struct RailLayout {
    pub joints: Vec<i64>,
    /// Smallest slack of this rail by itself.
    pub slack: Option<i64>,
    pub from: Vec<From>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Best {
    pub joints: usize,
    pub slack: Option<i64>,
    pub waste: i64,
}

/// The best layout there is, or `None`.
pub(crate) fn best(task: &LayoutTask, active: &Active) -> Option<Best> {
    let rails: Vec<Vec<RailLayout>> = (0..task.rails.len()).map(|rail| rail_layouts(task, rail, active)).collect();
    let mut best = None;
    combine(task, active, &rails, &mut Vec::new(), None, (&mut best, false));
    best
}

/// Whether there is any layout.
pub(crate) fn possible(task: &LayoutTask, active: &Active) -> bool {
    let mut rails: Vec<Vec<RailLayout>> = (0..task.rails.len()).map(|rail| rail_layouts(task, rail, active)).collect();
    let limited = task.profiles.iter().any(|profile| profile.stock.iter().any(|bar| bar.count.is_some()));
    if !limited && task.owned.is_empty() {
        // Where the bars come from does not matter: one layout for each set of joints will do.
        let mut seen = BTreeSet::new();
        for (rail, layouts) in rails.iter_mut().enumerate() {
            layouts.retain(|layout| seen.insert((rail, layout.joints.clone())));
        }
    }
    let mut best = None;
    combine(task, active, &rails, &mut Vec::new(), None, (&mut best, true));
    best.is_some()
}

/// Chooses a layout for one rail after the other. `slack` is the smallest among the chosen ones.
fn combine<'a>(
    task: &LayoutTask,
    active: &Active,
    rails: &'a [Vec<RailLayout>],
    chosen: &mut Vec<&'a RailLayout>,
    slack: Option<i64>,
    (best, any): (&mut Option<Best>, bool),
) {
    let joints: usize = chosen.iter().map(|layout| layout.joints.len()).sum();
    let value = |slack: Option<i64>| slack.unwrap_or(i64::MAX);
    let worse = |best: &Best| joints > best.joints || (joints == best.joints && value(best.slack) > value(slack));
    if slack.is_some_and(|slack| slack < 0) || best.as_ref().is_some_and(worse) || (any && best.is_some()) {
        return;
    }
    let rail = chosen.len();
    if rail < rails.len() {
        for layout in &rails[rail] {
            let own = std::iter::once(layout.slack);
            let others = (0..rail).map(|other| {
                let mut at = vec![Vec::new(); rails.len()];
                at[other] = chosen[other].joints.clone();
                at[rail] = layout.joints.clone();
                let apart = active.iter().copied().filter(|requirement| match requirement {
                    Requirement::Stagger { rails } | Requirement::Meeting { rails } => rails.0 != rails.1,
                    _ => false,
                });
                least_slack(task, &apart.collect(), &at)
            });
            let least = own.chain(others).flatten().chain(slack).min();
            chosen.push(layout);
            combine(task, active, rails, chosen, least, (best, any));
            chosen.pop();
        }
        return;
    }
    let Some(waste) = least_waste(task, active, chosen) else { return };
    let now = Best { joints, slack, waste };
    let rank = |best: &Best| (best.joints, -i128::from(value(best.slack)), best.waste);
    if best.as_ref().is_none_or(|best| rank(&now) < rank(best)) {
        *best = Some(now);
    }
}

/// Smallest slack of any clearance; every pair, every seam.
pub(crate) fn least_slack(task: &LayoutTask, active: &Active, joints: &[Vec<i64>]) -> Option<i64> {
    let mut all = Vec::new();
    for (rail, at) in joints.iter().enumerate() {
        for &p in at {
            if active.contains(&Requirement::Seam { rail }) {
                let spec = &task.rails[rail];
                all.extend(spec.seams.iter().map(|&seam| (p - seam).abs() - spec.seam_clearance));
            }
        }
    }
    let flat: Vec<(usize, i64)> =
        joints.iter().enumerate().flat_map(|(rail, at)| at.iter().map(move |&at| (rail, at))).collect();
    for (i, &(a, p)) in flat.iter().enumerate() {
        for &(b, q) in &flat[i + 1..] {
            if a != b && active.contains(&Requirement::Stagger { rails: (a, b) }) {
                all.extend(task.stagger.map(|stagger| (p - q).abs() - stagger));
            }
            if let (Some(carriage), true) = (&task.carriage, active.contains(&Requirement::Meeting { rails: (a, b) })) {
                for first in carriage.blocks.iter().filter(|block| block.rail == a) {
                    for second in carriage.blocks.iter().filter(|block| block.rail == b) {
                        all.push(spare_margin(carriage, (p, first), (q, second)));
                    }
                }
            }
        }
    }
    all.into_iter().min()
}

/// Greatest extra margin at which the meetings do not coincide, found by trying margins.
fn spare_margin(carriage: &CarriageSpec, a: (i64, &BlockSpec), b: (i64, &BlockSpec)) -> i64 {
    let coincide = |extra: i64| {
        // Carriage positions times two, so that half lengths are whole.
        let ends = |(joint, block): (i64, &BlockSpec)| {
            let reach = block.length + carriage.margin + extra;
            (2 * (joint - block.offset) - reach, 2 * (joint - block.offset) + reach)
        };
        let (low, high) = (ends(a).0.max(ends(b).0), ends(a).1.min(ends(b).1));
        let (from, to) = carriage.stroke.map_or((-(1 << 60), 1 << 60), |stroke| (2 * stroke.from, 2 * stroke.to));
        low < high && low < to && from < high
    };
    // Wider margins only ever bring meetings together, so the last good margin is found by halving.
    let (mut apart, mut together) = (-64, 64);
    while coincide(apart) {
        apart *= 2;
    }
    while !coincide(together) {
        together *= 2;
    }
    while together - apart > 1 {
        let middle = (apart + together).div_euclid(2);
        if coincide(middle) {
            together = middle;
        } else {
            apart = middle;
        }
    }
    apart
}

/// Every layout of one rail that keeps the rules which concern it alone.
pub(crate) fn rail_layouts(task: &LayoutTask, rail: usize, active: &Active) -> Vec<RailLayout> {
    let mut done = Vec::new();
    extend(task, rail, active, &options(task, rail), &mut Vec::new(), &mut done);
    done
}

#[derive(Clone, Copy, Debug)]
struct Placed {
    start: i64,
    option: Option_,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Option_ {
    length: i64,
    near: i64,
    far: i64,
    near_sawn: bool,
    far_sawn: bool,
    from: From,
}

fn options(task: &LayoutTask, rail: usize) -> Vec<Option_> {
    let profile = task.profile_of(rail);
    let mut all = BTreeSet::new();
    for (i, owned) in task.owned.iter().enumerate() {
        if owned.profile == task.rails[rail].profile && owned.rail.is_none_or(|meant| meant == rail) {
            let (length, near, far) = (owned.length, owned.near, owned.far);
            let (near_sawn, far_sawn) = (owned.near_sawn, owned.far_sawn);
            all.insert(Option_ { length, near, far, near_sawn, far_sawn, from: From::Owned(i) });
        }
    }
    for (i, bar) in profile.stock.iter().enumerate() {
        let (length, near, far) = (bar.length, bar.near, bar.far);
        all.insert(Option_ { length, near, far, near_sawn: false, far_sawn: false, from: From::Whole(i) });
        for start in 0..length {
            for end in start + 1..=length {
                if let Some(cut) = cut_from(profile, bar, start, end) {
                    all.insert(Option_ {
                        length: cut.length,
                        near: cut.near,
                        far: cut.far,
                        near_sawn: !cut.keeps_near,
                        far_sawn: !cut.keeps_far,
                        from: From::Cut(cut),
                    });
                }
            }
        }
    }
    all.into_iter().collect()
}

/// What lies between two places of a bar, if a saw can make it.
pub(crate) fn cut_from(profile: &ProfileSpec, bar: &Bar, start: i64, end: i64) -> Option<Cut> {
    let cutting = profile.cutting?;
    let holes: Vec<i64> =
        (0..).map(|i| bar.near + i * profile.pitch).take_while(|h| *h <= bar.length - bar.far).collect();
    let whole = start == 0 && end == bar.length;
    let off_grid = (end - start) % cutting.grid != 0 || (start > 0 && end < bar.length && start % cutting.grid != 0);
    // The blade takes the kerf outside the piece; hole centres stay clear of its two faces.
    let keep = cutting.hole_keep.max(1);
    let hit = |from: i64, to: i64| holes.iter().any(|&hole| hole > from - keep && hole < to + keep);
    let sawn_hole =
        (start > 0 && hit(start - cutting.kerf, start)) || (end < bar.length && hit(end, end + cutting.kerf));
    let inside: Vec<i64> = holes.iter().copied().filter(|hole| (start..=end).contains(hole)).collect();
    if whole || off_grid || sawn_hole || inside.is_empty() {
        return None;
    }
    Some(Cut {
        keeps_near: start == 0,
        keeps_far: end == bar.length,
        length: end - start,
        near: inside[0] - start,
        far: end - inside[inside.len() - 1],
    })
}

fn extend(
    task: &LayoutTask,
    rail: usize,
    active: &Active,
    options: &[Option_],
    placed: &mut Vec<Placed>,
    done: &mut Vec<RailLayout>,
) {
    let start = placed.last().map_or(task.from, |last| last.start + last.option.length);
    if start == task.to {
        if rail_conforms(task, rail, active, placed) {
            let mut joints = vec![Vec::new(); task.rails.len()];
            joints[rail] = placed[1..].iter().map(|segment| segment.start).collect();
            done.push(RailLayout {
                slack: least_slack(task, active, &joints),
                joints: joints.swap_remove(rail),
                from: placed.iter().map(|segment| segment.option.from).collect(),
            });
        }
        return;
    }
    for option in options {
        if start + option.length <= task.to {
            placed.push(Placed { start, option: *option });
            if ends_conform(task, rail, active, placed) {
                extend(task, rail, active, options, placed, done);
            }
            placed.pop();
        }
    }
}

/// The rules about the newest segment and its meeting with the one before.
fn ends_conform(task: &LayoutTask, rail: usize, active: &Active, placed: &[Placed]) -> bool {
    let profile = task.profile_of(rail);
    let has = |requirement| active.contains(&requirement);
    let (index, new) = (placed.len() - 1, placed[placed.len() - 1]);
    let end = new.start + new.option.length;
    let good_end = |distance| distance >= profile.least_end && profile.most_end.is_none_or(|most| distance <= most);
    // Only cuts that are made for this layout can be ground afterwards.
    let ground = |option: Option_| {
        !matches!(option.from, From::Owned(_)) && profile.cutting.is_some_and(|cutting| cutting.in_joints)
    };
    let sawn_allowed = |option: Option_| ground(option) || !has(Requirement::SawnEnd { rail });
    let limits = has(Requirement::EndDistance { rail });
    if has(Requirement::LeastSegment { rail }) && new.option.length < profile.least_segment {
        return false;
    }
    if end == task.to && limits && !good_end(new.option.far) {
        return false;
    }
    if end < task.to && new.option.far_sawn && !sawn_allowed(new.option) {
        return false;
    }
    if index == 0 {
        return !limits || good_end(new.option.near);
    }
    let before = placed[index - 1].option;
    let off = (before.far + new.option.near - profile.pitch).abs();
    (sawn_allowed(new.option) || !new.option.near_sawn)
        && (!has(Requirement::HolePitch { rail }) || off <= profile.pattern_tolerance)
}

/// The rules that need the whole rail: seams, owned bars with a place, supports.
fn rail_conforms(task: &LayoutTask, rail: usize, active: &Active, placed: &[Placed]) -> bool {
    let has = |requirement| active.contains(&requirement);
    let spec = &task.rails[rail];
    let joints: Vec<i64> = placed[1..].iter().map(|segment| segment.start).collect();
    let near_seam = |joint: &i64| spec.seams.iter().any(|seam| (joint - seam).abs() < spec.seam_clearance);
    if has(Requirement::Seam { rail }) && joints.iter().any(near_seam) {
        return false;
    }
    for (i, owned) in task.owned.iter().enumerate() {
        if let (Some(meant), Some(at)) = (owned.rail, owned.at)
            && meant == rail
        {
            let uses = placed.iter().filter(|segment| segment.option.from == From::Owned(i));
            let (here, elsewhere): (Vec<&Placed>, Vec<&Placed>) = uses.partition(|segment| segment.start == at);
            if !elsewhere.is_empty() || (has(Requirement::Owned { owned: i }) && here.is_empty()) {
                return false;
            }
        }
    }
    supports_conform(task, rail, active, placed)
}

/// Whether two supports overlap, in half units.
fn overlap(a: (i64, i64), b: (i64, i64)) -> bool {
    2 * (a.0 - b.0).abs() < a.1 + b.1
}

fn supports_conform(task: &LayoutTask, rail: usize, active: &Active, placed: &[Placed]) -> bool {
    let has = |requirement| active.contains(&requirement);
    let supports = &task.rails[rail].supports;
    let pitch = task.profile_of(rail).pitch;
    let mut under_joints = Vec::new();
    if let Some(covers) = supports.joint_covers {
        for pair in placed.windows(2) {
            let (joint, far, near) = (pair[1].start, pair[0].option.far, pair[1].option.near);
            let holds = |centre: i64, left: i64, right: i64| {
                let reach = pitch * (supports.joint_bolts - 1) + supports.edge;
                let (low, high) = (joint - left - reach, joint + right + reach);
                2 * low >= 2 * centre - covers && 2 * high <= 2 * centre + covers
            };
            let bolts = supports.joint_bolts > 0 && has(Requirement::JointSupport { rail });
            let lost =
                |centre: i64| supports.grid.iter().filter(|s| overlap((s.at, s.covers), (centre, covers))).count();
            let shifts = -supports.off_centre..=supports.off_centre;
            let allowed = shifts.filter(|shift| !bolts || holds(joint + shift, far, pitch - far));
            let Some(shift) = allowed.min_by_key(|&shift| (lost(joint + shift), shift.abs(), shift)) else {
                return false;
            };
            let centre = joint + shift;
            if has(Requirement::SupportOverlap { rail }) && !supports.may_drop && lost(centre) > 0 {
                return false;
            }
            if bolts && !holds(centre, far, near) {
                return false;
            }
            let holes = |it: &Placed| (it.option.length - it.option.near - it.option.far) / pitch + 1;
            if bolts && pair.iter().any(|it| holes(it) < supports.joint_bolts) {
                return false;
            }
            under_joints.push((centre, covers));
        }
    }
    if has(Requirement::SupportOverlap { rail }) && under_joints.windows(2).any(|pair| overlap(pair[0], pair[1])) {
        return false;
    }
    let inside = supports.grid.iter().filter(|s| (task.from..task.to).contains(&s.at));
    let kept: Vec<&SupportSpec> =
        inside.filter(|s| !under_joints.iter().any(|&joint| overlap((s.at, s.covers), joint))).collect();
    if has(Requirement::SupportBolts { rail }) {
        for support in &kept {
            let Some(segment) = placed.iter().rev().find(|segment| segment.start <= support.at) else { return false };
            let last = segment.start + segment.option.length - segment.option.far;
            let mut holes = Vec::new();
            let mut hole = segment.start + segment.option.near;
            while hole <= last {
                holes.push(hole);
                hole += pitch;
            }
            let half = support.covers / 2 - supports.edge;
            let held = holes.iter().filter(|hole| (*hole - support.at).abs() <= half).count();
            if half < 0 && supports.grid_bolts > 0 || held < supports.grid_bolts {
                return false;
            }
        }
    }
    if let (Some(most), true) = (supports.most_spacing, has(Requirement::SupportSpacing { rail })) {
        let mut all: Vec<i64> = kept.iter().map(|s| s.at).chain(under_joints.iter().map(|joint| joint.0)).collect();
        all.sort_unstable();
        return all.windows(2).all(|pair| pair[1] - pair[0] <= most);
    }
    true
}

/// Least waste of these rails, or `None` when the stock does not suffice.
fn least_waste(task: &LayoutTask, active: &Active, chosen: &[&RailLayout]) -> Option<i64> {
    let mut waste = 0;
    for (i, _) in task.owned.iter().enumerate() {
        let uses = chosen.iter().flat_map(|layout| &layout.from).filter(|from| **from == From::Owned(i)).count();
        if uses > 1 || (uses == 0 && active.contains(&Requirement::Owned { owned: i })) {
            return None;
        }
    }
    for (profile, spec) in task.profiles.iter().enumerate() {
        let own = (0..chosen.len()).filter(|&rail| task.rails[rail].profile == profile);
        let from: Vec<From> = own.flat_map(|rail| chosen[rail].from.clone()).collect();
        let mut left = Vec::new();
        for (bar, kind) in spec.stock.iter().enumerate() {
            let whole = from.iter().filter(|from| **from == From::Whole(bar)).count() as i64;
            let limited = active.contains(&Requirement::StockCount { profile, bar });
            let count = if limited { kind.count.map_or(1000, i64::from) } else { 1000 };
            left.push(count - whole);
        }
        if left.iter().any(|&left| left < 0) {
            return None;
        }
        let cuts: Vec<Cut> =
            from.iter().filter_map(|from| if let From::Cut(cut) = from { Some(*cut) } else { None }).collect();
        let used: i64 = cuts.iter().map(|cut| cut.length).sum();
        waste += pack(spec, &cuts, &mut left, &mut Vec::new())? - used;
    }
    Some(waste)
}

/// Cheapest bars for the pieces: each goes on an open bar or a new one.
fn pack(profile: &ProfileSpec, cuts: &[Cut], left: &mut Vec<i64>, open: &mut Vec<(usize, Vec<Cut>)>) -> Option<i64> {
    let Some((cut, rest)) = cuts.split_first() else { return Some(0) };
    let mut best: Option<i64> = None;
    let mut offer = |cost: Option<i64>| best = best.into_iter().chain(cost).min();
    for i in 0..open.len() {
        open[i].1.push(*cut);
        if lies_on(profile, open[i].0, &mut open[i].1.clone(), 0) {
            offer(pack(profile, rest, left, open));
        }
        open[i].1.pop();
    }
    for bar in 0..profile.stock.len() {
        if left[bar] > 0 && lies_on(profile, bar, &mut vec![*cut], 0) {
            left[bar] -= 1;
            open.push((bar, vec![*cut]));
            offer(pack(profile, rest, left, open).map(|cost| cost + profile.stock[bar].length));
            open.pop();
            left[bar] += 1;
        }
    }
    best
}

/// Whether the pieces fit on the bar: every order, every start.
fn lies_on(profile: &ProfileSpec, bar: usize, cuts: &mut Vec<Cut>, free: i64) -> bool {
    let kerf = profile.cutting.map_or(0, |cutting| cutting.kerf);
    let kind = &profile.stock[bar];
    if cuts.is_empty() {
        return true;
    }
    for i in 0..cuts.len() {
        let cut = cuts.remove(i);
        for start in free..=kind.length - cut.length {
            if cut_from(profile, kind, start, start + cut.length) == Some(cut)
                && lies_on(profile, bar, cuts, start + cut.length + kerf)
            {
                cuts.insert(i, cut);
                return true;
            }
        }
        cuts.insert(i, cut);
    }
    false
}
