//! What all machines of a shop share: instruments, stock, profiles, blocks, fasteners.

use super::given::{Given, Name, Row, amount, words};
use super::named::Named;
use crate::finding::Place;
use crate::quantity::{Force, Length, Moment, PerKelvin, Ratio, Stiffness, Torque, Travel};

words!(
    /// Which way a growing reading points.
    Plus {
        Outward = "outward",
        Inward = "inward",
        Wider = "wider",
        Narrower = "narrower",
        Up = "up",
        Down = "down",
        Left = "left",
        Right = "right",
    }
);
words!(
    /// The two kinds of torque wrench.
    WrenchKind {
        /// It clicks at a setting.
        Clicking = "clicking",
        /// It shows the torque of each bolt.
        Reading = "reading",
    }
);
words!(
    /// Which way the contact lines of a profile's ball rows cross.
    Contact { Outward = "outward", Inward = "inward" }
);
words!(
    /// How a segment's end is cut.
    End { Ground = "ground", Sawn = "sawn" }
);
words!(
    /// What a bolt's thread is cut into.
    Into { Steel = "steel", CastIron = "cast-iron", Aluminium = "aluminium", Other = "other" }
);

/// One calibration of an instrument.
#[derive(Clone, Debug)]
pub struct Calibration {
    pub place: Place,
    pub on: Given<Moment>,
    pub due: Option<Given<Moment>>,
    pub certificate: Option<Given<Name>>,
    pub failed: bool,
    pub cycles: Option<Given<u32>>,
}

/// An instrument that reads lengths or forces.
#[derive(Clone, Debug)]
pub struct Gauge {
    pub name: Given<Name>,
    pub kind: Option<Given<Name>>,
    pub graduation: Option<Given<Length>>,
    pub range: Option<Given<Length>>,
    pub permissible_error: Option<Given<Length>>,
    pub local_error: Option<Given<Length>>,
    pub plus: Option<Given<Plus>>,
    pub calibrations: Vec<Calibration>,
}

/// A torque wrench.
#[derive(Clone, Debug)]
pub struct Wrench {
    pub name: Given<Name>,
    pub kind: Option<Given<WrenchKind>>,
    pub least: Option<Given<Torque>>,
    pub most: Option<Given<Torque>>,
    pub graduation: Option<Given<Torque>>,
    pub permissible_error: Option<Given<Ratio>>,
    pub calibrations: Vec<Calibration>,
    /// Its count of cycles, read on a day.
    pub cycles: Vec<(Given<u32>, Given<Moment>)>,
}

/// One thickness of leaf in stock.
#[derive(Clone, Debug)]
pub struct Leaf {
    pub thickness: Given<Length>,
    pub count: Option<Given<u32>>,
}

/// The leaves in stock.
#[derive(Clone, Debug)]
pub struct ShimStock {
    pub place: Place,
    pub leaves: Vec<Leaf>,
}

/// A rail profile.
#[derive(Clone, Debug)]
pub struct Profile {
    pub name: Given<Name>,
    pub hole_pitch: Option<Given<Length>>,
    pub end_distance: Option<Given<Length>>,
    pub bolt_edge: Option<Given<Length>>,
    pub contact: Option<Given<Contact>>,
    pub groove_half_width: Option<Given<Length>>,
    pub groove_half_height: Option<Given<Length>>,
    pub seat_depth: Option<Given<Length>>,
    pub expansion: Option<Given<PerKelvin>>,
    pub least_segment: Option<Given<Length>>,
    /// Bar lengths with how many there are of each.
    pub stock: Vec<(Given<Length>, Option<Given<u32>>)>,
    pub cutting_allowed: bool,
    pub cut_grid: Option<Given<Length>>,
    pub kerf: Option<Given<Length>>,
    pub cut_ends: Option<Given<End>>,
}

