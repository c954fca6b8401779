//! The typed ledger: shop, machine and records, each fact with its place, and the timeline that orders the records.

mod address;
mod damage;
mod derive;
mod describe;
mod draft;
mod faults;
mod given;
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
pub use draft::{Draft, Spelt};
pub use given::{Given, Name, Word};
pub use held::OnHold;
pub use history::{Event, Held, Undone, What};
pub use instrument::Instrument;
pub use load::{Attached, Ledger};
pub use machine::{
    Axis, Beam, Block, Carriage, Interface, Interval, Joint, LifeRequired, Load, Machine, Material, Rail, RailId, Seam,
    Segment, ShimSense, Side, Stretch, Stroke, Support, Task, TemperatureSpan, Towards,
};
pub use record::{
    Body, Concession, Fasten, FastenRow, Groove, GrooveReading, Inspect, ReceivedPart, Record, Release, RunningForce,
    SealedGroup, Service, ShimRow, Stage, StationReading, Stylus, Survey, SurveyKind, SurveyStage, Tightened, Void,
};
pub use recording::KINDS;
pub use remarks::RemarkKind;
pub use shop::{
    BlockType, Calibration, Contact, End, Fastener, Gauge, Into, Leaf, Plus, Profile, Shop, Window, Wrench, WrenchKind,
};
pub use text_file::TextFile;
pub use totals::{Counted, too_many_findings};
