//! The repeats of a ledger that say how far the readings of a gauge scatter.

use super::instrument::Instrument;
use super::load::Ledger;
use super::record::Record;
use super::repeats::{RepeatedQuantity, Repeats, gathered};
use super::seal::limits_applying;
use super::spanned::Name;

impl Ledger {
    /// The repeats of a gauge and quantity; nothing where it read nothing twice while it was in calibration.
    pub(crate) fn repeats(&self, gauge: &Name, quantity: RepeatedQuantity) -> Option<Repeats> {
        let records = || self.timeline.order.iter().map(|index| &self.records[*index]);
        let all = self.repeats.get_or_init(|| gathered(records(), |record| self.instrument_held(record)));
        if all.is_empty() { None } else { all.get(&(gauge.clone(), quantity)).copied() }
    }

    /// Whether the instrument of a record was in calibration on its day.
    fn instrument_held(&self, record: &Record) -> bool {
        let book = record.target.map_or(&self.rulebook, |target| limits_applying(self, target.axis()));
        let instrument = Instrument::for_record(self, record);
        instrument.zip(record.date).is_some_and(|((it, _), day)| it.held_on(day.value.date, book))
    }
}
