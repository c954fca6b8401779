//! Ledgers of one shop that are judged in one run: what one has of another is told of the one whose folder comes later,
//! and nothing is said where only one is looked at.

use wayledger::files::{Memory, Path, find_all};
use wayledger::lint::{Grade, lint};

use crate::common::today;

const SHOP: &str = "shop \"Slip 2\" { }";

fn machine(name: &str, serial: &str) -> String {
    format!(
        "machine {name} {{ axis X {{ rail a {{ segment 1200 serial={serial}; segment 1200; supports S first=240 pitch=240 count=4 }} }} }}\n"
    )
}

const READ: &str =
    "inspect X.a.J1 date=\"2026-04-15\" by=i { light none; UL 0 -> 0.01; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }\n";

/// What rules about several ledgers find below some folders of a world, as `folder rule address`.
fn said(files: &[(&str, &str)], below: &[&str]) -> Vec<String> {
    let world = files.iter().fold(Memory::new(today()), |world, (path, text)| world.with(path, text.as_bytes()));
    let below: Vec<Path> = below.iter().map(|path| Path::normal(path)).collect();
    let found = find_all(&world, &below).expect("they can be listed").found;
    let mut all = Vec::new();
    lint(&world, &found, today(), |judged| {
        for it in judged.findings.iter().filter(|it| it.grade != Grade::NotJudged) {
            let of_several =
                ["duplicate-name", "parts-mixed", "shim-stock", "segment-stock"].contains(&it.rule.as_str());
            if of_several || it.rule.as_str() == "readings-copied" && it.grade == Grade::Nonconformity {
                all.push(format!("{} {} {}: {}", judged.path, it.rule, it.address, it.message));
            }
        }
    });
    all
}

const NOTHING: [&str; 0] = [];

#[test]
fn a_copied_folder_whose_dates_were_changed_is_told() {
    let read = |day: u8, last: &str| {
        let row = |joint: &str, last: &str| {
            format!(
                "inspect X.a.{joint} date=\"2026-04-{day}\" by=i {{ light none; UL 0.01 -> 0.013; UR 0 -> 0.002; LL -0.004 -> 0; LR 0 -> {last} }}\n"
            )
        };
        row("J1", "0.005") + &row("J1", last)
    };
    let observed = |first: &str, second: &str| -> Vec<String> {
        let (hull, mast) = (machine("hull", "K-1"), machine("mast", "K-2"));
        let files = [
            ("shop.kdl", SHOP),
            ("a/machine.kdl", &hull),
            ("a/r.kdl", first),
            ("b/machine.kdl", &mast),
            ("b/r.kdl", second),
        ];
        let world = files.iter().fold(Memory::new(today()), |world, (path, text)| world.with(path, text.as_bytes()));
        let found = find_all(&world, &[Path::normal("")]).expect("they can be listed").found;
        let mut all = Vec::new();
        lint(&world, &found, today(), |judged| {
            let copied = judged
                .findings
                .iter()
                .filter(|it| it.rule.as_str() == "readings-copied" && it.message.contains("other days"));
            all.extend(copied.map(|it| format!("{} {:?}: {}", judged.path, it.grade, it.message)));
        });
        all
    };
    let told =
        "b Observation: 16 readings are those of the ledger a at the same places on other days, to the last digit";
    assert_eq!(observed(&read(15, "0.007"), &read(22, "0.007")), [told]);
    assert_eq!(observed(&read(15, "0.007"), &read(22, "0.008")), NOTHING, "eight may agree by chance");
    let zero = |day| {
        read(day, "0")
            .replace("0.013", "0")
            .replace("0.01", "0")
            .replace("0.002", "0")
            .replace("-0.004", "0")
            .replace("0.005", "0")
    };
    assert_eq!(observed(&zero(15), &zero(22)), NOTHING, "all alike say nothing");
}

#[test]
fn a_record_of_another_ledger_is_a_copy_whatever_its_layout() {
    let (hull, mast) = (machine("hull", "K-1"), machine("mast", "K-2"));
    let judged = |record: &str| {
        let files = [
            ("shop.kdl", SHOP),
            ("a/machine.kdl", &hull),
            ("a/r.kdl", READ),
            ("b/machine.kdl", &mast),
            ("b/r.kdl", record),
        ];
        (said(&files, &[""]), said(&files, &["b"]), said(&files, &["a"]))
    };
    let told =
        "b readings-copied X.a.J1: this `inspect` is that of the ledger a, word for word: it does not count here";
    let laid_out = READ.replace("; ", "\n    ").replace("{ light", "{ // by daylight\n   light");
    for copy in [READ, &laid_out] {
        let (both, later, first) = judged(copy);
        assert_eq!(both, [told], "{copy}");
        // Where one alone is looked at, nothing is known of the other.
        assert_eq!((later.len(), first.len()), (0, 0));
    }
    for other in [READ.replace("0.01", "0.011"), READ.replace("by=i", "by=j"), READ.replace("04-15", "04-15T10:00")] {
        assert_eq!(judged(&other).0, NOTHING, "{other}");
    }
    // A correction stands for a record of its own ledger.
    let correction = READ.replace("by=i", "by=i replaces=\"2026-04-15\"");
    assert_eq!(judged(&(READ.replace("0.01", "0.015") + &correction)).0, NOTHING);
    // A void takes it out.
    let void = "void inspect X.a.J1 of=\"2026-04-15\" date=\"2026-04-16\" by=e reason=\"of another machine\"\n";
    assert_eq!(judged(&format!("{READ}{void}")).0, NOTHING);
    // What is no evidence may stand in both.
    let note = "service X date=\"2026-06-01\" by=f task=lubricate\n";
    let files = [("a/machine.kdl", hull.as_str()), ("a/r.kdl", note), ("b/machine.kdl", &mast), ("b/r.kdl", note)];
    assert_eq!(said(&files, &[""]), NOTHING);
}

