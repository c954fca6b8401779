//! A number as spelt in KDL, kept as a whole number and a count of decimal places.

/// `digits × 10^-places`, exactly as written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Decimal {
    /// All digits as one whole number.
    pub digits: i128,
    /// How many of them stand behind the point.
    pub places: u32,
}

/// Why a spelt number cannot be held.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum AmountError {
    /// What is spelt is no number.
    #[error("is not a number")]
    NotANumber,
    /// It is larger than any amount that is read.
    #[error("is too large to be held")]
    TooLarge,
    /// It has digits finer than the amount is held.
    #[error("is finer than {finest}, the smallest step a ledger holds")]
    TooFine {
        /// The finest that is held.
        finest: &'static str,
    },
    /// No unit of that name is known.
    #[error("has the unit `{0}`, which is not known here")]
    UnknownUnit(String),
    /// The unit measures something else.
    #[error("has the unit `{unit}`, but this is a {dimension}")]
    WrongUnit {
        /// The unit.
        unit: String,
        /// What should be measured.
        dimension: &'static str,
    },
}

/// More decimal places than this are refused rather than carried: no reading of the trade has them.
const MOST_PLACES: u32 = 24;

impl Decimal {
    /// Reads the raw spelling of a KDL number: sign, digits with `_`, point, exponent; also `0x`, `0o` and `0b`.
    pub fn read(raw: &str) -> Result<Decimal, AmountError> {
        if let Some(ShortDecimal { digits, places }) = ShortDecimal::read(raw).map(ShortDecimal::shortest) {
            return Ok(Decimal { digits: digits.into(), places });
        }
        let (negative, body) = match raw.as_bytes().first() {
            Some(b'-') => (true, &raw[1..]),
            Some(b'+') => (false, &raw[1..]),
            _ => (false, raw),
        };
        let plain = if let Some(prefix) = body.get(..2).filter(|p| matches!(*p, "0x" | "0o" | "0b")) {
            let radix = match prefix {
                "0x" => 16,
                "0o" => 8,
                _ => 2,
            };
            if !body.as_bytes().get(2).is_some_and(u8::is_ascii_alphanumeric) {
                return Err(AmountError::NotANumber);
            }
            let mut value: i128 = 0;
            for c in body[2..].chars().filter(|&c| c != '_') {
                let digit = c.to_digit(radix).ok_or(AmountError::NotANumber)?;
                value = value
                    .checked_mul(i128::from(radix))
                    .and_then(|v| v.checked_add(i128::from(digit)))
                    .ok_or(AmountError::TooLarge)?;
            }
            Decimal { digits: value, places: 0 }
        } else {
            Self::read_plain(body)?
        };
        Ok(if negative { Decimal { digits: -plain.digits, ..plain } } else { plain })
    }

