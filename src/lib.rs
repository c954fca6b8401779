//! wayledger reads plain-text build ledgers of butt-joined profile rails and judges them by the rules of the trade.
//!
//! This is the library's face; the program `wayledger` is [`run`]. It promises nothing before version 1.0: any name may
//! change or go.
//!
//! | module | for |
//! |---|---|
//! | [`files`] | where bytes and today's date come from, and which folders are ledgers |
//! | [`kdl`] | KDL 2 text as nodes with byte spans, recovering from mistakes; edits of text |
//! | [`schema`] | what may stand in a ledger |
//! | [`amounts`] | exact lengths, torques, temperatures, dates |
//! | [`model`] | a ledger as it is understood |
//! | [`lint`] | judging, findings, the catalogue of rules |
//! | [`planning`] | layouts of axes and shims under rails |
//! | [`papers`] | reports, travelers, comparisons, readings, how a number came about |
//! | [`format`](mod@format) | findings and papers as text |
//! | [`language_server`] | the server for editors, spoken to without pipes |
//! | [`records`] | text of new records and the one layout of ledgers |
//!
//! A ledger with one fault, from memory:
//!
//! ```
//! use wayledger::files::{Memory, Path, find_all};
//! use wayledger::lint::lint;
//!
//! let today = jiff::civil::date(2026, 11, 1);
//! let world = Memory::new(today).with("saw/machine.kdl", "machine saw { axis X { rail left { segmnt 2400 } } }");
//! let found = find_all(&world, &[Path::default()])?.found;
//! let mut told = Vec::new();
//! lint(&world, &found, today, |judged| {
//!     for finding in &judged.findings {
//!         told.push(format!("{} {}: {}", finding.grade.name(), finding.rule, finding.message));
//!     }
//! });
//! println!("{}", told.join("\n"));
//! assert_eq!(told, ["nonconformity unknown-node: `segmnt` is not known in `rail`"]);
//! # Ok::<(), wayledger::files::NoLedgerError>(())
//! ```

#![deny(missing_docs)]

/// Lets what tests and benches share name the face in unit tests too.
#[cfg(test)]
extern crate self as wayledger;

mod calc;
mod commands;
mod editor;
mod facts;
mod finding;
mod formats;
mod judging;
mod language;
mod ledger;
mod quantity;
mod rules;
#[cfg(test)]
#[allow(dead_code, reason = "the tests of the whole program use the rest")]
mod testing;
mod text;
mod views;
mod world;
mod writing;

pub use commands::run;

/// Where bytes and today's date come from, and which folders are ledgers.
///
/// A [`World`] is a work tree ([`Disk`]), the git index or a revision ([`GitWorld`]), or [`Memory`].
pub mod files {
    pub use crate::world::git::{GitError, GitWorld, Repository, Surroundings};
    pub use crate::world::ledgers::{FoundLedger, FoundLedgers, NoLedgerError, find_all, find_ledgers};
    pub use crate::world::{Day, Disk, EntryKind, Listed, MOST_BYTES, Memory, Path, ReadError, World};
}

/// KDL 2 text as nodes with byte spans, recovering from mistakes; edits of text, proven by two readers.
pub mod kdl {
    pub use crate::text::{
        ColumnUnit, Difference, Document, Edit, EditError, EntryRef, Fault, FaultKind, LineColumn, LineIndex, NodeRef,
        Nodes, ParsedText, Piece, Pieces, Proved, ReadLimits, SecondRefusal, Span, Trivia, Value, WholeText, append,
        apply, canonical, is_banned, is_unseen, prove, quote, quoted, read, read_bytes, same_meaning,
    };
}

/// What may stand in a ledger: the language as the documents in the folder `schema` define it.
pub mod schema {
    pub use crate::language::schema::reference::markdown as reference;
    pub use crate::language::schema::{
        Chapter, EntryShape, FurtherArguments, Language, NodeShape, Range, Refers, Type, language,
    };
}

/// Exact quantities of the trade: what was written is what is compared.
pub mod amounts {
    pub use crate::quantity::{
        Acceleration, Amount, AmountError, Angle, Decimal, Dimension, Force, Length, Mass, Moment, Months, PerKelvin,
        Ratio, SecondMoment, Stiffness, Stress, Temperature, TemperatureDifference, Torque, Travel, Unit,
        better_spelling, units_of,
    };
}

/// A ledger as it is understood: the machine with what is derived from it.
pub mod model {
    pub use crate::ledger::{
        Axis, Beam, Block, Carriage, CountedPart, Joint, Ledger, Machine, Name, Rail, RailId, Seam, Segment, Spanned,
        Stretch, Stroke, Support, Target, TextFile,
    };
}

