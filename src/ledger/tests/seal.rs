//! The seal of a release: nothing under it changes unseen, and nothing else counts as a change.

use crate::finding::{Finding, SourceId};
use crate::language::schema::language;
use crate::ledger::seal::{self, Sealing};
use crate::ledger::{Ledger, TextFile};
use crate::quantity::Moment;
use crate::text::{ReadLimits, read};
use crate::world::Path;

use crate::testing::judge;

const SHOP: &str = r#"
shop "Slip 2" {
    gauge DI-4 kind=dial-indicator graduation=0.002 permissible-error=0.005 local-error=0.003 plus=outward {
        calibrated "2026-01-12" due="2027-01-12" certificate="C-2211"
    }
    gauge DI-6 graduation=0.002 permissible-error=0.005 local-error=0.003 plus=wider {
        calibrated "2026-01-12" due="2027-01-12"
    }
    wrench TW-1 kind=setting least=0.5 most=5 { calibrated "2026-02-02" due="2027-02-02" }
    wrench TW-2 kind=indicating least=4 most=20 graduation=0.1 { calibrated "2026-02-02" due="2027-02-02"; cycles 400 on="2026-03-01" }
    wrench TW-9 kind=setting least=4 most=20
    profile R20 hole-pitch=60 end-distance=30 { stock 600 1200 }
    fastener rail-bolt thread=M6 class="10.9" { friction 0.12 0.14 }
    block B20 length=60 C=(kN)18.1 C0=(kN)29.5
    shim-stock { leaf 0.02; leaf 0.05 }
    rulebook { joint-step most=0.02 reason="as agreed with the customer" }
}
"#;

const MACHINE: &str = r#"
machine slide {
    axis X {
        run from=0 to=1200
        stroke from=100 to=1100
        temperature least=15 most=(degF)86
        service-interval re-torque months=12 travelled=(km)500
        beam base material=steel { piece 1200 }
        rail left beam=base profile=R20 datum=left rail-bolt=rail-bolt {
            segment 600 serial=K-1 lot=7731 far-mark=A1
            segment 600 serial=K-2 lot=7731 near-mark=A1
            supports S first=120 pitch=120 count=9 length=80 { omit S5 }
            joint-support J1 at=600 length=140 { bolts -90 -30 30 90 }
        }
        rail right beam=base profile=R20 datum=right follows=left shims=widen rail-bolt=rail-bolt {
            segment 1200 serial=K-3 lot=7731
            supports S first=120 pitch=240 count=5 length=80
        }
        carriage length=200 mass=12 { block left at=0 type=B20; block right at=0 type=B20; load (N)300 x=10 z=(mm)80 }
    }
    axis Y { rail other { segment 900 } }
}
"#;

const RECORDS: &str = r#"
receive date="2026-04-01" by=store-1 delivery="4711" { part serial=K-1 lot="7731" length=600; part serial=K-2 lot="7731" }
receive date="2026-04-01" by=store-1 { part serial=Z-9 }
fasten X.left date="2026-04-14T08:10" by=fitter-2 wrench=TW-1 stage=snug setting=1.5 { clicked J1 S4..S1 S6..S9 }
fasten X.left date="2026-04-14T09:00" by=fitter-2 wrench=TW-2 stage=full {
    at J1 10.4 10.5 10.6 10.5
    at S4 10.4 10.5; at S3 10.4 10.5; at S2 10.3 10.5; at S1 10.4 10.5
    at S6 10.4 10.5; at S7 10.4 10.5; at S8 10.4 10.5; at S9 10.4 10.5
    note "the ninth one by hand"
}
fasten X.right date="2026-04-14" by=fitter-2 wrench=TW-1 stage=snug setting=1.5 { clicked S1..S5 }
fasten X.right date="2026-04-14" by=fitter-2 wrench=TW-2 stage=full { at S1 10.5 10.5; at S2 10.5 10.5; at S3 10.5 10.5; at S4 10.5 10.5; at S5 10.5 10.5 }
inspect X.left.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 temperature=20.5 {
    carrier reach=40 travel=15
    light none
    UL -0.010 -> (um)-3
    UR 0.002 -> 0.004 0.001 -> 0.004
    LL 0 -> -0.002
    LR 0.004 -> 0.001
}
survey gap X.right date="2026-04-16" by=inspector-1 gauge=DI-6 temperature=20 stage=as-fitted {
    at S1 0; at S2 -0.01; at S3 -0.07; at S4 -0.01; at S5 0
    closure S1 0
}
loosen X.right.S3 date="2026-04-17" by=fitter-2 reason="for the shim"
shim X.right date="2026-04-17" by=fitter-2 { at S3 0.05 0.02 }
fasten X.right date="2026-04-17" by=fitter-2 wrench=TW-1 stage=snug setting=1.5 { clicked S3 }
fasten X.right date="2026-04-17" by=fitter-2 wrench=TW-2 stage=full { at S3 10.5 10.5 }
survey gap X.right date="2026-04-18" by=inspector-1 gauge=DI-6 temperature=20 stage=verification { at S1 0; at S2 -0.01; at S3 0; at S4 -0.01; at S5 0 }
running-force X date="2026-04-19" by=inspector-1 { at 200 14; at 900 (N)15 }
service X date="2026-04-19" by=fitter-2 task=lubricate
concession joint-stagger X.left.J1 date="2026-04-19" by=engineer-1 accepts=96 until="2027-09-30" reason="short carriage, agreed"
inspect X.left.J1 date="2026-04-15T10:00" by=inspector-1 { light seen }
void inspect X.left.J1 of="2026-04-15T10:00" date="2026-04-19" by=inspector-1 reason="read on the wrong joint"
"#;

