//! Reads the entries of a shop: each walks its properties once and takes what it knows.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use super::faults::Faults;
use super::inherit::put;
use super::not_applicable::NotApplicable;
use super::person::Person;
use super::shop::{
    AsFound, BlockType, Calibration, CalibrationError, Cutting, Fastener, Gauge, GaugeFigures, GaugedQuantity, Leaf,
    Profile, ShimStock, Shop, TorqueWindow, Wrench,
};
use super::spanned::{Name, SourcedEntry, SourcedNode, Spanned};
use crate::finding::{Finding, Grade, Place, names};
use crate::quantity::{Amount, Angle, Force, Length, Moment, Ratio};

/// What the figures and the error of an instrument are counted in.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum CountedIn {
    Lengths,
    Forces,
    Angles,
    /// No file says what kind of gauge it is: each figure by its own unit.
    Unsaid,
    Shares,
}

impl CountedIn {
    /// How such an error is written.
    pub(crate) fn example(self) -> &'static str {
        match self {
            CountedIn::Lengths => "a length, as 0.006",
            CountedIn::Forces => "a force, as (N)0.5",
            CountedIn::Angles => "an angle, as (um.m-1)5, (mm.m-1)0.02, (arcsec)1 or (urad)5",
            CountedIn::Unsaid => "a length, as 0.006, a force, as (N)0.5, or an angle, as (um.m-1)5",
            CountedIn::Shares => "a share, as (%)6",
        }
    }

    /// What to write instead of one that is none.
    pub(crate) fn next(self) -> String {
        format!("write {}, and more than zero", self.example())
    }

    /// The figure of a gauge as a length, or else as a force or an angle.
    fn figure(self, cell: SourcedEntry) -> GaugeFigure {
        let reads = |of: CountedIn| self == of || self == CountedIn::Unsaid;
        let length = if reads(CountedIn::Lengths) { cell.size() } else { None };
        let force = if length.is_none() && reads(CountedIn::Forces) { above_zero(cell) } else { None };
        let angle = cell.angle().filter(|angle| reads(CountedIn::Angles) && **angle > Angle::ZERO);
        (length, force, angle)
    }
}

/// One figure of a gauge as a length, a force or an angle; none of them where it is of another sort than the gauge reads.
type GaugeFigure = (Option<Spanned<Length>>, Option<Spanned<Force>>, Option<Spanned<Angle>>);

/// What the instruments of some files count in. An entry that leaves its kind to a file above counts as that one does.
#[derive(Default)]
pub(super) struct InstrumentCounting<'d> {
    /// The kind of each gauge by its name, and what one of a kind of its own reads, as the nearest file says that does.
    gauges: BTreeMap<&'d str, (Option<&'d str>, Vec<GaugedQuantity>)>,
}

