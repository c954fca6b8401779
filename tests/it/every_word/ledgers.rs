//! The ledgers that the words are tried in, and what is looked at.

use std::collections::BTreeMap;
use std::path::Path as FilePath;
use std::sync::OnceLock;

use wayledger::files::Path;
use wayledger::format::json;
use wayledger::lint::{Case, Judged, judge_ledger, rules};
use wayledger::model::{Ledger, Target, TextFile};
use wayledger::papers::{quantities, report};

use super::changes::Word;
use crate::common::today;

/// What changed when a word was changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Effect {
    Finding,
    Number,
    Report,
}

impl Effect {
    /// What is quickest to see comes first.
    const ALL: [Effect; 3] = [Effect::Finding, Effect::Report, Effect::Number];
}

/// Some ledgers, each with its shop files.
pub(crate) struct Corpus {
    ledgers: Vec<Sound>,
}

/// A ledger as it is.
struct Sound {
    name: String,
    files: Vec<TextFile>,
    shops: Vec<TextFile>,
    looks: Looks,
}

/// What people see of a ledger. The numbers and the report are worked out when they are asked for: most words show their
/// effect in a finding.
struct Looks {
    judged: Judged,
    unsound: Vec<String>,
    findings: Vec<String>,
    numbers: OnceLock<Vec<String>>,
    report: OnceLock<String>,
}

/// So many changes of one word are tried in one ledger.
const MOST_TRIED: usize = 40;

/// And so many in all.
const MOST_TRIED_IN_ALL: usize = 80;

/// So many of a word that is written for people: all is looked at each time, and one text is as good as another.
const MOST_TRIED_FOR_PEOPLE: usize = 16;

/// And so many are made, those that are no sound text among them.
const MOST_MADE: usize = 400;

/// What is said of a text that is not sound, where nothing is said of the word itself.
const UNSOUND: [&str; 6] =
    ["unreadable", "wrong-value", "wrong-unit", "unknown-property", "unknown-node", "repeated-part"];

impl Corpus {
    pub(crate) fn whole() -> Corpus {
        let mut ledgers: Vec<Sound> = [("dock", include_str!("dock.kdl")), ("pier", include_str!("pier.kdl"))]
            .map(|(name, text)| Sound::new(name.into(), vec![("machine.kdl".into(), text.into())], &[]))
            .into();
        let top = FilePath::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers");
        let text = |path: &FilePath| std::fs::read_to_string(path).expect("readable");
        for rule in rules() {
            for page in [rule.right, rule.wrong] {
                ledgers.push(Sound::new(rule.name.as_str().into(), vec![("machine.kdl".into(), page.into())], &[]));
            }
        }
        for folder in ["faults", "boatyard"] {
            let mut names: Vec<_> =
                std::fs::read_dir(top.join(folder)).expect("there").map(|it| it.expect("it").path()).collect();
            names.sort();
            let shop = top.join(folder).join("shop.kdl");
            let shops: Vec<_> = shop.exists().then(|| text(&shop)).into_iter().collect();
            for ledger in names.iter().filter(|it| it.is_dir()) {
                let mut files: Vec<_> =
                    std::fs::read_dir(ledger).expect("there").map(|it| it.expect("it").path()).collect();
                files.sort();
                let files = files.iter().filter(|it| it.extension().is_some_and(|it| it == "kdl"));
                let files = files.map(|it| (it.file_name().expect("a name").to_string_lossy().into_owned(), text(it)));
                ledgers.push(Sound::new(
                    ledger.file_name().expect("a name").to_string_lossy().into_owned(),
                    files.collect(),
                    &shops,
                ));
            }
        }
        Corpus { ledgers }
    }

