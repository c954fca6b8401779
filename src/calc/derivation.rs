//! Where a computed number comes from, kept beside the number so that a reader can check it with pencil and paper.
//!
//! A derivation names the formula, its source, every input with the place it was written at, the steps between and the
//! result. An input may itself be derived. The place is a type parameter: `calc` knows nothing of files. Values
//! are kept as printed text, because a derivation is for reading; nothing is ever judged by it.

use std::fmt::Write as _;

/// Where an input comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Origin<P> {
    /// Somebody wrote it at this place.
    Place(P),
    /// Somebody wrote it at this place, and there is something to say of it.
    Told(P, String),
    /// A standard or a table gives it.
    Standard(&'static str),
    /// Nobody stated it; this is what was assumed and why.
    Assumed(&'static str),
    /// It is itself computed.
    Derived(Box<Derivation<P>>),
}

/// One number that goes into a formula.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Input<P> {
    /// The symbol in the formula, with a word where the symbol alone says too little.
    pub name: String,
    /// The value as printed.
    pub value: String,
    /// The unit as printed; empty for a plain number.
    pub unit: &'static str,
    /// Where it comes from.
    pub origin: Origin<P>,
}

/// A number on the way to the result.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DerivationStep {
    /// What was computed, in the formula's symbols.
    pub name: String,
    /// The value as printed.
    pub value: String,
    /// The unit as printed; empty for a plain number.
    pub unit: &'static str,
}

/// How one number was computed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Derivation<P> {
    /// What the number is, in words.
    pub name: String,
    /// The formula in the symbols of the inputs.
    pub formula: &'static str,
    /// The standard, handbook or model that the formula is from.
    pub source: &'static str,
    /// What goes in, in the order of the formula.
    pub inputs: Vec<Input<P>>,
    /// What comes between, in the order of computing.
    pub steps: Vec<DerivationStep>,
    /// The result as printed.
    pub result: String,
    /// The unit of the result; empty for a plain number.
    pub unit: &'static str,
    /// What a reader must know to trust it: limits of the model, assumptions.
    pub notes: Vec<&'static str>,
}

impl<P> Derivation<P> {
    /// A derivation without inputs yet. `result` is the printed value in `unit`.
    pub fn new(
        name: impl Into<String>,
        formula: &'static str,
        source: &'static str,
        result: impl Into<String>,
        unit: &'static str,
    ) -> Self {
        Self {
            name: name.into(),
            formula,
            source,
            inputs: Vec::new(),
            steps: Vec::new(),
            result: result.into(),
            unit,
            notes: Vec::new(),
        }
    }

    /// Adds an input.
    #[must_use]
    pub fn input(
        mut self,
        name: impl Into<String>,
        value: impl Into<String>,
        unit: &'static str,
        origin: Origin<P>,
    ) -> Self {
        self.inputs.push(Input { name: name.into(), value: value.into(), unit, origin });
        self
    }

    /// Adds an input that is the result of another derivation.
    #[must_use]
    pub fn derived(self, name: impl Into<String>, from: Derivation<P>) -> Self {
        let (value, unit) = (from.result.clone(), from.unit);
        self.input(name, value, unit, Origin::Derived(Box::new(from)))
    }

    /// Adds a number on the way.
    #[must_use]
    pub fn step(mut self, name: impl Into<String>, value: impl Into<String>, unit: &'static str) -> Self {
        self.steps.push(DerivationStep { name: name.into(), value: value.into(), unit });
        self
    }

    /// Adds something the reader must know.
    #[must_use]
    pub fn note(mut self, note: &'static str) -> Self {
        self.notes.push(note);
        self
    }
}

impl<P: PartialEq> Derivation<P> {
    /// The derivation as plain text, `\n` after every line, no colour. `place` says how a place is printed.
    ///
    /// Derived inputs follow below the main one, numbered, each printed once however often it is used.
    pub fn to_text(&self, place: impl Fn(&P) -> String) -> String {
        let mut sheets: Vec<&Derivation<P>> = vec![self];
        let mut text = String::new();
        let mut next = 0;
        while let Some(&sheet) = sheets.get(next) {
            if next > 0 {
                let _ = write!(text, "\n({next}) ");
            }
            sheet.write_sheet(&mut text, &mut sheets, &place);
            next += 1;
        }
        text
    }

