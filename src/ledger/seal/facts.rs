//! One node of the ledger as facts: each property of its head is one, each row below it is one.

use crate::finding::{Place, SourceId};
use crate::language::schema::{EntryShape, FurtherArguments, NodeShape, Type};
use crate::quantity::{
    Acceleration, Amount, Angle, Decimal, Dimension, Force, Length, Mass, PerKelvin, Ratio, SecondMoment, Stiffness,
    Stress, Temperature, TemperatureDifference, Torque, Travel,
};
use crate::text::{EntryRef, NodeRef, Value, quote};

/// One fact: what it is about inside its group, and what it was.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Fact {
    pub address: String,
    pub value: String,
    pub place: Place,
}

/// The facts of a node. `keep` says which of the nodes directly below it belong to it.
pub(crate) fn facts(
    shape: Option<&NodeShape>,
    node: NodeRef,
    source: SourceId,
    keep: impl Fn(NodeRef) -> bool,
) -> Vec<Fact> {
    let mut all = Vec::new();
    let at = |span| Place { source, span };
    let named = shape.map_or(0, |shape| shape.args.len());
    for (index, entry) in node.args().enumerate().take(named) {
        let Some(part) = shape.and_then(|shape| shape.args.get(index)) else { break };
        all.push(Fact { address: part.name.clone(), value: alone(Some(part), entry), place: at(entry.span()) });
    }
    let rest: Vec<EntryRef> = node.args().skip(named).collect();
    if let Some(first) = rest.first() {
        let values: Vec<String> = rest.iter().map(|entry| spelt(rest_part(shape), *entry)).collect();
        all.push(Fact { address: "values".into(), value: values.join(" "), place: at(first.span()) });
    }
    for (name, entry) in props(node) {
        let part = shape.and_then(|shape| shape.prop(name));
        all.push(Fact { address: name.into(), value: alone(part, entry), place: at(entry.span()) });
    }
    rows(shape, node, source, "", &keep, &mut all);
    all
}

/// The rows below a node. The language is a few levels deep, and deeper ones are faults of the text.
fn rows(
    shape: Option<&NodeShape>,
    node: NodeRef,
    source: SourceId,
    above: &str,
    keep: &dyn Fn(NodeRef) -> bool,
    all: &mut Vec<Fact>,
) {
    let children: Vec<NodeRef> = node.children().filter(|child| keep(*child)).collect();
    let labels = labels(&children);
    for (child, label) in children.into_iter().zip(labels) {
        let below = shape.and_then(|shape| shape.child(child.name()));
        let address = format!("{above}{label}");
        all.push(Fact {
            address: address.clone(),
            value: row(below, child),
            place: Place { source, span: child.head() },
        });
        if above.len() < 256 {
            rows(below, child, source, &format!("{address} / "), &|_| true, all);
        }
    }
}

/// How each of some rows is called: by its word and the name behind it, by its number where it has none.
fn labels(children: &[NodeRef]) -> Vec<String> {
    let mut seen: std::collections::BTreeMap<String, usize> = std::collections::BTreeMap::new();
    let mut labels = Vec::with_capacity(children.len());
    for child in children {
        let first = child.args().next().and_then(|entry| match entry.value() {
            Value::Text(text) if entry.name().is_none() => Some(text),
            _ => None,
        });
        let label = match first {
            Some(name) => format!("{} {name}", child.name()),
            None => child.name().to_string(),
        };
        let count = seen.entry(label.clone()).or_insert(0);
        *count += 1;
        labels.push(match (*count, first) {
            (1, _) => label,
            (n, _) => format!("{label} #{n}"),
        });
    }
    labels
}

/// A row in one spelling: its values, then its properties by name.
fn row(shape: Option<&NodeShape>, node: NodeRef) -> String {
    let args = node.args().enumerate().map(|(index, entry)| {
        let part = shape.and_then(|shape| shape.args.get(index)).or(rest_part(shape));
        spelt(part, entry)
    });
    let mut words: Vec<String> = args.collect();
    for (name, entry) in props(node) {
        let part = shape.and_then(|shape| shape.prop(name));
        words.push(format!("{}={}", quote(name), spelt(part, entry)));
    }
    words.join(" ")
}