/// A block.
#[derive(Clone, Debug)]
pub struct BlockType {
    pub name: Given<Name>,
    pub length: Option<Given<Length>>,
    pub dynamic: Option<Given<Force>>,
    pub static_: Option<Given<Force>>,
    pub basis: Option<Given<Travel>>,
    pub stiffness: Option<Given<Stiffness>>,
    pub lateral_stiffness: Option<Given<Stiffness>>,
}

/// A torque window of a fastener's own.
#[derive(Clone, Debug)]
pub struct Window {
    pub place: Place,
    pub least: Torque,
    pub most: Torque,
    pub reason: String,
}

/// A bolt with its seat.
#[derive(Clone, Debug)]
pub struct Fastener {
    pub name: Given<Name>,
    pub thread: Option<Given<Name>>,
    pub class: Option<Given<Name>>,
    pub head: Option<Given<Name>>,
    pub seat_diameter: Option<Given<Length>>,
    pub into: Option<Given<Into>>,
    pub most_torque: Option<Given<Torque>>,
    pub friction: Option<(Given<Ratio>, Given<Ratio>)>,
    pub full: Option<Window>,
    pub snug: Option<Window>,
}

/// All entries that apply to a ledger, the nearest of each name.
#[derive(Clone, Debug, Default)]
pub struct Shop {
    pub title: Option<Given<Name>>,
    pub gauges: Named<Gauge>,
    pub wrenches: Named<Wrench>,
    pub shim_stock: Option<ShimStock>,
    pub profiles: Named<Profile>,
    pub blocks: Named<BlockType>,
    pub fasteners: Named<Fastener>,
}

impl Shop {
    pub fn gauge(&self, name: &str) -> Option<&Gauge> {
        self.gauges.get(name)
    }

    pub fn wrench(&self, name: &str) -> Option<&Wrench> {
        self.wrenches.get(name)
    }

    pub fn profile(&self, name: &str) -> Option<&Profile> {
        self.profiles.get(name)
    }

    pub fn block(&self, name: &str) -> Option<&BlockType> {
        self.blocks.get(name)
    }

    pub fn fastener(&self, name: &str) -> Option<&Fastener> {
        self.fasteners.get(name)
    }

    /// Takes over one shop node. Files are given nearest first, so an entry that is already there stays. `duplicate`
    /// hears of two entries of one name in the same file.
    pub(super) fn add(&mut self, shop: Row, duplicate: &mut dyn FnMut(&Given<Name>, Place)) {
        if self.title.is_none() {
            self.title = shop.arg_text(0);
        }
        for row in shop.children() {
            let Some(name) = row.arg_text(0) else {
                if row.name() == "shim-stock" && self.shim_stock.is_none() {
                    self.shim_stock = Some(shim_stock(row));
                }
                continue;
            };
            match row.name() {
                "gauge" => put(&mut self.gauges, gauge(row, name), |gauge| &gauge.name, duplicate),
                "wrench" => put(&mut self.wrenches, wrench(row, name), |wrench| &wrench.name, duplicate),
                "profile" => put(&mut self.profiles, profile(row, name), |profile| &profile.name, duplicate),
                "block" => put(&mut self.blocks, block(row, name), |block| &block.name, duplicate),
                "fastener" => put(&mut self.fasteners, fastener(row, name), |fastener| &fastener.name, duplicate),
                _ => {}
            }
        }
    }
}

fn put<T>(
    all: &mut Named<T>,
    new: T,
    name: impl Fn(&T) -> &Given<Name>,
    duplicate: &mut dyn FnMut(&Given<Name>, Place),
) {
    let own = name(&new).clone();
    match all.put(&own.value, new) {
        Some(old) if name(old).place.source == own.place.source => duplicate(&own, name(old).place),
        _ => {}
    }
}

