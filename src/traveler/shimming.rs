//! The shims that the survey asks for, support by support, and what must be looked at again after them.

use super::Gather;
use super::sheet::{Block, Cell, Section, Step, Table};
use crate::calc::exact::Ratio;
use crate::calc::shims::{Plan, ShimProblem, SupportNeed, plan};
use crate::ledger::{RailId, What};
use crate::quantity::{Amount, Length};
use crate::worked::shims::stock;
use crate::worked::survey::{Readings, Seat, Standing, length, target_words};

/// One support with the leaves it gets.
pub struct Shimmed {
    pub support: usize,
    pub needed: Length,
    pub leaves: Vec<Length>,
}

impl Gather<'_> {
    pub(super) fn shimming(&self, id: RailId) -> Option<Section> {
        let seat = Seat::of(self.case.ledger, id)?;
        let address = self.case.machine.rail_address(id);
        let standing = Standing::of(self.case.ledger, id, seat.kind);
        let mut section = Section::new(format!("Shim rail {address}"));
        let Some(record) = standing.as_fitted else {
            section.text(format!(
                "After the survey, print this traveler again: it then lists the leaves for every support. Limit: {}.",
                self.limit(seat.limit)
            ));
            return Some(section);
        };
        let done = self.shimmed_since(id, record);
        if self.remaining && (done || standing.verified.is_some()) {
            return None;
        }
        if done {
            section.text("Put in as recorded:");
            section.table(self.recorded(id));
            return Some(section);
        }
        let (Some(effect), Some(readings)) = (seat.effect, Readings::of(self.case.ledger, record)) else {
            section.text("The rail does not say what a shim under it does. Write shims=widen, shims=narrow or shims=lift on it, then print this traveler again.");
            return Some(section);
        };
        let (most, _) = self.case.ledger.rulebook.most::<Length>(seat.limit)?;
        if readings.range() <= Ratio::whole(most.nm().into()) {
            if self.remaining {
                return None;
            }
            section.text(format!("The readings vary by {}: no shim is needed.", length(readings.range())));
            return Some(section);
        }
        section.text(format!(
            "Readings vary by {}; {} is {}. One support at a time: loosen it, put the leaves in, snug, full torque, before the next one is loosened. Leaves cut: wear gloves.",
            length(readings.range()),
            target_words(effect),
            readings.target(effect).row.name,
        ));
        match shims(&self.case, id, seat, &readings, most) {
            Ok((shimmed, range)) => {
                section.text(format!("Range to expect afterwards: {range}. Limit: {}.", self.limit(seat.limit)));
                section.table(self.leaves(id, &shimmed, record));
                let again = self.again(id, &shimmed);
                if !again.is_empty() {
                    section.text("After shimming, inspect again: the old readings of these joints no longer count.");
                    section.steps(again.into_iter().map(Step::open).collect());
                }
                section.blocks.push(Block::Hold(format!(
                    "Verification survey of {address} after the last shim; every station within the limit."
                )));
            }
            Err(why) => section.text(why),
        }
        Some(section)
    }

    fn leaves(&self, id: RailId, shimmed: &[Shimmed], survey: usize) -> Table {
        let rail = self.case.machine.rail(id);
        let mut table = Table::new([
            "Support",
            "Asked for (mm)",
            "Leaves to add (mm)",
            "Then in all (mm)",
            "Leaves in",
            "Snug",
            "Full torque",
            "By",
        ]);
        for it in shimmed {
            let present = self.case.shim_total(id, it.support, Some(survey));
            let total: Length = it.leaves.iter().copied().sum();
            table.rows.push(vec![
                Cell::text(&rail.supports[it.support].name),
                Cell::Number(it.needed.number()),
                Cell::Text(stack(&it.leaves)),
                Cell::Number((present + total).number()),
                Cell::Tick(false),
                Cell::Tick(false),
                Cell::Tick(false),
                Cell::Blank,
            ]);
        }
        table
    }

    /// What lies under the rail now.
    fn recorded(&self, id: RailId) -> Table {
        let rail = self.case.machine.rail(id);
        let mut table = Table::new(["Support", "Leaves (mm)", "Total (mm)", "Recorded on"]);
        for (support, it) in rail.supports.iter().enumerate() {
            let Some((event, row)) = self.case.shims(id, support, None) else { continue };
            let leaves: Vec<Length> = row.leaves.iter().map(|leaf| leaf.value).collect();
            table.rows.push(vec![
                Cell::text(&it.name),
                Cell::Text(stack(&leaves)),
                Cell::Number(row.total().number()),
                Cell::Text(self.case.records[event.record].date.map_or(String::new(), |date| date.date.to_string())),
            ]);
        }
        table
    }

    /// The joints whose inspection these shims undo.
    fn again(&self, id: RailId, shimmed: &[Shimmed]) -> Vec<String> {
        let rail = self.case.machine.rail(id);
        (0..rail.joints.len())
            .filter(|joint| {
                let beside = self.case.beside_joint(id, *joint);
                shimmed.iter().any(|it| beside.contains(&it.support))
            })
            .map(|joint| format!("{}: light and all four grooves", self.case.machine.joint_address(id, joint)))
            .collect()
    }

    pub(super) fn shimmed_since(&self, id: RailId, record: usize) -> bool {
        let events = self.case.history(id).supports.iter().flatten();
        events.filter(|event| event.what == What::Shimmed).any(|event| self.case.after(event.record, record))
    }
}

