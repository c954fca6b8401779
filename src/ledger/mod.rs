//! The typed ledger: shop, machine and records, each fact with its place, and the timeline that orders the records.

mod address;
mod damage;
mod derive;
mod describe;
mod given;
mod groups;
mod half_told;
mod held;
mod history;
mod load;
mod machine;
mod mend;
mod named;
mod record;
mod recording;
mod references;
mod rows;
pub mod seal;
mod shop;
mod shop_entries;
mod state;
mod timeline;
mod totals;
mod unmerged;
mod unread;
mod withdraw;

pub use address::Target;
pub use given::{Given, Name, Word};
pub use groups::Groups;
pub use half_told::Lost;
pub use held::OnHold;
pub use history::{Event, Held, RailHistory, Undone, What};
pub use load::{Attached, Ledger, TextFile};
pub use machine::{
    Axis, Beam, Block, Bolt, Carriage, Interval, Joint, LifeRequired, Load, Machine, Material, Rail, RailAt, RailId,
    Seam, Segment, ShimSense, Side, Stretch, Stroke, Support, Task, TemperatureSpan, Towards,
};
pub use record::{
    Attach, Body, Concession, Disposition, Fasten, FastenRow, Groove, GrooveReading, Hold, Inspect, Interface, Lift,
    Loosen, Receive, ReceivedPart, Record, Release, RunForce, SealedGroup, Service, Shim, ShimRow, Stage,
    StationReading, Stylus, Survey, SurveyKind, SurveyStage, Tightened, Void,
};
pub use recording::KINDS;
pub use shop::{
    BlockType, Calibration, Contact, End, Fastener, Gauge, Into, Leaf, Plus, Profile, ShimStock, Shop, Window, Wrench,
    WrenchKind,
};
pub use timeline::Timeline;
pub use totals::{Counted, TOO_MUCH, too_many_findings};
pub use unmerged::Unmerged;