/// Judging ledgers: findings as data, and the catalogue of the rules that find them.
pub mod lint {
    pub use crate::finding::names::RuleName;
    pub use crate::finding::{
        BaselineState, Conceded, Cure, Finding, Fix, Grade, Held, Label, Limit, Located, Locator, MOST_FINDINGS,
        Measure, Place, Source, SourceId, Sources, WorseDirection, sentence,
    };
    pub use crate::judging::lint::{Judged, judge_ledger, lint, lint_into};
    pub use crate::language::rulebook::{ENTRIES as LIMITS, LimitEntry, LimitType, Looser};
    pub use crate::rules::pages::{catalogue, page};
    pub use crate::rules::{Case, Rule, RuleGroup, all as rules, before_release, named as rule};
}

/// Plans: how the segments of an axis are laid out, and what shims go under a rail.
pub mod planning {
    pub use crate::facts::FactError;
    pub use crate::facts::layout_plan::{LayoutPlan, layout_plan};
    pub use crate::facts::shim_plan::{BetweenRow, ShimPlan, ShimWish, ShimWork, shim_plan, shim_plan_as};
    pub use crate::facts::shim_write::rows as shim_rows;

    /// A layout as plain numbers, in nanometres.
    pub mod layout {
        pub use crate::calc::layout::meeting::PositionRange;
        pub use crate::calc::layout::plan::{LayoutOutcome, PlannedLayout};
        pub use crate::calc::layout::solve::plan;
        pub use crate::calc::layout::task::{
            Bar, BlockSpec, CarriageSpec, CuttingSpec, LayoutTask, Owned, ProfileSpec, RailSpec, SupportSpec,
            SupportsSpec, TaskError, USUAL_BUDGET,
        };
    }

    /// Shims as plain numbers, in nanometres.
    pub mod shims {
        pub use crate::calc::exact::Ratio;
        pub use crate::calc::shims::{
            LeafKind, LeafStock, ReadBetween, ShimAim, ShimPlanError, ShimProblem, Stack, StackPlan, StockError,
            SupportNeed, plan,
        };
    }
}

/// What people look at, as plain data.
pub mod papers {
    pub use crate::calc::derivation::{Derivation, DerivationStep, Input, Origin};
    pub use crate::views::compare::{
        Compared, Comparison, FORMAT as COMPARISON_FORMAT, FactChange, FindingChanges, LedgerFate, RecordChange,
        RecordChangeKind, StateChange, ToldFinding, Topic, compare,
    };
    pub use crate::views::derived::{DerivedQuantity, quantities};
    pub use crate::views::paper::Paper;
    pub use crate::views::readings::{ExactNumber, Reading, ReadingVerdict, collect as readings};
    pub use crate::views::report::{Fleet, Report, Traced, Tracing, report, trace};
    pub use crate::views::traveler::traveler;
}

/// Findings and papers as text.
pub mod format {
    pub use crate::formats::columns::columns_page;
    pub use crate::formats::comparison::{comment as comparison_comment, paper as comparison_paper};
    pub use crate::formats::findings::{CappedKind, FindingsFormat, FindingsWriter, OutputOptions, OutputTotals};
    pub use crate::formats::findings_formats::FINDINGS_FORMATS;
    pub use crate::formats::flat::ReadingFormat;
    pub use crate::formats::fleet::paper as fleet_paper;
    pub use crate::formats::json::pretty as json;
    pub use crate::formats::paper::html::html;
    pub use crate::formats::paper::markdown::markdown;
    pub use crate::formats::paper::plain::plain;
    pub use crate::formats::report::{paper as report_paper, summary as report_summary};
    pub use crate::formats::rulebook::in_force as limits_in_force;
    pub use crate::formats::schemas::{JSON_FORMATS, JsonFormat};
    pub use crate::formats::shims::table as shim_table;
    pub use crate::formats::trace::{json as trace_json, paper as trace_paper};
    pub use crate::formats::{Counts, Root, Style, clean};
}

/// The language server, spoken to without pipes.
pub mod language_server {
    pub use crate::editor::converse;
}

/// The text of new records, and the one layout of ledgers.
pub mod records {
    pub use crate::ledger::NodeDraft;
    pub use crate::ledger::seal::{RuleTally, Sealing, release};
    pub use crate::writing::tidy::{TidyError, text as tidy};

    /// Records from an exported file.
    pub mod import {
        pub use crate::writing::import::{
            Becomes, Built, DecodeError, ImportError, ImportRow, ImportRows, Mapping, Misfit, RecordHead, build, find,
            read,
        };
    }
}