fn records() -> String {
    RECORDS.to_string()
}

fn ledger(shop: &str, machine: &str, records: &str, release: &str) -> Ledger {
    let read = |name: &str, text: &str| TextFile::read(Path(format!("m/{name}")), text.as_bytes().to_vec());
    let files = vec![read("a.kdl", records), read("machine.kdl", machine), read("release.kdl", release)];
    Ledger::new(Path("m".into()), files, &[TextFile::read(Path("shop.kdl".into()), shop.as_bytes().to_vec())])
}

/// The release of the ledger above.
fn released() -> String {
    let ledger = ledger(SHOP, MACHINE, &records(), "");
    assert!(ledger.text_findings.is_empty(), "{:?}", ledger.text_findings);
    seal::release(&ledger, 0, &Sealing::new(Moment::read("2026-04-20").expect("a date"), "engineer-1")).text()
}

/// What the lint says about the release.
fn altered(shop: &str, machine: &str, records: &str, release: &str) -> Vec<Finding> {
    let files = [("a.kdl", records), ("machine.kdl", machine), ("release.kdl", release)];
    judge(&files, &[shop]).findings.into_iter().filter(|finding| finding.rule.as_str() == "release-altered").collect()
}

#[test]
fn a_fresh_release_is_not_altered() {
    assert_eq!(altered(SHOP, MACHINE, &records(), &released()), []);
}

/// The stretches of a text that are values: words after `=`, arguments, text in quotes.
fn values(text: &str) -> Vec<std::ops::Range<usize>> {
    let read = crate::text::read(text.to_string(), &crate::text::ReadLimits::default());
    let mut all = Vec::new();
    for index in 0..read.document.len() {
        let Some(node) = read.document.node(index) else { break };
        for entry in node.entries() {
            all.push(entry.value_span().range());
        }
    }
    all
}

/// Another value of the same shape, most often one that is allowed in its place.
fn another(value: &str) -> String {
    let text = value.trim_matches('"');
    let quoted = value.starts_with('"');
    let last = text.char_indices().rev().find(|(_, c)| c.is_ascii_digit());
    let other = match last {
        Some((at, digit)) => {
            let next = if digit == '9' { '8' } else { char::from(digit as u8 + 1) };
            format!("{}{next}{}", &text[..at], &text[at + 1..])
        }
        None if text.is_empty() => "x".into(),
        None => format!("{text}x"),
    };
    if quoted { format!("\"{other}\"") } else { other }
}

/// A value as the seal spells it: plain units, no needless zeros.
fn plain(value: &str) -> String {
    match value {
        "18.1" => "18100".into(),
        "29.5" => "29500".into(),
        // 86 °F are 30 °C, and 3 µm are 0.003 mm, by definition.
        "86" => "30".into(),
        "-3" => "-0.003".into(),
        "-0.010" => "-0.01".into(),
        _ => value.trim_matches('"').to_string(),
    }
}

/// The four texts with one of them changed.
fn which_changed(which: &str, changed: &str, records: &str, release: &str) -> [String; 4] {
    ["shop", "machine", "records", "release"]
        .map(|name| match name {
            _ if name == which => changed,
            "shop" => SHOP,
            "machine" => MACHINE,
            "records" => records,
            _ => release,
        })
        .map(str::to_string)
}

/// The release is about something that is not described.
fn lost([shop, machine, records, release]: &[String; 4]) -> bool {
    let files = [("a.kdl", records.as_str()), ("machine.kdl", machine), ("release.kdl", release)];
    let findings = judge(&files, &[shop]).findings;
    findings
        .iter()
        .any(|finding| finding.rule.as_str() == "unknown-reference" && finding.message.contains("no axis `X"))
}

