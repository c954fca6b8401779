//! All JSON that the commands print is of one style: real output holds to the schemas in `schema/`, no field name means two
//! things, and nothing prints JSON without a schema. Checked by the `jsonschema` crate, which knows draft 2020-12.

use std::collections::{BTreeMap, BTreeSet};

use regex::Regex;
use serde_json::{Value, json};
use wayledger::format::JSON_FORMATS;

use crate::common::program::run;
use crate::common::yard::{GOOD, SAW, Yard, bad};

/// The commands that print JSON of our own, by the format that is asked for.
const OURS: [(&str, &str); 7] = [
    ("lint", "json"),
    ("report", "json"),
    ("trace", "json"),
    ("layout", "json"),
    ("motion", "json"),
    ("compare", "json"),
    ("export", "jsonl"),
];
/// JSON by somebody else's standard, held to it in `review_formats`.
const STANDARDS: [(&str, &str); 2] = [("lint", "sarif"), ("lint", "gitlab")];
/// Formats that are no JSON.
const NO_JSON: [&str; 5] = ["text", "markdown", "html", "csv", "github"];

/// The committed schemas by the name of the format.
fn schemas() -> BTreeMap<&'static str, Value> {
    let read = |file: String| {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(file);
        serde_json::from_str(&std::fs::read_to_string(path).expect("it is committed")).expect("it is JSON")
    };
    JSON_FORMATS.iter().map(|it| (it.format, read(it.file()))).collect()
}

fn printed(yard: &Yard, arguments: &[&str]) -> Vec<Value> {
    let (out, complaints, code) = run(&yard.root, arguments);
    assert!(code.is_some_and(|code| code < 3) && !out.is_empty(), "{arguments:?}: {complaints}");
    let read = |text: &str| serde_json::from_str(text).unwrap_or_else(|why| panic!("{arguments:?}: {why}"));
    if arguments.contains(&"jsonl") { out.lines().map(read).collect() } else { vec![read(&out)] }
}

/// A repository that holds every example ledger, a fleet with a released machine, and a change since.
fn examples() -> Yard {
    let yard = Yard::with_saw();
    let mut folders = vec![std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers")];
    let top = folders[0].clone();
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).expect("it is there") {
            let path = entry.expect("a file").path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(&top).expect("below it").to_str().expect("text");
                yard.write(name, std::fs::read(&path).expect("it can be read"));
            }
        }
    }
    yard.write("quarry/machine.kdl", SAW.replace("saw", "quarry").replace("run from=0 to=2400", "run from=0 to=2410"));
    yard.write("empty/machine.kdl", "machine empty { axis X { run from=0 to=1200; rail a profile=R20 } }");
    yard.commit("everything");
    yard.write("saw/2021-04-15.kdl", bad()).write("saw/2021-04-16.kdl", GOOD.replace("04-15", "04-16"));
    let machine = yard.read("boatyard/hull-gantry/machine.kdl");
    yard.write("boatyard/hull-gantry/machine.kdl", machine.replace("title ", "title \"Another\" // "));
    yard.write("new/machine.kdl", SAW.replace("saw", "new"));
    std::fs::remove_dir_all(yard.root.join("boatyard/mast-router")).expect("it was there");
    yard
}