    fn read_plain(body: &str) -> Result<Decimal, AmountError> {
        let bytes = body.as_bytes();
        let mut digits: i128 = 0;
        let mut places: i64 = 0;
        let mut seen_point = false;
        let mut seen_digit = false;
        let mut i = 0;
        while i < bytes.len() {
            match bytes[i] {
                c @ b'0'..=b'9' => {
                    seen_digit = true;
                    digits = digits
                        .checked_mul(10)
                        .and_then(|d| d.checked_add(i128::from(c - b'0')))
                        .ok_or(AmountError::TooLarge)?;
                    places += i64::from(seen_point);
                }
                b'_' if seen_digit => {}
                b'.' if !seen_point && bytes.get(i + 1).is_some_and(u8::is_ascii_digit) && seen_digit => {
                    seen_point = true
                }
                b'e' | b'E' if seen_digit => {
                    let exponent = &body[i + 1..];
                    let unsigned = exponent.strip_prefix(['+', '-']).unwrap_or(exponent);
                    let plain = unsigned.starts_with(|c: char| c.is_ascii_digit())
                        && unsigned.bytes().all(|b| b.is_ascii_digit() || b == b'_');
                    if !plain {
                        return Err(AmountError::NotANumber);
                    }
                    let exponent: i64 = exponent.replace('_', "").parse().map_err(|_| AmountError::TooLarge)?;
                    places = places.saturating_sub(exponent);
                    break;
                }
                _ => return Err(AmountError::NotANumber),
            }
            i += 1;
        }
        if !seen_digit {
            return Err(AmountError::NotANumber);
        }
        if digits == 0 {
            return Ok(Decimal { digits: 0, places: 0 });
        }
        while places > 0 && digits % 10 == 0 {
            digits /= 10;
            places -= 1;
        }
        if places < 0 {
            let factor =
                u32::try_from(-places).ok().and_then(|p| 10i128.checked_pow(p)).ok_or(AmountError::TooLarge)?;
            digits = digits.checked_mul(factor).ok_or(AmountError::TooLarge)?;
            places = 0;
        }
        match u32::try_from(places) {
            Ok(places) if places <= MOST_PLACES => Ok(Decimal { digits, places }),
            _ => Err(AmountError::TooFine { finest: "24 decimal places" }),
        }
    }

    /// This number times `factor × 10^-factor_places`, as a whole count of `10^-places`; nothing where it is not whole.
    pub fn scaled(self, factor: Decimal, places: u32) -> Result<Option<i128>, AmountError> {
        let product = self.digits.checked_mul(factor.digits).ok_or(AmountError::TooLarge)?;
        let have = self.places + factor.places;
        if have <= places {
            let up = power_of_ten(places - have).ok_or(AmountError::TooLarge)?;
            product.checked_mul(up).map(Some).ok_or(AmountError::TooLarge)
        } else {
            let Some(down) = power_of_ten(have - places) else { return Ok(None) };
            Ok((product % down == 0).then(|| product / down))
        }
    }

    /// The same rounded to the nearest whole count, a half away from zero.
    pub(super) fn nearest(self, factor: Decimal, places: u32) -> Result<i128, AmountError> {
        let product = wide_product(self.digits.unsigned_abs(), factor.digits.unsigned_abs());
        let have = self.places + factor.places;
        let rounded = match have.checked_sub(places) {
            Some(down) => divided_by_tens(product, down).and_then(|whole| i128::try_from(whole).ok()),
            None => return self.scaled(factor, places)?.ok_or(AmountError::TooLarge),
        };
        let rounded = rounded.ok_or(AmountError::TooLarge)?;
        Ok(if (self.digits < 0) != (factor.digits < 0) { -rounded } else { rounded })
    }

    /// As a float, for the calculations that need no exactness.
    pub fn to_f64(self) -> f64 {
        self.digits as f64 / 10f64.powi(self.places as i32)
    }
}

/// Nearly every number of a ledger: a sign, a few digits, a point. A machine word holds it, `digits × 10^-places`.
#[derive(Clone, Copy)]
pub(super) struct ShortDecimal {
    pub digits: i64,
    pub places: u32,
}

impl ShortDecimal {
    /// Nothing where it is spelt in any other way: that says nothing yet of whether it is a number.
    #[inline]
    pub(crate) fn read(raw: &str) -> Option<ShortDecimal> {
        // The point is one of them.
        const MOST_SIGNS: usize = 18;
        let (negative, body) = match raw.as_bytes() {
            [b'-', body @ ..] => (true, body),
            body => (false, body),
        };
        if body.is_empty() || body.len() > MOST_SIGNS {
            return None;
        }
        let mut digits: i64 = 0;
        let mut places = 0;
        let mut left = body.len();
        for byte in body {
            left -= 1;
            let digit = byte.wrapping_sub(b'0');
            if digit < 10 {
                digits = digits * 10 + i64::from(digit);
            } else if *byte == b'.' && places == 0 && left > 0 && left + 1 < body.len() {
                // The point stands between two digits, once.
                places = left as u32;
            } else {
                return None;
            }
        }
        Some(ShortDecimal { digits: if negative { -digits } else { digits }, places })
    }

