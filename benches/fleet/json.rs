//! A ledger file as JSON, and the ledger language as a JSON Schema, for a general validator.

use serde_json::{Map, Value, json};
use wayledger::kdl::{self, EntryRef, NodeRef, Nodes, ReadLimits, read};
use wayledger::schema::{EntryShape, FurtherArguments, NodeShape, Type, language};

/// A list of nodes, each with its name, arguments, properties and children.
pub(crate) fn document(text: String) -> Value {
    let read = read(text, &ReadLimits::default());
    nodes(read.document.nodes())
}

fn nodes(all: Nodes) -> Value {
    let node = |node: NodeRef| {
        let props = node.entries().filter_map(|entry| Some((entry.name()?.to_string(), value(entry))));
        json!({
            "name": node.name(),
            "args": node.args().map(value).collect::<Vec<Value>>(),
            "props": props.collect::<Map<String, Value>>(),
            "children": nodes(node.children()),
        })
    };
    all.map(node).collect()
}

fn value(entry: EntryRef) -> Value {
    match entry.value() {
        kdl::Value::Text(text) => json!(text),
        kdl::Value::Number(raw) => raw.parse::<f64>().map_or(json!(raw), |number| json!(number)),
        kdl::Value::Bool(flag) => json!(flag),
        kdl::Value::Null => Value::Null,
    }
}

/// The shape of nodes as the language defines it; what a schema cannot say is left out.
pub(crate) fn schema() -> Value {
    json!({ "$schema": "https://json-schema.org/draft/2020-12/schema", "type": "array", "items": either(&language().top) })
}

/// A node that is one of some shapes, chosen by its name.
fn either(shapes: &[NodeShape]) -> Value {
    let names: Vec<&str> = shapes.iter().map(|shape| shape.name.as_str()).collect();
    let choice =
        |shape: &NodeShape| json!({ "if": { "properties": { "name": { "const": shape.name } } }, "then": node(shape) });
    json!({ "properties": { "name": { "enum": names } }, "allOf": shapes.iter().map(choice).collect::<Vec<Value>>() })
}

fn node(shape: &NodeShape) -> Value {
    let props: Map<String, Value> = shape.props.iter().map(|prop| (prop.name.clone(), part(prop))).collect();
    let required: Vec<&str> = shape.props.iter().filter(|prop| prop.required).map(|prop| prop.name.as_str()).collect();
    let rest = match &shape.rest {
        FurtherArguments::None => json!(false),
        FurtherArguments::Many { part: of, .. } => part(of),
        FurtherArguments::Readings => json!(true),
    };
    json!({ "properties": {
        "args": {
            "prefixItems": shape.args.iter().map(part).collect::<Vec<Value>>(),
            "minItems": shape.args.iter().filter(|arg| arg.required).count(),
            "items": rest,
        },
        "props": { "properties": props, "required": required, "additionalProperties": false },
        "children": { "items": either(&shape.children) },
    } })
}

fn part(part: &EntryShape) -> Value {
    let value = match part.ty {
        Type::Text | Type::Key | Type::Station => json!({ "type": ["string", "number"] }),
        Type::Word => json!({ "enum": part.allow }),
        Type::Flag => json!({ "type": "boolean" }),
        Type::Count => json!({ "type": "integer", "minimum": 0 }),
        Type::Date | Type::Moment => json!({ "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}" }),
        Type::Name | Type::Address | Type::Supports => json!({ "type": "string", "pattern": "^[\\w.-]+$" }),
        Type::Amount | Type::OneOf(_) | Type::Quantity(_) => json!({ "type": "number" }),
    };
    if part.blank { json!({ "anyOf": [value, { "type": "null" }] }) } else { value }
}