    fn write_sheet<'d>(
        &'d self,
        text: &mut String,
        sheets: &mut Vec<&'d Derivation<P>>,
        place: &impl Fn(&P) -> String,
    ) {
        let _ = writeln!(text, "{} = {}", one_line(&self.name), with_unit(&self.result, self.unit));
        let _ = writeln!(text, "    by      {}", self.formula);
        let _ = writeln!(text, "    after   {}", self.source);
        let mut rows = Vec::new();
        for input in &self.inputs {
            let origin = match &input.origin {
                Origin::Place(at) => place(at),
                Origin::Told(at, what) => format!("{}: {what}", place(at)),
                Origin::Standard(source) => (*source).to_string(),
                Origin::Assumed(reason) => format!("assumed: {reason}"),
                Origin::Derived(from) => {
                    let known = sheets.iter().position(|sheet| *sheet == from.as_ref());
                    let number = known.unwrap_or_else(|| {
                        sheets.push(from);
                        sheets.len() - 1
                    });
                    format!("see ({number})")
                }
            };
            rows.push([input.name.clone(), with_unit(&input.value, input.unit), origin]);
        }
        write_rows(text, "with", &rows);
        let steps = self.steps.iter().map(|step| [step.name.clone(), with_unit(&step.value, step.unit), String::new()]);
        write_rows(text, "so", &steps.collect::<Vec<_>>());
        for note in &self.notes {
            let _ = writeln!(text, "    note    {}", one_line(note));
        }
    }
}

/// Three columns as wide as their widest cell; the label stands before the first row only.
fn write_rows(text: &mut String, label: &str, rows: &[[String; 3]]) {
    let width = |column: usize| rows.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
    let (first, second) = (width(0), width(1));
    for (n, row) in rows.iter().enumerate() {
        let [name, value, origin] = row.each_ref().map(|cell| one_line(cell));
        let label = if n == 0 { label } else { "" };
        let line = format!("    {label:<8}{name:<first$}  {value:<second$}  {origin}");
        let _ = writeln!(text, "{}", line.trim_end());
    }
}

/// A name may hold a line break; a line of ours has none.
fn one_line(text: &str) -> std::borrow::Cow<'_, str> {
    if text.contains(['\n', '\r']) { text.replace('\n', "\\u{a}").replace('\r', "\\u{d}").into() } else { text.into() }
}

fn with_unit(value: &str, unit: &str) -> String {
    if unit.is_empty() { value.to_string() } else { format!("{value} {unit}") }
}

/// A number with so many significant digits, written out plainly, without trailing zeros behind the point.
///
/// Digits in front of the point are never cut: 10181.3 with three digits is `10181`.
pub(crate) fn figures(value: f64, significant: usize) -> String {
    if value == 0.0 {
        return "0".into();
    }
    if !value.is_finite() {
        return "not a number".into();
    }
    let before = value.abs().log10().floor() as i64 + 1;
    let places = usize::try_from(significant as i64 - before).unwrap_or(0).min(18);
    let text = format!("{value:.places$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".into() } else { text.into() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_keep_the_digits_that_count() {
        let cases = [
            (10_181.3, 3, "10181"),
            (8.118_4, 3, "8.12"),
            (0.12, 3, "0.12"),
            (0.000_123_456, 3, "0.000123"),
            (-0.02, 4, "-0.02"),
            (100.0, 4, "100"),
            (0.0, 3, "0"),
            (-1e-30, 3, "0"),
            (f64::INFINITY, 3, "not a number"),
        ];
        for (value, digits, text) in cases {
            assert_eq!(figures(value, digits), text, "{value}");
        }
    }

    #[test]
    fn a_derived_input_is_printed_once_below() {
        let area =
            || Derivation::<u32>::new("area", "A = b²", "geometry", "9", "mm²").input("b", "3", "mm", Origin::Place(7));
        let text = Derivation::new("pressure", "p = F/A + F/A", "definition", "0.222", "MPa")
            .input("F", "1", "N", Origin::Assumed("unit load"))
            .derived("A", area())
            .derived("A again", area())
            .step("F/A", "0.111", "MPa")
            .note("an example")
            .to_text(|line| format!("line {line}"));
        let expected = "\
pressure = 0.222 MPa
    by      p = F/A + F/A
    after   definition
    with    F        1 N    assumed: unit load
            A        9 mm²  see (1)
            A again  9 mm²  see (1)
    so      F/A  0.111 MPa
    note    an example

(1) area = 9 mm²
    by      A = b²
    after   geometry
    with    b  3 mm  line 7
";
        assert_eq!(text, expected);
    }
}
