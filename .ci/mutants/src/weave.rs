//! Weaves many mutants into one text. Each is asleep until its number is named at run time, so one build serves them all.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use proc_macro2::{LineColumn, Span};
use syn::spanned::Spanned;
use syn::visit::{self, Visit};

use crate::list::Mutant;

/// Where the switch stands in the woven crate.
const ON: &str = "crate::woven_mutants::on";

/// One place of the text with the mutants that change it.
struct Edit {
    range: Range<usize>,
    numbers: Vec<u32>,
    kind: Kind,
}

enum Kind {
    /// A statement that leaves the function early with a value.
    Leave,
    /// `left op right`, each side evaluated once; the operators by mutant.
    Arithmetic { left: Range<usize>, op: Range<usize>, right: Range<usize>, with: Vec<String> },
    /// The same with both sides only looked at.
    Comparison { left: Range<usize>, op: Range<usize>, right: Range<usize>, with: Vec<String> },
    /// `&&` or `||`, which may not evaluate the right side.
    Logic { left: Range<usize>, right: Range<usize>, and: bool },
    /// `left op= right`.
    Assignment { left: Range<usize>, op: Range<usize>, right: Range<usize>, with: Vec<String> },
    /// `-value` or `!value`.
    Sign { op: Range<usize>, value: Range<usize> },
    /// An arm without its guard, or its guard alone.
    Arm { guard: Option<Range<usize>>, deleted: Option<u32>, always: Option<u32>, never: Option<u32>, chained: bool },
    /// A field of a structure whose rest comes from another value.
    Field { name: String, value: Option<Range<usize>>, rest: Range<usize> },
    /// `const` of a function that has switches inside.
    Const,
}

/// A woven text, and what it was made of.
pub struct Woven {
    pub text: String,
    /// The parts of the text made by mutants, each with their numbers.
    pub made: Vec<(Range<usize>, Vec<u32>)>,
    /// Mutants for which no place was found, such as those inside constants.
    pub left_out: Vec<u32>,
}

/// Weaves the mutants of one file into it. `constant` names functions that have to stay `const`.
pub fn weave(text: &str, mutants: &[&Mutant], constant: &BTreeSet<String>) -> Woven {
    let lines = Lines::new(text);
    let file = syn::parse_file(text).expect("the file is Rust");
    let mut wanted: BTreeMap<(String, usize), Vec<&Mutant>> = BTreeMap::new();
    for mutant in mutants {
        wanted.entry((mutant.genre.clone(), lines.offset(mutant.start()))).or_default().push(mutant);
    }
    let mut search = Search { lines: &lines, wanted, edits: Vec::new(), fixed: 0, closed: Vec::new(), constant };
    search.visit_file(&file);
    let mut left_out: Vec<u32> = search.wanted.values().flatten().map(|mutant| mutant.number).collect();
    left_out.extend(&search.closed);
    left_out.sort_unstable();
    let mut edits = search.edits;
    edits.sort_by_key(|edit| (edit.range.start, std::cmp::Reverse(edit.range.end)));
    // What stands at one place without taking any of it comes before all that begins there.
    edits.sort_by_key(|edit| (edit.range.start, !edit.range.is_empty()));
    let mut out = Out { source: text, edits: &edits, values: values(mutants), text: String::new(), made: Vec::new() };
    out.copy(0..text.len(), 0);
    Woven { text: out.text, made: out.made, left_out }
}

fn values(mutants: &[&Mutant]) -> BTreeMap<u32, String> {
    mutants.iter().map(|mutant| (mutant.number, mutant.replacement.clone())).collect()
}

/// Offsets of lines and columns; columns count characters.
struct Lines<'a> {
    text: &'a str,
    starts: Vec<usize>,
}

impl<'a> Lines<'a> {
    fn new(text: &'a str) -> Self {
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Self { text, starts }
    }

    fn offset(&self, at: LineColumn) -> usize {
        let start = self.starts[at.line - 1];
        start + self.text[start..].chars().take(at.column).map(char::len_utf8).sum::<usize>()
    }

    fn range(&self, span: Span) -> Range<usize> {
        self.offset(span.start())..self.offset(span.end())
    }
}

