//! `shims` as a command: what it tells and writes.

use crate::common::yard::Yard;

const SHOP: &str = "shop \"Slip 2\" { shim-stock { leaf 0.02; leaf 0.05 } }\n";

/// The program on a small gantry with a stock of leaves, a survey, and shims that lie there.
fn shims(stock: &str, shims: &str, survey: &str) -> (String, i32) {
    shims_as(stock, shims, survey, &[])
}

/// The same with more said on the command line.
fn shims_as(stock: &str, shims: &str, survey: &str, wish: &[&str]) -> (String, i32) {
    let yard = Yard::empty();
    yard.write("shop.kdl", SHOP.replace("leaf 0.02; leaf 0.05", stock)).write(
        "m/machine.kdl",
        format!(
            "machine m {{ axis X {{ rail a; rail b follows=a shims=widen {{ supports S first=100 pitch=240 count=4 }} }} }}
             {shims}
             survey gap X.b date=\"2021-04-16\" by=inspector-1 stage=as-fitted {{ {survey} }}\n"
        ),
    );
    let ran = yard.wayledger(&[&["shims", "X", "--ledger", "m", "--today", "2021-04-17"], wish].concat());
    (format!("{}{}", ran.out, ran.err), ran.code)
}

#[test]
fn a_support_at_just_the_limit_needs_no_shim() {
    let (said, code) = shims("leaf 0.02; leaf 0.05", "", "at S1 0; at S2 -0.05; at S3 -0.02");
    assert!(said.contains("No shim is needed.") && code == 0, "{said}");
    // 0.2 under S2 lifts it 0.05 above the others: just the limit.
    let (said, code) = shims("leaf 0.2", "", "at S1 0; at S2 -0.15; at S3 0");
    assert!(said.contains("at S2 0.2\n") && said.contains("1 support shimmed with 1 leaf,"), "{said}");
    assert!(said.contains("no plan is better") && code == 0, "{said}");
}

#[test]
fn a_station_between_supports_is_not_passed_over() {
    let (said, code) = shims("leaf 0.02; leaf 0.05", "", "at S1 0; at 220 -0.09; at S2 0; at S3 -0.02");
    let bent = "220 mm stands 0.09 mm off the line between the supports beside it, the whole range is 0.05 mm: no shim cures this";
    assert!(said.contains(bent) && code == 2, "{said}");
    // Halfway it rises by half of what S2 is given: -0.06 + 0.01.
    let (said, code) = shims("leaf 0.02; leaf 0.05", "", "at S1 0; at 220 -0.06; at S2 -0.03; at S3 0");
    assert!(
        said.contains("at S2 0.02\n") && said.contains("range then 0.05 mm; no plan is better") && code == 0,
        "{said}"
    );
    assert!(said.contains("  220 mm       220    -0.06    0.06                          -0.05"), "{said}");
    // Beyond the outermost support it rises with that one.
    let (said, code) = shims("leaf 0.02; leaf 0.05", "", "at 40 -0.07; at S1 -0.03; at S2 0; at S3 0; at S4 0");
    assert!(said.contains("at S1 0.02\n") && code == 0, "{said}");
}

