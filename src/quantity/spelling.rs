//! What a person most likely meant by a value that cannot be read: a decimal comma, a unit glued on, a fraction.

use std::fmt::Display;

use super::Moment;
use super::decimal::Decimal;
use super::unit::find_any;

/// The right spelling of a misspelt value, where one can be told.
pub fn better_spelling(raw: &str) -> Option<String> {
    let text = raw.trim_matches(['"', '\u{201c}', '\u{201d}', '\u{2018}', '\u{2019}']);
    if Moment::read(text).is_some() {
        return Some(format!("\"{text}\""));
    }
    if let Some(date) = other_date(text) {
        return Some(format!("\"{date}\""));
    }
    // The typographic minus looks right on the page and is no part of a number.
    let text = text.replace('\u{2212}', "-");
    number(&text).or_else(|| fraction(&text, None)).or_else(|| glued_unit(&text)).filter(|better| better != raw)
}

/// A date spelt with the day first, as `17.4.2026`, or without its zeros, as `2026-4-17`.
fn other_date(text: &str) -> Option<String> {
    let parts: Vec<&str> = text.split(['.', '-']).collect();
    let [first, month, last] = parts[..] else { return None };
    let (year, day) = if first.len() == 4 { (first, last) } else { (last, first) };
    let number = |part: &str, most: usize| (part.len() <= most).then(|| part.parse::<u16>().ok())?;
    let date = format!("{:04}-{:02}-{:02}", number(year, 4)?, number(month, 2)?, number(day, 2)?);
    (year.len() == 4 && Moment::read(&date).is_some()).then_some(date)
}

/// A number, its decimal comma made a point and its missing zero added.
fn number(text: &str) -> Option<String> {
    let (sign, body) = match text.strip_prefix('-') {
        Some(body) => ("-", body),
        None => ("", text.strip_prefix('+').unwrap_or(text)),
    };
    let body = if body.matches(',').count() == 1 && !body.contains('.') { body.replace(',', ".") } else { body.into() };
    // A point alone is no number.
    let body = if body.starts_with('.') && body.len() > 1 { format!("0{body}") } else { body };
    let body = body.strip_suffix('.').map_or(body.clone(), str::to_string);
    let plain = body.starts_with(|c: char| c.is_ascii_digit()) && Decimal::read(&body).is_ok();
    plain.then(|| format!("{sign}{body}"))
}

/// `1/16` as a decimal inch, where it comes out even.
fn fraction(text: &str, unit: Option<&str>) -> Option<String> {
    let (above, below) = text.split_once('/')?;
    let (above, below): (u32, u32) = (above.parse().ok()?, below.parse().ok()?);
    if below == 0 || !below.is_power_of_two() || below > 1024 {
        return None;
    }
    Some(with_unit(unit.unwrap_or("in"), f64::from(above) / f64::from(below)))
}

/// A number with its unit as KDL spells it.
fn with_unit(unit: &str, number: impl Display) -> String {
    format!("({unit}){number}")
}

/// `10.5Nm` as `(N.m)10.5`.
fn glued_unit(text: &str) -> Option<String> {
    let split = text.char_indices().find(|(_, c)| !c.is_ascii_digit() && !matches!(c, '.' | ',' | '-' | '+' | '/'))?.0;
    let (amount, unit) = text.split_at(split);
    let unit = known_unit(unit)?;
    if amount.contains('/') {
        return fraction(amount, Some(unit));
    }
    Some(with_unit(unit, number(amount)?))
}