/// What all commands print over the examples, by format.
fn outputs() -> BTreeMap<String, Vec<Value>> {
    let yard = examples();
    let day = ["--today", "2026-11-01"];
    let mut asked: Vec<Vec<String>> = Vec::new();
    let mut ask = |parts: &[&str]| asked.push(parts.iter().chain(&day).map(ToString::to_string).collect());
    ask(&["lint", ".", "--format", "json"]);
    ask(&["report", ".", "--format", "json"]);
    ask(&["report", "boatyard", "--format", "json"]);
    ask(&["report", ".", "--try", "joint-step=0.001", "--format", "json"]);
    ask(&["export", ".", "--format", "jsonl"]);
    ask(&["compare", "HEAD", "--format", "json"]);
    for name in ["DI-4", "fitter-2", "R20", "0.05"] {
        ask(&["trace", name, ".", "--format", "json"]);
    }
    for ledger in ["boatyard/hull-gantry", "faults/rated-life", "faults/tool-error"] {
        ask(&["motion", "X", "--ledger", ledger, "--format", "json"]);
    }
    for ledger in ["boatyard/hull-gantry", "boatyard/plank-planer", "saw", "quarry", "empty"] {
        ask(&["layout", "X", "--ledger", ledger, "--format", "json"]);
        ask(&["layout", "X", "--ledger", ledger, "--steps", "1", "--format", "json"]);
    }
    let faults = std::fs::read_dir(yard.root.join("faults")).expect("they are there");
    let mut ledgers: Vec<String> =
        faults.map(|entry| format!("faults/{}", entry.expect("one").file_name().to_str().expect("text"))).collect();
    ledgers.extend(["boatyard/hull-gantry", "boatyard/plank-planer", "saw"].map(String::from));
    ledgers.sort();
    for ledger in ledgers.iter().filter(|ledger| yard.root.join(ledger).join("machine.kdl").exists()) {
        ask(&["report", ledger, "--format", "json"]);
    }
    let commands: BTreeSet<(&str, &str)> = OURS.into_iter().collect();
    let mut seen = BTreeSet::new();
    let mut all: BTreeMap<String, Vec<Value>> = BTreeMap::new();
    for arguments in &asked {
        let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
        seen.extend(commands.iter().filter(|(command, _)| *command == arguments[0]));
        for value in printed(&yard, &arguments) {
            let format = value["format"].as_str().unwrap_or_else(|| panic!("{arguments:?} names no format"));
            all.entry(format.to_string()).or_default().push(value);
        }
    }
    assert_eq!(seen, commands, "every command that prints JSON was run");
    all
}

/// Everything about a value that its schema does not say.
fn against(schema: &Value, value: &Value) -> Vec<String> {
    let validator = jsonschema::draft202012::new(schema).expect("it is a schema");
    validator.iter_errors(value).map(|why| format!("{}: {why:.200}", why.instance_path())).collect()
}

#[test]
fn real_output_holds_to_the_schemas() {
    let (schemas, outputs) = (schemas(), outputs());
    let known: BTreeSet<&str> = schemas.keys().copied().collect();
    let met: BTreeSet<&str> = outputs.keys().map(String::as_str).collect();
    assert_eq!(met, known, "every format is printed, and none without a schema");
    let outcomes: BTreeSet<&str> =
        outputs["wayledger-layout-2"].iter().filter_map(|it| it["outcome"].as_str()).collect();
    assert!(outcomes.contains("planned") && outcomes.contains("impossible"), "{outcomes:?}");
    for (format, values) in &outputs {
        for value in values {
            assert_eq!(against(&schemas[format.as_str()], value), [""; 0], "{format}");
        }
        // And the check can fail: by a field too many, one too few, one of another type, and another name of the format.
        let whole = &values[0];
        let mut more = whole.clone();
        more["more"] = json!(1);
        let (mut less, mut other) = (whole.clone(), whole.clone());
        less.as_object_mut().expect("an object").remove("format");
        other["format"] = json!("wayledger-other-1");
        for wrong in [more, less, other] {
            assert!(!against(&schemas[format.as_str()], &wrong).is_empty(), "{format}");
        }
    }
}

#[test]
fn every_schema_is_closed_and_names_its_format() {
    let style = Regex::new("^wayledger-[a-z]+-[0-9]+$").expect("a pattern");
    for (format, schema) in schemas() {
        assert!(style.is_match(format), "{format}");
        assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema", "{format}");
        assert_eq!(schema["properties"]["format"]["const"], format, "{format}");
        let mut objects = 0;
        every(&schema, &mut |part| {
            if part.contains_key("properties") {
                assert_eq!(part.get("additionalProperties"), Some(&Value::Bool(false)), "{format}: {part:?}");
                objects += 1;
            }
        });
        assert!(objects > 0, "{format}");
    }
}