struct Search<'a, 'm> {
    lines: &'a Lines<'a>,
    wanted: BTreeMap<(String, usize), Vec<&'m Mutant>>,
    edits: Vec<Edit>,
    /// How many constants, array lengths and constant functions are around.
    fixed: usize,
    /// Arms of a `match` that names every case.
    closed: Vec<u32>,
    constant: &'a BTreeSet<String>,
}

impl<'m> Search<'_, 'm> {
    fn take(&mut self, genre: &str, at: usize) -> Vec<&'m Mutant> {
        if self.fixed > 0 {
            return Vec::new();
        }
        self.wanted.remove(&(genre.to_string(), at)).unwrap_or_default()
    }

    fn add(&mut self, range: Range<usize>, mutants: &[&Mutant], kind: Kind) {
        self.edits.push(Edit { range, numbers: mutants.iter().map(|mutant| mutant.number).collect(), kind });
    }

    fn function(&mut self, signature: &syn::Signature, block: &syn::Block, inside: impl FnOnce(&mut Self)) {
        let stays = signature.constness.is_some() && self.constant.contains(&signature.ident.to_string());
        self.fixed += usize::from(stays);
        if let (Some(constness), false) = (&signature.constness, stays) {
            let range = self.lines.range(constness.span());
            self.add(range, &[], Kind::Const);
        }
        if let Some(first) = block.stmts.first() {
            let at = self.lines.offset(first.span().start());
            let leaving = self.take("FnValue", at);
            if !leaving.is_empty() {
                self.add(at..at, &leaving, Kind::Leave);
            }
        }
        inside(self);
        self.fixed -= usize::from(stays);
    }

    fn fixed(&mut self, inside: impl FnOnce(&mut Self)) {
        self.fixed += 1;
        inside(self);
        self.fixed -= 1;
    }
}

fn holds_let(expr: &syn::Expr) -> bool {
    match expr {
        syn::Expr::Let(_) => true,
        syn::Expr::Binary(binary) if matches!(binary.op, syn::BinOp::And(_)) => {
            holds_let(&binary.left) || holds_let(&binary.right)
        }
        _ => false,
    }
}

