//! A conforming ledger that faults are made in, each where no other one is.

use std::collections::BTreeSet;

use wayledger::files::Path;
use wayledger::model::{Ledger, RailId, TextFile};

use super::super::machines::Dice;
use super::pages::Pages;

/// One way to break a ledger.
pub(crate) struct Fault {
    pub name: &'static str,
    /// The rules that it breaks, for the count of what is covered.
    pub finds: &'static [&'static str],
    /// Edits the text and announces what must be found; false, with nothing done, where there is no room for it.
    pub make: fn(&mut Case) -> bool,
}

pub(crate) struct Case {
    pub pages: Pages,
    /// The ledger as it was before any fault: where its joints and supports lie.
    pub ledger: Ledger,
    pub dice: Dice,
    pub applied: Vec<&'static str>,
    claimed: BTreeSet<String>,
}

impl Case {
    pub(crate) fn new(shop: &str, files: &[(String, String)], dice: Dice) -> Case {
        let read = |name: &str, text: &str| TextFile::read(Path(name.into()), text.as_bytes().to_vec());
        let texts = files.iter().map(|(name, text)| read(&format!("m/{name}"), text)).collect();
        let ledger = Ledger::new(Path("m".into()), texts, &[read("shop.kdl", shop)]);
        Case { pages: Pages::new(shop, files), ledger, dice, applied: Vec::new(), claimed: BTreeSet::new() }
    }

    pub(crate) fn apply(&mut self, fault: &Fault) -> bool {
        // What a fault claims without being made stays free for the others.
        let before = self.claimed.clone();
        let made = (fault.make)(self);
        if made {
            self.applied.push(fault.name);
        } else {
            self.claimed = before;
        }
        made
    }

    /// Takes a rail that no fault is on.
    pub(crate) fn rail(&mut self) -> Option<RailId> {
        self.rail_where(|_, _| true)
    }

    pub(crate) fn rail_where(&mut self, fits: impl Fn(&Case, RailId) -> bool) -> Option<RailId> {
        let all: Vec<RailId> = self.ledger.machine.rails().map(|(id, ..)| id).collect();
        let free: Vec<RailId> =
            all.into_iter().filter(|id| !self.claimed.contains(&self.name(*id)) && fits(self, *id)).collect();
        if free.is_empty() {
            return None;
        }
        let id = *self.dice.pick(&free);
        self.claimed.insert(self.name(id));
        Some(id)
    }

    /// Takes a rail that has joints, and one of them.
    pub(crate) fn joint(&mut self) -> Option<(RailId, usize)> {
        let id = self.rail_where(|case, id| !case.ledger.machine.rail(id).joints.is_empty())?;
        let count = self.ledger.machine.rail(id).joints.len() as i64;
        Some((id, self.dice.roll(0..=count - 1) as usize))
    }

    /// Takes the whole machine, where no fault is yet.
    pub(crate) fn whole(&mut self) -> bool {
        let rails: Vec<String> = self.ledger.machine.rails().map(|(id, ..)| self.name(id)).collect();
        if rails.iter().any(|rail| self.claimed.contains(rail)) {
            return false;
        }
        self.claimed.extend(rails);
        true
    }

    /// Takes something by name.
    pub(crate) fn claim(&mut self, what: &str) -> bool {
        self.claimed.insert(what.to_string())
    }

    /// A rail's own name.
    pub(crate) fn name(&self, id: RailId) -> String {
        self.ledger.machine.rail(id).name.to_string()
    }

    /// `X.port`.
    pub(crate) fn address(&self, id: RailId) -> String {
        self.ledger.machine.rail_address(id)
    }

    /// A number of a range of indexes.
    pub(crate) fn index(&mut self, count: usize) -> usize {
        self.dice.roll(0..=count as i64 - 1) as usize
    }
}
