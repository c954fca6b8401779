//! The torques of one fastening record.

use smallvec::SmallVec;

use crate::calc::exact::is_multiple;
use crate::ledger::{Fasten, TorqueReading};
use crate::quantity::Torque;

/// The torques of a fastening record at a glance. Where each rule looks at each torque instead, the lint takes 1.15 times
/// the instructions (benches/README.md).
pub(super) struct RecordTorques {
    pub record: usize,
    /// Those that were read, most repeats left out.
    read: SmallVec<[Torque; FEW]>,
    /// The least and the greatest: of those that were read, and the setting where something clicked at it.
    range: Option<(Torque, Torque)>,
    /// Something clicked at a setting that is not recorded.
    pub unset: bool,
}

/// Torques are read off a scale: a record rarely has more different ones.
const FEW: usize = 8;

impl RecordTorques {
    pub(crate) fn new(record: usize, fasten: &Fasten) -> RecordTorques {
        let mut torques = RecordTorques { record, read: SmallVec::new(), range: None, unset: false };
        for torque in fasten.torques.iter().flatten() {
            let last = torques.read.len().saturating_sub(FEW);
            if !torques.read[last..].contains(&torque.value) {
                torques.read.push(torque.value);
                torques.take(torque.value);
            }
        }
        if fasten.rows.iter().any(|row| row.what == TorqueReading::Clicked) {
            match fasten.setting {
                Some(setting) => torques.take(setting.value),
                None => torques.unset = true,
            }
        }
        torques
    }

    fn take(&mut self, torque: Torque) {
        let (least, most) = self.range.unwrap_or((torque, torque));
        self.range = Some((least.min(torque), most.max(torque)));
    }

    /// Whether any torque of it is known.
    pub(crate) fn known(&self) -> bool {
        self.range.is_some()
    }

    /// Whether some are known, and all of them lie beyond a limit.
    pub(crate) fn all_beyond(&self, most: Torque) -> bool {
        self.range.is_some_and(|(lowest, _)| lowest > most)
    }

    /// Whether some are known, and all of them lie short of a limit.
    pub(crate) fn all_short(&self, least: Torque) -> bool {
        self.range.is_some_and(|(_, highest)| highest < least)
    }

    /// Whether each that was read is a multiple of a graduation, which is not 0.
    pub(crate) fn on_marks(&self, graduation: Torque) -> bool {
        self.read.iter().all(|torque| is_multiple(torque.0, graduation.0))
    }

    /// Whether all of them that are known lie between two limits.
    pub(crate) fn within(&self, least: Option<Torque>, most: Option<Torque>) -> bool {
        self.range.is_none_or(|(lowest, highest)| {
            least.is_none_or(|least| least <= lowest) && most.is_none_or(|most| highest <= most)
        })
    }
}