impl<'ast> Visit<'ast> for Search<'_, '_> {
    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        self.function(&item.sig, &item.block, |search| visit::visit_block(search, &item.block));
    }

    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        self.function(&item.sig, &item.block, |search| visit::visit_block(search, &item.block));
    }

    fn visit_trait_item_fn(&mut self, item: &'ast syn::TraitItemFn) {
        if let Some(block) = &item.default {
            self.function(&item.sig, block, |search| visit::visit_block(search, block));
        }
    }

    fn visit_item_const(&mut self, item: &'ast syn::ItemConst) {
        self.fixed(|search| visit::visit_item_const(search, item));
    }

    fn visit_impl_item_const(&mut self, item: &'ast syn::ImplItemConst) {
        self.fixed(|search| visit::visit_impl_item_const(search, item));
    }

    fn visit_item_static(&mut self, item: &'ast syn::ItemStatic) {
        self.fixed(|search| visit::visit_item_static(search, item));
    }

    fn visit_type(&mut self, item: &'ast syn::Type) {
        self.fixed(|search| visit::visit_type(search, item));
    }

    fn visit_pat(&mut self, item: &'ast syn::Pat) {
        self.fixed(|search| visit::visit_pat(search, item));
    }

    fn visit_expr_repeat(&mut self, item: &'ast syn::ExprRepeat) {
        self.visit_expr(&item.expr);
        self.fixed(|search| search.visit_expr(&item.len));
    }

    fn visit_expr_binary(&mut self, binary: &'ast syn::ExprBinary) {
        use syn::BinOp::*;
        let op = self.lines.range(binary.op.span());
        let (left, right) = (self.lines.range(binary.left.span()), self.lines.range(binary.right.span()));
        let chained = holds_let(&binary.left) || holds_let(&binary.right);
        let mutants = if chained { Vec::new() } else { self.take("BinaryOperator", op.start) };
        if !mutants.is_empty() {
            let with: Vec<String> = mutants.iter().map(|mutant| mutant.replacement.clone()).collect();
            let kind = match binary.op {
                And(_) | Or(_) => Kind::Logic { left: left.clone(), right, and: matches!(binary.op, And(_)) },
                Eq(_) | Ne(_) | Lt(_) | Le(_) | Gt(_) | Ge(_) => {
                    Kind::Comparison { left: left.clone(), op, right, with }
                }
                Add(_) | Sub(_) | Mul(_) | Div(_) | Rem(_) | BitAnd(_) | BitOr(_) | BitXor(_) | Shl(_) | Shr(_) => {
                    Kind::Arithmetic { left: left.clone(), op, right, with }
                }
                _ => Kind::Assignment { left: left.clone(), op, right, with },
            };
            let range = left.start..self.lines.offset(binary.right.span().end());
            self.add(range, &mutants, kind);
        }
        visit::visit_expr_binary(self, binary);
    }

    fn visit_expr_unary(&mut self, unary: &'ast syn::ExprUnary) {
        let op = self.lines.range(unary.op.span());
        let mutants = self.take("UnaryOperator", op.start);
        if !mutants.is_empty() {
            let value = self.lines.range(unary.expr.span());
            self.add(op.start..value.end, &mutants, Kind::Sign { op, value });
        }
        visit::visit_expr_unary(self, unary);
    }

    fn visit_expr_match(&mut self, matching: &'ast syn::ExprMatch) {
        // A guard makes the other arms answer for all values: only one that takes anything can.
        let open = matching.arms.iter().any(|arm| {
            let takes_all = match &arm.pat {
                syn::Pat::Wild(_) => true,
                // `None` reads like a name too.
                syn::Pat::Ident(name) => {
                    name.subpat.is_none() && name.ident.to_string().starts_with(char::is_lowercase)
                }
                _ => false,
            };
            arm.guard.is_none() && takes_all
        });
        if !open {
            for arm in &matching.arms {
                let at = self.lines.offset(arm.span().start());
                for mutant in self.take("MatchArm", at) {
                    self.closed.push(mutant.number);
                }
            }
        }
        visit::visit_expr_match(self, matching);
    }

    fn visit_arm(&mut self, arm: &'ast syn::Arm) {
        let pattern = self.lines.range(arm.pat.span());
        let guard = arm.guard.as_ref().map(|(_, guard)| self.lines.range(guard.span()));
        let deleted = self.take("MatchArm", self.lines.offset(arm.span().start()));
        let chained = arm.guard.as_ref().is_some_and(|(_, guard)| holds_let(guard));
        let guards = match &guard {
            Some(guard) if !chained => self.take("MatchArmGuard", guard.start),
            _ => Vec::new(),
        };
        if !deleted.is_empty() || !guards.is_empty() {
            let find =
                |value: &str| guards.iter().find(|mutant| mutant.replacement == value).map(|mutant| mutant.number);
            let (always, never) = (find("true"), find("false"));
            let range = guard.clone().unwrap_or(pattern.end..pattern.end);
            let deleted_number = deleted.first().map(|mutant| mutant.number);
            let all: Vec<&Mutant> = deleted.iter().chain(&guards).copied().collect();
            self.add(range, &all, Kind::Arm { guard, deleted: deleted_number, always, never, chained });
        }
        visit::visit_arm(self, arm);
    }

    fn visit_expr_struct(&mut self, structure: &'ast syn::ExprStruct) {
        if let Some(rest) = &structure.rest {
            let rest = self.lines.range(rest.span());
            for field in &structure.fields {
                let range = self.lines.range(field.span());
                let mutants = self.take("StructField", range.start);
                if let (false, syn::Member::Named(name)) = (mutants.is_empty(), &field.member) {
                    let value = field.colon_token.map(|_| self.lines.range(field.expr.span()));
                    self.add(range, &mutants, Kind::Field { name: name.to_string(), value, rest: rest.clone() });
                }
            }
        }
        visit::visit_expr_struct(self, structure);
    }
}

struct Out<'a> {
    source: &'a str,
    edits: &'a [Edit],
    values: BTreeMap<u32, String>,
    text: String,
    made: Vec<(Range<usize>, Vec<u32>)>,
}

