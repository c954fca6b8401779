//! What ledgers of one shop that are judged in one run have to do with each other.
//!
//! Of each ledger only digests and counts are kept: in the order of the folders, each is held against those before it, so
//! that the one whose folder comes first keeps what both have. Two ledgers are of one shop where the outermost `shop.kdl`
//! above both is the same, or where neither has a shop at all. One that describes a shop in its own file and lies below no
//! `shop.kdl` is a shop of its own.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::hash::BuildHasher as _;

use foldhash::fast::FixedState;

use crate::facts::bars::bars_used;
use crate::ledger::{Elsewhere, Ledger, Name, Record};
use crate::quantity::Length;
use crate::rules::{Case, is_evidence, leaves_used, readings_digest};
use crate::world::ledgers::FoundLedger;
use crate::world::{Day, Path};

/// Whose shop a ledger belongs to: the outermost shop file, or none.
type ShopKey = Option<Path>;

/// What one ledger brings, as small as it can be.
#[derive(Clone, Debug, Default)]
pub(super) struct Share {
    shop: ShopKey,
    /// Judged for itself alone.
    alone: bool,
    /// Not judged, be it for a merge that nobody settled: nothing of it is known.
    unjudged: bool,
    name: Option<Name>,
    serials: Vec<Name>,
    /// Each record of work or readings: its number, and the digest of what it says with its length.
    records: Vec<(usize, (u64, usize))>,
    /// Each record of readings: its number, and the digest of what it read of what, whatever the day.
    readings: Vec<(usize, u64)>,
    /// By the file that states how many there are.
    leaves: Vec<((Path, Length), usize)>,
    bars: Vec<((Path, Name, Length), usize)>,
}

impl Share {
    /// Of a ledger that is held against no other.
    pub(super) fn alone() -> Share {
        Share { alone: true, ..Share::default() }
    }

    pub(super) fn new(found: &FoundLedger, ledger: &Ledger, day: Day) -> Share {
        let shop = found.shops.last().cloned();
        let own_shop = || ledger.sources.iter().any(|(_, it)| it.document.nodes().any(|node| node.is("shop")));
        if ledger.not_judged.is_some() && shop.is_some() {
            return Share { shop, unjudged: true, ..Share::default() };
        }
        if ledger.not_judged.is_some() || shop.is_none() && own_shop() {
            return Share::alone();
        }
        let (machine, case) = (&ledger.machine, Case::new(ledger, day));
        let segments = machine.rails().flat_map(|(_, _, rail)| &rail.segments);
        // A correction stands for the record that it corrects.
        let stands = |record: &Record| record.counts() && record.replaces.is_none() && is_evidence(record);
        let evidence = || ledger.records.iter().enumerate().filter(|(_, record)| stands(record));
        Share {
            shop,
            alone: false,
            unjudged: false,
            name: machine.name.as_ref().map(|name| name.value.clone()),
            serials: segments.filter_map(|segment| Some(segment.serial.as_ref()?.value.clone())).collect(),
            records: evidence().map(|(index, record)| (index, digest(ledger, record))).collect(),
            readings: evidence().filter_map(|(index, record)| Some((index, readings_digest(record)?))).collect(),
            leaves: leaves_used(&case)
                .into_iter()
                .map(|(thickness, place, used)| ((ledger.sources.get(place.source).path.clone(), thickness), used))
                .collect(),
            bars: bars_used(ledger)
                .into_iter()
                .map(|of| {
                    let file = ledger.sources.get(of.place.source).path.clone();
                    ((file, of.profile, of.length), of.used + of.scrapped)
                })
                .collect(),
        }
    }
}

/// What a record says, whatever its layout: its text without blanks and comments, and how long that is.
fn digest(ledger: &Ledger, record: &Record) -> (u64, usize) {
    let text = ledger.sources.text(record.whole).as_bytes();
    let is_between = |byte: u8| byte.is_ascii_whitespace() || matches!(byte, b';' | b'/');
    // Between two words as between two rows: that there is something, not what.
    let mut said = Vec::with_capacity(text.len() + 1);
    let (mut at, mut quoted) = (0, false);
    while let Some(&byte) = text.get(at) {
        if quoted || !is_between(byte) {
            said.push(byte);
            if quoted && byte == b'\\' {
                at += 1;
                said.extend(text.get(at));
            } else if byte == b'"' {
                quoted = !quoted;
            }
            at += 1;
            continue;
        }
        said.push(0);
        while text.get(at).is_some_and(|byte| is_between(*byte)) {
            at += match text[at..].starts_with(b"//") {
                true => text[at..].iter().position(|byte| *byte == b'\n').unwrap_or(text.len() - at),
                false => 1,
            };
        }
    }
    (FixedState::default().hash_one(said.as_slice()), said.len())
}