/// `0.05 + 0.02`.
fn stack(leaves: &[Length]) -> String {
    if leaves.is_empty() {
        return "none".into();
    }
    leaves.iter().map(|leaf| leaf.number()).collect::<Vec<_>>().join(" + ")
}

/// The leaves each support gets by the best plan, and the range to expect; or why there is none.
pub fn shims(
    case: &crate::rules::Case,
    id: RailId,
    seat: Seat,
    readings: &Readings,
    most: Length,
) -> Result<(Vec<Shimmed>, Length), String> {
    let effect = seat.effect.ok_or("the rail does not say what its shims do")?;
    let stock =
        stock(case.ledger).ok_or("The shop file lists no shim-stock: add it, then print this traveler again.")?;
    let (survey, scale) = readings.survey().ok_or("the survey cannot be read as a whole")?;
    let rail = case.machine.rail(id);
    let (first, last) = (survey.stations().first(), survey.stations().last());
    let (Some(first), Some(last)) = (first, last) else { return Err("the survey has no reading".into()) };
    let mut needs = Vec::with_capacity(rail.supports.len());
    for support in &rail.supports {
        // Beyond the outermost station the reading is taken to carry on level.
        let at = support.at.nm().clamp(first.position_nm, last.position_nm);
        let need = survey.shim_needed(at, effect).and_then(|need| {
            let nm = need.value.ceil();
            i64::try_from(nm.div_euclid(scale) + i128::from(nm.rem_euclid(scale) != 0)).ok()
        });
        needs.push(need.ok_or_else(|| format!("the survey does not reach {}", support.name))?);
    }
    let supports: Vec<SupportNeed> =
        needs.iter().map(|needed| SupportNeed { needed_nm: *needed, most_nm: None }).collect();
    let range = |share: i64| ShimProblem {
        supports: supports.clone(),
        range_nm: share,
        stock: stock.clone(),
        raise_most_nm: Some(0),
    };
    // As near to the target as the leaves allow, within half the limit where that can be had: the other half is left to
    // the gauge and to the seats.
    let planned: Plan =
        plan(&range(most.nm() / 2)).or_else(|_| plan(&range(most.nm()))).map_err(|why| format!("No plan: {why}."))?;
    let shimmed = planned
        .stacks
        .iter()
        .enumerate()
        .filter(|(_, stack)| stack.total_nm > 0)
        .map(|(support, stack)| {
            let mut leaves: Vec<Length> = stock
                .kinds()
                .iter()
                .zip(&stack.leaves)
                .flat_map(|(kind, count)| std::iter::repeat_n(Length(kind.thickness_nm), *count as usize))
                .collect();
            leaves.sort_by(|a, b| b.cmp(a));
            Shimmed { support, needed: Length(needs[support]), leaves }
        })
        .collect();
    Ok((shimmed, Length(planned.range_nm)))
}
