//! Mistakes people make when they edit a ledger by hand, made in the conforming gantry and judged by the whole lint:
//! each gives one finding, at the right characters, that says what to write instead; none hides or brings another.
//!
//! Each case is a slip of the pen written into a line of a file, with the characters the finding must mark between `‹`
//! and `›`.

use std::path::Path;

use wayledger::lint::Locator;

use crate::common::fixes::{Files, judge};

const SHOP: &str = "shop.kdl";
const MACHINE: &str = "m/machine.kdl";
const GOODS: &str = "m/2026-03-30-inspector-1.kdl";
const FITTED: &str = "m/2026-04-14-fitter-2.kdl";
const JOINTS: &str = "m/2026-04-15-inspector-1.kdl";
const SURVEYS: &str = "m/2026-04-16-inspector-1.kdl";
const SHIMS: &str = "m/2026-04-17-fitter-2.kdl";
const VERIFIED: &str = "m/2026-04-18-inspector-1.kdl";

/// The text with one space between two words, however its columns are aligned.
fn unaligned(text: &str) -> String {
    let line = |line: &str| {
        let words = line.trim_start();
        let indent = &line[..line.len() - words.len()];
        format!("{indent}{}\n", words.split(' ').filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" "))
    };
    text.lines().map(line).collect()
}

/// The gantry with its shop.
fn gantry() -> Files {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard");
    let read = |name: &str| {
        let path = folder.join(name.replacen("m/", "hull-gantry/", 1));
        (name.to_string(), unaligned(&std::fs::read_to_string(path).expect("the example can be read")))
    };
    [SHOP, MACHINE, GOODS, FITTED, JOINTS, SURVEYS, SHIMS, VERIFIED].map(read).to_vec()
}

/// A finding as the tests see it: where, which rule, which characters, and what to do.
#[derive(Debug)]
struct Seen {
    at: String,
    rule: String,
    marked: String,
    next: String,
}

/// The files with each mistake of this page in turn.
pub(crate) fn mistaken() -> Vec<Files> {
    let with = |mistake: &Mistake| {
        let mut files = gantry();
        make(&mut files, mistake);
        files
    };
    MISTAKES.iter().map(with).chain(UNCLOSED.iter().map(|unclosed| without_brace(*unclosed).0)).collect()
}

fn findings(files: &Files) -> Vec<Seen> {
    let mut seen = Vec::new();
    judge(files, |judged| {
        let locator = Locator::new(&judged.ledger.sources);
        for finding in &judged.findings {
            let at = locator.locate(finding.at.place);
            let text = judged.ledger.sources.get(finding.at.place.source).document.text();
            seen.push(Seen {
                at: format!("{}:{}:{}", at.file, at.line, at.column),
                rule: finding.rule.to_string(),
                marked: text.get(finding.at.place.span.range()).unwrap_or("").to_string(),
                next: finding.next.clone(),
            });
        }
    });
    seen
}