fn rest_part(shape: Option<&NodeShape>) -> Option<&EntryShape> {
    match &shape?.rest {
        FurtherArguments::Many { part, .. } => Some(part),
        // Both readings of a groove are lengths; the arrow between them is a word.
        FurtherArguments::Readings | FurtherArguments::None => None,
    }
}

/// Properties by name, the last one where a name is repeated.
fn props<'d>(node: NodeRef<'d>) -> std::collections::BTreeMap<&'d str, EntryRef<'d>> {
    node.entries().filter_map(|entry| Some((entry.name()?, entry))).collect()
}

/// A value that is a fact of its own.
fn alone(part: Option<&EntryShape>, entry: EntryRef) -> String {
    match (entry.value(), part.map(|part| part.ty)) {
        (Value::Text(text), _) | (Value::Number(text), Some(Type::Text | Type::Name)) => text.to_string(),
        _ => spelt(part, entry),
    }
}

/// A value in one spelling: numbers in the plain unit without needless zeros, words quoted where they must be.
fn spelt(part: Option<&EntryShape>, entry: EntryRef) -> String {
    let unit = entry.ty().map(|(unit, _)| unit);
    match (entry.value(), part.map(|part| part.ty)) {
        (Value::Null, _) => "#null".into(),
        (Value::Bool(value), _) => format!("#{value}"),
        (Value::Text(text), _) => quote(text),
        (Value::Number(raw), Some(Type::Text | Type::Name)) => quote(raw),
        (Value::Number(raw), Some(Type::Quantity(dimension))) => number(raw, unit, Some(dimension)),
        // An angle is told by its unit wherever one may stand.
        (Value::Number(raw), Some(ty @ (Type::Amount | Type::OneOf(_) | Type::Count))) => {
            let dimension = match ty {
                Type::OneOf([Dimension::Length, Dimension::Angle]) => Some(Dimension::Length),
                _ => None,
            };
            angle(raw, unit).unwrap_or_else(|| number(raw, unit, dimension))
        }
        (Value::Number(raw), _) => number(raw, unit, Some(Dimension::Length)),
    }
}

fn number(raw: &str, unit: Option<&str>, dimension: Option<Dimension>) -> String {
    let plain = match dimension {
        Some(Dimension::Length) => plain::<Length>(raw, unit),
        Some(Dimension::Travel) => plain::<Travel>(raw, unit),
        Some(Dimension::Torque) => plain::<Torque>(raw, unit),
        Some(Dimension::Force) => plain::<Force>(raw, unit),
        Some(Dimension::Mass) => plain::<Mass>(raw, unit),
        Some(Dimension::Acceleration) => plain::<Acceleration>(raw, unit),
        Some(Dimension::Stiffness) => plain::<Stiffness>(raw, unit),
        Some(Dimension::SecondMoment) => plain::<SecondMoment>(raw, unit),
        Some(Dimension::PerKelvin) => plain::<PerKelvin>(raw, unit),
        Some(Dimension::Stress) => plain::<Stress>(raw, unit),
        Some(Dimension::Ratio) => plain::<Ratio>(raw, unit),
        Some(Dimension::Angle) => plain::<Angle>(raw, unit),
        // A converted temperature need not end in decimals; only one that does has another spelling.
        Some(Dimension::Temperature) => {
            Temperature::read(raw, unit).ok().filter(|t| t.0 % 9 == 0).map(|temperature| temperature.number())
        }
        Some(Dimension::TemperatureDifference) => {
            let difference = TemperatureDifference::read(raw, unit).ok().filter(|difference| difference.0 % 9 == 0);
            difference.map(|difference| difference.number())
        }
        None => None,
    };
    plain.unwrap_or_else(|| {
        let digits = Ratio::read(raw, None).map_or(raw.to_string(), |plain| plain.number());
        // A number too fine for a plain one is compared as it is spelt.
        let exact = Decimal::read(raw).is_ok_and(|decimal| decimal.places <= 9);
        let digits = if exact { digits } else { raw.to_string() };
        unit.map_or(digits.clone(), |unit| format!("({unit}){digits}"))
    })
}

/// A number in a unit of angles, which stays with it: without one it would be a length.
fn angle(raw: &str, unit: Option<&str>) -> Option<String> {
    Some(format!("(um.m-1){}", plain::<Angle>(raw, Some(unit?))?))
}

fn plain<A: Amount>(raw: &str, unit: Option<&str>) -> Option<String> {
    A::read(raw, unit).ok().map(|amount| amount.number())
}
