//! The torques that the bolts of a rail are tightened to: the window of each interface and stage, and where it comes from.
//!
//! A window that the shop states holds for the bolts it is stated for. The defaults are common practice for one bolt, and
//! hold for no other: 10 to 11 N·m are a quarter of what an M8 12.9 wants, and more than an M6 8.8 stands.

use crate::calc::bolts::Thread;
use crate::finding::Limit;
use crate::language::rulebook::{InForce, LimitName, Rulebook};
use crate::ledger::{Fastener, Interface, Ledger, RailId, Stage, ThreadedInto, TorqueWindow};
use crate::quantity::{Amount, Torque};

pub(crate) const INTERFACES: [Interface; 2] = [Interface::Rail, Interface::Base];

/// How people call the bolts of an interface.
pub(crate) fn bolts_of(interface: Interface) -> &'static str {
    match interface {
        Interface::Rail => "rail bolts",
        Interface::Base => "base bolts",
    }
}

/// The fastener that a rail names for an interface, as the shop describes it.
pub(crate) fn fastener(ledger: &Ledger, id: RailId, interface: Interface) -> Option<&Fastener> {
    let rail = ledger.machine.rail(id);
    let name = match interface {
        Interface::Rail => rail.rail_bolt.as_ref()?,
        Interface::Base => rail.base_bolt.as_ref()?,
    };
    ledger.shop.fastener(name)
}

/// A torque as people read it. A converted one has up to 18 places: what is left out is shown to be left out.
pub(crate) fn shown(torque: Torque) -> String {
    format!("{} N·m", number_shown(torque))
}

/// The same without its unit.
pub(crate) fn number_shown(torque: Torque) -> String {
    const PLACES: usize = 4;
    let number = torque.number();
    match number.split_once('.') {
        Some((whole, part)) if part.len() > PLACES && part.is_char_boundary(PLACES) => {
            format!("{whole}.{}…", &part[..PLACES])
        }
        _ => number,
    }
}

/// What a torque window comes from. It is put into words where a finding needs them.
#[derive(Clone, Copy, Debug)]
pub enum WindowSource<'l> {
    /// The fastener's own.
    Own(&'l Fastener, &'l TorqueWindow),
    Rulebook(InForce<'l>),
}

impl WindowSource<'_> {
    /// `10 to 11 N·m`.
    pub fn text(&self) -> String {
        match self {
            WindowSource::Own(_, window) => format!("{} to {}", number(window.least), shown(window.most)),
            WindowSource::Rulebook(limit) => limit.text(),
        }
    }

    /// All that a finding says of it.
    pub fn words(&self) -> Limit {
        match self {
            WindowSource::Own(fastener, window) => Limit {
                entry: None,
                text: self.text(),
                source: format!("fastener `{}`: {}", *fastener.name, window.reason),
                set_at: Some(window.place),
            },
            WindowSource::Rulebook(limit) => limit.words(),
        }
    }
}

impl From<WindowSource<'_>> for Limit {
    fn from(stated: WindowSource<'_>) -> Limit {
        stated.words()
    }
}

/// The least and the greatest torque of a window, and where it comes from.
pub(crate) type Window<'l> = (Torque, Torque, WindowSource<'l>);

/// Why bolts have no window.
#[derive(Clone, Copy, Debug)]
pub(crate) enum WindowError<'l> {
    /// Nobody can tell which one holds, since this is lacking.
    NotDescribed(&'static str),
    /// The default does not hold for this fastener, and no other is stated.
    NotStated(&'l Fastener),
}

/// The window of an interface and stage: the fastener's own, else that of the limits where they are stated, else the
/// default where it holds.
pub(crate) fn window_or_why<'l>(
    ledger: &'l Ledger,
    limits: &'l Rulebook,
    id: RailId,
    interface: Interface,
    stage: Stage,
) -> Result<Window<'l>, WindowError<'l>> {
    let of_it = fastener(ledger, id, interface);
    let own = of_it.and_then(|fastener| {
        let window = if stage == Stage::Full { &fastener.full } else { &fastener.snug };
        window.as_ref().map(|window| (fastener, window))
    });
    if let Some((fastener, window)) = own {
        return Ok((window.least, window.most, WindowSource::Own(fastener, window)));
    }
    let name = entry(stage);
    let Some((least, most, limit)) = limits.window::<Torque>(name) else {
        return Err(of_it.map_or(WindowError::NotDescribed("no torque window is stated"), WindowError::NotStated));
    };
    if !limits.is_stated(name) {
        match of_it {
            None => return Err(WindowError::NotDescribed("no fastener is described for these bolts")),
            Some(fastener) if !default_holds(fastener).map_err(WindowError::NotDescribed)? => {
                return Err(WindowError::NotStated(fastener));
            }
            Some(_) => {}
        }
    }
    Ok((least, most, WindowSource::Rulebook(limit)))
}

/// The window of an interface and stage, where there is one.
pub(crate) fn window<'l>(
    ledger: &'l Ledger,
    limits: &'l Rulebook,
    id: RailId,
    interface: Interface,
    stage: Stage,
) -> Option<Window<'l>> {
    window_or_why(ledger, limits, id, interface, stage).ok()
}

/// The limit that a stage has where its fastener has none of its own.
pub(crate) fn entry(stage: Stage) -> LimitName {
    match stage {
        Stage::Full => LimitName::FullTorque,
        Stage::Snug => LimitName::SnugTorque,
    }
}

/// The bolts that the default windows hold for.
pub(crate) const DEFAULT_FOR: &str = "M6 of class 10.9 or 12.9 into steel";

/// Whether the default windows hold for a fastener; what is lacking where nobody can tell.
fn default_holds(fastener: &Fastener) -> Result<bool, &'static str> {
    let (thread, class) = (fastener.thread.as_ref().map(|it| it.trim()), fastener.class.as_ref().map(|it| it.trim()));
    // One fact that does not fit is enough.
    let is_m6 = |thread: &str| thread == "M6" || Thread::named(thread).is_some_and(|thread| thread.name() == "M6");
    let m6 = thread.map(is_m6);
    let strong = class.map(|class| matches!(class, "10.9" | "12.9"));
    let steel = fastener.into.map(|into| *into == ThreadedInto::Steel);
    match (m6, strong, steel) {
        (Some(false), ..) | (_, Some(false), _) | (.., Some(false)) => Ok(false),
        (None, ..) => Err("the fastener's thread is not described"),
        (_, None, _) => Err("the fastener's class is not described"),
        (.., None) => Err("what the fastener is screwed into is not described"),
        (Some(true), Some(true), Some(true)) => Ok(true),
    }
}

fn number(torque: Torque) -> String {
    shown(torque).trim_end_matches(" N·m").to_string()
}