/// A mistake: the file, what stands there (once), what is written instead with the marked characters, the rule, and
/// what the next step must show.
type Mistake = (&'static str, &'static str, &'static str, &'static str, &'static str);

/// Makes a mistake; gives the place of the marked characters, as `file:line:column`, and the characters.
fn make(files: &mut Files, (name, from, to, ..): &Mistake) -> (String, String) {
    let text = &mut files.iter_mut().find(|(file, _)| file == name).expect("the file is there").1;
    assert_eq!(text.matches(from).count(), 1, "{from:?} does not stand once in {name}");
    let start = text.find(from).expect("it stands there");
    let mark = to.find('‹').expect("marked");
    let before = format!("{}{}", &text[..start], &to[..mark]);
    let marked = to[mark..].split('›').next().unwrap_or("").replace('‹', "");
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
    *text = text.replacen(from, &to.replace(['‹', '›'], ""), 1);
    (format!("{name}:{line}:{column}"), marked)
}

/// What differs from: this finding and no other.
fn wrong(mistake: &Mistake) -> Option<String> {
    let mut files = gantry();
    let (at, marked) = make(&mut files, mistake);
    let seen = findings(&files);
    let (_, _, to, rule, next) = mistake;
    let right = |it: &Seen| it.at == at && it.marked == marked && it.rule.as_str() == *rule && it.next.contains(next);
    if seen.len() == 1 && right(&seen[0]) {
        return None;
    }
    Some(format!("{to:?} at {at} {marked:?} {rule} {next:?}:\n{seen:#?}"))
}

const MISTAKES: &[Mistake] = &[
    // Numbers.
    (JOINTS, "UL -0.040 -> -0.028", "UL -0.040 -> ‹-0,028›", "unreadable", "-0.028"),
    (JOINTS, "UR 0.012 -> 0.020", "UR ‹0,012› -> 0.020", "unreadable", "0.012"),
    (MACHINE, "joint-support J1 at=2400 length", "joint-support J1 at=‹2400,0› length", "unreadable", "2400.0"),
    (FITTED, "at J1 10.5 10.4 10.5 10.7", "at J1 10.5 ‹10.4Nm› 10.5 10.7", "unreadable", "(N.m)10.4"),
    (FITTED, "at J1 10.5 10.4 10.5 10.7", "at J1 10.5 ‹10,4› 10.5 10.7", "unreadable", "10.4"),
    (MACHINE, "stroke from=360 to", "stroke from=‹360mm› to", "unreadable", "(mm)360"),
    (MACHINE, "temperature least=12 most", "temperature least=‹12°C› most", "unreadable", "(degC)12"),
    (SURVEYS, "stage=as-fitted {\n    at S1 -0.07", "stage=as-fitted {\n    at S1 ‹−0.07›", "wrong-value", "-0.07"),
    (SHIMS, "at S7 0.03", "at S7 ‹0,03›", "unreadable", "0.03"),
    (SHOP, "leaf 0.10", "leaf ‹0,10›", "unreadable", "0.10"),
    (SHOP, "hole-pitch=60 ", "hole-pitch=‹60mm› ", "unreadable", "(mm)60"),
    // Units.
    (JOINTS, "UR 0.012 -> 0.020", "UR ‹(inch)0.012› -> 0.020", "wrong-unit", "(in)0.012"),
    (MACHINE, "joint-support J1 at=2400 length=200", "joint-support J1 at=2400 ‹length=(Nm)200›", "wrong-unit", "mm"),
    // Words.
    (MACHINE, "segment 2400 serial=K-118", "‹segmnet› 2400 serial=K-118", "unknown-node", "`segment`"),
    (MACHINE, "rail port beam", "‹rial› port beam", "unknown-node", "`rail`"),
    (MACHINE, "axis X {", "‹axsi› X {", "unknown-node", "`axis`"),
    (MACHINE, "beam front material", "‹baem› front material", "unknown-node", "`beam`"),
    (MACHINE, "joint-support J2 at=4800", "‹joint-suport› J2 at=4800", "unknown-node", "`joint-support`"),
    (MACHINE, "{ omit S10 S20 }", "{ ‹omitt› S10 S20 }", "unknown-node", "`omit`"),
    (MACHINE, "carriage length=480", "‹carrage› length=480", "unknown-node", "`carriage`"),
    (MACHINE, "machine hull-gantry {", "‹machin› hull-gantry {", "unknown-node", "`machine`"),
    (SHOP, "gauge DI-4 kind", "‹guage› DI-4 kind", "unknown-node", "`gauge`"),
    (SHOP, "wrench TW-2 kind", "‹wrnch› TW-2 kind", "unknown-node", "`wrench`"),
    (SHOP, "profile R20 hole", "‹profil› R20 hole", "unknown-node", "`profile`"),
    (SHOP, "block B20 length", "‹blok› B20 length", "unknown-node", "`block`"),
    (SHOP, "fastener rail-bolt thread", "‹fastner› rail-bolt thread", "unknown-node", "`fastener`"),
    (SHOP, "shim-stock {", "‹shimstock› {", "unknown-node", "`shim-stock`"),
    (SHOP, "shop \"Slip 2\" {", "‹shp› \"Slip 2\" {", "unknown-node", "`shop`"),
    (FITTED, "clicked J2 S19..S15 S21..S29", "‹clickd› J2 S19..S15 S21..S29", "unknown-node", "`clicked`"),
    (
        FITTED,
        "fasten X.port date=\"2026-04-14T08:10\"",
        "‹fastn› X.port date=\"2026-04-14T08:10\"",
        "unknown-node",
        "`fasten`",
    ),
    (
        FITTED,
        "fasten X.port date=\"2026-04-14T09:00\"",
        "‹fastn› X.port date=\"2026-04-14T09:00\"",
        "unknown-node",
        "`fasten`",
    ),
    (JOINTS, "inspect X.port.J1 date", "‹inspct› X.port.J1 date", "unknown-node", "`inspect`"),
    (SURVEYS, "survey gap X.starboard", "‹survay› gap X.starboard", "unknown-node", "`survey`"),
    (SHIMS, "shim X.starboard", "‹shimm› X.starboard", "unknown-node", "`shim`"),
    (SHIMS, "at S2 0.05 0.02\n    at S3 0.05\n", "‹att› S2 0.05 0.02\n    at S3 0.05\n", "unknown-node", "`at`"),
    (GOODS, "part serial=K-118", "‹prt› serial=K-118", "unknown-node", "`part`"),
    // Properties.
    (JOINTS, "date=\"2026-04-15T09:00\"", "‹dat›=\"2026-04-15T09:00\"", "unknown-property", "`date`"),
    (FITTED, "date=\"2026-04-14T08:10\"", "‹dte›=\"2026-04-14T08:10\"", "unknown-property", "`date`"),
    (FITTED, "date=\"2026-04-14T09:00\"", "‹dte›=\"2026-04-14T09:00\"", "unknown-property", "`date`"),
    (SHIMS, "date=\"2026-04-17T08:00\"", "‹dte›=\"2026-04-17T08:00\"", "unknown-property", "`date`"),
    (VERIFIED, "date=\"2026-04-18T09:00\"", "‹dte›=\"2026-04-18T09:00\"", "unknown-property", "`date`"),
    (
        FITTED,
        "date=\"2026-04-14T08:10\" by=fitter-2 wrench=TW-1 stage=snug",
        "date=\"2026-04-14T08:10\" by=fitter-2 wrench=TW-1 ‹stge›=snug",
        "unknown-property",
        "`stage`",
    ),
    (
        FITTED,
        "date=\"2026-04-14T09:00\" by=fitter-2 wrench=TW-2 stage=full",
        "date=\"2026-04-14T09:00\" by=fitter-2 wrench=TW-2 ‹stge›=full",
        "unknown-property",
        "`stage`",
    ),
    (SURVEYS, "temperature=21 stage=as-fitted", "temperature=21 ‹stag›=as-fitted", "unknown-property", "`stage`"),
    (
        VERIFIED,
        "temperature=21 stage=verification",
        "temperature=21 ‹stag›=verification",
        "unknown-property",
        "`stage`",
    ),
    (MACHINE, "beam=front profile", "‹baem›=front profile", "unknown-property", "`beam`"),
    (MACHINE, "beam=rear profile=R20", "beam=rear ‹profil›=R20", "unknown-property", "`profile`"),
    (MACHINE, "follows=port", "‹folows›=port", "unknown-property", "`follows`"),
    (MACHINE, "joint-support J2 at=4800", "joint-support J2 ‹att›=4800", "unknown-property", "`at`"),
    (MACHINE, "run from=0 to=7200", "run ‹form›=0 to=7200", "unknown-property", "`from`"),
    (SHOP, "hole-pitch=60", "‹hole-ptch›=60", "unknown-property", "`hole-pitch`"),
    (SHOP, "end-distance=30", "‹end-distnce›=30", "unknown-property", "`end-distance`"),
    (SHOP, "bolt-edge=10", "‹bolt-egde›=10", "unknown-property", "`bolt-edge`"),
    // Words that are not allowed.
    (
        FITTED,
        "date=\"2026-04-14T08:10\" by=fitter-2 wrench=TW-1 stage=snug",
        "date=\"2026-04-14T08:10\" by=fitter-2 wrench=TW-1 ‹stage=snag›",
        "wrong-value",
        "snug",
    ),
    (SURVEYS, "temperature=21 stage=as-fitted", "temperature=21 ‹stage=as-fited›", "wrong-value", "as-fitted"),
    (MACHINE, "shims=widen", "‹shims=wider›", "wrong-value", "widen"),
    // Dates without quotes, or of no calendar.
    (JOINTS, "date=\"2026-04-15T09:00\"", "date=‹2026-04-15T09:00›", "unreadable", "\"2026-04-15T09:00\""),
    (FITTED, "date=\"2026-04-14T08:10\"", "date=‹2026-04-14T08:10›", "unreadable", "\"2026-04-14T08:10\""),
    (FITTED, "date=\"2026-04-14T09:00\"", "date=‹2026-04-14T09:00›", "unreadable", "\"2026-04-14T09:00\""),
    (SHIMS, "date=\"2026-04-17T08:00\"", "date=‹2026-04-17T08:00›", "unreadable", "\"2026-04-17T08:00\""),
    (SHIMS, "date=\"2026-04-17T09:30\"", "date=‹2026-04-17T09:30›", "unreadable", "\"2026-04-17T09:30\""),
    (SHIMS, "date=\"2026-04-17T10:00\"", "date=‹2026-04-17T10:00›", "unreadable", "\"2026-04-17T10:00\""),
    (VERIFIED, "date=\"2026-04-18T09:00\"", "date=‹2026-04-18T09:00›", "unreadable", "\"2026-04-18T09:00\""),
    (SURVEYS, "date=\"2026-04-16T09:00\"", "date=‹2026-04-16T09:00›", "unreadable", "\"2026-04-16T09:00\""),
    (SHIMS, "date=\"2026-04-17T08:00\"", "‹date=\"2026-02-30\"›", "wrong-value", "2026-04-14"),
    (SHIMS, "date=\"2026-04-17T08:00\"", "‹date=\"17.4.2026\"›", "wrong-value", "2026-04-17"),
    // Punctuation that joins a word.
    (FITTED, "at J1 10.5 10.4 10.5 10.7", "at ‹J1,› 10.5 10.4 10.5 10.7", "joined-punctuation", "J1"),
    (FITTED, "clicked J1 S9..S1 S11..S14", "clicked ‹J1,› S9..S1 S11..S14", "joined-punctuation", "J1"),
    (SHIMS, "at S7 0.03", "at ‹S7:› 0.03", "joined-punctuation", "S7"),
    (JOINTS, "UL -0.040 -> -0.028", "‹UL:› -0.040 -> -0.028", "joined-punctuation", "`UL`"),
    (MACHINE, "serial=K-118 lot=\"7731\"", "serial=K-118 ‹lot=“7731”›", "joined-punctuation", "\"7731\""),
    (JOINTS, "date=\"2026-04-15T09:00\"", "‹date=“2026-04-15T09:00”›", "joined-punctuation", "\"2026-04-15T09:00\""),
    (JOINTS, "inspect X.port.J1 date", "inspect ‹X.port.J1,› date", "joined-punctuation", "X.port.J1"),
    // Arrows.
    (JOINTS, "UL -0.040 -> -0.028", "UL -0.040 ‹→› -0.028", "wrong-value", "->"),
    (JOINTS, "UL -0.040 -> -0.028", "UL -0.040 ‹-0.028›", "wrong-value", "->"),
    // Names.
    (JOINTS, "inspect X.port.J1 date", "inspect ‹X.port.J9› date", "unknown-reference", "J"),
    (JOINTS, "inspect X.port.J1 date", "inspect ‹X.prot.J1› date", "unknown-reference", "port"),
    (MACHINE, "beam=front profile", "‹beam=frnt› profile", "unknown-reference", "`front`"),
    (MACHINE, "follows=port", "‹follows=prt›", "unknown-reference", "`port`"),
    (SHIMS, "wrench=TW-1", "‹wrench=TW-11›", "unknown-reference", "TW-1"),
    // Braces and quotes.
    (MACHINE, "title \"Hull-sanding gantry\"", "title ‹\"›Hull-sanding gantry", "unreadable", "\""),
    (MACHINE, "title \"Hull-sanding gantry\"", "title Hull-sanding ‹gantry›", "wrong-value", "\"Hull-sanding gantry\""),
    (MACHINE, "// the sanding head and its arm", "‹#› the sanding head and its arm", "unreadable", "//"),
];

#[test]
fn one_mistake_is_one_finding() {
    let wrong: Vec<String> = MISTAKES.iter().filter_map(wrong).collect();
    assert!(wrong.is_empty(), "{} are wrong:\n{}", wrong.len(), wrong.join("\n"));
}

/// Closing braces that are left out, each by the words of the line that opens the block; the finding is at that line's
/// brace. What closes it is the next line that is a brace with the same indent.
const UNCLOSED: &[(&str, &str)] = &[
    (MACHINE, "rail port beam"),
    (MACHINE, "rail starboard beam"),
    (MACHINE, "carriage length"),
    (MACHINE, "axis X {"),
    (MACHINE, "machine hull-gantry {"),
    (FITTED, "fasten X.port date=\"2026-04-14T08:10\""),
    (FITTED, "fasten X.port date=\"2026-04-14T09:00\""),
    (JOINTS, "inspect X.port.J1"),
    (JOINTS, "inspect X.starboard.J2"),
    (SURVEYS, "survey gap"),
    (SHIMS, "shim X.starboard"),
    (VERIFIED, "running-force X"),
    (SHOP, "gauge DI-4"),
    (SHOP, "shim-stock"),
    (SHOP, "profile R20"),
];

/// The files without the closing brace of that block, and the place where it is opened.
fn without_brace((name, words): (&str, &str)) -> (Files, String) {
    let mut files = gantry();
    let text = &mut files.iter_mut().find(|(file, _)| file == name).expect("the file is there").1;
    let mut lines: Vec<&str> = text.lines().collect();
    let open = lines.iter().position(|line| line.trim_start().starts_with(words)).expect("the line is there");
    let indent = lines[open].len() - lines[open].trim_start().len();
    let close = format!("{}}}", " ".repeat(indent));
    let close = (open..lines.len()).find(|at| lines[*at] == close).expect("the block is closed");
    let column = lines[open].rfind('{').expect("the block is opened") + 1;
    lines.remove(close);
    *text = lines.join("\n") + "\n";
    (files, format!("{name}:{}:{column}", open + 1))
}

#[test]
fn a_missing_brace_is_one_finding_where_it_was_opened() {
    let mut wrong = Vec::new();
    for (name, words) in UNCLOSED {
        let (files, at) = without_brace((name, words));
        let seen = findings(&files);
        if seen.len() != 1 || seen[0].at != at || seen[0].rule.as_str() != "unreadable" || !seen[0].next.contains('}') {
            wrong.push(format!("{words} at {at}: {seen:#?}"));
        }
    }
    assert!(wrong.is_empty(), "{} are wrong:\n{}", wrong.len(), wrong.join("\n"));
}

/// Line ends, a byte order mark, tabs for spaces, spaces about `=`: none of it is a mistake.
#[test]
fn what_editors_do_to_a_file_is_no_mistake() {
    type Change = fn(&str) -> String;
    let changes: [(&str, Change); 7] = [
        ("CRLF", |text| text.replace('\n', "\r\n")),
        ("a byte order mark", |text| format!("\u{feff}{text}")),
        ("both", |text| format!("\u{feff}{}", text.replace('\n', "\r\n"))),
        ("tabs", |text| text.replace("    ", "\t")),
        ("tabs and spaces", |text| text.replace("        ", "\t    ")),
        ("spaces about the sign", |text| text.replace(" by=", " by = ")),
        ("no last line end", |text| text.trim_end().to_string()),
    ];
    for (what, change) in changes {
        for only in 0..=gantry().len() {
            let mut files = gantry();
            for (index, (_, text)) in files.iter_mut().enumerate() {
                if only == index || only == gantry().len() {
                    *text = change(text);
                }
            }
            let seen = findings(&files);
            assert!(seen.is_empty(), "{what} in {only}: {seen:#?}");
        }
    }
}

/// With CRLF and a byte order mark a finding is still at the characters that a person counts.
#[test]
fn places_do_not_depend_on_line_ends() {
    let mistake = &MISTAKES[0];
    let mut files = gantry();
    let (at, marked) = make(&mut files, mistake);
    for (_, text) in &mut files {
        *text = format!("\u{feff}{}", text.replace('\n', "\r\n"));
    }
    let seen = findings(&files);
    assert_eq!(seen.len(), 1, "{seen:#?}");
    assert_eq!((&seen[0].at, &seen[0].marked), (&at, &marked));
}

/// Seven mistakes are seven findings, and a step too large among them is found all the same.
#[test]
fn seven_mistakes_in_one_file() {
    let mistakes: [Mistake; 7] = [
        (
            JOINTS,
            "inspect X.port.J1 date=\"2026-04-15T09:00\"",
            "inspect X.port.J1 date=‹2026-04-15T09:00›",
            "unreadable",
            "\"2026-04-15T09:00\"",
        ),
        (JOINTS, "UL -0.040 -> -0.028", "UL ‹-0,040› -> -0.028", "unreadable", "-0.040"),
        (JOINTS, "UR 0.012 -> 0.020", "‹UR:› 0.012 -> 0.020", "joined-punctuation", "`UR`"),
        (JOINTS, "UL 0.004 -> 0.010", "UL 0.004 -> ‹0.010mm›", "unreadable", "(mm)0.010"),
        (JOINTS, "UR -0.010 -> -0.004", "‹URR› -0.010 -> -0.004", "unknown-node", "`UR`"),
        (
            JOINTS,
            "date=\"2026-04-15T09:50\" by=inspector-1",
            "date=\"2026-04-15T09:50\" ‹bye›=inspector-1",
            "unknown-property",
            "`by`",
        ),
        (
            JOINTS,
            "date=\"2026-04-15T10:15\" by=inspector-1 gauge=DI-4",
            "date=\"2026-04-15T10:15\" by=inspector-1 ‹gauge=DI-4,›",
            "joined-punctuation",
            "DI-4",
        ),
    ];
    let mut files = gantry();
    let mut expected: Vec<String> = mistakes
        .iter()
        .map(|mistake| {
            let (at, marked) = make(&mut files, mistake);
            format!("{at} {} {marked}", mistake.3)
        })
        .collect();
    // A real fault, in a row of the same record as two of the mistakes.
    let step = (JOINTS, "LL 0.016 -> 0.008", "‹LL 0.016 -> 0.046›", "joint-step", "");
    let (at, marked) = make(&mut files, &step);
    expected.push(format!("{at} joint-step {marked}"));
    let mut seen: Vec<String> =
        findings(&files).iter().map(|it| format!("{} {} {}", it.at, it.rule, it.marked)).collect();
    expected.sort();
    seen.sort();
    assert_eq!(seen, expected);
}

/// A slip of the pen where something is declared not to apply: the declaration is not called idle, since what it answers is
/// only not told while the text is at fault.
#[test]
fn no_mistake_calls_a_declaration_idle() {
    const LIMIT: &str = "straightness most=0.05 reason=\"drawing 118-4\"\n";
    const DECLARED: &str = "not-applicable straightness-range X.port date=\"2026-03-20\" by=engineer-1 reason=\"the face it is pushed to is certified\"\n";
    let declare = |files: &mut Files| {
        let text = &mut files.iter_mut().find(|(file, _)| file == MACHINE).expect("the file is there").1;
        let start = text.find("rulebook {").expect("a rulebook");
        let end = start + text[start..].find('}').expect("closed") + 2;
        assert!(text[start..end].contains(LIMIT), "{}", &text[start..end]);
        text.replace_range(start..end, DECLARED);
    };
    let mut whole = gantry();
    declare(&mut whole);
    let answered = findings(&whole);
    assert!(matches!(&answered[..], [it] if it.rule == "straightness-range"), "{answered:#?}");

    let mut wrong = Vec::new();
    let mut tried = |files: &mut Files, rule: &str, what: &str| {
        declare(files);
        let seen = findings(files);
        let idle = seen.iter().any(|it| it.rule == "not-applicable-idle");
        if idle || !seen.iter().any(|it| it.rule == rule) {
            wrong.push(format!("{what}: {seen:#?}"));
        }
    };
    for mistake in MISTAKES {
        let mut files = gantry();
        make(&mut files, mistake);
        tried(&mut files, mistake.3, mistake.2);
    }
    for unclosed in UNCLOSED {
        let mut files = without_brace(*unclosed).0;
        tried(&mut files, "unreadable", unclosed.1);
    }
    assert!(wrong.is_empty(), "{} are wrong:\n{}", wrong.len(), wrong.join("\n"));
}
