//! Numbers as exact decimals, so that `10.5` and `10.50` are one and no digit is lost.

/// A number's value, read from its spelling.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Exact {
    /// `digits` × 10^`exponent`, without zeros at either end of the digits; zero has no digits.
    Decimal { negative: bool, digits: String, exponent: i64 },
    /// `#inf` and its like, and exponents beyond all reason: the spelling itself.
    Other(String),
}

impl Exact {
    /// From a spelling the reader has accepted.
    pub(crate) fn read(raw: &str) -> Exact {
        let plain: String = raw.chars().filter(|c| *c != '_').collect();
        let negative = plain.starts_with('-');
        let unsigned = plain.trim_start_matches(['+', '-']);
        let radix = match unsigned.as_bytes() {
            [b'0', b'x', ..] => Some(16),
            [b'0', b'o', ..] => Some(8),
            [b'0', b'b', ..] => Some(2),
            [b'#', ..] => return Exact::Other(raw.to_owned()),
            _ => None,
        };
        // Converting takes time with the square of the length; nobody means such a number.
        if radix.is_some() && unsigned.len() > 2_000 {
            return Exact::Other(plain.to_ascii_lowercase());
        }
        if let Some(radix) = radix {
            return Exact::new(negative, to_decimal(&unsigned[2..], radix), 0);
        }
        let (mantissa, exponent) = unsigned.split_once(['e', 'E']).unwrap_or((unsigned, "0"));
        let (whole, fraction) = mantissa.split_once('.').unwrap_or((mantissa, ""));
        match exponent.parse::<i32>() {
            Ok(exponent) => {
                Exact::new(negative, format!("{whole}{fraction}"), i64::from(exponent) - fraction.len() as i64)
            }
            Err(_) => Exact::Other(plain.to_ascii_lowercase()),
        }
    }

    /// The double a reader without exact numbers would make of it.
    pub(crate) fn nearest_double(&self) -> f64 {
        match self {
            Exact::Decimal { negative, digits, exponent } => {
                let sign = if *negative { "-" } else { "" };
                let digits = if digits.is_empty() { "0" } else { digits };
                format!("{sign}{digits}e{exponent}").parse().unwrap_or(f64::NAN)
            }
            Exact::Other(raw) => raw.trim_start_matches('#').parse().unwrap_or(f64::NAN),
        }
    }

    fn new(negative: bool, digits: String, exponent: i64) -> Exact {
        let kept = digits.trim_end_matches('0');
        let exponent = exponent + (digits.len() - kept.len()) as i64;
        let kept = kept.trim_start_matches('0');
        if kept.is_empty() {
            return Exact::Decimal { negative: false, digits: String::new(), exponent: 0 };
        }
        Exact::Decimal { negative, digits: kept.to_owned(), exponent }
    }
}

/// Whole digits of another base as decimal digits.
fn to_decimal(digits: &str, radix: u32) -> String {
    // Nine decimal digits a limb, lowest first.
    let mut limbs: Vec<u64> = vec![0];
    for digit in digits.chars().filter_map(|c| c.to_digit(radix)) {
        let mut carry = u64::from(digit);
        for limb in &mut limbs {
            let value = *limb * u64::from(radix) + carry;
            *limb = value % 1_000_000_000;
            carry = value / 1_000_000_000;
        }
        if carry > 0 {
            limbs.push(carry);
        }
    }
    let mut out = String::new();
    for limb in limbs.iter().rev() {
        out.push_str(&format!("{limb:09}"));
    }
    out
}

/// The suite's simplest decimal spelling. Numbers written with a point or an exponent keep a mark of it: a point, or an
/// exponent when they are very large or small.
pub(super) fn canonical(raw: &str) -> String {
    let (negative, digits, exponent) = match Exact::read(raw) {
        Exact::Other(raw) => return raw,
        Exact::Decimal { negative, digits, exponent } => (negative, digits, exponent),
    };
    let sign = if negative || raw.starts_with('-') && digits.is_empty() && raw.contains('.') { "-" } else { "" };
    let lower = raw.to_ascii_lowercase();
    let whole = lower.trim_start_matches(['+', '-']).starts_with("0x") || !lower.contains(['.', 'e']);
    let len = digits.len() as i64;
    // The digits' first stands at 10^magnitude.
    let magnitude = len + exponent - 1;
    if digits.is_empty() {
        return format!("{sign}0{}", if whole { "" } else { ".0" });
    }
    if whole {
        return format!("{sign}{digits}{}", "0".repeat(exponent.max(0) as usize));
    }
    if !(-5..16).contains(&magnitude) {
        let (first, rest) = digits.split_at(1);
        let point = if rest.is_empty() { "" } else { "." };
        return format!("{sign}{first}{point}{rest}e{magnitude}");
    }
    if exponent >= 0 {
        return format!("{sign}{digits}{}.0", "0".repeat(exponent as usize));
    }
    if magnitude < 0 {
        return format!("{sign}0.{}{digits}", "0".repeat((-magnitude - 1) as usize));
    }
    let (whole, fraction) = digits.split_at((magnitude + 1) as usize);
    format!("{sign}{whole}.{fraction}")
}