/// Every sealed value is altered, one at a time; each time the release is found altered, and where the value can still
/// be read the finding names the old one or the new one.
#[test]
fn altering_any_sealed_value_is_found_and_named() {
    let (records, release) = (records(), released());
    let mut missed = Vec::new();
    // The other axis and what only it uses, bars to be bought, the stock of shims and today's limits are not sealed.
    let mut count = 0;
    for (which, text) in [("shop", SHOP), ("machine", MACHINE), ("records", &records), ("release", &release)] {
        for span in values(text) {
            let value = &text[span.clone()];
            let line_start = text[..span.start].rfind('\n').map_or(0, |at| at + 1);
            let line = text[line_start..].lines().next().unwrap_or("");
            let unsealed = match which {
                "shop" => {
                    ["shop \"Slip", "wrench TW-9", "shim-stock", "rulebook"].iter().any(|free| line.contains(free))
                        || line.contains("stock 600") && span.start > text[..].find("stock 600").unwrap_or(usize::MAX)
                }
                "machine" => line.contains("machine slide") || line.contains("axis Y"),
                "records" => line.contains("Z-9"),
                _ => false,
            };
            if unsealed || value == "->" {
                continue;
            }
            count += 1;
            let mut changed = text.to_string();
            changed.replace_range(span.clone(), &another(value));
            let [shop, machine, own, sealed] = which_changed(which, &changed, &records, &release);
            let findings = altered(&shop, &machine, &own, &sealed);
            let named = findings.iter().any(|finding| which == "release" || finding.message.contains(&plain(value)));
            // Where the axis itself has another name, its release speaks of an axis that is not there.
            let lost = value == "X" && lost(&which_changed(which, &changed, &records, &release));
            if !named && !lost {
                missed.push(format!(
                    "{which}: {value} -> {} in `{}`: {:?}",
                    another(value),
                    line.trim(),
                    findings.iter().map(|finding| &finding.message).collect::<Vec<_>>()
                ));
            }
        }
    }
    assert!(missed.is_empty(), "{} of {count} not named:\n{}", missed.len(), missed.join("\n"));
}

#[test]
fn what_means_the_same_is_no_change() {
    let (records, release) = (records(), released());
    let same = [
        ("serial=K-1 lot=7731", "lot=\"7731\"   serial=\"K-1\" /* checked by hand */"),
        ("piece 1200 }", "piece (m)1.2 }"),
        ("run from=0 to=1200", "run to=1_200.0 from=0"),
        ("most=(degF)86", "most=30"),
        ("stock 600 1200", "stock 600"),
    ];
    for (old, new) in same {
        assert!(MACHINE.contains(old) || SHOP.contains(old), "{old}");
        let (machine, shop) = (MACHINE.replace(old, new), SHOP.replace(old, new));
        assert_eq!(altered(&shop, &machine, &records, &release), [], "{old} -> {new}");
    }
    let other = records.replace("UL -0.010 -> (um)-3", "UL (um)-10 -> -0.0030").replace("at S4 10.4", "at  S4\t10.40");
    assert_ne!(other, records);
    assert_eq!(altered(SHOP, MACHINE, &other, &release), []);
    // The other axis and another part's delivery are no part of it.
    assert_eq!(altered(SHOP, &MACHINE.replace("segment 900", "segment 950"), &records, &release), []);
}

#[test]
fn what_is_added_later_is_no_change_and_what_is_slipped_under_the_seal_is() {
    let (records, release) = (records(), released());
    let later = "service X date=\"2026-09-20\" by=fitter-2 task=re-torque\n";
    assert_eq!(altered(SHOP, MACHINE, &records, &format!("{release}{later}")), []);
    assert_eq!(altered(SHOP, MACHINE, &format!("{records}{later}"), &release), [], "in another file too");
    let calibrated =
        SHOP.replace("due=\"2027-02-02\" }", "due=\"2027-02-02\"; calibrated \"2026-10-02\" result=failed }");
    assert_eq!(altered(&calibrated, MACHINE, &records, &release), [], "a later calibration alters nothing");
    let slipped = later.replace("09-20", "04-10");
    let findings = altered(SHOP, MACHINE, &format!("{records}{slipped}"), &release);
    assert_eq!(findings.len(), 1, "{findings:?}");
    assert!(findings[0].message.contains("service X 2026-04-10 was put in"), "{}", findings[0].message);
    let gone: String =
        records.lines().filter(|line| !line.starts_with("running-force")).map(|line| format!("{line}\n")).collect();
    let findings = altered(SHOP, MACHINE, &gone, &release);
    assert_eq!(findings.len(), 1, "{findings:?}");
    assert!(findings[0].message.contains("running-force X 2026-04-19 is gone"), "{}", findings[0].message);
    let turned = records.replace("at S4 10.4 10.5; at S3 10.4 10.5;", "at S3 10.4 10.5; at S4 10.4 10.5;");
    let findings = altered(SHOP, MACHINE, &turned, &release);
    assert_eq!(findings.len(), 1, "{findings:?}");
    assert!(findings[0].message.contains("another order"), "{}", findings[0].message);
}

