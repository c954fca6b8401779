//! The typed ledger: shop, machine and records, each fact with its place, and the timeline that orders the records.

mod address;
mod damage;
mod derive;
mod describe;
mod draft;
mod faults;
mod groups;
mod half_told;
mod happened;
mod held;
mod history;
mod instrument;
mod load;
mod machine;
mod mend;
mod named;
mod record;
mod recording;
mod references;
mod remarks;
mod rows;
pub mod seal;
mod shop;
mod shop_entries;
mod spanned;
mod state;
#[cfg(test)]
mod tests;
mod text_file;
mod timeline;
mod totals;
mod unmerged;
mod unread;
mod withdraw;

pub use address::Target;
pub use draft::{NodeDraft, SpeltValue};
pub use held::OnHold;
pub use history::{Event, EventKind, HeldTorque, Undone};
pub use instrument::Instrument;
pub use load::{Attached, Ledger};
pub use machine::{
    Axis, Beam, Block, Carriage, Interface, Interval, Joint, LifeRequired, Load, Machine, Material, Rail, RailId, Seam,
    Segment, ShimSense, Side, Stretch, Stroke, Support, Task, TemperatureSpan, Towards,
};
pub use record::{
    Body, Concession, Fasten, FastenRow, Groove, GrooveReading, Inspect, ReceivedPart, Record, Release, RunningForce,
    SealedGroup, Service, ShimRow, Stage, StationReading, Stylus, Survey, SurveyKind, SurveyStage, TorqueReading, Void,
};
pub use recording::KINDS;
pub use remarks::RemarkKind;
pub use shop::{
    BlockType, Calibration, Contact, EndCut, Fastener, Gauge, Leaf, PlusDirection, Profile, Shop, ThreadedInto,
    TorqueWindow, Wrench, WrenchKind,
};
pub use spanned::{Keyword, Name, Spanned};
pub use text_file::TextFile;
pub use totals::{CountedPart, too_many_findings};
