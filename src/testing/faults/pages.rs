//! A ledger's files as lines that faults edit and mark.
//!
//! What a fault makes wrong it announces where the finding must point: in a comment `// finds: …` at the end of that
//! line, so that later edits above it do not matter.

use wayledger::files::{Memory, Path, find_all};
use wayledger::lint::{Finding, Grade, Locator, lint};

use super::super::today;

const MARK: &str = " // finds: ";

/// A line of a file.
pub(crate) type Spot = (usize, usize);

/// A record: its file, its first line and its last.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Record {
    pub file: usize,
    pub first: usize,
    pub last: usize,
}

impl Record {
    pub(crate) fn head(&self) -> Spot {
        (self.file, self.first)
    }
}

#[derive(Clone, Debug)]
pub(crate) struct Pages {
    /// The shop file is the first, the machine file the second.
    pub files: Vec<(String, Vec<String>)>,
}

pub(crate) const SHOP: usize = 0;
pub(crate) const MACHINE: usize = 1;

impl Pages {
    pub(crate) fn new(shop: &str, files: &[(String, String)]) -> Pages {
        let lines = |text: &str| text.lines().map(String::from).collect();
        let mut all = vec![("shop.kdl".to_string(), lines(shop))];
        all.extend(files.iter().map(|(name, text)| (format!("m/{name}"), lines(text))));
        Pages { files: all }
    }

    pub(crate) fn line(&self, (file, line): Spot) -> &str {
        &self.files[file].1[line]
    }

    pub(crate) fn set(&mut self, (file, line): Spot, text: String) {
        self.files[file].1[line] = text;
    }

    /// Replaces the first `from` of a line; says whether there was one.
    pub(crate) fn replace(&mut self, spot: Spot, from: &str, to: &str) -> bool {
        let line = self.line(spot);
        if !line.contains(from) {
            return false;
        }
        let text = line.replacen(from, to, 1);
        self.set(spot, text);
        true
    }

    pub(crate) fn insert(&mut self, (file, line): Spot, text: &str) {
        self.files[file].1.insert(line, text.to_string());
    }

    pub(crate) fn delete(&mut self, (file, line): Spot) {
        self.files[file].1.remove(line);
    }

    pub(crate) fn delete_record(&mut self, record: Record) {
        self.files[record.file].1.drain(record.first..=record.last);
    }

    /// Adds a file of records and gives its index.
    pub(crate) fn add_file(&mut self, name: &str, lines: &[String]) -> usize {
        let name = format!("m/{name}-{}.kdl", self.files.len());
        self.files.push((name, lines.to_vec()));
        self.files.len() - 1
    }

    /// Announces a finding of a rule, in the rule's own grade.
    pub(crate) fn expect(&mut self, spot: Spot, name: &str, address: &str) {
        self.expect_grade(spot, wayledger::lint::rule(name).expect("a rule of that name").grade, name, address);
    }

    pub(crate) fn expect_grade(&mut self, spot: Spot, grade: Grade, name: &str, address: &str) {
        let text = format!("{}{MARK}{} {name} {address}", self.line(spot), grade.name());
        self.set(spot, text.trim_end().to_string());
    }

    /// The records whose heads begin with some words, by date.
    pub(crate) fn records(&self, words: &str) -> Vec<Record> {
        let mut found = Vec::new();
        for (file, (_, lines)) in self.files.iter().enumerate() {
            for (first, line) in lines.iter().enumerate() {
                if line.starts_with(words) && line[words.len()..].starts_with(' ') {
                    let open = line.split("//").next().unwrap_or("").trim_end().ends_with('{');
                    let last = if open { (first..lines.len()).find(|at| lines[*at] == "}") } else { Some(first) };
                    found.extend(last.map(|last| Record { file, first, last }));
                }
            }
        }
        found.sort_by_key(|record| (self.date(*record), record.file, record.first));
        found
    }

