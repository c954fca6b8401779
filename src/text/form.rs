//! What a word stands for, in four bytes: a string, a keyword or a number, with the value of nearly every number.
//!
//! Where each number is read from its spelling instead, the lint takes 1.12 times the instructions (benches/README.md).

/// A number as nearly all of a ledger are, `digits × 10^-places`: fewer than seven digits and no exponent. Every amount
/// but a temperature can hold it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Plain {
    digits: i32,
    places: u8,
}

impl Plain {
    const LARGEST: u32 = 999_999;
    const MOST_PLACES: usize = 6;

    #[inline]
    pub(super) fn new(negative: bool, digits: u32, places: usize) -> Option<Plain> {
        if digits > Plain::LARGEST || places > Plain::MOST_PLACES {
            return None;
        }
        let digits = digits as i32;
        Some(Plain { digits: if negative { -digits } else { digits }, places: places as u8 })
    }

    /// From its spelling, where that is digits and one point at most.
    pub fn read(spelt: &str) -> Option<Plain> {
        let (negative, body) = spelt.strip_prefix('-').map_or((false, spelt), |body| (true, body));
        let (whole, part) = body.split_once('.').unwrap_or((body, ""));
        let digits: String = whole.chars().chain(part.chars()).filter(char::is_ascii_digit).collect();
        let plain = !whole.is_empty() && digits.len() == whole.len() + part.len();
        Plain::new(negative, digits.parse().ok()?, part.len()).filter(|_| plain)
    }

    #[inline]
    pub fn digits(self) -> i32 {
        self.digits
    }

    #[inline]
    pub fn places(self) -> u8 {
        self.places
    }
}

/// What is to be made of a word. A string is its span with so many bytes cut off both ends, or lies in `cooked`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct WordForm(u32);

impl WordForm {
    const COOKED: u32 = 1 << 31;
    /// No string: no text is long enough to be cut by so much.
    const VALUE: u32 = 1 << 30;
    /// A number whose places follow in three bits, and its digits in the others.
    const PLAIN: u32 = WordForm::VALUE | 1 << 29;
    const DIGITS: u32 = 26;

    /// A string without quotes.
    pub(crate) const BARE: WordForm = WordForm(0);
    /// The span is its spelling.
    pub(crate) const NUMBER: WordForm = WordForm(WordForm::VALUE);
    pub(crate) const NULL: WordForm = WordForm(WordForm::VALUE + 1);
    pub(crate) const TRUE: WordForm = WordForm(WordForm::VALUE + 2);
    pub(crate) const FALSE: WordForm = WordForm(WordForm::VALUE + 3);

    #[inline]
    pub(crate) fn cut(bytes: usize) -> WordForm {
        WordForm(bytes as u32)
    }

    pub(crate) fn cooked(index: usize) -> WordForm {
        WordForm(index as u32 | WordForm::COOKED)
    }

    /// A number, its value noted where it is plain.
    #[inline]
    pub(crate) fn number(plain: Option<Plain>) -> WordForm {
        plain.map_or(WordForm::NUMBER, |Plain { digits, places }| {
            let digits = digits as u32 & ((1 << WordForm::DIGITS) - 1);
            WordForm(WordForm::PLAIN | u32::from(places) << WordForm::DIGITS | digits)
        })
    }

    #[inline]
    pub(crate) fn is_text(self) -> bool {
        self.0 & WordForm::VALUE == 0
    }

    /// How many bytes are cut off both ends of a string that lies in the text.
    #[inline]
    pub(crate) fn cut_off(self) -> Option<u32> {
        (self.0 & WordForm::COOKED == 0).then_some(self.0)
    }

    /// Where a string lies in `cooked`, if it does.
    #[inline]
    pub(crate) fn in_cooked(self) -> usize {
        (self.0 & !WordForm::COOKED) as usize
    }

    /// The value of a number, where it was noted.
    #[inline]
    pub(crate) fn plain(self) -> Option<Plain> {
        if self.0 & (WordForm::COOKED | WordForm::PLAIN) != WordForm::PLAIN {
            return None;
        }
        // Shifted up and down again, the digits keep their sign.
        let sign = u32::BITS - WordForm::DIGITS;
        Some(Plain { digits: (self.0 << sign) as i32 >> sign, places: (self.0 >> WordForm::DIGITS) as u8 & 7 })
    }
}