impl<'d> InstrumentCounting<'d> {
    /// Of the shops of some files, nearest first.
    pub(crate) fn of(shops: impl Iterator<Item = SourcedNode<'d>>) -> InstrumentCounting<'d> {
        let mut counting = InstrumentCounting::default();
        for row in shops.flat_map(|shop| shop.named("gauge")) {
            let Some(name) = row.arg_text::<&str>(0) else { continue };
            let (kind, quantities) = counting.gauges.entry(name.value).or_default();
            *kind = kind.or_else(|| row.prop("kind").and_then(SourcedEntry::text::<&str>).map(|kind| kind.value));
            if quantities.is_empty() {
                *quantities = reads(row);
            }
        }
        counting
    }

    /// Of a gauge or a wrench; nothing for any other entry.
    pub(crate) fn of_instrument(&self, row: SourcedNode) -> Option<CountedIn> {
        match row.name() {
            "gauge" => Some(self.of_gauge(row.arg_text::<&str>(0)?.value)),
            "wrench" => Some(CountedIn::Shares),
            _ => None,
        }
    }

    fn is_level(&self, name: &str) -> bool {
        self.gauges.get(name).is_some_and(|(kind, _)| *kind == Some("level"))
    }

    fn of_gauge(&self, name: &str) -> CountedIn {
        match self.gauges.get(name) {
            Some((Some("force-gauge"), _)) => CountedIn::Forces,
            Some((Some("level" | "autocollimator" | "laser-angle"), _)) => CountedIn::Angles,
            Some((Some("other"), reads)) if **reads == [GaugedQuantity::Force] => CountedIn::Forces,
            Some((Some("other"), reads)) if **reads == [GaugedQuantity::Angle] => CountedIn::Angles,
            Some((Some(_), _)) => CountedIn::Lengths,
            Some((None, _)) | None => CountedIn::Unsaid,
        }
    }

    /// The figures of a gauge as one file says them that it cannot have by all that is said of it; none of any other entry.
    pub(crate) fn unfit_figures<'n>(
        &self,
        row: SourcedNode<'n>,
    ) -> impl Iterator<Item = (&'static str, SourcedEntry<'n>)> + use<'n> {
        let name = row.arg_text::<&str>(0).filter(|_| row.name() == "gauge");
        let counted = name.map(|name| self.of_gauge(name.value));
        let figures =
            GAUGE_FIGURES.into_iter().chain([LOCAL_ERROR]).filter_map(move |figure| Some((figure, row.prop(figure)?)));
        figures.filter(move |(figure, cell)| match counted {
            Some(counted) if *figure == LOCAL_ERROR => matches!(counted, CountedIn::Forces | CountedIn::Angles),
            Some(counted) => counted.figure(*cell) == (None, None, None),
            None => false,
        })
    }

    /// Tells the figures of the instruments of one file that theirs cannot have: a force of one that reads lengths.
    pub(crate) fn at_fault(&self, shops: &[SourcedNode], faults: &mut Faults) {
        for row in shops.iter().flat_map(|shop| shop.children()) {
            let (Some(counted), Some(name)) = (self.of_instrument(row), row.arg_text::<&str>(0)) else { continue };
            for (figure, cell) in self.unfit_figures(row) {
                let message = format!("this cannot be a figure of {}", *name);
                match figure {
                    LOCAL_ERROR => unfit(
                        cell,
                        message,
                        "leave it out: of a force or an angle its error holds over the whole range",
                        faults,
                    ),
                    _ if self.is_level(*name) && cell.size().is_some() => {
                        let staff = "one that reads a staff in lengths is kind=other with `reads height`";
                        unfit(cell, message, format!("{}; {staff}", counted.next()), faults);
                    }
                    _ => unfit(cell, message, counted.next(), faults),
                }
            }
            let errors = row.named("calibrated").filter_map(|row| row.prop("error"));
            for cell in errors.filter(|cell| error(*cell, counted).is_none()) {
                unfit(cell, format!("this cannot be the error of {}", *name), counted.next(), faults);
            }
        }
    }
}

/// From when to when something of the shop is to be had; nothing where the two stand the wrong way round, which is told of the text.
fn had(row: SourcedNode) -> [Option<Spanned<Moment>>; 2] {
    let ends = [row.moment("since"), row.moment("until")];
    match ends {
        [Some(since), Some(until)] if until.date < since.date => [None, None],
        _ => ends,
    }
}

/// The figures of a gauge that are lengths, or forces or angles where it reads those.
const GAUGE_FIGURES: [&str; 4] = ["graduation", "range", "permissible-error", "repeatability"];

/// What no gauge has that reads forces or angles.
const LOCAL_ERROR: &str = "local-error";

/// Tells a figure of another sort than its instrument has, where its text is not at fault already.
pub(super) fn unfit(cell: SourcedEntry, message: String, next: impl Into<String>, faults: &mut Faults) {
    if !faults.damage.hits(cell.place()) {
        let finding = Finding::new(names::WRONG_VALUE, Grade::Nonconformity, "", cell.place(), message);
        faults.found.push(finding.here("of another sort").next(next));
    }
}

fn reads(row: SourcedNode) -> Vec<GaugedQuantity> {
    let words = row.child("reads").into_iter().flat_map(SourcedNode::args);
    words.filter_map(|word| Some(word.word::<GaugedQuantity>()?.value)).collect()
}