    /// As a whole count of `10^-places`, where no decimal place is finer.
    #[inline]
    pub(crate) fn count(self, places: u32) -> Option<i128> {
        let power = POWERS_OF_TEN.get(places.checked_sub(self.places)? as usize)?;
        // Two machine words: their product can always be held.
        Some(i128::from(self.digits) * i128::from(*power))
    }

    /// Without the noughts at its end.
    fn shortest(mut self) -> ShortDecimal {
        while self.places > 0 && self.digits % 10 == 0 {
            self.digits /= 10;
            self.places -= 1;
        }
        self
    }
}

/// The powers of ten that a machine word holds.
pub(super) const POWERS_OF_TEN: [i64; 19] = {
    let mut powers = [1; 19];
    let mut power = 1;
    while power < powers.len() {
        powers[power] = powers[power - 1] * 10;
        power += 1;
    }
    powers
};

/// A product that needs more than one number to hold it, in words of 64 bits, the least first.
fn wide_product(a: u128, b: u128) -> [u64; 4] {
    let halves = |it: u128| [it as u64, (it >> 64) as u64];
    let mut words = [0; 4];
    for (i, a) in halves(a).into_iter().enumerate() {
        let mut carry = 0;
        for (j, b) in halves(b).into_iter().enumerate() {
            // Two words multiplied leave room for two more.
            let sum = u128::from(a) * u128::from(b) + u128::from(words[i + j]) + carry;
            (words[i + j], carry) = (sum as u64, sum >> 64);
        }
        words[i + 2] = carry as u64;
    }
    words
}

/// Such a number by a power of ten, to the nearest whole, a half up; nothing where that is too large to be held.
fn divided_by_tens(mut words: [u64; 4], power: u32) -> Option<u128> {
    let mut last_digit = 0;
    for _ in 0..power {
        last_digit = 0;
        for word in words.iter_mut().rev() {
            let all = (last_digit << 64) | u128::from(*word);
            (*word, last_digit) = ((all / 10) as u64, all % 10);
        }
    }
    let [low, high, 0, 0] = words else { return None };
    // The digit that was cut off last says on which side of a half the rest lies.
    (u128::from(high) << 64 | u128::from(low)).checked_add(u128::from(last_digit >= 5))
}

/// 10 to a power, where it can be held.
fn power_of_ten(power: u32) -> Option<i128> {
    const POWERS: [i128; 39] = {
        let mut powers = [1; 39];
        let mut at = 1;
        while at < powers.len() {
            powers[at] = powers[at - 1] * 10;
            at += 1;
        }
        powers
    };
    POWERS.get(power as usize).copied()
}

/// Prints `digits × 10^-places` without trailing zeros. Seals and exports print every number of a ledger, so each digit is put
/// in place.
pub(super) fn plain_text(digits: i128, places: u32) -> String {
    let mut rest = digits.unsigned_abs();
    let mut left = if rest == 0 { 0 } else { places };
    // A torque of 10.5 N·m has fifteen of them at its end.
    const NOUGHTS: (u32, u64) = (8, 100_000_000);
    while left >= NOUGHTS.0
        && let Ok(small) = u64::try_from(rest)
        && small.is_multiple_of(NOUGHTS.1)
    {
        (rest, left) = (u128::from(small / NOUGHTS.1), left - NOUGHTS.0);
    }
    let mut digit = last_digit(&mut rest);
    while left > 0 && digit == 0 {
        left -= 1;
        digit = last_digit(&mut rest);
    }
    // From the last digit to the first.
    let mut text = Vec::with_capacity(24);
    if left > 0 {
        for _ in 0..left {
            text.push(b'0' + digit);
            digit = last_digit(&mut rest);
        }
        text.push(b'.');
    }
    text.push(b'0' + digit);
    while rest > 0 {
        text.push(b'0' + last_digit(&mut rest));
    }
    if digits < 0 {
        text.push(b'-');
    }
    text.reverse();
    String::from_utf8(text).unwrap_or_default()
}