    /// What changes of a word do, each with the ledger where it was seen. Where one is enough, the first ends the search.
    pub(crate) fn effects(&self, word: &Word, one_is_enough: bool) -> (BTreeMap<Effect, String>, usize) {
        let (mut seen, mut tried, mut made) = (BTreeMap::new(), 0, 0);
        let most = if one_is_enough { MOST_TRIED_IN_ALL } else { MOST_TRIED_FOR_PEOPLE };
        let node = word.nodes.last().expect("a node").as_str();
        for ledger in &self.ledgers {
            let shops = ledger.shops.len();
            for (at, file) in ledger.shops.iter().chain(&ledger.files).enumerate() {
                if !file.source.document.text().contains(node) {
                    continue;
                }
                for text in word.changed(&file.source.document).into_iter().take(MOST_TRIED) {
                    if tried == most || made == MOST_MADE || one_is_enough && !seen.is_empty() {
                        return (seen, tried);
                    }
                    made += 1;
                    let now = TextFile::read(file.source.path.clone(), text.into_bytes());
                    let (mut files, mut shop_files) = (ledger.files.clone(), ledger.shops.clone());
                    if at < shops {
                        shop_files[at] = now;
                    } else {
                        files[at - shops] = now;
                    }
                    let looks = Looks::of(files, &shop_files);
                    // One that is no sound text says nothing of the word.
                    if looks.unsound.iter().any(|it| !ledger.looks.unsound.contains(it)) {
                        continue;
                    }
                    tried += 1;
                    let differ = Effect::ALL.into_iter().filter(|effect| ledger.looks.differ(&looks, *effect));
                    for effect in differ.take(if one_is_enough { 1 } else { Effect::ALL.len() }) {
                        seen.entry(effect).or_insert_with(|| ledger.name.clone());
                    }
                }
            }
        }
        (seen, tried)
    }
}

impl Sound {
    fn new(name: String, files: Vec<(String, String)>, shops: &[String]) -> Sound {
        let read = |name: String, text: &str| TextFile::read(Path(name), text.as_bytes().to_vec());
        let files: Vec<TextFile> = files.iter().map(|(name, text)| read(format!("m/{name}"), text)).collect();
        let shops: Vec<TextFile> = shops.iter().map(|text| read("shop.kdl".into(), text)).collect();
        let looks = Looks::of(files.clone(), &shops);
        Sound { name, files, shops, looks }
    }
}

impl Looks {
    fn of(files: Vec<TextFile>, shops: &[TextFile]) -> Looks {
        let judged = judge_ledger(Ledger::new(Path("m".into()), files, shops), today());
        let of_unsound = judged.findings.iter().filter(|it| UNSOUND.contains(&it.rule.as_str()));
        let mut unsound: Vec<String> = of_unsound.map(|it| it.message.clone()).collect();
        unsound.extend(judged.ledger.not_judged.iter().map(|why| format!("{why:?}")));
        let findings = judged.findings.iter().filter(|it| it.rule.as_str() != "release-altered").map(|it| {
            format!(
                "{:?} {} {} {} {:?} {} {}",
                it.grade,
                it.rule,
                it.address,
                it.message,
                it.found,
                it.next,
                it.conceded.is_some()
            )
        });
        let findings = findings.collect();
        Looks { unsound, findings, numbers: OnceLock::new(), report: OnceLock::new(), judged }
    }

    fn differ(&self, other: &Looks, effect: Effect) -> bool {
        match effect {
            Effect::Finding => self.findings != other.findings,
            Effect::Report => self.report() != other.report(),
            Effect::Number => self.numbers() != other.numbers(),
        }
    }

    fn report(&self) -> &str {
        self.report.get_or_init(|| json(&report(&self.judged, today())).expect("a report"))
    }

    fn numbers(&self) -> &[String] {
        self.numbers.get_or_init(|| numbers(&self.judged))
    }
}

/// What `how` tells of every address.
fn numbers(judged: &Judged) -> Vec<String> {
    let machine = &judged.ledger.machine;
    let mut targets: Vec<Target> = (0..machine.axes.len()).map(Target::Axis).collect();
    for (id, _, rail) in machine.rails() {
        targets.push(Target::Rail(id));
        targets.extend((0..rail.joints.len()).map(|joint| Target::Joint(id, joint)));
        targets.extend((0..rail.supports.len()).map(|support| Target::Support(id, support)));
    }
    let mut all = Vec::new();
    for target in targets {
        for it in quantities(&Case::of_axis(&judged.ledger, today(), target.axis()), target) {
            all.push(format!("{} {} {}", it.word, it.how.result, it.how.unit));
        }
    }
    all
}
