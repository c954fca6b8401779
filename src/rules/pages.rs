//! The page of a rule and the catalogue of all rules, written from the table itself.

use std::fmt::Write as _;

use super::catalogue::all;
use super::{Rule, RuleGroup};
use crate::language::rulebook;
use crate::language::rulebook::LimitName;

/// The page `wayledger rules NAME` prints.
pub fn page(rule: &Rule) -> String {
    let mut out = String::new();
    let _ = write!(out, "{} ({})\n\n{}\n\nWhy: {}\n", rule.name, rule.grade.name(), rule.what, rule.why);
    let _ = write!(out, "\nPut right: {}.\n", rule.cure.words());
    if !rule.limits.is_empty() {
        out.push_str("\nLimits:\n");
        for name in rule.limits {
            let _ = writeln!(out, "  {name}: {}", limit(*name));
        }
    }
    let _ = write!(out, "\nSource: {}\n", rule.source);
    if !rule.before.is_empty() {
        let _ = write!(out, "\nBefore:\n\n{}\n", indent(rule.before));
    }
    let _ = write!(out, "\nWrong:\n\n{}\n\nRight:\n\n{}\n", indent(rule.wrong), indent(rule.right));
    out
}

/// All rules as Markdown: the text of `schema/rules.md`.
pub fn catalogue() -> String {
    let mut out = String::from(
        "# The rules\n\nGenerated from the rules themselves; a test fails when this page differs, and runs both \
         examples of every rule.\n\n| rule | grade | what it checks |\n|---|---|---|\n",
    );
    for rule in all() {
        let _ = writeln!(out, "| [{0}](#{0}) | {1} | {2} |", rule.name, rule.grade.name(), rule.what);
    }
    for group in RuleGroup::ALL {
        let _ = write!(out, "\n## {}\n", group.title());
        for rule in group.rules() {
            let _ = write!(out, "\n### {}\n\n_{}._ {}\n\n{}\n\n", rule.name, rule.grade.name(), rule.what, rule.why);
            for name in rule.limits {
                let _ = writeln!(out, "- Limit `{name}`: {}", limit(*name));
            }
            let _ = writeln!(out, "- Put right: {}", rule.cure.words());
            let _ = writeln!(out, "- Source: {}", rule.source);
            if !rule.before.is_empty() {
                let _ = write!(out, "\nBefore:\n\n```kdl\n{}\n```\n", rule.before.trim());
            }
            let _ = write!(
                out,
                "\nWrong:\n\n```kdl\n{}\n```\n\nRight:\n\n```kdl\n{}\n```\n",
                rule.wrong.trim(),
                rule.right.trim()
            );
        }
    }
    out.push_str("\n## The rulebook\n\nA shop or a machine changes an entry with a reason: `rulebook { joint-step most=0.015 reason=\"…\" }`.\n\n| entry | limits | default | source |\n|---|---|---|---|\n");
    for entry in rulebook::ENTRIES {
        let _ = writeln!(out, "| `{}` | {} | {} | {} |", entry.name, entry.what, default(entry), entry.source);
    }
    out
}

fn limit(name: LimitName) -> String {
    let entry = name.entry();
    format!("{}, {}; {}", entry.what, default(entry), entry.source)
}

/// The default of an entry in words.
pub(crate) fn default(entry: &rulebook::LimitEntry) -> String {
    if let rulebook::LimitType::Choice(words) = entry.holds {
        return words[0].to_string();
    }
    let unit = entry.unit();
    let text = match (entry.least, entry.most) {
        (Some(least), Some(most)) => format!("{least} to {most} {unit}"),
        (Some(least), None) => format!("at least {least} {unit}"),
        (None, Some(most)) => format!("at most {most} {unit}"),
        (None, None) => "none stated".to_string(),
    };
    text.trim_end().to_string()
}

fn indent(text: &str) -> String {
    text.trim()
        .lines()
        .map(|line| if line.is_empty() { String::new() } else { format!("    {line}") })
        .collect::<Vec<_>>()
        .join("\n")
}