pub(super) fn gauge(row: SourcedNode, name: Spanned<Name>, counted: CountedIn) -> Gauge {
    let [since, until] = had(row);
    let mut gauge = Gauge {
        name,
        kind: None,
        reads: reads(row),
        graduation: None,
        range: None,
        permissible_error: None,
        local_error: None,
        repeatability: None,
        forces: GaugeFigures::default(),
        angles: GaugeFigures::default(),
        carrier: row.child("carrier").and_then(|row| Some((row.length("reach")?, row.length("travel")?))),
        plus: None,
        since,
        until,
        calibrations: calibrations(row, counted),
        doubts: Vec::new(),
    };
    for (prop, cell) in row.props() {
        match prop {
            "kind" => gauge.kind = cell.text(),
            "graduation" => {
                (gauge.graduation, gauge.forces.graduation, gauge.angles.graduation) = counted.figure(cell);
            }
            "range" => (gauge.range, gauge.forces.range, gauge.angles.range) = counted.figure(cell),
            "permissible-error" => {
                (gauge.permissible_error, gauge.forces.permissible_error, gauge.angles.permissible_error) =
                    counted.figure(cell);
            }
            "repeatability" => {
                (gauge.repeatability, gauge.forces.repeatability, gauge.angles.repeatability) = counted.figure(cell);
            }
            "local-error" if !matches!(counted, CountedIn::Forces | CountedIn::Angles) => {
                gauge.local_error = cell.size();
            }
            "plus" => gauge.plus = cell.word(),
            _ => {}
        }
    }
    gauge
}

fn above_zero<A: Amount + Default>(cell: SourcedEntry) -> Option<Spanned<A>> {
    cell.amount().filter(|amount| **amount > A::default())
}

pub(super) fn wrench(row: SourcedNode, name: Spanned<Name>) -> Wrench {
    let cycles = row.named("cycles").filter_map(|row| {
        let count = row.arg(0)?.count()?.value;
        Some((Spanned { value: count, place: row.place() }, row.moment("on")?))
    });
    let [since, until] = had(row);
    let mut wrench = Wrench {
        name,
        kind: None,
        least: None,
        most: None,
        graduation: None,
        permissible_error: None,
        since,
        until,
        calibrations: calibrations(row, CountedIn::Shares),
        doubts: Vec::new(),
        cycles: cycles.collect(),
    };
    for (prop, cell) in row.props() {
        match prop {
            "kind" => wrench.kind = cell.word(),
            "least" => wrench.least = cell.amount(),
            "most" => wrench.most = cell.amount(),
            "graduation" => wrench.graduation = cell.amount(),
            "permissible-error" => wrench.permissible_error = cell.amount(),
            _ => {}
        }
    }
    wrench
}

fn calibrations(row: SourcedNode, counted: CountedIn) -> Vec<Calibration> {
    row.named("calibrated").filter_map(|row| calibration(row, counted)).collect()
}

fn calibration(row: SourcedNode, counted: CountedIn) -> Option<Calibration> {
    let mut result = None;
    let mut calibration = Calibration {
        place: row.place(),
        on: row.arg_moment(0)?,
        due: None,
        certificate: None,
        laboratory: None,
        failed: false,
        adjusted: false,
        as_found: None,
        error: None,
        cycles: None,
    };
    for (prop, cell) in row.props() {
        match prop {
            "due" => calibration.due = cell.moment(),
            "certificate" => calibration.certificate = cell.text(),
            "by" => calibration.laboratory = cell.text(),
            "result" => result = cell.text::<&str>().map(|result| *result),
            "as-found" => calibration.as_found = cell.word().map(|found| found.value),
            "error" => calibration.error = error(cell, counted),
            "cycles" => calibration.cycles = cell.count(),
            _ => {}
        }
    }
    // One that runs out before it was made is told of its text, and says nothing.
    calibration.due = calibration.due.filter(|due| due.date >= calibration.on.date);
    calibration.adjusted = result == Some("adjusted");
    calibration.failed = result == Some("failed") || calibration.as_found == Some(AsFound::Outside) && result.is_none();
    if result == Some("failed") {
        calibration.as_found = calibration.as_found.or(Some(AsFound::Outside));
    }
    Some(calibration)
}

pub(super) fn error(cell: SourcedEntry, counted: CountedIn) -> Option<Spanned<CalibrationError>> {
    let (value, place) = match (counted, counted.figure(cell)) {
        (CountedIn::Shares, _) => {
            let share = cell.amount().filter(|share: &Spanned<Ratio>| share.0 > 0)?;
            (CalibrationError::Share(*share), share.place)
        }
        (_, (Some(length), ..)) => (CalibrationError::Length(*length), length.place),
        (_, (.., Some(angle))) => (CalibrationError::Angle(*angle), angle.place),
        (_, (_, force, _)) => (CalibrationError::Force(*force?), force?.place),
    };
    Some(Spanned { value, place })
}

