//! What every part of a shop entry is to a file above it, as the schema lists the parts: taken over where the nearer file
//! leaves it out, told where the nearer file says or hides it, or listed here with the reason.
//!
//! Nothing here is from outside: what goes missing between two files must be told.

use crate::language::schema::{EntryShape, FurtherArguments, NodeShape, Type, language};
use crate::testing::judge;

/// Entries and parts that no nearer file hides, each with the reason.
const NEVER_HIDDEN: &[(&str, &str)] = &[
    ("not-applicable", "each declaration counts, wherever it stands"),
    ("doubt", "each counts, wherever it stands: tests/it/doubt.rs"),
    ("passed-over", "it is about folders beside its own file"),
    ("rulebook", "each end of a limit is compared by itself: tests/it/inherited.rs"),
    ("gauge calibrated", "calibrations are one history: tests/it/inherited.rs"),
    ("wrench calibrated", "calibrations are one history: tests/it/inherited.rs"),
    ("wrench cycles", "counts of cycles are one history"),
    ("fastener full reason=", "the same window in other words"),
    ("fastener snug reason=", "the same window in other words"),
];

/// An entry that is taken whole: what the nearer one leaves out is hidden too. It is no part of the shop as it is judged.
const TAKEN_WHOLE: &str = "readings-file";

const KEYS: [&str; 2] = [
    "\"ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAINdamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3B1Ea\"",
    "\"ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAID1AF8PoQ4lakrcKp00bfrycmCzPLsSWjMDNVfEq9GYM\"",
];

/// One of two values that a part may have.
fn value(part: &EntryShape, which: usize) -> String {
    match part.ty {
        Type::Word => part.allow[which.min(part.allow.len() - 1)].clone(),
        Type::Name => ["a1", "b1"][which].into(),
        Type::Text => ["\"a\"", "\"b\""][which].into(),
        Type::Flag => ["#false", "#true"][which].into(),
        Type::Count => ["3", "4"][which].into(),
        Type::Date | Type::Moment => ["\"2026-01-05\"", "\"2026-02-05\""][which].into(),
        Type::Key => KEYS[which].into(),
        Type::Quantity(_) | Type::OneOf(_) | Type::Amount => ["0.5", "0.6"][which].into(),
        Type::Address | Type::Supports | Type::Station => panic!("{} in a shop", part.name),
    }
}

/// Which part of a node is looked at.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Looked {
    Arg(usize),
    Rest,
    Prop(usize),
}

/// A node with what must be there, and one of its parts with one of two values.
fn written(shape: &NodeShape, name: Option<&str>, looked: Option<Looked>, which: usize) -> String {
    let mut text = shape.name.clone();
    let least = if shape.name == "friction" { 2 } else { 0 };
    for (at, part) in shape.args.iter().enumerate() {
        let own = looked == Some(Looked::Arg(at));
        match name.filter(|_| at == 0) {
            Some(name) => text += &format!(" {name}"),
            None if own || part.required || at < least => {
                text += &format!(" {}", value(part, if own { which } else { at.min(1) }))
            }
            None => {}
        }
    }
    if let FurtherArguments::Many { part, .. } = &shape.rest {
        text += &format!(" {}", value(part, if looked == Some(Looked::Rest) { which } else { 0 }));
    }
    for (at, part) in shape.props.iter().enumerate() {
        let own = looked == Some(Looked::Prop(at));
        if own || part.required {
            // The upper end of two lies above the lower.
            let beyond = usize::from(part.name == "most");
            let text_of = value(part, if own { which } else { beyond });
            text +=
                &format!(" {}={}", part.name, if own && beyond == 1 { ["0.8", "0.9"][which].into() } else { text_of });
        }
    }
    text
}

fn looked_at(shape: &NodeShape, named: bool) -> Vec<(Looked, &EntryShape)> {
    let args = shape.args.iter().enumerate().skip(usize::from(named)).map(|(at, part)| (Looked::Arg(at), part));
    let rest = match &shape.rest {
        FurtherArguments::Many { part, .. } => Some((Looked::Rest, part)),
        _ => None,
    };
    args.chain(rest).chain(shape.props.iter().enumerate().map(|(at, part)| (Looked::Prop(at), part))).collect()
}

/// A part of an entry as a farther file and a nearer one say it, and the nearer one without it.
struct PartCase {
    path: String,
    /// What a finding must name.
    names: Vec<String>,
    farther: String,
    nearer: String,
    bare: String,
}

/// Every part of every entry of a shop.
fn cases() -> Vec<PartCase> {
    let shop = language().node("shop").expect("the shop");
    let mut all = Vec::new();
    for entry in &shop.children {
        if NEVER_HIDDEN.iter().any(|(of, _)| *of == entry.name) {
            continue;
        }
        // Leaves have no name but their thickness.
        let is_stock = entry.name == "shim-stock";
        let name = (!is_stock).then_some("G1");
        let bare = written(entry, name, None, 0);
        for (looked, part) in looked_at(entry, true) {
            let of = |which| written(entry, name, Some(looked), which);
            let path = format!("{} {}=", entry.name, part.name);
            all.push(PartCase {
                path,
                names: vec![part.name.clone()],
                farther: of(0),
                nearer: of(1),
                bare: bare.clone(),
            });
        }
        for child in &entry.children {
            for (looked, part) in looked_at(child, is_stock) {
                let own = is_stock.then_some("0.05");
                let of = |which| format!("{bare} {{ {} }}", written(child, own, Some(looked), which));
                let bare = match own {
                    Some(thickness) => format!("{bare} {{ {} {thickness} }}", child.name),
                    None => bare.clone(),
                };
                let path = format!("{} {} {}=", entry.name, child.name, part.name);
                let names = vec![part.name.clone(), child.name.clone()];
                all.push(PartCase { path, names, farther: of(0), nearer: of(1), bare });
            }
        }
    }
    all
}