impl Out<'_> {
    /// Writes a part of the source with all edits inside it, from the edit of that index on.
    fn copy(&mut self, range: Range<usize>, from: usize) {
        let mut at = range.start;
        for index in from..self.edits.len() {
            let edit = &self.edits[index];
            if edit.range.start < at || (edit.range.is_empty() && edit.range.start >= range.end) {
                continue;
            }
            if edit.range.start >= range.end {
                break;
            }
            if edit.range.end > range.end {
                continue;
            }
            self.plain(at..edit.range.start);
            let start = self.text.len();
            self.edit(index);
            self.made.push((start..self.text.len(), edit.numbers.clone()));
            at = edit.range.end;
        }
        self.plain(at..range.end);
    }

    fn plain(&mut self, range: Range<usize>) {
        self.text.push_str(&self.source[range]);
    }

    fn push(&mut self, text: &str) {
        self.text.push_str(text);
    }

    fn choices(&mut self, numbers: &[u32], mut each: impl FnMut(&mut Self, Option<usize>)) {
        for (which, number) in numbers.iter().enumerate() {
            let start = self.text.len();
            self.push(&format!("if {ON}({number}) {{ "));
            each(self, Some(which));
            self.push(" } else ");
            self.made.push((start..self.text.len(), vec![*number]));
        }
        self.push("{ ");
        each(self, None);
        self.push(" }");
    }

    fn edit(&mut self, index: usize) {
        let Edit { numbers, kind, .. } = &self.edits[index];
        let inner = index + 1;
        match kind {
            Kind::Leave => {
                for number in numbers {
                    let start = self.text.len();
                    let value = self.values[number].clone();
                    self.push(&format!("if {ON}({number}) {{ return {value}; }}\n"));
                    self.made.push((start..self.text.len(), vec![*number]));
                }
            }
            Kind::Arithmetic { left, op, right, with } | Kind::Comparison { left, op, right, with } => {
                let look = if matches!(kind, Kind::Comparison { .. }) { "&" } else { "" };
                self.push(&format!("(match ({look}("));
                self.copy(left.clone(), inner);
                self.push(&format!("), {look}("));
                self.copy(right.clone(), inner);
                self.push(")) { (woven_left, woven_right) => ");
                self.choices(numbers, |out, which| {
                    out.push("woven_left ");
                    match which {
                        Some(which) => out.push(&with[which]),
                        None => out.plain(op.clone()),
                    }
                    out.push(" woven_right");
                });
                self.push(" })");
            }
            Kind::Logic { left, right, and } => {
                let on = format!("{ON}({})", numbers[0]);
                self.push("(if (");
                self.copy(left.clone(), inner);
                self.push(&format!(") != {on} {{ "));
                if *and {
                    self.copy(right.clone(), inner);
                    self.push(&format!(" }} else {{ {on} }})"));
                } else {
                    self.push(&format!("!{on} }} else {{ "));
                    self.copy(right.clone(), inner);
                    self.push(" })");
                }
            }
            Kind::Assignment { left, op, right, with } => {
                self.push("match (");
                self.copy(right.clone(), inner);
                self.push(") { woven_right => ");
                self.choices(numbers, |out, which| {
                    out.copy(left.clone(), inner);
                    out.push(" ");
                    match which {
                        Some(which) => out.push(&with[which]),
                        None => out.plain(op.clone()),
                    }
                    out.push(" woven_right;");
                });
                self.push(" }");
            }
            Kind::Sign { op, value } => {
                self.push("(match (");
                self.copy(value.clone(), inner);
                self.push(") { woven => ");
                self.choices(numbers, |out, which| {
                    if which.is_none() {
                        out.plain(op.clone());
                    }
                    out.push("woven");
                });
                self.push(" })");
            }
            Kind::Arm { guard, deleted, always, never, chained } => {
                if guard.is_none() {
                    self.push(" if ");
                }
                if let Some(deleted) = deleted {
                    self.push(&format!("!{ON}({deleted})"));
                }
                if let Some(guard) = guard {
                    if deleted.is_some() {
                        self.push(" && ");
                    }
                    if *chained {
                        self.copy(guard.clone(), inner);
                    } else {
                        let asked = |number: &Option<u32>| number.map_or("false".into(), |n| format!("{ON}({n})"));
                        self.push(&format!("({} || !{} && (", asked(always), asked(never)));
                        self.copy(guard.clone(), inner);
                        self.push("))");
                    }
                }
            }
            Kind::Field { name, value, rest } => {
                self.push(&format!("{name}: if {ON}({}) {{ (", numbers[0]));
                self.plain(rest.clone());
                self.push(&format!(").{name} }} else {{ "));
                match value {
                    Some(value) => self.copy(value.clone(), inner),
                    None => self.push(name),
                }
                self.push(" }");
            }
            Kind::Const => {}
        }
    }
}