pub(super) fn shim_stock(row: SourcedNode) -> ShimStock {
    let leaves = row
        .named("leaf")
        .filter_map(|leaf| {
            let [since, until] = had(leaf);
            Some(Leaf { thickness: leaf.arg_amount(0)?, count: leaf.count("count"), since, until })
        })
        .collect();
    ShimStock { place: row.place(), leaves }
}

pub(super) fn profile(row: SourcedNode, name: Spanned<Name>) -> Profile {
    let [since, until] = had(row);
    let mut profile = Profile {
        name,
        hole_pitch: None,
        end_distance: None,
        hole_diameter: None,
        bolt_edge: None,
        contact: None,
        groove_half_width: None,
        groove_half_height: None,
        seat_depth: None,
        expansion: None,
        tighten: None,
        least_segment: None,
        second_moment: None,
        lateral_second_moment: None,
        stock: Vec::new(),
        cutting: row.child("cutting").map(|cutting| Cutting {
            allowed: cutting.flag("allowed").is_none_or(|allowed| *allowed),
            grid: cutting.size("grid"),
            // A cut that loses nothing is stated as well as any other.
            kerf: cutting.length("kerf").filter(|kerf| **kerf >= Length::ZERO),
            ends: cutting.word("ends"),
        }),
        since,
        until,
    };
    for stock in row.named("stock") {
        let count = stock.count("count");
        profile.stock.extend(stock.args().filter_map(|cell| Some((cell.amount()?, count))));
    }
    for (prop, cell) in row.props() {
        match prop {
            "hole-pitch" => profile.hole_pitch = cell.size(),
            "end-distance" => profile.end_distance = cell.size(),
            "hole-diameter" => profile.hole_diameter = cell.size(),
            "bolt-edge" => profile.bolt_edge = cell.size(),
            "contact" => profile.contact = cell.word(),
            "groove-half-width" => profile.groove_half_width = cell.size(),
            "groove-half-height" => profile.groove_half_height = cell.size(),
            "seat-depth" => profile.seat_depth = cell.size(),
            "expansion" => profile.expansion = cell.amount(),
            "tighten" => profile.tighten = cell.word(),
            "least-segment" => profile.least_segment = cell.size(),
            "second-moment" => profile.second_moment = cell.amount(),
            "lateral-second-moment" => profile.lateral_second_moment = cell.amount(),
            _ => {}
        }
    }
    profile
}

pub(super) fn block(row: SourcedNode, name: Spanned<Name>) -> BlockType {
    let [since, until] = had(row);
    let mut block = BlockType {
        name,
        length: None,
        dynamic: None,
        static_: None,
        basis: None,
        stiffness: None,
        lateral_stiffness: None,
        moment_stiffness: [None; 3],
        dynamic_moments: [None; 3],
        static_moments: [None; 3],
        rolling: None,
        preload: None,
        preload_share: None,
        since,
        until,
        friction: None,
        seal_drag: None,
    };
    for (prop, cell) in row.props() {
        match prop {
            "length" => block.length = cell.size(),
            "C" => block.dynamic = cell.amount(),
            "C0" => block.static_ = cell.amount(),
            "basis" => block.basis = cell.amount(),
            "stiffness" => block.stiffness = cell.amount(),
            "lateral-stiffness" => block.lateral_stiffness = cell.amount(),
            "roll-stiffness" => block.moment_stiffness[0] = cell.amount(),
            "pitch-stiffness" => block.moment_stiffness[1] = cell.amount(),
            "yaw-stiffness" => block.moment_stiffness[2] = cell.amount(),
            "M-roll" => block.dynamic_moments[0] = cell.amount(),
            "M-pitch" => block.dynamic_moments[1] = cell.amount(),
            "M-yaw" => block.dynamic_moments[2] = cell.amount(),
            "M0-roll" => block.static_moments[0] = cell.amount(),
            "M0-pitch" => block.static_moments[1] = cell.amount(),
            "M0-yaw" => block.static_moments[2] = cell.amount(),
            "rolling" => block.rolling = cell.word(),
            "preload" => block.preload = cell.amount(),
            "preload-share" => block.preload_share = cell.amount(),
            "friction" => block.friction = cell.amount(),
            "seal-drag" => block.seal_drag = cell.amount(),
            _ => {}
        }
    }
    block
}