/// The unit a person meant: spelt as in the table, or in one of the usual other ways.
pub(super) fn known_unit(written: &str) -> Option<&'static str> {
    // Where a unit has two names, the one that every keyboard has and that needs no quotes is shown.
    match written {
        "µm" => return Some("um"),
        "N·m" | "Nm" => return Some("N.m"),
        "m/s2" => return Some("m.s-2"),
        "N/um" => return Some("N.um-1"),
        "N/mm" => return Some("N.mm-1"),
        "1/K" => return Some("K-1"),
        "um/m/K" => return Some("um.m-1.K-1"),
        "°C" => return Some("degC"),
        "um/m" | "µm/m" => return Some("um.m-1"),
        "mm/m" => return Some("mm.m-1"),
        "µrad" => return Some("urad"),
        _ => {}
    }
    if let Some(unit) = find_any(written) {
        return Some(unit.name);
    }
    Some(match written.to_lowercase().replace([' ', '_'], "").as_str() {
        "nm" | "n*m" | "n-m" | "newtonmetre" | "newtonmeter" => "N.m",
        "\"" | "''" | "inch" | "inches" | "zoll" => "in",
        "'" | "feet" | "foot" => "ft",
        "\u{3bc}m" | "micron" | "microns" | "mu" => "um",
        "c" | "celsius" | "\u{ba}c" => "degC",
        "f" | "\u{b0}f" | "fahrenheit" => "degF",
        "in-lb" | "inlb" | "in.lb" | "lb-in" | "lbf-in" | "in*lbf" | "inlbf" | "in.lbf" | "lbf.in" => "in-lbf",
        "ft-lb" | "ftlb" | "ft.lb" | "lb-ft" | "lbf-ft" | "ftlbf" | "ft.lbf" | "lbf.ft" => "ft-lbf",
        "lbs" | "pounds" => "lb",
        "kgs" => "kg",
        "mms" => "mm",
        "m/s\u{b2}" | "m/s^2" | "m/s2" => "m.s-2",
        "n/\u{b5}m" | "n/\u{3bc}m" | "n/um" => "N.um-1",
        "n/mm" => "N.mm-1",
        "1/k" => "K-1",
        "um/m/k" | "\u{b5}m/m/k" | "\u{3bc}m/m/k" => "um.m-1.K-1",
        "\u{3bc}m/m" => "um.m-1",
        "\u{3bc}rad" | "microrad" | "microradian" | "microradians" => "urad",
        "\u{2033}" | "arcsecond" | "arcseconds" | "arc-sec" | "arc-second" | "arc-seconds" => "arcsec",
        other => find_any(other)?.name,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shows_the_right_spelling() {
        for (wrong, right) in [
            ("0,02", "0.02"),
            ("-0,02", "-0.02"),
            ("10.5Nm", "(N.m)10.5"),
            ("10,5Nm", "(N.m)10.5"),
            ("1/16", "(in)0.0625"),
            ("1/16\"", "(in)0.0625"),
            ("3mm", "(mm)3"),
            ("12µm", "(um)12"),
            ("92in-lbf", "(in-lbf)92"),
            ("9.8m/s2", "(m.s-2)9.8"),
            ("12um/m/K", "(um.m-1.K-1)12"),
            ("20°C", "(degC)20"),
            ("12µm/m", "(um.m-1)12"),
            ("0,02mm/m", "(mm.m-1)0.02"),
            ("4\u{2033}", "(arcsec)4"),
            ("4arcseconds", "(arcsec)4"),
            ("20µrad", "(urad)20"),
            ("2026-04-14", "\"2026-04-14\""),
            ("2026-04-14T08:10", "\"2026-04-14T08:10\""),
            ("17.4.2026", "\"2026-04-17\""),
            ("2026-4-7", "\"2026-04-07\""),
            (".5", "0.5"),
            ("5.", "5"),
            ("\u{2212}0.04", "-0.04"),
        ] {
            assert_eq!(better_spelling(wrong).as_deref(), Some(right), "{wrong}");
        }
        for unclear in ["", ".", "..", "0..", ".mm", "abc", "1/3", "1/0", "1,2,3", "-", "--", "10 5"] {
            assert_eq!(better_spelling(unclear), None, "{unclear}");
        }
    }
}
