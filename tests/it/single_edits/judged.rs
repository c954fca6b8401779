//! What the lint says of some ledgers with one shop file, once one of their files is edited.

use std::path::Path as FilePath;

use wayledger::files::{FoundLedger, Memory, Path};
use wayledger::lint::{Finding, judge_ledger, lint};
use wayledger::model::{Ledger, TextFile};

use super::edits::{self, Edit};
use crate::common::machines::{Size, machine};
use crate::common::today;

/// A shop file with the machines that it applies to.
pub(crate) struct Shop {
    file: TextFile,
    machines: Vec<Vec<TextFile>>,
    /// What is said of the shop file alone, and of each machine.
    said: (Vec<String>, Vec<Vec<String>>),
}

/// One edit: of the shop file, or of a file of a machine.
pub(crate) struct Tried {
    file: Option<(usize, usize)>,
    pub edit: Edit,
}

impl Shop {
    fn new(shop: &str, machines: Vec<Vec<(String, String)>>) -> Shop {
        let read = |name: String, text: &str| TextFile::read(Path(name), text.as_bytes().to_vec());
        let file = read("shop.kdl".into(), shop);
        let of =
            |files: Vec<(String, String)>| files.iter().map(|(name, text)| read(format!("m/{name}"), text)).collect();
        let machines: Vec<Vec<TextFile>> = machines.into_iter().map(of).collect();
        let said = (of_shop(&file), machines.iter().map(|files| of_machine(files, &file)).collect());
        Shop { file, machines, said }
    }

    /// The three machines of the boatyard.
    pub(crate) fn boatyard() -> Shop {
        let yard = FilePath::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard");
        let text = |file: &str| std::fs::read_to_string(yard.join(file)).expect("the example can be read");
        let machine = |name: &str| {
            let list = std::fs::read_dir(yard.join(name)).expect("the example is there");
            let mut names: Vec<String> =
                list.map(|entry| entry.expect("an entry").file_name().into_string().expect("a plain name")).collect();
            names.sort();
            names.into_iter().map(|file| (file.clone(), text(&format!("{name}/{file}")))).collect()
        };
        Shop::new(&text("shop.kdl"), ["hull-gantry", "mast-router", "plank-planer"].map(machine).into())
    }

    /// A machine of a seed with its shop file.
    pub(crate) fn random(seed: u64, size: &Size) -> Shop {
        let written = machine(seed, size);
        Shop::new(&written.shop, vec![written.files])
    }

    /// Every edit of every file.
    pub(crate) fn edits(&self) -> Vec<Tried> {
        let of = |file, text: &TextFile| {
            edits::all(&text.source.document).into_iter().map(move |edit| Tried { file, edit }).collect::<Vec<_>>()
        };
        let mut all = of(None, &self.file);
        for (machine, files) in self.machines.iter().enumerate() {
            all.extend(files.iter().enumerate().flat_map(|(at, file)| of(Some((machine, at)), file)));
        }
        all
    }

    /// Whether the lint says the same once the edit is made.
    pub(crate) fn is_silent(&self, tried: &Tried) -> bool {
        let edited = |file: &TextFile| TextFile::read(file.source.path.clone(), tried.edit.text.clone().into_bytes());
        let (of_the_shop, of_machines) = &self.said;
        match tried.file {
            Some((machine, at)) => {
                let mut files = self.machines[machine].clone();
                files[at] = edited(&files[at]);
                of_machine(&files, &self.file) == of_machines[machine]
            }
            None => {
                let shop = edited(&self.file);
                of_shop(&shop) == *of_the_shop
                    && self.machines.iter().zip(of_machines).all(|(files, said)| of_machine(files, &shop) == *said)
            }
        }
    }

    /// The file of an edit.
    pub(crate) fn file(&self, tried: &Tried) -> &str {
        &tried.file.map_or(&self.file, |(machine, at)| &self.machines[machine][at]).source.path.0
    }
}

fn of_machine(files: &[TextFile], shop: &TextFile) -> Vec<String> {
    let ledger = Ledger::new(Path("m".into()), files.to_vec(), std::slice::from_ref(shop));
    said(&judge_ledger(ledger, today()).findings)
}

/// A shop file is judged on its own too.
fn of_shop(shop: &TextFile) -> Vec<String> {
    let path = shop.source.path.clone();
    let world = Memory::new(today()).with(&path.0, shop.source.document.text());
    let (folder, files, shops) = (Path("m".into()), Vec::new(), vec![path]);
    let found = FoundLedger { folder, files, shops, oddities: Vec::new(), misnamed: Vec::new(), beside: Vec::new() };
    let mut lines = Vec::new();
    lint(&world, &[found], today(), |judged| {
        if judged.is_shop {
            lines = said(&judged.findings);
        }
    });
    lines
}

/// What the lint says, one line a finding. Where it stands is left out, since an edit moves it.
fn said(findings: &[Finding]) -> Vec<String> {
    let line = |it: &Finding| {
        let conceded = it.conceded.is_some();
        format!("{:?} {} {} {} {:?} {} {conceded}", it.grade, it.rule, it.address, it.message, it.found, it.next)
    };
    let mut lines: Vec<String> = findings.iter().map(line).collect();
    lines.sort();
    lines
}