    /// A record's date as written.
    pub(crate) fn date(&self, record: Record) -> String {
        let head = self.line(record.head());
        let after = head.split_once(" date=\"").map_or("", |(_, after)| after);
        after.split('"').next().unwrap_or("").to_string()
    }

    /// The line of a record that begins with some words.
    pub(crate) fn row(&self, record: Record, words: &str) -> Option<Spot> {
        let row = |line: &usize| {
            let text = self.files[record.file].1[*line].trim_start();
            text.strip_prefix(words).is_some_and(|rest| rest.is_empty() || rest.starts_with(' '))
        };
        (record.first + 1..record.last).find(row).map(|line| (record.file, line))
    }

    /// The lines of a record between its braces.
    pub(crate) fn rows(&self, record: Record) -> impl Iterator<Item = (Spot, &str)> {
        (record.first + 1..record.last).map(move |line| ((record.file, line), self.line((record.file, line)).trim()))
    }

    /// The first and the last line of a rail's description.
    pub(crate) fn rail(&self, name: &str) -> Record {
        let lines = &self.files[MACHINE].1;
        let start = format!("        rail {name} ");
        let first = lines.iter().position(|line| line.starts_with(&start)).expect("the rail is described");
        let last = (first..lines.len()).find(|at| lines[*at] == "        }").expect("its block is closed");
        Record { file: MACHINE, first, last }
    }

    /// The line of the machine file that begins with some words.
    pub(crate) fn described(&self, words: &str) -> Option<Spot> {
        let lines = &self.files[MACHINE].1;
        lines.iter().position(|line| line.trim_start().starts_with(words)).map(|line| (MACHINE, line))
    }

    /// The line of a rail's segment.
    pub(crate) fn segment(&self, rail: &str, index: usize) -> Spot {
        let all = self.rows(self.rail(rail)).filter(|(_, text)| text.starts_with("segment "));
        all.map(|(spot, _)| spot).nth(index).expect("the segment is described")
    }

    /// The line of a joint's support.
    pub(crate) fn joint_support(&self, rail: &str, joint: &str) -> Spot {
        self.row(self.rail(rail), &format!("joint-support {joint}")).expect("the joint support is described")
    }

    /// The files with their names and texts.
    pub(crate) fn texts(&self) -> impl Iterator<Item = (&str, String)> {
        self.files.iter().map(|(name, lines)| (name.as_str(), format!("{}\n", lines.join("\n"))))
    }

    /// What is announced, each as `file:line grade rule address`.
    pub(crate) fn announced(&self) -> Vec<String> {
        let of_file = |(name, lines): &(String, Vec<String>)| {
            let name = name.clone();
            let marks = |number: usize, line: &str| {
                let marks = line.split(MARK).skip(1).map(|mark| format!("{name}:{} {mark}", number + 1));
                marks.collect::<Vec<_>>()
            };
            lines.iter().enumerate().flat_map(|(number, line)| marks(number, line)).collect::<Vec<_>>()
        };
        self.files.iter().flat_map(of_file).collect()
    }

    /// What is announced and what is found, each as `file:line grade rule address`.
    pub(crate) fn compare(&self) -> (Vec<String>, Vec<String>) {
        let mut announced = self.announced();
        let mut world = Memory::new(today());
        for (name, text) in self.texts() {
            world = world.with(name, text);
        }
        let found = find_all(&world, &[Path("m".into())]).expect("the ledger is there").found;
        let mut findings = Vec::new();
        lint(&world, &found, today(), |judged| {
            let locator = Locator::new(&judged.ledger.sources);
            // What is declared not to apply is no fault.
            let declared = |it: &&Finding| it.grade == Grade::NotJudged && it.conceded.is_some();
            for finding in judged.findings.iter().filter(|it| !declared(it)) {
                let at = locator.locate(finding.at.place);
                let what = format!("{} {} {}", finding.grade.name(), finding.rule, finding.address);
                findings.push(format!("{}:{} {}", at.file, at.line, what.trim_end()));
            }
        });
        announced.sort();
        findings.sort();
        (announced, findings)
    }
}