/// Takes the last digit off.
fn last_digit(number: &mut u128) -> u8 {
    // Nearly all numbers are as small as that, and are divided much quicker.
    if let Ok(small) = u64::try_from(*number) {
        *number = u128::from(small / 10);
        return (small % 10) as u8;
    }
    let digit = (*number % 10) as u8;
    *number /= 10;
    digit
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prints_as_the_standard_library_would() {
        let expected = |digits: i128, places: u32| {
            let (sign, scale) = (if digits < 0 { "-" } else { "" }, 10_u128.pow(places));
            let (whole, part) = (digits.unsigned_abs() / scale, digits.unsigned_abs() % scale);
            let text = format!("{sign}{whole}.{part:0width$}", width = places as usize);
            if part == 0 { format!("{sign}{whole}") } else { text.trim_end_matches('0').to_string() }
        };
        let mut all = vec![0, 10, 100, i128::MAX, -i128::MAX, i128::from(u64::MAX), i128::from(u64::MAX) + 1];
        let mut digits: i128 = 1;
        while digits < 1 << 100 {
            all.extend([digits, -digits, digits * 1000]);
            digits = digits * 3 + 7;
        }
        for digits in all {
            for places in 0..=24 {
                assert_eq!(plain_text(digits, places), expected(digits, places), "{digits} {places}");
            }
        }
    }

    #[test]
    fn reads_what_is_written() {
        let read = |raw| Decimal::read(raw).map(|d| plain_text(d.digits, d.places));
        assert_eq!(read("10.50"), Ok("10.5".into()));
        assert_eq!(read("-0.04"), Ok("-0.04".into()));
        assert_eq!(read("1_200"), Ok("1200".into()));
        assert_eq!(read("1.5e3"), Ok("1500".into()));
        assert_eq!(read("25E-3"), Ok("0.025".into()));
        assert_eq!(read("0x1F"), Ok("31".into()));
        assert_eq!(read("1e400"), Err(AmountError::TooLarge));
        assert_eq!(read("1e-400"), Err(AmountError::TooFine { finest: "24 decimal places" }));
        assert_eq!(read("99999999999999999999999999999999999999999"), Err(AmountError::TooLarge));
        assert_eq!(read("#inf"), Err(AmountError::NotANumber));
        for spoilt in ["", "0.", "0..", "1._5", "1.e5", "1e", "1e_6", "1e+", "1e5x", "0x", "0x_", "0x_1"] {
            assert_eq!(read(spoilt), Err(AmountError::NotANumber), "{spoilt}");
        }
        assert_eq!(read("-"), Err(AmountError::NotANumber));
        assert_eq!(read("1.2.3"), Err(AmountError::NotANumber));
        assert_eq!(read("-0"), Ok("0".into()));
        assert_eq!(read("100"), Ok("100".into()));
        assert_eq!(read("-0.000000000000000001"), Ok("-0.000000000000000001".into()));
    }

    #[test]
    fn a_short_number_is_read_like_a_long_one() {
        for whole in ["0", "7", "-12", "100", "123456789012345678"] {
            for part in ["", ".0", ".5", ".50", ".0105", ".000001"] {
                let short = format!("{whole}{part}");
                // A digit separator makes it no short one.
                let long = short.replacen(|c: char| c.is_ascii_digit(), "0_$", 1);
                let first = short.trim_start_matches('-').chars().next().map_or(String::new(), String::from);
                let long = long.replace('$', &first);
                assert_eq!(Decimal::read(&short), Decimal::read(&long), "{short} and {long}");
            }
        }
    }
}
