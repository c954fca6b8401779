//! How a row was understood, for the person who knows what the gauge showed: where, how much in which unit, with what.

use super::mapping::{Becomes, Mapping};
use super::record::RecordHead;
use super::rows::{ImportRow, Number};
use crate::quantity::{Amount, Length};

/// A row in words: `X.port.S2: 10.5 N·m, TW-2`.
pub(crate) fn understood(row: &ImportRow, mapping: &Mapping, head: &RecordHead) -> String {
    let plain = if mapping.becomes == Becomes::Fasten { "N·m" } else { "mm" };
    let amount = |number: &Option<Number>| {
        number.as_ref().map_or(String::new(), |number| {
            let unit = number.unit.as_deref().map_or(plain, |unit| if unit == "N.m" { "N·m" } else { unit });
            format!("{} {unit}", number.raw)
        })
    };
    let place = row.place.as_deref().or(row.groove.as_deref()).unwrap_or_default();
    let address = match Length::read(place, None).is_ok() {
        true => format!("{} at {place} mm", head.on),
        false => format!("{}.{place}", head.on),
    };
    let bolt = row.bolt.map_or(String::new(), |bolt| format!(", bolt {bolt}"));
    let read = match mapping.becomes {
        Becomes::Inspect => format!("{} before, {} after", amount(&row.before), amount(&row.after)),
        Becomes::Fasten | Becomes::Survey => amount(&row.reading),
    };
    let instrument = row.gauge.as_deref().or(mapping.instrument.as_deref()).unwrap_or("no instrument is named");
    format!("{address}{bolt}: {read}, {instrument}")
}
