//! Writes the language reference from the language itself, so that it cannot drift.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::shape::{EntryShape, FurtherArguments, Language, NodeShape, Range};
use crate::quantity::{Dimension, units_of};

/// The whole reference as Markdown: the text of `schema/language.md`.
pub fn markdown(language: &Language) -> String {
    let mut out = String::from(
        "# The ledger language\n\n\
         Generated from the documents beside this page; a test fails when it differs from them.\n\n\
         Ledgers are KDL 2. A plain number has the unit named with its part; a type annotation in front says otherwise, \
         as in `(um)12`.\n\n| measured | plain unit | other units |\n|---|---|---|\n",
    );
    for dimension in Dimension::ALL {
        let units: Vec<_> = units_of(dimension).map(|unit| format!("`{}`", unit.name)).collect();
        let plain = if dimension.plain_unit().is_empty() { "none" } else { dimension.plain_unit() };
        let _ = writeln!(out, "| {} | {plain} | {} |", dimension.name(), units.join(" "));
    }
    let mut told = ToldRows::new();
    for subject in &language.subjects {
        let _ = write!(out, "\n## {}\n\n{}\n", subject.title, subject.text.join("\n"));
        for name in &subject.nodes {
            if let Some(shape) = language.top.iter().find(|shape| shape.name == *name) {
                node(&mut out, shape, 3, &shape.name, &mut told);
            }
        }
    }
    out
}

/// Where the rows of a block were told, by their names and what is said of them: what two nodes share is told once.
type ToldRows<'l> = BTreeMap<Vec<(&'l str, &'l str)>, String>;

/// The schema is a few levels deep, so this may call itself.
fn node<'l>(out: &mut String, shape: &'l NodeShape, level: usize, path: &str, told: &mut ToldRows<'l>) {
    let _ = write!(out, "\n{} `{path}`\n\n{}", "#".repeat(level.min(6)), shape.help);
    match (shape.least, shape.most) {
        (1, Some(1)) => out.push_str(" Exactly one."),
        (1, None) => match &shape.unless {
            Some(other) => drop(write!(out, " At least one, unless there is a `{other}`.")),
            None => out.push_str(" At least one."),
        },
        (_, Some(1)) => out.push_str(" At most one."),
        _ => {}
    }
    if shape.informative {
        out.push_str(" Written for people: nothing is judged by it.");
    }
    out.push('\n');
    if let Some(example) = &shape.example {
        let _ = write!(out, "\n```kdl\n{example}\n```\n");
    }
    let rest = match &shape.rest {
        FurtherArguments::Many { part, .. } => Some(part),
        _ => None,
    };
    if shape.args.len() + shape.props.len() > 0 || rest.is_some() {
        out.push_str("\n| part | what it is | meaning |\n|---|---|---|\n");
        for part in &shape.args {
            row(out, &format!("_{}_", part.name), part);
        }
        if let Some(part) = rest {
            row(out, &format!("_{}_ …", part.name), part);
        }
        for part in &shape.props {
            row(out, &format!("`{}=`", part.name), part);
        }
    }
    if !shape.one_of.is_empty() {
        let names: Vec<String> = shape.one_of.iter().map(|name| format!("`{name}`")).collect();
        let _ = writeln!(out, "\nOne of {} is needed.", names.join(" and "));
    }
    if shape.filled {
        out.push_str("\nIts block holds at least one row.\n");
    }
    if matches!(shape.rest, FurtherArguments::Readings) {
        out.push_str("\nIts values are pairs of lengths: _before_ `->` _after_.\n");
    }
    let rows: Vec<(&str, &str)> =
        shape.children.iter().map(|child| (child.name.as_str(), child.help.as_str())).collect();
    if let Some(other) = told.get(&rows).filter(|_| rows.len() > 1) {
        let _ = writeln!(out, "\nIts block holds the rows of `{other}`.");
        return;
    }
    told.insert(rows, path.to_owned());
    for child in &shape.children {
        node(out, child, level + 1, &format!("{path} / {}", child.name), told);
    }
}

fn row(out: &mut String, name: &str, part: &EntryShape) {
    let mut what = if part.allow.is_empty() {
        part.ty.describe()
    } else {
        part.allow.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ")
    };
    if let Some(refers) = part.refers {
        what.push_str(&format!(", naming {}", refers.describe()));
    }
    match part.range {
        Range::Any => {}
        Range::AboveZero => what.push_str(", above zero"),
        Range::AtLeastZero => what.push_str(", zero or more"),
        Range::UpToOne => what.push_str(", 1 at most"),
    }
    if part.blank {
        what.push_str(", or `#null`");
    }
    if part.required {
        what.push_str("; needed");
    }
    let people = if part.informative { " Written for people." } else { "" };
    let _ = writeln!(out, "| {name} | {what} | {}{people} |", part.help);
}