/// An older break comes back where what cured it is another machine's record.
#[test]
fn a_copy_cures_nothing() {
    let bad = READ.replace("0.01", "0.05").replace("2026-04-15", "2026-04-14");
    let good = READ.replace("{ ", "gauge=DI-4 { ");
    let (hull, mast) = (machine("hull", "K-1"), machine("mast", "K-2"));
    let steps = |first: &str| {
        let shop =
            "shop { gauge DI-4 kind=dial-indicator plus=outward { calibrated \"2026-01-12\" due=\"2027-01-12\" } }";
        let own = format!("{}{good}", bad.replace("{ ", "gauge=DI-4 { "));
        let files = [
            ("shop.kdl", shop),
            ("a/machine.kdl", &hull),
            ("a/r.kdl", first),
            ("b/machine.kdl", &mast),
            ("b/r.kdl", &own),
        ];
        let world = files.iter().fold(Memory::new(today()), |world, (path, text)| world.with(path, text.as_bytes()));
        let found = find_all(&world, &[Path::default()]).expect("they can be listed").found;
        let mut broken = Vec::new();
        lint(&world, &found, today(), |judged| {
            let own = judged.findings.iter().filter(|it| it.rule.as_str() == "joint-step");
            broken.extend(own.map(|it| format!("{} {}", judged.path, it.address)));
        });
        broken
    };
    assert_eq!(steps("// nothing yet\n"), NOTHING);
    assert_eq!(steps(&good), ["b X.a.J1"]);
}

#[test]
fn names_and_serial_numbers_are_in_one_machine_of_a_shop() {
    let (hull, mast) = (machine("hull", "K-1"), machine("mast", "K-2"));
    let both = |second: &str, shops: &[(&'static str, &'static str)]| {
        let mut files = vec![("yard/a/machine.kdl", hull.as_str()), ("yard/b/machine.kdl", second)];
        files.extend(shops);
        said(&files, &[""])
    };
    let same_name = mast.replace("mast", "hull");
    let same_serial = mast.replace("K-2", "K-1");
    let named = ["yard/b duplicate-name : the machine of the ledger yard/a is called `hull` too"];
    let numbered = ["yard/b parts-mixed X.a.segment-1: serial number K-1 is in the machine of the ledger yard/a too"];
    for shops in [&[][..], &[("yard/shop.kdl", SHOP)], &[("shop.kdl", SHOP), ("yard/b/shop.kdl", SHOP)]] {
        assert_eq!(both(&mast, shops), NOTHING);
        assert_eq!(both(&same_name, shops), named, "{shops:?}");
        let found = both(&same_serial, shops);
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found[0].ends_with(numbered[0].split_once(": ").unwrap().1), "{found:?}");
    }
    // Two shops may each have a machine of that name.
    let two = [("yard/a/shop.kdl", SHOP), ("yard/b/shop.kdl", SHOP)];
    assert_eq!(both(&same_name, &two), NOTHING);
    assert_eq!(both(&same_serial, &two), NOTHING);
    let own = format!("{SHOP}\n{same_serial}");
    assert_eq!(both(&own, &[]), NOTHING);
    // A copied folder is one mistake: its name and its numbers only follow.
    let copy = [("a/machine.kdl", hull.as_str()), ("a/r.kdl", READ), ("b/machine.kdl", &hull), ("b/r.kdl", READ)];
    assert_eq!(said(&copy, &[""]).len(), 1);
}

