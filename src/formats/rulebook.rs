//! The limits in force for one ledger: each with its value, who set it, where and why, its default, and the released
//! axes that are judged by another one.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::clean;
use crate::finding::{Locator, Place, counted};
use crate::language::rulebook::{ENTRIES, LimitChange, LimitEntry, LimitType, SpeltNumber};
use crate::ledger::seal::{limits_applying, release_of, sealed_limits};
use crate::ledger::{Ledger, TorqueWindow};
use crate::quantity::Amount;
use crate::rules::pages;
use crate::views::paper::{Paper, TableCell};

/// All limits in force, those that were changed and those that stand as they came.
pub fn in_force(ledger: &Ledger) -> String {
    let locator = Locator::new(&ledger.sources);
    let place = |place: Place| {
        let at = locator.locate(place);
        format!("{}:{}", clean(at.file), at.line)
    };
    let mut out = String::new();
    for entry in ENTRIES {
        let default = pages::default(entry);
        match ledger.rulebook.change(entry.limit) {
            Some(change) => {
                let _ = writeln!(out, "{}: {}", entry.name, changed(entry, change));
                let _ = writeln!(out, "    {}", entry.what);
                let _ =
                    writeln!(out, "    set by the {} at {}: {}", change.by, place(change.place), clean(&change.reason));
                let _ = writeln!(out, "    default: {default} ({})", entry.source);
            }
            None => {
                let _ = writeln!(out, "{}: {default}", entry.name);
                let _ = writeln!(out, "    {}", entry.what);
                let _ = writeln!(out, "    default; {}", entry.source);
            }
        }
        // A released axis is judged by what its seal holds.
        for (index, axis) in ledger.machine.axes.iter().enumerate() {
            let Some(sealed) = sealed_limits(ledger, index) else { continue };
            let Some(change) = sealed.sealed(entry.limit) else { continue };
            let (name, limit) = (clean(&axis.name), sealed.printed(entry));
            let _ = writeln!(
                out,
                "    axis {name} is judged by: {}\n    sealed at {}: {}",
                clean(&limit),
                place(change.place),
                clean(&change.reason)
            );
        }
    }
    for fastener in &ledger.shop.fasteners {
        for (stage, window) in [("full", &fastener.full), ("snug", &fastener.snug)] {
            let Some(TorqueWindow { place: at, least, most, reason }) = window else { continue };
            let name = clean(&fastener.name);
            let _ = writeln!(out, "{stage}-torque of fastener {name}: {} to {most}", least.number());
            let _ = writeln!(out, "    in place of the {stage}-torque entry, wherever a rail names this fastener");
            let _ = writeln!(out, "    set by the shop at {}: {}", place(*at), clean(reason));
        }
    }
    out
}

/// The value of a changed entry: what the change states, and the default where it states nothing.
fn changed(entry: &LimitEntry, change: &LimitChange) -> String {
    if let LimitType::Choice(_) = entry.holds {
        return change.choice.as_deref().map_or_else(|| pages::default(entry), |word| clean(word).into_owned());
    }
    let unit = entry.unit();
    let shown = |spelt: &Option<SpeltNumber>, default: Option<&str>| match (spelt, default) {
        (Some(SpeltNumber { raw, unit: Some(unit) }), _) => Some(format!("{} {}", clean(raw), clean(unit))),
        (Some(SpeltNumber { raw, unit: None }), _) => Some(format!("{} {unit}", clean(raw)).trim_end().to_string()),
        (None, Some(default)) => Some(format!("{default} {unit}").trim_end().to_string()),
        (None, None) => None,
    };
    let least = shown(&change.least, entry.least).map(|text| format!("at least {text}"));
    let over = shown(&change.over, None).map_or(String::new(), |text| format!(" over {text}"));
    let most = shown(&change.most, entry.most).map(|text| format!("at most {text}{over}"));
    let parts: Vec<String> = least.into_iter().chain(most).collect();
    if parts.is_empty() { "none stated".into() } else { parts.join(", ") }
}