/// Every object of a JSON text.
fn every<'v>(value: &'v Value, look: &mut impl FnMut(&'v serde_json::Map<String, Value>)) {
    match value {
        Value::Array(items) => items.iter().for_each(|item| every(item, look)),
        Value::Object(map) => {
            look(map);
            map.values().for_each(|value| every(value, look));
        }
        _ => {}
    }
}

/// The JSON type of a value, with that of its items; nothing for null.
fn kind(value: &Value) -> Vec<String> {
    match value {
        Value::Null => Vec::new(),
        Value::Bool(_) => vec!["boolean".into()],
        Value::Number(_) => vec!["number".into()],
        Value::String(_) => vec!["string".into()],
        Value::Object(_) => vec!["object".into()],
        Value::Array(items) => items.iter().flat_map(kind).map(|kind| format!("array of {kind}")).collect(),
    }
}

/// Every field name with the types that its values have.
fn kinds<'v>(values: impl IntoIterator<Item = &'v Value>) -> BTreeMap<&'v str, BTreeSet<String>> {
    let mut kinds: BTreeMap<&str, BTreeSet<String>> = BTreeMap::new();
    for value in values {
        every(value, &mut |object| {
            object.iter().for_each(|(name, value)| kinds.entry(name).or_default().extend(kind(value)));
        });
    }
    kinds
}

/// The names of more than one type.
fn clashes<'n>(kinds: &BTreeMap<&'n str, BTreeSet<String>>) -> Vec<&'n str> {
    kinds.iter().filter(|(_, kinds)| kinds.len() > 1).map(|(name, _)| *name).collect()
}

#[test]
fn a_field_name_has_one_type_everywhere() {
    let mut outputs = outputs();
    // What engines for tables read has numbers where the papers have exact decimals as text.
    const NUMBERS_OF_READINGS: [&str; 3] = ["least", "most", "uncertainty"];
    for row in outputs.get_mut("wayledger-reading-2").expect("readings") {
        for name in NUMBERS_OF_READINGS {
            let value = row.as_object_mut().expect("a row").remove(name).expect(name);
            assert!(value.is_number() || value.is_null(), "{name}: {value}");
        }
    }
    let met = kinds(outputs.values().flatten());
    assert_eq!(clashes(&met), [""; 0], "{met:#?}");
    assert!(met.len() > 150, "{}", met.len());
    // Another type of one name is seen, and of the items of a list too.
    let wrong = [json!({ "rule": 1, "axes": [1], "lot": null })];
    assert_eq!(clashes(&kinds(outputs.values().flatten().chain(&wrong))), ["axes", "rule"]);
    // What the examples do not show, the schemas say.
    let mut schemas = schemas();
    let row = schemas.get_mut("wayledger-reading-2").and_then(|it| it["properties"].as_object_mut()).expect("a row");
    row.retain(|name, _| !NUMBERS_OF_READINGS.contains(&name.as_str()));
    let mut said: BTreeMap<&str, BTreeSet<String>> = BTreeMap::new();
    for schema in schemas.values() {
        every(schema, &mut |part| {
            for (name, of) in part.get("properties").and_then(Value::as_object).into_iter().flatten() {
                said.entry(name).or_default().extend(kind_said(schema, of));
            }
        });
    }
    assert_eq!(clashes(&said), [""; 0], "{said:#?}");
    assert!(met.keys().all(|name| said.contains_key(name)), "the schemas name every field");
}