#[test]
fn another_aim_or_margin_is_planned_for_when_asked() {
    let survey = "at S1 0; at S2 -0.07; at S3 -0.04; at S4 0";
    let (said, _) = shims("leaf 0.02; leaf 0.05", "", survey);
    assert!(said.contains("at S2 0.02\n") && said.contains("1 support shimmed"), "{said}");
    let (said, code) = shims_as("leaf 0.02; leaf 0.05", "", survey, &["--margin", "0.02"]);
    assert!(said.contains("planned for a range of 0.03 mm (a margin of 0.02 mm was asked for)") && code == 0, "{said}");
    assert!(said.contains("at S2 0.05\n") && said.contains("at S3 0.02\n"), "{said}");
    // 0.07 and 0.04 are made exactly.
    let (said, code) = shims_as("leaf 0.02; leaf 0.05", "", survey, &["--aim", "range"]);
    assert!(said.contains("at S2 0.05 0.02\n") && said.contains("at S3 0.02 0.02\n"), "{said}");
    assert!(said.contains("range then 0 mm; no plan is better") && code == 0, "{said}");
    let (said, code) = shims_as("leaf 0.02", "", survey, &["--margin=-0.01"]);
    assert!(said.contains("a margin is not below 0") && code == 2, "{said}");
    // Either support may get either leaf; one way leaves a range of 0.05, the other one 0.04.
    let (said, _) = shims("leaf 0.02 count=1; leaf 0.05 count=1", "", "at S1 0; at S2 -0.07; at S3 -0.06; at S4 0");
    assert!(said.contains("at S2 0.05\n") && said.contains("range then 0.04 mm"), "{said}");
}

#[test]
fn a_plan_tells_the_work_that_it_makes() {
    let yard = Yard::empty();
    yard.write(
        "shop.kdl",
        "shop { gauge DI-6 graduation=0.01 local-error=0.005 repeatability=0.0005; shim-stock { leaf 0.02; leaf 0.05 } }\n",
    )
    .write(
        "m/machine.kdl",
        "machine m { axis X { rail a; rail b follows=a shims=widen {
             segment 600; segment 600; supports S first=100 pitch=250 count=5 } } }
         inspect X.b.J1 date=\"2021-04-15\" by=inspector-1 { light none }
         survey gap X.b date=\"2021-04-16\" by=inspector-1 gauge=DI-6 stage=as-fitted { at S1 0; at S2 -0.01; at S3 -0.08; at S4 0; at S5 0 }\n",
    );
    let ran = yard.wayledger(&["shims", "X", "--ledger", "m", "--today", "2021-04-17"]);
    let work = "work: 1 support to loosen and tighten, 1 joint (X.b.J1) to inspect again, 5 stations to read again\n";
    assert!(ran.out.contains(work), "{ran:?}");
    // U is 11.55 µm as worked by hand in the tests of plans; 0.05 leaves 0.03 of 0.05.
    assert!(
        ran.out.contains("chance that the verification conforms: ") && ran.out.contains("normal model, U = "),
        "{ran:?}"
    );
}

#[test]
fn leaves_in_the_machine_are_not_in_stock() {
    let lying = "shim X.b date=\"2021-04-10\" by=fitter-2 { at S2 0.05 }";
    let survey = "at S1 0; at S2 -0.01; at S3 -0.09; at S4 0";
    let (said, code) = shims("leaf 0.02; leaf 0.05 count=1", lying, survey);
    assert!(said.contains("at S3 0.02 0.02\n") && !said.contains("at S2") && code == 0, "{said}");
    // Where the support itself is shimmed anew, its leaves come back: 0.05 and 0.05 more make 0.1.
    let survey = "at S1 0; at S2 -0.1; at S3 0; at S4 0";
    let (said, code) = shims("leaf 0.05 count=2", lying, survey);
    assert!(said.contains("at S2 0.05 0.05\n") && code == 0, "{said}");
    let (said, _) = shims("leaf 0.05 count=1; leaf 0.1", lying, survey);
    assert!(said.contains("at S2 0.1\n"), "a thicker leaf for the one that lies there: {said}");
    // A shim too many is taken out rather than given to all the others.
    let (said, code) = shims("leaf 0.05", lying, "at S1 -0.06; at S2 0; at S3 -0.06; at S4 -0.06");
    assert!(said.contains("at S2 0\n") && said.contains("1 support shimmed") && code == 0, "{said}");
    // The only leaf that would serve lies under another support, which can do without it.
    let stock = "leaf 0.05 count=1; leaf 0.06 count=0";
    let (said, code) = shims(stock, lying, "at S1 0; at S2 0; at S3 -0.09; at S4 0");
    assert!(said.contains("at S2 0\n") && said.contains("at S3 0.05\n") && code == 0, "{said}");
    let (said, code) = shims(stock, lying, "at S1 0; at S2 -0.01; at S3 -0.09; at S4 0");
    assert!(said.contains("order 1 of 0.05 mm") && code == 2, "{said}");
}