fn calibrations(row: Row) -> Vec<Calibration> {
    row.named("calibrated")
        .filter_map(|row| {
            Some(Calibration {
                place: row.place(),
                on: row.arg_moment(0)?,
                due: row.moment("due"),
                certificate: row.text("certificate"),
                failed: row.text::<&str>("result").is_some_and(|result| *result == "failed"),
                cycles: row.count("cycles"),
            })
        })
        .collect()
}

fn gauge(row: Row, name: Given<Name>) -> Gauge {
    Gauge {
        name,
        kind: row.text("kind"),
        graduation: row.size("graduation"),
        range: row.size("range"),
        permissible_error: row.size("permissible-error"),
        local_error: row.size("local-error"),
        plus: row.word("plus"),
        calibrations: calibrations(row),
    }
}

fn wrench(row: Row, name: Given<Name>) -> Wrench {
    Wrench {
        name,
        kind: row.word("kind"),
        least: row.amount("least"),
        most: row.amount("most"),
        graduation: row.amount("graduation"),
        permissible_error: row.amount("permissible-error"),
        calibrations: calibrations(row),
        cycles: row
            .named("cycles")
            .filter_map(|row| {
                let count = row.arg(0)?.count()?.value;
                Some((Given { value: count, place: row.place() }, row.moment("on")?))
            })
            .collect(),
    }
}

fn shim_stock(row: Row) -> ShimStock {
    let leaves = row
        .named("leaf")
        .filter_map(|leaf| Some(Leaf { thickness: leaf.arg_amount(0)?, count: leaf.count("count") }))
        .collect();
    ShimStock { place: row.place(), leaves }
}

fn profile(row: Row, name: Given<Name>) -> Profile {
    let cutting = row.child("cutting");
    let stock =
        row.named("stock")
            .flat_map(|stock| {
                let count = stock.count("count");
                stock.node.args().filter_map(move |entry| {
                    Some((Given { value: amount(entry)?, place: stock.at(entry.span()) }, count))
                })
            })
            .collect();
    Profile {
        name,
        hole_pitch: row.size("hole-pitch"),
        end_distance: row.size("end-distance"),
        bolt_edge: row.size("bolt-edge"),
        contact: row.word("contact"),
        groove_half_width: row.size("groove-half-width"),
        groove_half_height: row.size("groove-half-height"),
        seat_depth: row.size("seat-depth"),
        expansion: row.amount("expansion"),
        least_segment: row.size("least-segment"),
        stock,
        cutting_allowed: cutting.is_some_and(|cutting| cutting.flag("allowed").is_none_or(|allowed| *allowed)),
        cut_grid: cutting.and_then(|cutting| cutting.size("grid")),
        kerf: cutting.and_then(|cutting| cutting.size("kerf")),
        cut_ends: cutting.and_then(|cutting| cutting.word("ends")),
    }
}

fn block(row: Row, name: Given<Name>) -> BlockType {
    BlockType {
        name,
        length: row.size("length"),
        dynamic: row.amount("C"),
        static_: row.amount("C0"),
        basis: row.amount("basis"),
        stiffness: row.amount("stiffness"),
        lateral_stiffness: row.amount("lateral-stiffness"),
    }
}

fn window(row: Row) -> Option<Window> {
    Some(Window {
        place: row.place(),
        least: row.amount("least")?.value,
        most: row.amount("most")?.value,
        reason: row.text("reason")?.value,
    })
}

fn fastener(row: Row, name: Given<Name>) -> Fastener {
    let friction = row.child("friction").and_then(|friction| {
        let least = friction.arg_amount(0)?;
        Some((least, friction.arg_amount(1).unwrap_or(least)))
    });
    Fastener {
        name,
        thread: row.text("thread"),
        class: row.text("class"),
        head: row.text("head"),
        seat_diameter: row.size("seat-diameter"),
        into: row.word("into"),
        most_torque: row.amount("most-torque"),
        friction,
        full: row.child("full").and_then(window),
        snug: row.child("snug").and_then(window),
    }
}