#[test]
fn what_the_shop_counts_is_counted_over_its_machines() {
    let shop = |leaves: &str, bars: &str| {
        format!("shop {{ shim-stock {{ leaf 0.05 {leaves} }}; profile R20 hole-pitch=60 {{ stock 1200 {bars} }} }}")
    };
    let machine = |name: &str| {
        format!(
            "machine {name} {{ axis X {{ rail a profile=R20 {{ segment 1200; segment 1200; supports S first=240 pitch=240 count=4 }} }} }}\n"
        )
    };
    let shim = |day: &str| format!("shim X.a date=\"2026-04-{day}\" by=f {{ at S1 0.05; at S2 0.05 }}\n");
    let judged = |leaves: &str, bars: &str| {
        let (shop, [a, b, c]) = (shop(leaves, bars), ["a", "b", "c"].map(machine));
        let [x, y, z] = ["01", "02", "03"].map(shim);
        let files = [
            ("shop.kdl", shop.as_str()),
            ("a/machine.kdl", &a),
            ("a/r.kdl", &x),
            ("b/machine.kdl", &b),
            ("b/r.kdl", &y),
            ("c/machine.kdl", &c),
            ("c/r.kdl", &z),
        ];
        said(&files, &[""])
    };
    assert_eq!(judged("", ""), NOTHING);
    assert_eq!(judged("count=6", "count=6"), NOTHING);
    let leaves = |by: &str| format!("2 leaves of 0.05 mm lie in this machine and {by} in others, 5 were in stock");
    assert_eq!(judged("count=5", ""), [format!("c shim-stock X.a.S2: {}", leaves("4"))]);
    // Where one machine alone takes too many, its own number is told.
    let alone = judged("count=1", "");
    assert_eq!(alone.len(), 3, "{alone:?}");
    assert!(
        alone.iter().all(|it| it.ends_with("2 leaves of 0.05 mm lie in this machine, 1 was in stock")),
        "{alone:?}"
    );
    let bars = judged("", "count=5");
    assert_eq!(bars.len(), 1, "{bars:?}");
    assert!(
        bars[0].starts_with("c segment-stock")
            && bars[0].ends_with("2 segments of 1200 mm are needed and 4 in other machines, and there are 5 bars"),
        "{bars:?}"
    );
}

/// What lies in a machine that nobody can read is not left out of the count without a word.
#[test]
fn a_ledger_that_is_not_judged_leaves_the_counts_of_its_shop_open() {
    let machine = |name: &str| {
        format!(
            "machine {name} {{ axis X {{ rail a profile=R20 {{ segment 1200; supports S first=240 pitch=240 count=4 }} }} }}\n"
        )
    };
    let shim = "shim X.a date=\"2026-04-02\" by=f { at S1 0.05; at S2 0.05 }\n";
    let judged = |count: &str, first: &str| {
        let shop = format!(
            "shop {{ shim-stock {{ leaf 0.05 {count} }}; profile R20 hole-pitch=60 {{ stock 1200 {count} }} }}"
        );
        let [a, b, c] = ["a", "b", "c"].map(machine);
        let files = [
            ("shop.kdl", shop.as_str()),
            ("a/machine.kdl", &a),
            ("a/r.kdl", first),
            ("b/machine.kdl", &b),
            ("b/r.kdl", shim),
            ("c/machine.kdl", &c),
        ];
        said(&files, &[""]).into_iter().filter(|it| !it.starts_with("a ")).collect::<Vec<_>>()
    };
    let unsettled = "<<<<<<< ours\nshim X.a date=\"2026-04-01\" by=f { at S1 0.05 }\n=======\n>>>>>>> theirs\n";
    let unread = "the ledger a of the same shop is not judged: nobody knows how many";
    assert_eq!(
        judged("count=6", unsettled),
        [
            format!("b shim-stock X.a.S1: {unread} leaves of 0.05 mm were left"),
            format!("b segment-stock : {unread} bars were left"),
            format!("c segment-stock : {unread} bars were left"),
        ]
    );
    // Where nothing is counted, or all is read, there is nothing to ask.
    assert_eq!(judged("", unsettled), NOTHING);
    assert_eq!(judged("count=6", shim.replace("-02", "-01").as_str()), NOTHING);
    // Too few even without it are told as such.
    let few = judged("count=1", unsettled);
    assert!(
        few.contains(&"b shim-stock X.a.S2: 2 leaves of 0.05 mm lie in this machine, 1 was in stock".into()),
        "{few:?}"
    );
    assert!(!few.iter().any(|it| it.contains("leaves of 0.05 mm were left")), "{few:?}");
}

/// Beyond one batch and in whatever order threads come to it: the first folder has it, all others are told.
#[test]
fn many_copies_are_copies_of_the_first() {
    let texts: Vec<(String, String)> = (0..150)
        .map(|number| (format!("m-{number:03}"), machine(&format!("m-{number}"), &format!("K-{number}"))))
        .collect();
    let paths: Vec<[String; 2]> =
        texts.iter().map(|(folder, _)| [format!("{folder}/machine.kdl"), format!("{folder}/r.kdl")]).collect();
    let mut files: Vec<(&str, &str)> = Vec::new();
    for ((_, text), [machine, records]) in texts.iter().zip(&paths) {
        files.extend([(machine.as_str(), text.as_str()), (records.as_str(), READ)]);
    }
    let all = said(&files, &[""]);
    assert_eq!(all.len(), 149);
    assert!(all.iter().all(|it| it.contains("is that of the ledger m-000,")), "{all:?}");
    assert_eq!(all, said(&files, &[""]));
}