#[test]
fn rails_share_the_leaves() {
    let yard = Yard::empty();
    yard.write("shop.kdl", SHOP.replace("leaf 0.02; leaf 0.05", "leaf 0.02; leaf 0.05 count=1")).write(
        "m/machine.kdl",
        "machine m { axis X { rail a
             rail b follows=a shims=widen { supports S first=100 pitch=240 count=2 }
             rail c follows=a shims=widen { supports S first=100 pitch=240 count=2 } } }
         survey gap X.b date=\"2021-04-16\" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.09 }
         survey gap X.c date=\"2021-04-16\" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.09 }\n",
    );
    let ran = yard.wayledger(&["shims", "X", "--ledger", "m", "--today", "2021-04-17", "--write", "--by", "fitter-2"]);
    assert_eq!(ran.code, 0, "{ran:?}");
    let text = yard.read("m/2021-04-17-fitter-2.kdl");
    assert_eq!((text.matches("0.05").count(), text.matches("0.02 0.02").count()), (1, 1), "{text}");
    let lint = yard.wayledger(&["lint", "m", "--today", "2021-04-17"]);
    assert!(!lint.out.contains("shim-stock"), "{}", lint.out);
}

/// Leaves that another machine of the shop has are there no more, whichever folder comes first.
#[test]
fn leaves_in_other_machines_are_not_planned_with() {
    let machine = |name: &str, rest: &str| {
        format!(
            "machine {name} {{ axis X {{ rail a; rail b follows=a shims=widen {{ supports S first=100 pitch=240 count=4 }} }} }}
{rest}\n"
        )
    };
    let survey = "survey gap X.b date=\"2021-04-16\" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.08; at S3 0 }";
    let yard = Yard::empty();
    yard.write("shop.kdl", "shop { shim-stock { leaf 0.05 count=1 } }\n").write("m/machine.kdl", machine("m", survey));
    let plan = || yard.wayledger(&["shims", "X", "--ledger", "m", "--today", "2021-04-17"]);
    let alone = plan();
    assert!(alone.out.contains("at S2 0.05\n"), "{alone:?}");
    for other in ["a", "z"] {
        let lies = "shim X.b date=\"2021-04-10\" by=fitter-2 { at S1 0.05 }";
        yard.write(&format!("{other}/machine.kdl"), machine(other, lies));
        let beside = plan();
        assert!(!beside.out.contains("at S2 0.05") && beside.code != 0, "{beside:?}");
        std::fs::remove_dir_all(yard.root.join(other)).expect("it was there");
    }
    assert_eq!(plan().out, alone.out);
    // A copy of the folder has the same leaves; what a third machine has counts all the same.
    yard.write("copy/machine.kdl", yard.read("m/machine.kdl"));
    assert_eq!(plan().code, 0, "the copy has none: {:?}", plan());
    yard.write("a/machine.kdl", machine("a", "shim X.b date=\"2021-04-10\" by=fitter-2 { at S1 0.05 }"));
    assert!(!plan().out.contains("at S2 0.05") && plan().code != 0, "{:?}", plan());
}

