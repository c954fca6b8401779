//! Text that cannot be read: what is about it is not judged, and nothing ever looks better for it.

use std::collections::BTreeMap;
use std::path::Path;

use crate::judging::lint::{Judged, judge_ledger};
use crate::ledger::{Ledger, TextFile};
use crate::views::report::{State, report};
use crate::world;

use crate::testing::machines::Dice;
use crate::testing::{judge, today};

/// How good a state is: a reader may build on the last two.
fn rank(state: State) -> u8 {
    match state {
        State::Nonconforming | State::NotJudged => 0,
        State::Outstanding => 1,
        State::Conceded => 2,
        State::Conforming => 3,
    }
}

/// The state of everything that has one, by its address.
fn states(judged: &Judged) -> BTreeMap<String, State> {
    let report = report(judged, today());
    let mut all = BTreeMap::from([(String::new(), report.state)]);
    for axis in &report.axes {
        all.insert(axis.name.clone(), axis.state);
        for rail in &axis.rails {
            all.insert(rail.address.clone(), rail.state);
            all.extend(rail.supports.iter().map(|it| (format!("{}.{}", rail.address, it.name), it.state)));
            all.extend(rail.joints.iter().map(|it| (it.address.clone(), it.state)));
            for torques in &rail.torques {
                let what = |support: &str| format!("{}.{support} {}", rail.address, torques.interface);
                all.extend(torques.supports.iter().map(|it| (what(&it.support), it.state)));
            }
        }
    }
    all
}

/// A ledger's files and its shop file, which stands last.
type Files = Vec<(String, Option<String>)>;

fn example(machine: &str) -> Files {
    let yard = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard");
    let mut names: Vec<String> = std::fs::read_dir(yard.join(machine))
        .expect("the example is there")
        .map(|entry| entry.expect("listed").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    let text = |name: &str| Some(std::fs::read_to_string(yard.join(machine).join(name)).expect("readable"));
    let mut files: Files = names.iter().map(|name| (name.clone(), text(name))).collect();
    files.push(("shop.kdl".into(), text("../shop.kdl")));
    files
}

/// Judges files, of which those without a text cannot be read. Says whether the text is sound.
fn judged(files: &Files) -> (Judged, bool) {
    let read = |(name, text): &(String, Option<String>)| {
        let path = world::Path(format!("m/{name}"));
        match text {
            Some(text) => TextFile::read(path, text.clone().into_bytes()),
            None => TextFile::unreadable(path, world::ReadError::Other("the disk is at fault".into())),
        }
    };
    let (shop, own) = files.split_last().expect("files");
    let shop = read(shop);
    let shop_sound = shop.findings(Default::default()).is_empty();
    let ledger = Ledger::new(world::Path("m".into()), own.iter().map(read).collect(), &[shop]);
    let judged = judge_ledger(ledger, today());
    let sound = judged.ledger.text_findings.is_empty() && shop_sound;
    (judged, sound)
}

/// What looks better than it did, `before → after`.
fn better(sound: &BTreeMap<String, State>, broken: &Judged) -> Vec<String> {
    let now = states(broken);
    let better = sound.iter().filter_map(|(address, was)| {
        let is = now.get(address)?;
        (rank(*is) > rank(*was)).then(|| format!("`{address}` {} → {}", was.word(), is.word()))
    });
    better.collect()
}

/// Some ways to spoil a stretch of a line.
fn spoilt(dice: &mut Dice, text: &str) -> String {
    let bytes = |at: usize| text.as_bytes()[at];
    let starts: Vec<usize> = (1..text.len()).filter(|at| text.is_char_boundary(*at)).collect();
    let at = *dice.pick(&starts);
    match dice.roll(0..=7) {
        // A letter more in a name or a number.
        0..=2 => {
            let words: Vec<usize> =
                starts.iter().copied().filter(|at| bytes(*at - 1).is_ascii_alphanumeric()).collect();
            let at = *dice.pick(&words);
            format!("{}q{}", &text[..at], &text[at..])
        }
        3 => {
            let numbers: Vec<usize> = starts.iter().copied().filter(|at| bytes(*at - 1).is_ascii_digit()).collect();
            let at = *dice.pick(&numbers);
            format!("{},5{}", &text[..at], &text[at..])
        }
        4 => format!("{}\"{}", &text[..at], &text[at..]),
        5 => format!("{}{}{}", &text[..at], dice.pick(&["{", "}", "(", ")", "=", "\\"]), &text[at..]),
        6 => format!("{}/*{}", &text[..at], &text[at..]),
        _ => {
            let line: Vec<&str> = text.lines().collect();
            let drop = dice.roll(0..=line.len() as i64 - 1) as usize;
            line.iter()
                .enumerate()
                .map(|(at, line)| if at == drop { "x y=\n".into() } else { format!("{line}\n") })
                .collect()
        }
    }
}

#[test]
fn nothing_looks_better_because_its_text_cannot_be_read() {
    let mut faults = Vec::new();
    let (mut tried, mut not_judged) = (0, 0);
    for machine in ["hull-gantry", "plank-planer", "mast-router"] {
        let files = example(machine);
        let (whole, is_sound) = judged(&files);
        assert!(is_sound, "{machine}");
        let sound = states(&whole);
        assert!(sound.values().all(|state| *state != State::NotJudged), "{machine}");
        for at in 0..files.len() {
            // The whole file.
            let mut broken = files.clone();
            broken[at].1 = None;
            let (now, _) = judged(&broken);
            faults
                .extend(better(&sound, &now).into_iter().map(|it| format!("{machine}, without {}: {it}", files[at].0)));
            // One place in it.
            let text = files[at].1.clone().expect("there");
            for seed in 0..20 {
                let mut dice = Dice::new(seed * 97 + at as u64);
                broken[at].1 = Some(spoilt(&mut dice, &text));
                let (now, is_sound) = judged(&broken);
                if is_sound {
                    continue;
                }
                tried += 1;
                not_judged += usize::from(states(&now).values().any(|state| *state == State::NotJudged));
                let better = better(&sound, &now);
                if let Some(first) = better.first() {
                    faults.push(format!(
                        "{machine}/{} seed {seed}: {first} and {} more",
                        files[at].0,
                        better.len() - 1
                    ));
                }
            }
        }
    }
    assert!(tried > 200 && not_judged > 150, "{tried} tried, {not_judged} not judged");
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults[..faults.len().min(40)].join("\n"));
}