/// The limits in force over many ledgers: those that anybody changed, and where which one holds.
#[derive(Default)]
pub(crate) struct LimitsOverFolder {
    machines: usize,
    /// By entry and then as it is said: the limit, who set it where, and why; with the ledgers that are judged by it.
    rows: BTreeMap<(usize, [String; 3]), Vec<String>>,
}

impl LimitsOverFolder {
    /// Takes one ledger up.
    pub(crate) fn add(&mut self, ledger: &Ledger) {
        self.machines += 1;
        let locator = Locator::new(&ledger.sources);
        let place = |place: Place| {
            let at = locator.locate(place);
            format!("{}:{}", at.file, at.line)
        };
        let folder = ledger.folder.shown();
        let mut put =
            |number: usize, said: [String; 3], who: String| self.rows.entry((number, said)).or_default().push(who);
        let released = |index: &usize| release_of(ledger, *index).is_some();
        let axes = 0..ledger.machine.axes.len();
        // Where every axis is released, no limit of today judges any.
        let by_today = axes.is_empty() || !axes.clone().all(|axis| released(&axis));
        for (number, entry) in ENTRIES.iter().enumerate() {
            let change = ledger.rulebook.change(entry.limit);
            let sealed =
                |axis: &usize| sealed_limits(ledger, *axis).is_some_and(|book| book.sealed(entry.limit).is_some());
            if by_today || axes.clone().any(|axis| !sealed(&axis)) {
                let set = change.map_or_else(String::new, |change| format!("{} {}", change.by, place(change.place)));
                let why = change.map_or(entry.source, |change| &change.reason).to_string();
                put(number, [ledger.rulebook.printed(entry), set, why], folder.to_string());
            }
            for axis in axes.clone().filter(sealed) {
                let limits = limits_applying(ledger, axis);
                let said = [limits.printed(entry), "sealed".to_string(), "as released".to_string()];
                put(number, said, format!("{folder} {}", *ledger.machine.axes[axis].name));
            }
        }
        for fastener in &ledger.shop.fasteners {
            for (stage, window) in [("full", &fastener.full), ("snug", &fastener.snug)] {
                let Some(TorqueWindow { place: at, least, most, reason }) = window else { continue };
                let limit = format!("{}: {} to {most}", *fastener.name, least.number());
                let number = ENTRIES.iter().position(|entry| entry.name.strip_suffix("-torque") == Some(stage));
                put(
                    number.unwrap_or(0),
                    [limit, format!("fastener {}", place(*at)), reason.clone()],
                    folder.to_string(),
                );
            }
        }
    }

    /// As a table: entries that are the same everywhere as they came are left out.
    pub(crate) fn paper(&self) -> Paper {
        let mut paper = Paper::new(format!("Limits in force over {}", counted(self.machines, "machine", "machines")));
        let changed = |number: usize| self.rows.keys().any(|(of, said)| *of == number && !said[1].is_empty());
        let rows = self.rows.iter().filter(|((number, _), _)| changed(*number)).map(|((number, said), who)| {
            let [limit, set, why] = said;
            let named = who.iter().take(MOST_NAMED).map(String::as_str).collect::<Vec<_>>().join(", ");
            let more = who.len().saturating_sub(MOST_NAMED);
            vec![
                ENTRIES[*number].name.into(),
                limit.as_str().into(),
                if set.is_empty() { "default" } else { set }.into(),
                why.as_str().into(),
                TableCell::Number(who.len().to_string()),
                if more > 0 { format!("{named} and {more} more") } else { named }.into(),
            ]
        });
        let rows: Vec<Vec<TableCell>> = rows.collect();
        if rows.is_empty() {
            paper.body.say(
                "Nobody changed any: all are as they came. `wayledger rules --in-force` on one ledger lists them.",
            );
        }
        paper.body.table("", &["Entry", "Limit", "Set", "Why", "Machines", "Which"], rows);
        paper
    }
}

/// So many ledgers are named.
const MOST_NAMED: usize = 3;
