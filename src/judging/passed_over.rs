//! Which files lie in a folder that a shop file declares as none of a ledger: what they hold is then nobody's business.

use std::collections::BTreeMap;

use super::lint::read_file;
use crate::rules::has_word;
use crate::world::ledgers::SHOP;
use crate::world::{EntryKind, Path, World};

/// The folders that shop files declare, each shop file read once.
pub(crate) struct PassedOver<'w> {
    world: &'w dyn World,
    /// By the folder of the shop file.
    known: BTreeMap<Path, Vec<Path>>,
}

impl<'w> PassedOver<'w> {
    pub(crate) fn new(world: &'w dyn World) -> PassedOver<'w> {
        PassedOver { world, known: BTreeMap::new() }
    }

    /// Whether a shop file in a folder above a file declares a folder that the file lies in.
    pub(crate) fn holds(&mut self, file: &Path) -> bool {
        let mut at = self.world.parent(file);
        while let Some(folder) = at {
            let declared = self.known.entry(folder.clone()).or_insert_with(|| declared(self.world, &folder));
            if declared.iter().any(|declared| file.is_within(declared)) {
                return true;
            }
            at = self.world.parent(&folder);
        }
        false
    }
}

/// The folders that the shop file of a folder declares: below it, each with a reason.
fn declared(world: &dyn World, folder: &Path) -> Vec<Path> {
    let shop = folder.join(SHOP);
    if !matches!(world.kind(&shop), Ok(EntryKind::File)) {
        return Vec::new();
    }
    let file = read_file(world, &shop);
    let rows = file.source.document.nodes().filter(|node| node.is("shop")).flat_map(|shop| shop.children());
    let named = rows.filter(|row| row.is("passed-over")).filter_map(|row| {
        let text = |entry: crate::text::EntryRef| entry.text().map(|text| text.to_string());
        let reason = row.prop("reason").and_then(text)?;
        has_word(&reason).then_some(Path::normal(&folder.join(&row.args().next().and_then(text)?).0))
    });
    named.filter(|declared| declared != folder && declared.is_within(folder)).collect()
}
