//! The limits in force for one ledger: each with its value, who set it, where and why, its default, and the released
//! axes that are judged by another one.

use std::fmt::Write as _;

use super::clean;
use crate::finding::{Locator, Place};
use crate::language::rulebook::{ENTRIES, LimitChange, LimitEntry, LimitType, SpeltNumber};
use crate::ledger::seal::sealed_limits;
use crate::ledger::{Ledger, TorqueWindow};
use crate::quantity::Amount;
use crate::rules::pages;

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
    let unit = match entry.holds {
        LimitType::Amount(dimension) => dimension.plain_unit(),
        LimitType::Count | LimitType::Choice(_) => "",
    };
    let shown = |spelt: &Option<SpeltNumber>, default: Option<&str>| match (spelt, default) {
        (Some(SpeltNumber { raw, unit: Some(unit) }), _) => Some(format!("{} {}", clean(raw), clean(unit))),
        (Some(SpeltNumber { raw, unit: None }), _) => Some(format!("{} {unit}", clean(raw)).trim_end().to_string()),
        (None, Some(default)) => Some(format!("{default} {unit}").trim_end().to_string()),
        (None, None) => None,
    };
    let least = shown(&change.least, entry.least).map(|text| format!("at least {text}"));
    let most = shown(&change.most, entry.most).map(|text| format!("at most {text}"));
    let parts: Vec<String> = least.into_iter().chain(most).collect();
    if parts.is_empty() { "none stated".into() } else { parts.join(", ") }
}