#[test]
fn of_many_changes_forty_are_named_and_the_rest_counted() {
    let machine = "machine m { axis X { rail a { segment 6000; supports S first=60 pitch=120 count=47 } } }";
    let rows = |changed: usize| {
        let row = |n: usize| format!("at S{n} {} 10.5\n", if n <= changed { "10.6" } else { "10.5" });
        let rows: String = (1..=47).map(row).collect();
        format!("fasten X.a date=\"2026-04-14\" by=f stage=full {{\n{rows}}}")
    };
    let sealed = ledger("", machine, &rows(0), "");
    let release =
        seal::release(&sealed, 0, &Sealing::new(Moment::read("2026-04-20").expect("a date"), "engineer-1")).text();
    let told = |changed: usize| altered("", machine, &rows(changed), &release);
    assert_eq!(told(40).len(), 40);
    assert!(told(40).iter().all(|one| one.message.contains(" was ")), "each is named");
    for (changed, more) in [(41, "1 more facts"), (47, "7 more facts")] {
        let all = told(changed);
        assert_eq!(all.len(), 41);
        assert_eq!(all[40].message, format!("{more} changed since X was released"));
    }
}

#[test]
fn a_release_without_a_seal_and_a_later_release_are_told_apart() {
    let (records, release) = (records(), released());
    let bare = altered(SHOP, MACHINE, &records, "release X date=\"2026-04-20\" by=engineer-1\n");
    assert_eq!(bare.len(), 1);
    assert!(bare[0].message.contains("no seal"), "{}", bare[0].message);
    // A segment is exchanged, and the axis released again: the first seal counts no more, but nobody said what became of it.
    let machine = MACHINE.replace("serial=K-2", "serial=K-9");
    assert_eq!(altered(SHOP, &machine, &records, &release).len(), 1);
    let again = ledger(SHOP, &machine, &records, &release);
    let again =
        seal::release(&again, 0, &Sealing::new(Moment::read("2026-05-20").expect("a date"), "engineer-1")).text();
    let both = altered(SHOP, &machine, &records, &format!("{release}{again}"));
    assert_eq!(both.len(), 1, "{both:#?}");
    assert!(both[0].message.contains("while its release of 2026-04-20 was in force"), "{}", both[0].message);
}

#[test]
fn a_released_axis_is_judged_by_the_limits_of_its_seal() {
    let (records, release) = (records(), released());
    let steps = |shop: &str, release: &str| {
        let files = [("a.kdl", &*records), ("machine.kdl", MACHINE), ("release.kdl", release)];
        judge(&files, &[shop])
            .findings
            .into_iter()
            .filter(|finding| finding.rule.as_str() == "joint-step")
            .collect::<Vec<_>>()
    };
    let stricter = SHOP.replace("joint-step most=0.02", "joint-step most=0.001");
    assert_eq!(steps(SHOP, &release), []);
    assert!(!steps(&stricter, "").is_empty(), "not released, it is judged by the limits of today");
    assert_eq!(steps(&stricter, &release), []);
    // And what the seal holds is what is said: released under the strict limit, it stays broken under a wider one.
    let strict = ledger(&stricter, MACHINE, &records, "");
    let strict =
        seal::release(&strict, 0, &Sealing::new(Moment::read("2026-04-20").expect("a date"), "engineer-1")).text();
    let found = steps(SHOP, &strict);
    let limit = found.first().and_then(|finding| finding.limit.clone()).expect("judged by the seal");
    assert_eq!(limit.text, "at most 0.001 mm");
    assert!(limit.source.contains("as agreed with the customer"), "{}", limit.source);
    assert!(limit.source.contains("sealed with the release of 2026-04-20"), "{}", limit.source);
}