/// What is known of the ledgers so far. Looked up only, so that the order of a hash is nowhere seen.
#[derive(Default)]
pub(super) struct Together {
    folders: Vec<Path>,
    shops: BTreeMap<ShopKey, OfShop>,
    leaves: BTreeMap<(Path, Length), usize>,
    bars: BTreeMap<(Path, Name, Length), usize>,
}

/// By what it is known, the first ledger that has it.
#[derive(Default)]
struct OfShop {
    names: HashMap<Name, usize>,
    serials: HashMap<Name, usize>,
    records: HashMap<(u64, usize), usize>,
    readings: HashMap<u64, usize>,
    unjudged: Option<usize>,
}

/// What all other ledgers of a shop have in use out of one stock, and the first of which nobody knows.
pub(super) struct UsedBeside {
    pub leaves: BTreeMap<Length, usize>,
    pub bars: BTreeMap<(Name, Length), usize>,
    pub unjudged: Option<Path>,
}

impl Together {
    /// How many leaves and bars out of a ledger's stock all others have in use. A copy has the same ones as what it is a
    /// copy of, and so has none beside it.
    pub(super) fn used_beside((folder, own): (&Path, Share), others: Vec<(Path, Share)>) -> UsedBeside {
        let unjudged =
            others.iter().find(|(_, of)| of.unjudged && of.shop == own.shop).map(|(folder, _)| folder.clone());
        let (leaves, bars) = (own.leaves.clone(), own.bars.clone());
        let mut together = Together::default();
        together.take(folder, own);
        for (folder, share) in others {
            together.take(&folder, share);
        }
        let leaves = leaves.into_iter().map(|(key, used)| {
            let all = together.leaves.get(&key).copied().unwrap_or(0);
            (key.1, all.saturating_sub(used))
        });
        let bars = bars.into_iter().map(|(key, used)| {
            let all = together.bars.get(&key).copied().unwrap_or(0);
            ((key.1, key.2), all.saturating_sub(used))
        });
        UsedBeside { leaves: leaves.collect(), bars: bars.collect(), unjudged }
    }

    /// Holds a ledger against those before it, and takes it up.
    pub(super) fn take(&mut self, folder: &Path, share: Share) -> Elsewhere {
        let mut elsewhere = Elsewhere::default();
        if share.alone {
            return elsewhere;
        }
        let own = self.folders.len();
        self.folders.push(folder.clone());
        let known = self.shops.entry(share.shop).or_default();
        if share.unjudged {
            known.unjudged.get_or_insert(own);
            return elsewhere;
        }
        elsewhere.unjudged = known.unjudged.map(|first| self.folders[first].clone());
        // Of a copied folder all the rest only follows.
        let mut copied: BTreeSet<usize> = BTreeSet::from([own]);
        for (index, digest) in share.records {
            let first = *known.records.entry(digest).or_insert(own);
            if first != own {
                copied.insert(first);
                elsewhere.copies.push((index, self.folders[first].clone()));
            }
        }
        for (index, digest) in share.readings {
            let first = *known.readings.entry(digest).or_insert(own);
            if first != own && elsewhere.copies.binary_search_by_key(&index, |(record, _)| *record).is_err() {
                elsewhere.same_readings.push((index, self.folders[first].clone()));
            }
        }
        elsewhere.same_readings.sort_by(|a, b| (&a.1, a.0).cmp(&(&b.1, b.0)));
        if let Some(name) = share.name {
            let first = *known.names.entry(name).or_insert(own);
            elsewhere.name = (!copied.contains(&first)).then(|| self.folders[first].clone());
        }
        let mut serials = BTreeMap::new();
        for serial in share.serials {
            let first = *known.serials.entry(serial.clone()).or_insert(own);
            if !copied.contains(&first) {
                serials.insert(serial, self.folders[first].clone());
            }
        }
        elsewhere.serials = serials;
        if !elsewhere.copies.is_empty() {
            return elsewhere;
        }
        for (key, used) in share.leaves {
            let before = self.leaves.entry(key.clone()).or_default();
            elsewhere.leaves.insert(key.1, *before);
            *before += used;
        }
        for (key, used) in share.bars {
            let before = self.bars.entry(key.clone()).or_default();
            elsewhere.bars.insert((key.1, key.2), *before);
            *before += used;
        }
        elsewhere
    }
}