/// The same as a schema says it.
fn kind_said(root: &Value, of: &Value) -> BTreeSet<String> {
    if let Some(place) = of["$ref"].as_str() {
        return kind_said(root, root.pointer(place.trim_start_matches('#')).expect("it leads somewhere"));
    }
    if let Some(any) = of["anyOf"].as_array().or(of["oneOf"].as_array()) {
        return any.iter().flat_map(|of| kind_said(root, of)).collect();
    }
    let types: Vec<&str> = match &of["type"] {
        Value::Array(all) => all.iter().filter_map(Value::as_str).collect(),
        one => one.as_str().into_iter().collect(),
    };
    let items = |of: &Value| -> BTreeSet<String> {
        let first = of["prefixItems"].get(0).unwrap_or(&of["items"]);
        kind_said(root, first).into_iter().map(|kind| format!("array of {kind}")).collect()
    };
    let one = |word: &str| match word {
        "null" => BTreeSet::new(),
        "array" => items(of),
        "integer" => BTreeSet::from(["number".to_string()]),
        word => BTreeSet::from([word.to_string()]),
    };
    types.into_iter().flat_map(one).collect()
}

/// The formats that a command offers, as its help says.
fn offered(help: &str) -> BTreeSet<String> {
    let values = Regex::new(r"(?s)--format <[A-Z]+>.*?(?:Possible values:(.*?)\n\s*\n|\[possible values: (.*?)\])");
    let Some(found) = values.expect("a pattern").captures(help) else { return BTreeSet::new() };
    match (found.get(1), found.get(2)) {
        (Some(list), _) => {
            let item = Regex::new(r"(?m)^\s*- ([a-z]+)").expect("a pattern");
            item.captures_iter(list.as_str()).map(|item| item[1].to_string()).collect()
        }
        (_, Some(list)) => list.as_str().split(',').map(|word| word.trim().to_string()).collect(),
        _ => BTreeSet::new(),
    }
}

#[test]
fn no_command_prints_json_without_a_schema() {
    let yard = examples();
    let (help, ..) = run(&yard.root, &["--help"]);
    let names = Regex::new(r"(?m)^  ([a-z]+) ").expect("a pattern");
    let (_, list) = help.split_once("Commands:").expect("it lists its commands");
    let commands: Vec<&str> = names.captures_iter(list).map(|name| name.get(1).expect("it").as_str()).collect();
    assert!(commands.len() > 15, "{commands:?}");
    let mut offering = BTreeSet::new();
    for command in commands {
        let (help, ..) = run(&yard.root, &[command, "--help"]);
        let formats = offered(&help);
        assert_eq!(formats.is_empty(), !help.contains("--format"), "{command}: {help}");
        offering.extend(formats.into_iter().map(|format| (command.to_string(), format)));
    }
    let json: BTreeSet<(&str, &str)> = offering
        .iter()
        .map(|(command, format)| (command.as_str(), format.as_str()))
        .filter(|(_, format)| !NO_JSON.contains(format))
        .collect();
    assert_eq!(json, OURS.into_iter().chain(STANDARDS).collect(), "each has a schema here or a standard");
    // What is called no JSON is none, and commands without a choice print none.
    let planer = ["--ledger", "boatyard/plank-planer"];
    let mut plain: Vec<Vec<&str>> = vec![
        [&["how", "X.left.J1"], &planer[..]].concat(),
        [&["shims", "X"], &planer[..]].concat(),
        vec!["rules"],
        vec!["rules", "--in-force", "boatyard/plank-planer"],
        vec!["tidy", "--check", "boatyard/plank-planer"],
    ];
    for (command, format) in offering.iter().filter(|(_, format)| NO_JSON.contains(&format.as_str())) {
        let asked: &[&str] = match command.as_str() {
            "compare" => &["HEAD"],
            "trace" => &["DI-4", "boatyard"],
            "motion" => &["X", "--ledger", "boatyard/hull-gantry"],
            "layout" | "traveler" => &["X", "--ledger", "boatyard/plank-planer"],
            _ => &["boatyard"],
        };
        plain.push([&[command.as_str()], asked, &["--format", format]].concat());
    }
    for arguments in plain {
        let (out, ..) = run(&yard.root, &arguments);
        assert!(serde_json::from_str::<Value>(&out).is_err(), "{arguments:?} prints JSON: {out:.200}");
        let first = out.lines().find(|line| !line.trim().is_empty()).unwrap_or("");
        assert!(!first.starts_with(['{', '[']), "{arguments:?} prints JSON: {first}");
    }
}
