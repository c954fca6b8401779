//! The torque each bolt holds now, and the preload it makes.

use super::gather::{ReportBuilder, signed, text};
use super::model::{BoltTorque, Signed, SupportTorque, TorquesReport};
use super::state::State;
use crate::calc::bolts::{Friction, SeatedBolt};
use crate::facts::bolt;
use crate::facts::torque_window::window;
use crate::facts::torque_window::{INTERFACES, fastener};
use crate::ledger::{Body, HeldTorque, Interface, Keyword, RailId, Stage};
use crate::quantity::Torque;

impl ReportBuilder<'_> {
    /// The torques of both interfaces of a rail; the base where something is known of it.
    pub(super) fn torques(&self, id: RailId) -> Vec<TorquesReport> {
        let rail = self.case.ledger.machine.rail(id);
        let history = self.case.history(id);
        let base = rail.base_bolt.is_some()
            || rail.supports.iter().any(|support| support.base_bolts.is_some())
            || history.supports.all().iter().any(|event| event.interface == Some(Interface::Base));
        let shown = |interface: &Interface| *interface == Interface::Rail || base;
        INTERFACES.into_iter().filter(shown).map(|interface| self.interface(id, interface)).collect()
    }

    fn interface(&self, id: RailId, interface: Interface) -> TorquesReport {
        let rail = self.case.ledger.machine.rail(id);
        let window = window(self.case.ledger, self.case.limits(id.axis), id, interface, Stage::Full);
        let fastener = fastener(self.case.ledger, id, interface);
        let worked = match fastener {
            None => Err("no fastener is named for these bolts".to_string()),
            Some(fastener) => match bolt::bolt(fastener) {
                Ok(Some(bolt)) => Ok(bolt),
                Ok(None) => Err("thread, class, head and friction of the fastener are not all stated".into()),
                Err(lacking) => Err(lacking.what),
            },
        };
        let limits = window.as_ref().map(|(least, most, _)| (*least, *most));
        let row = |support: usize| self.support(id, support, interface, limits, worked.as_ref().ok());
        TorquesReport {
            interface: interface.word(),
            fastener: fastener.map(|fastener| fastener.name.to_string()),
            least: limits.map(|(least, _)| least),
            most: limits.map(|(_, most)| most),
            window_source: window.map(|(_, _, limit)| limit.words().source),
            proof_load: worked.as_ref().ok().map(|(bolt, _)| bolt.proof_load_n().floor() as i64),
            supports: (0..rail.supports.len()).map(row).collect(),
            without_preload: worked.err(),
        }
    }

    fn support(
        &self,
        id: RailId,
        support: usize,
        interface: Interface,
        window: Option<(Torque, Torque)>,
        known: Option<&(SeatedBolt, Friction)>,
    ) -> SupportTorque {
        let ledger = self.case.ledger;
        let rail = ledger.machine.rail(id);
        let held = self.case.full_torque_now(id, support, interface);
        // Without their number, nothing is known to be missing of the bolts below.
        let unknown = interface == Interface::Base
            && rail.supports[support].base_bolts.is_none()
            && held.iter().all(Option::is_none);
        let held = if unknown { Default::default() } else { held };
        let bolts: Vec<BoltTorque> = held.iter().map(|held| self.bolt(held.as_ref(), window)).collect();
        let tightened = bolt::tightened(ledger, held.iter().flatten());
        let record = tightened.record.map(|record| &ledger.records[record]);
        let wrench = record.and_then(|record| match &record.body {
            Body::Fasten(fasten) => text(&fasten.wrench),
            _ => None,
        });
        let preload = known
            .zip(tightened.between)
            .and_then(|((bolt, friction), between)| bolt::preload(bolt, *friction, between));
        let judged = self.state(&ledger.machine.support_address(id, support));
        let state = if bolts.iter().any(|bolt| bolt.off.is_some()) {
            if judged == State::Conceded { judged } else { State::Nonconforming }
        } else if bolts.iter().any(|bolt| !bolt.held) {
            State::Outstanding
        } else if window.is_none() {
            // Nothing says which torque they should have.
            State::NotJudged
        } else {
            State::Conforming
        };
        let state = state.min(State::read(ledger, &ledger.machine.support_address(id, support)));
        SupportTorque {
            support: rail.supports[support].name.to_string(),
            at: rail.supports[support].at,
            state,
            bolts,
            preload: preload.as_ref().map(|preload| preload.newtons),
            proof_share: preload.as_ref().map(|preload| preload.percent),
            signed: record.map_or(Signed { date: None, by: None }, signed),
            wrench,
        }
    }

    fn bolt(&self, held: Option<&HeldTorque>, window: Option<(Torque, Torque)>) -> BoltTorque {
        let Some(held) = held else { return BoltTorque { torque: None, clicked: false, held: false, off: None } };
        let clicked = held.torque.is_none();
        let setting = || match &self.case.ledger.records[held.record].body {
            Body::Fasten(fasten) => fasten.setting.map(|setting| setting.value),
            _ => None,
        };
        let torque = held.torque.or_else(setting);
        let off =
            torque.zip(window).and_then(
                |(torque, (least, most))| {
                    if torque < least { Some("under") } else { (torque > most).then_some("over") }
                },
            );
        BoltTorque { torque, clicked, held: true, off }
    }
}