/// All that is read of the shop, but for where it stands; and what is told of entries that say otherwise than those above.
fn read(own: &str, above: &str) -> (String, Vec<String>) {
    let text = format!("shop {{ {own} }}\nmachine m {{ axis X {{ rail a {{ segment 1200 }} }} }}");
    let judged = judge(&[("machine.kdl", &text)], &[&format!("shop {{ {above} }}")]);
    assert!(judged.ledger.text_findings.is_empty(), "{own} / {above}: {:?}", judged.ledger.text_findings);
    let of_it = judged.findings.iter().filter(|it| it.rule.as_str() == "duplicate-name");
    let told = of_it.map(|it| it.message.clone()).collect();
    let mut shop = format!("{:?}", judged.ledger.shop);
    while let Some(start) = shop.find("Place {") {
        let close = "} }";
        let end = shop[start..].find(close).expect("a place ends") + close.len();
        shop.replace_range(start..start + end, "-");
    }
    (shop, told)
}

#[test]
fn every_part_of_a_shop_entry_is_taken_over_or_told_or_listed() {
    let all = cases();
    assert!(all.len() > 70, "{} parts", all.len());
    let (mut wrong, mut met) = (Vec::new(), Vec::new());
    for part in &all {
        if let Some((of, _)) = NEVER_HIDDEN.iter().find(|(of, _)| part.path.starts_with(of)) {
            met.push(*of);
            continue;
        }
        let names = |told: &[String]| {
            let named =
                |told: &String| part.names.iter().any(|name| told.contains(name.split('-').next().unwrap_or(name)));
            told.iter().any(named)
        };
        // What the nearer file leaves out.
        let ((with, told), (alone, _)) = (read(&part.bare, &part.farther), read("", &part.farther));
        let hidden = with != alone || part.path.starts_with(TAKEN_WHOLE) && part.bare != part.farther;
        if hidden && !names(&told) {
            wrong.push(format!("{}: left out by the nearer file, neither taken over nor told: {told:?}", part.path));
        }
        // What it says otherwise.
        let (_, told) = read(&part.nearer, &part.farther);
        if told.len() > 1 {
            wrong.push(format!("{}: told more than once: {told:?}", part.path));
        }
        if !names(&told) {
            wrong.push(format!(
                "{}: said otherwise ({} / {}), and not told: {told:?}",
                part.path, part.nearer, part.farther
            ));
        }
        // What both say.
        let (_, told) = read(&part.farther, &part.farther);
        if !told.is_empty() {
            wrong.push(format!("{}: said twice alike, and told: {told:?}", part.path));
        }
    }
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), all.len(), wrong.join("\n"));
    let needless = |of: &&str| of.contains(' ') && !met.contains(of);
    let needless: Vec<&str> = NEVER_HIDDEN.iter().map(|(of, _)| *of).filter(needless).collect();
    assert!(needless.is_empty(), "listed for nothing: {needless:?}");
}

/// A figure that the file above states as a length is none once the nearer file calls the gauge a force gauge.
#[test]
fn a_figure_that_a_nearer_kind_makes_none_is_told() {
    for figure in ["graduation", "range", "permissible-error", "repeatability", "local-error"] {
        let (_, told) = read("gauge G1 kind=force-gauge", &format!("gauge G1 {figure}=(mm)0.5"));
        assert_eq!(told, [format!("the gauge `G1` says otherwise here than in the file above: {figure}")]);
        let (_, told) = read("gauge G1 kind=laser", &format!("gauge G1 {figure}=(mm)0.5"));
        assert_eq!(told, [""; 0], "{figure}");
    }
    // One that hides by its kind and by a figure of its own is told once, with both.
    let (_, told) = read("gauge G1 kind=force-gauge range=(N)50", "gauge G1 kind=laser range=5 graduation=(mm)0.5");
    assert_eq!(told.len(), 1, "{told:?}");
    let parts: Vec<&str> = ["kind", "range", "graduation"].into_iter().filter(|part| told[0].contains(part)).collect();
    assert_eq!(parts.len(), 3, "{told:?}");
    let own = "shop { gauge G1 kind=force-gauge local-error=0.01 }\nmachine m { axis X { rail a { segment 1200 } } }";
    let found = judge(&[("machine.kdl", own)], &[]).findings;
    let told = found.iter().find(|it| it.rule.as_str() == "wrong-value").expect("told");
    assert_eq!(told.message, "this cannot be a figure of G1");
    assert!(told.next.starts_with("leave it out"), "{}", told.next);
}
