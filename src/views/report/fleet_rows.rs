//! A fleet by the shop file that its machines lie below and by the design that they are built to, with the limits that were
//! changed there: a limit that is wider in one yard makes it look better than it is.

use std::collections::BTreeSet;

use schemars::JsonSchema;
use serde::Serialize;

use super::model::FindingCounts;
use super::state::State;
use crate::judging::lint::Judged;
use crate::ledger::Ledger;
use crate::world::ledgers::SHOP;
use crate::world::shown_path;

#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Machine")]
pub(crate) struct MachineReport {
    pub path: String,
    pub title: String,
    /// The design that it is built to, with the revision.
    #[serde(rename = "design_and_revision")]
    pub design: Option<String>,
    pub state: State,
    pub counts: FindingCounts,
    #[serde(rename = "axes_in_all")]
    pub axes: usize,
    #[serde(rename = "axes_released")]
    pub released: usize,
    #[serde(rename = "joints_in_all")]
    pub joints: usize,
    pub joints_conforming: usize,
    /// It is no whole, conforming machine, or something of it is overdue, on hold or due soon.
    pub needs_somebody: bool,
}

/// The machines of one shop file and design.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct ShopRow {
    /// The folder of the nearest shop file above; null where there is none.
    #[serde(rename = "shop_folder")]
    pub shop: Option<String>,
    #[serde(rename = "design_and_revision")]
    pub design: Option<String>,
    #[serde(flatten)]
    pub counted: MachineCounts,
    /// The limits that are changed there, each as often as machines have it otherwise.
    #[serde(rename = "limits_here")]
    pub limits: BTreeSet<LimitHere>,
}

/// The machines of one revision of a design.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct RevisionRow {
    #[serde(rename = "design_and_revision")]
    pub design: Option<String>,
    #[serde(flatten)]
    pub counted: MachineCounts,
    #[serde(rename = "machines_with_deviations")]
    pub deviating: usize,
}

/// How machines stand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub(crate) struct MachineCounts {
    #[serde(rename = "machines_in_all")]
    pub machines: usize,
    /// With every axis released.
    #[serde(rename = "machines_released")]
    pub released: usize,
    #[serde(rename = "machines_nonconforming")]
    pub nonconforming: usize,
    #[serde(rename = "joints_in_all")]
    pub joints: usize,
    pub joints_conforming: usize,
}

/// A limit that is not as it came.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[schemars(rename = "LimitHere")]
pub(crate) struct LimitHere {
    pub entry: &'static str,
    #[serde(rename = "limit_text")]
    pub limit: String,
}

impl MachineCounts {
    fn add(&mut self, machine: &MachineReport) {
        self.machines += 1;
        self.released += usize::from(machine.axes > 0 && machine.released == machine.axes);
        self.nonconforming += usize::from(machine.state == State::Nonconforming);
        self.joints += machine.joints;
        self.joints_conforming += machine.joints_conforming;
    }
}

/// Takes a machine up into the row of its shop and design.
pub(super) fn add(
    (shops, revisions): (&mut Vec<ShopRow>, &mut Vec<RevisionRow>),
    machine: &MachineReport,
    deviates: bool,
    judged: &Judged,
) {
    let shop = shop_folder(&judged.ledger);
    let key = (&shop, &machine.design);
    let at = shops.binary_search_by(|row| (&row.shop, &row.design).cmp(&key)).unwrap_or_else(|at| {
        let (design, counted) = (machine.design.clone(), MachineCounts::default());
        shops.insert(at, ShopRow { shop: shop.clone(), design, counted, limits: BTreeSet::new() });
        at
    });
    shops[at].counted.add(machine);
    shops[at].limits.extend(changed_limits(&judged.ledger));
    let at = revisions.binary_search_by(|row| row.design.cmp(&machine.design)).unwrap_or_else(|at| {
        let (design, counted) = (machine.design.clone(), MachineCounts::default());
        revisions.insert(at, RevisionRow { design, counted, deviating: 0 });
        at
    });
    revisions[at].counted.add(machine);
    revisions[at].deviating += usize::from(deviates);
}

/// The folder of the nearest shop file above a ledger.
fn shop_folder(ledger: &Ledger) -> Option<String> {
    let shops = ledger.sources.iter().filter(|(_, source)| source.path.name() == SHOP);
    let folder = |path: &str| shown_path(path.strip_suffix(SHOP).unwrap_or(path).trim_end_matches('/')).to_string();
    shops.map(|(_, source)| folder(&source.path.0)).next()
}

fn changed_limits(ledger: &Ledger) -> impl Iterator<Item = LimitHere> + '_ {
    let book = &ledger.rulebook;
    book.changes().map(|change| LimitHere { entry: change.entry.name, limit: book.printed(change.entry) })
}
