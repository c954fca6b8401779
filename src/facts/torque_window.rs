//! The torques that the bolts of a rail are tightened to: the window of each interface and stage, and where it comes from.

use crate::finding::Limit;
use crate::language::rulebook::{InForce, LimitName, Rulebook};
use crate::ledger::{Fastener, Interface, Ledger, RailId, Stage, TorqueWindow};
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
    const PLACES: usize = 4;
    let number = torque.number();
    match number.split_once('.') {
        Some((whole, part)) if part.len() > PLACES && part.is_char_boundary(PLACES) => {
            format!("{whole}.{}… N·m", &part[..PLACES])
        }
        _ => torque.to_string(),
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

/// The window of an interface and stage: the fastener's own, else that of the limits.
pub(crate) fn window<'l>(
    ledger: &'l Ledger,
    limits: &'l Rulebook,
    id: RailId,
    interface: Interface,
    stage: Stage,
) -> Option<(Torque, Torque, WindowSource<'l>)> {
    let own = fastener(ledger, id, interface).and_then(|fastener| {
        let window = if stage == Stage::Full { &fastener.full } else { &fastener.snug };
        window.as_ref().map(|window| (fastener, window))
    });
    if let Some((fastener, window)) = own {
        return Some((window.least, window.most, WindowSource::Own(fastener, window)));
    }
    let (least, most, limit) =
        limits.window::<Torque>(if stage == Stage::Full { LimitName::FullTorque } else { LimitName::SnugTorque })?;
    Some((least, most, WindowSource::Rulebook(limit)))
}

fn number(torque: Torque) -> String {
    shown(torque).trim_end_matches(" N·m").to_string()
}
