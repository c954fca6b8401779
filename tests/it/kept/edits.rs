//! Small mistakes at random in the text of a ledger, of the kind people make: a number, a name, a line.

use crate::common::fingerprint;
use crate::common::machines::Dice;

/// A ledger as its files, each a name and a text.
#[derive(Clone)]
pub struct Texts {
    pub shop: String,
    pub files: Vec<(String, String)>,
}

impl Texts {
    /// Of its own, so that a ledger added before it changes nothing here.
    pub fn dice(&self) -> Dice {
        let all: String = self.files.iter().map(|(_, text)| text.as_str()).chain([self.shop.as_str()]).collect();
        Dice::new(u64::from_str_radix(&fingerprint(&all), 16).expect("sixteen digits"))
    }
}

/// The same with one to three mistakes.
pub fn edited(texts: &Texts, dice: &mut Dice) -> Texts {
    let mut texts = texts.clone();
    for _ in 0..dice.roll(1..=3) {
        let which = dice.roll(0..=texts.files.len() as i64);
        let text = match texts.files.get_mut(which as usize) {
            Some((_, text)) => text,
            None => &mut texts.shop,
        };
        if let Some(changed) = mistake(text, dice) {
            *text = changed;
        }
    }
    texts
}

fn mistake(text: &str, dice: &mut Dice) -> Option<String> {
    if dice.chance(30) { line(text, dice) } else { word(text, dice) }
}

fn line(text: &str, dice: &mut Dice) -> Option<String> {
    let mut lines: Vec<&str> = text.lines().collect();
    if lines.is_empty() {
        return None;
    }
    let mut any = || dice.roll(0..=lines.len() as i64 - 1) as usize;
    let (one, other) = (any(), any());
    match dice.roll(0..=3) {
        0 => drop(lines.remove(one)),
        1 => lines.insert(other, lines[one]),
        2 => lines.swap(one, other),
        _ => {
            let moved = lines.remove(one);
            lines.insert(other.min(lines.len()), moved);
        }
    }
    Some(lines.join("\n") + "\n")
}

fn word(text: &str, dice: &mut Dice) -> Option<String> {
    let part = |c: char| c.is_alphanumeric() || matches!(c, '.' | '-' | '_' | '+');
    let words: Vec<&str> = text.split(|c| !part(c)).filter(|word| !word.is_empty()).collect();
    let is_number = |word: &&str| word.parse::<f64>().is_ok() && word.len() < 12;
    let numeric = dice.chance(75);
    let like: Vec<&str> = words.into_iter().filter(|word| is_number(word) == numeric).collect();
    if like.is_empty() {
        return None;
    }
    let (old, other) = (*dice.pick(&like), *dice.pick(&like));
    let new = if numeric { number(old, other, dice) } else { name(old, other, dice) };
    // A piece of the text itself: its place is the distance from the start.
    let at = old.as_ptr() as usize - text.as_ptr() as usize;
    Some(format!("{}{new}{}", &text[..at], &text[at + old.len()..]))
}

fn number(old: &str, other: &str, dice: &mut Dice) -> String {
    let places = old.split_once('.').map_or(0, |(_, places)| places.len());
    let (value, with): (f64, f64) = (old.parse().unwrap_or(0.0), other.parse().unwrap_or(0.0));
    let last = 0.1_f64.powi(places as i32);
    let told = |value: f64| format!("{value:.places$}");
    match dice.roll(0..=11) {
        0 => other.to_string(),
        1 => told(value + last),
        2 => told(value - last),
        3 => told(value + with),
        4 => told(value - with),
        5 => told(value * 2.0),
        6 => told(value / 2.0),
        7 => told(-value),
        8 => "0".into(),
        9 => format!("{old}1"),
        10 => told(value * 10.0),
        _ => old.replace('.', ","),
    }
}

fn name(old: &str, other: &str, dice: &mut Dice) -> String {
    match dice.roll(0..=5) {
        0..=2 => other.to_string(),
        3 => format!("{old}x"),
        4 => old.chars().skip(1).collect(),
        _ => format!("\"{old}\""),
    }
}