/// A leaf that was to be had on the day on which it was put in is no fault, though that is written later.
#[test]
fn shims_put_in_while_the_leaf_was_there_are_kept_later_too() {
    let yard = Yard::empty();
    yard.write(
        "machine.kdl",
        "shop { shim-stock { leaf 0.05 until=\"2021-04-18\" } }
machine m {
    axis X {
        rail a { segment 600; supports S first=100 pitch=200 count=3 }
        rail b follows=a shims=widen { segment 600; supports S first=100 pitch=200 count=3 }
    }
}
survey gap X.b date=\"2021-04-15\" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.07; at S3 0; closure S1 0 }
",
    );
    let later = ["shims", "X", "--by", "fitter-2", "--write", "--date", "2021-04-17T10:00", "--today", "2021-04-20"];
    let ran = yard.wayledger(&later);
    assert_eq!(ran.code, 0, "{ran:?}");
    assert!(ran.out.contains("0.05") && !ran.out.contains("The lint would find fault"), "{ran:?}");
}

/// Leaves that were too many before are no fault of a plan that takes none of them; the lint goes on telling of them.
#[test]
fn a_fault_that_was_there_before_does_not_count_against_a_plan() {
    let lying = "shim X.b date=\"2021-04-10\" by=fitter-2 { at S1 0.05; at S4 0.05 0.07 }";
    let survey = "at S1 0; at S2 0; at S3 -0.06; at S4 0";
    let (said, code) = shims("leaf 0.02; leaf 0.05 count=1", lying, survey);
    assert!(said.contains("at S3 0.02\n") && !said.contains("The lint would find fault"), "{said}");
    assert_eq!(code, 0, "{said}");
}

/// So many supports and kinds of scarce leaves that no machine ends the search.
fn endless() -> (String, String) {
    let mut seed: u64 = 7;
    let mut dice = |sides: u64| {
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        seed % sides
    };
    let readings: String = (2..=120).map(|at| format!("at S{at} -0.{:03}; ", dice(150))).collect::<Vec<_>>().concat();
    let leaves = ["0.007", "0.011", "0.013", "0.017", "0.019", "0.023", "0.037"]
        .map(|leaf| format!("leaf {leaf} count=60; "))
        .concat();
    let shop = format!(
        "shop \"Slip 2\" {{ rulebook {{ gap-range most=0.02 reason=\"as agreed\" }}; shim-stock {{ {leaves} }} }}\n"
    );
    let machine = format!(
        "machine m {{ axis X {{ rail a; rail b follows=a shims=widen {{ supports S first=100 pitch=240 count=120 }} }} }}
survey gap X.b date=\"2021-04-16\" by=inspector-1 stage=as-fitted {{ at S1 0; {readings} }}\n"
    );
    (shop, machine)
}

/// On a terminal a long search shows the best plan so far and its bound. Ctrl-C ends it: what was found is told with
/// what is proven of it, and nothing is written.
#[cfg(target_os = "linux")]
#[test]
fn a_search_for_shims_shows_where_it_stands_and_can_be_ended() {
    use crate::common::terminal::{CTRL_C, Terminal};
    let (shop, machine) = endless();
    let yard = Yard::empty();
    yard.write("shop.kdl", shop).write("m/machine.kdl", &machine);
    let words = [
        "shims",
        "X",
        "--ledger",
        "m",
        "--today",
        "2021-04-17",
        "--steps",
        "1000000000000",
        "--write",
        "--by",
        "fitter-2",
        "--date",
        "2021-04-17T10:00",
    ];
    let mut terminal = Terminal::start(&yard.root, &words);
    terminal.wait_for(" of 1000000000000 steps; ").wait_for(" or more").wait_for("; Ctrl-C ends it").key(CTRL_C);
    let (code, shown) = terminal.end();
    assert_eq!(code, Some(2), "{shown}");
    let told = shown.contains("The search was ended before it was through. Nothing was written.");
    let nothing = shown.contains("the search was ended before a plan was found");
    assert!(told != nothing, "{shown}");
    if told {
        assert!(shown.contains("; a better plan may exist") && shown.contains(": the search was ended"), "{shown}");
    }
    assert_eq!(yard.read("m/machine.kdl"), machine);
    assert!(!yard.root.join("m/2021-04-17-fitter-2.kdl").exists(), "nothing is written");
}