pub(super) fn fastener(row: SourcedNode, name: Spanned<Name>) -> Fastener {
    let friction = row.child("friction").and_then(|friction| {
        let least = friction.arg_amount(0)?;
        Some((least, friction.arg_amount(1).unwrap_or(least)))
    });
    let mut fastener = Fastener {
        name,
        thread: None,
        class: None,
        head: None,
        seat_diameter: None,
        into: None,
        engagement: None,
        shear_strength: None,
        most_torque: None,
        friction,
        full: row.child("full").and_then(window),
        snug: row.child("snug").and_then(window),
    };
    for (prop, cell) in row.props() {
        match prop {
            "thread" => fastener.thread = cell.text(),
            "class" => fastener.class = cell.text(),
            "head" => fastener.head = cell.text(),
            "seat-diameter" => fastener.seat_diameter = cell.size(),
            "into" => fastener.into = cell.word(),
            "engagement" => fastener.engagement = cell.size(),
            "shear-strength" => fastener.shear_strength = cell.amount(),
            "most-torque" => fastener.most_torque = cell.amount(),
            _ => {}
        }
    }
    fastener
}

fn window(row: SourcedNode) -> Option<TorqueWindow> {
    Some(TorqueWindow {
        place: row.place(),
        least: row.amount("least")?.value,
        most: row.amount("most")?.value,
        reason: row.text("reason")?.value,
    })
}

impl Shop {
    /// Takes over one shop node. Files are given nearest first: an entry that is already there takes over what it does
    /// not say itself. `duplicate` hears of two entries of one name in the same file.
    pub(super) fn add(
        &mut self,
        shop: SourcedNode,
        counting: &InstrumentCounting,
        duplicate: &mut dyn FnMut(&Spanned<Name>, Place),
    ) {
        if self.title.is_none() {
            self.title = shop.arg_text(0);
        }
        self.not_applicable.extend(NotApplicable::all(shop));
        for row in shop.children() {
            let Some(name) = row.arg_text::<Name>(0) else {
                if row.name() == "shim-stock" {
                    match &mut self.shim_stock {
                        Some(own) if own.place.source != row.place().source => own.inherit(shim_stock(row)),
                        Some(_) => {}
                        own => *own = Some(shim_stock(row)),
                    }
                }
                continue;
            };
            let mut twice = |own: &Spanned<Name>, old: &Spanned<Name>| duplicate(own, old.place);
            match row.name() {
                "gauge" => {
                    let counted = counting.of_gauge(&name.value);
                    put(&mut self.gauges, gauge(row, name, counted), &mut twice);
                }
                "wrench" => put(&mut self.wrenches, wrench(row, name), &mut twice),
                "profile" => put(&mut self.profiles, profile(row, name), &mut twice),
                "block" => put(&mut self.blocks, block(row, name), &mut twice),
                "fastener" => put(&mut self.fasteners, fastener(row, name), &mut twice),
                // What somebody may do is said by the nearest file alone: none adds a right to what that one grants.
                "person" => {
                    let own = name.clone();
                    match self.persons.put(&own.value, Person::read(row, name)) {
                        Some(old) if old.name.place.source == own.place.source => twice(&own, &old.name),
                        _ => {}
                    }
                }
                _ => {}
            }
        }
    }
}

/// Hears of every entry of some shop nodes that has the name of an earlier one of its kind, and where that one is.
pub(super) fn duplicates<'d>(
    shops: impl Iterator<Item = SourcedNode<'d>>,
    mut duplicate: impl FnMut(Spanned<&str>, Place),
) {
    let mut first: BTreeMap<(&str, &str), Place> = BTreeMap::new();
    for row in shops.flat_map(SourcedNode::children) {
        if !matches!(row.name(), "gauge" | "wrench" | "profile" | "block" | "fastener" | "person") {
            continue;
        }
        let Some(Spanned { value: name, place }) = row.arg_text::<&str>(0) else { continue };
        match first.entry((row.name(), name)) {
            Entry::Vacant(free) => {
                free.insert(place);
            }
            Entry::Occupied(taken) => duplicate(Spanned { value: name, place }, *taken.get()),
        }
    }
}