/// The released example of the boatyard, value by value: whatever is altered is told, and named by what it was.
#[test]
fn altering_any_value_of_the_released_example_is_found() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard/plank-planer");
    let mut names: Vec<String> = std::fs::read_dir(&folder)
        .expect("the example is there")
        .map(|entry| entry.expect("listed").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    let text = |name: &str| std::fs::read_to_string(folder.join(name)).expect("readable");
    let files: Vec<(String, String)> = names.iter().map(|name| (name.clone(), text(name))).collect();
    let shop = text("../shop.kdl");
    let mut count = 0;
    let mut missed = Vec::new();
    for (index, (name, whole)) in files.iter().enumerate() {
        // What came after the release is not under its seal.
        if name.starts_with("2026-10") {
            continue;
        }
        for span in values(whole) {
            let value = &whole[span.clone()];
            let line = whole[..span.start].lines().last().unwrap_or("");
            let called = line.contains("machine ") || line.contains("title ");
            // The release's own date and person are what is sealed with, and a name of the axis has its own finding.
            if value == "->" || called || value == "X" {
                continue;
            }
            count += 1;
            let mut changed = files.clone();
            changed[index].1.replace_range(span.clone(), &another(value));
            let all: Vec<(&str, &str)> = changed.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
            let told =
                judge(&all, &[&shop]).findings.into_iter().any(|finding| finding.rule.as_str() == "release-altered");
            if !told {
                missed.push(format!("{name}: {value} after `{}`", line.trim()));
            }
        }
    }
    assert!(count > 150, "{count}");
    assert!(missed.is_empty(), "{} of {count}:\n{}", missed.len(), missed.join("\n"));
}

/// A release names the one it replaces by its day alone, or by its time too.
#[test]
fn services_count_from_the_first_of_releases_that_replace_each_other() {
    let text = |by: &str| {
        format!(
            "machine m {{ axis X {{ rail a {{ segment 1200 }} }} }}
release X date=\"2026-05-10T10:00\" by=e
release X date=\"2026-05-12\" by=e supersedes=\"{by}\" reason=\"a service was added\"
"
        )
    };
    let from = |by: &str| {
        let ledger = crate::testing::judge(&[("machine.kdl", &text(by))], &[]).ledger;
        crate::ledger::seal::serviced_from(&ledger, 0)
    };
    assert_eq!((from("2026-05-10"), from("2026-05-10T10:00")), (Some(0), Some(0)));
    assert_eq!((from("2026-05-10T10:01"), from("2026-05-11")), (Some(1), Some(1)), "that is no release");
}

#[test]
fn an_angle_is_sealed_in_one_spelling_that_no_length_has() {
    let sealed = |reading: &str| {
        let text = format!(
            "survey straightness X.a date=\"2026-04-15\" by=i stage=service {{ angles from=S1 base=100; at S2 {reading} }}\n"
        );
        let read = read(text, &ReadLimits::default());
        let node = read.document.node(0).expect("a survey");
        let facts = seal::facts(language().node("survey"), node, SourceId(0), |_| true);
        facts.into_iter().map(|fact| format!("{} {}", fact.address, fact.value)).collect::<Vec<_>>().join("; ")
    };
    assert_eq!(sealed("(um.m-1)20"), sealed("(mm.m-1)0.020"));
    assert_eq!(sealed("(um.m-1)20"), sealed("(urad)2e1"));
    assert_ne!(sealed("(um.m-1)20"), sealed("(arcsec)20"));
    // A length is sealed as it always was, without its unit.
    assert_eq!(sealed("0.02"), sealed("(um)20"));
    assert_ne!(sealed("20"), sealed("(um.m-1)20"));
    assert_ne!(sealed("0.02"), sealed("(mm.m-1)0.02"));
    // So is a figure of a gauge; one in lengths or forces as it always was.
    let figure = |graduation: &str| {
        let text = format!("shop {{ gauge G kind=level graduation={graduation} }}\n");
        let read = read(text, &ReadLimits::default());
        let node = read.document.node(0).expect("a shop");
        let facts = seal::facts(language().node("shop"), node, SourceId(0), |_| true);
        facts.into_iter().map(|fact| format!("{} {}", fact.address, fact.value)).collect::<Vec<_>>().join("; ")
    };
    assert_eq!(figure("(um.m-1)4"), figure("(mm.m-1)0.004"));
    assert!(figure("(mm.m-1)0.004").contains("(um.m-1)4"), "{}", figure("(mm.m-1)0.004"));
    assert_ne!(figure("(um.m-1)4"), figure("4"));
    assert!(figure("(kN)4").contains("(kN)4"), "{}", figure("(kN)4"));
    assert!(sealed("(mm.m-1)0.02").contains("(um.m-1)20"), "{}", sealed("(mm.m-1)0.02"));
}
