//! The typed ledger: shop, machine and records, each fact with its place, and the timeline that orders the records.

mod address;
mod built_to;
mod corrected;
mod crossed;
mod damage;
mod derive;
mod describe;
mod design;
mod doubt;
mod draft;
mod elsewhere;
mod faults;
mod former;
mod groups;
mod half_told;
mod happened;
mod held;
mod history;
mod inherit;
mod instrument;
mod instrument_said;
mod joint_end;
mod joint_stations;
mod lifetime;
mod load;
mod machine;
mod mend;
mod named;
mod not_applicable;
mod overridden;
mod person;
mod persons;
mod proposed;
mod record;
mod recording;
mod references;
mod remarks;
mod repeated;
mod repeats;
mod rows;
pub(crate) mod seal;
mod shop;
mod shop_entries;
mod spanned;
mod state;
mod stated_limits;
#[cfg(test)]
mod tests;
mod text_file;
mod timeline;
mod to_be_had;
mod totals;
mod trial;
mod unmerged;
mod unread;
mod withdraw;

pub use address::Target;
pub(crate) use built_to::BuiltTo;
pub use draft::NodeDraft;
pub(crate) use draft::SpeltValue;
pub(crate) use elsewhere::Elsewhere;
pub(crate) use held::OnHold;
pub(crate) use history::{Event, EventKind, HeldBolts, HeldTorque, Undone};
pub(crate) use instrument::{Against, Instrument};
pub(crate) use instrument_said::{InstrumentStatement, THERE};
pub(crate) use joint_end::{JointEnd, JointSide};
pub(crate) use lifetime::Absent;
pub(crate) use load::Attached;
pub use load::Ledger;
pub use machine::{Axis, Beam, Block, Carriage, Joint, Machine, Rail, RailId, Seam, Segment, Stretch, Stroke, Support};
pub(crate) use machine::{
    Interface, Interval, LifeRequired, Load, Material, OnCarriage, ShimSense, Side, Task, TemperatureSpan, Towards,
    WorkingPoint,
};
pub(crate) use not_applicable::NotApplicable;
pub(crate) use person::{Days, Permission, Person};
pub(crate) use persons::{look, person_keys, same_person};
pub(crate) use proposed::{joint_support_line, lift_line, not_applicable_line, void_line};
pub(crate) use record::{
    Body, Concession, Disposition, Fasten, FastenRow, ForceRow, FormerRow, Groove, GrooveReading, Inspect,
    InspectStage, ReceivedPart, Record, Release, RunningForce, SealedGroup, Service, Shim, ShimRow, Signature, Stage,
    StationReading, Stylus, Survey, SurveyKind, SurveyStage, TorqueReading, Void,
};
pub(crate) use recording::KINDS;
pub(crate) use remarks::RemarkKind;
pub(crate) use repeats::RepeatedQuantity;
pub(crate) use shop::{
    BlockType, Calibration, CalibrationError, Contact, EndCut, Fastener, Gauge, GaugedQuantity, Leaf, PlusDirection,
    Profile, RollingElement, Shop, StatedDoubt, ThreadedInto, TorqueWindow, Wrench, WrenchKind,
};
pub(crate) use spanned::Keyword;
pub use spanned::{Name, Spanned};
pub use text_file::TextFile;
pub use totals::CountedPart;
pub(crate) use totals::too_many_findings;
pub(crate) use trial::tried;