const MACHINE: &str = r#"
machine m {
    axis X {
        rail a { segment 1200; segment 1200; support S1 at=600; joint-support J1 at=1200 length=200 }
        rail b { segment 1200; segment 1200; support S1 at=600; joint-support J1 at=1200 length=200 }
    }
    axis Y { rail c { segment 1200; segment 1200; support S1 at=600; joint-support J1 at=1200 length=200 } }
}
"#;

fn inspected(joint: &str, step: &str) -> String {
    format!(
        "inspect {joint} date=\"2026-04-15\" by=i {{ carrier reach=40 travel=15; light none; UL 0 -> {step}; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }}\n"
    )
}

fn state(files: &[(&str, &str)], address: &str) -> State {
    states(&judge(files, &[]))[address]
}

/// A slip in one row leaves the other rails judged; one that may swallow text leaves nothing judged.
#[test]
fn only_what_the_fault_can_be_about_is_not_judged() {
    let one = inspected("X.a.J1", "0,01") + &inspected("X.b.J1", "0.01") + &inspected("Y.c.J1", "0.01");
    let files = [("machine.kdl", MACHINE), ("r.kdl", one.as_str())];
    assert_eq!(state(&files, "X.a.J1"), State::NotJudged);
    assert_eq!(state(&files, "X"), State::NotJudged);
    assert_eq!(state(&files, "X.b.J1"), State::Conforming);
    assert_eq!(state(&files, "Y.c.J1"), State::Conforming);
    let two = one.replace("0,01", "0.01").replacen("LR 0 -> 0 }", "LR 0 -> 0", 1);
    let files = [("machine.kdl", MACHINE), ("r.kdl", two.as_str())];
    assert_eq!(state(&files, "Y.c.J1"), State::NotJudged);
    // An unknown name: nobody knows which joint it was.
    let three = inspected("X.a.J1", "0.01") + &inspected("X.a.J7", "0.05") + &inspected("Y.c.J1", "0.01");
    let files = [("machine.kdl", MACHINE), ("r.kdl", three.as_str())];
    assert_eq!(state(&files, "X.a.J1"), State::NotJudged);
    assert_eq!(state(&files, "Y.c.J1"), State::Conforming);
}
