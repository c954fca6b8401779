//! What a name in a ledger refers to. The schema says it with `ref=`; the finding of an unknown name, what it offers
//! instead and the language reference have it from there.

/// The sort of thing that a name or an address names.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Refers {
    /// A gauge of the shop.
    Gauge,
    /// A wrench of the shop.
    Wrench,
    /// A gauge or wrench of the same file.
    Instrument,
    /// A profile of the shop.
    Profile,
    /// A fastener of the shop.
    Fastener,
    /// A type of block of the shop.
    Block,
    /// A beam of the same axis.
    Beam,
    /// An axis.
    Axis,
    /// A rail.
    Rail,
    /// A rail, but not the one that cites it.
    OtherRail,
    /// A joint of the rail.
    Joint,
    /// A support of the rail.
    Support,
    /// A place of the row of supports that cites it.
    RowPlace,
    /// A rail or something on it.
    Part,
    /// Whatever has an address.
    Address,
    /// A rule.
    Rule,
    /// What an earlier record is about.
    Record,
    /// What is held.
    Hold,
}

impl Refers {
    /// Every kind.
    pub const ALL: [Refers; 18] = [
        Refers::Gauge,
        Refers::Wrench,
        Refers::Instrument,
        Refers::Profile,
        Refers::Fastener,
        Refers::Block,
        Refers::Beam,
        Refers::Axis,
        Refers::Rail,
        Refers::OtherRail,
        Refers::Joint,
        Refers::Support,
        Refers::RowPlace,
        Refers::Part,
        Refers::Address,
        Refers::Rule,
        Refers::Record,
        Refers::Hold,
    ];

    /// The word of the schema, what a message calls it, and what the language reference says of it.
    fn words(self) -> [&'static str; 3] {
        match self {
            Refers::Gauge => ["gauge", "gauge", "a gauge of the shop file"],
            Refers::Wrench => ["wrench", "wrench", "a torque wrench of the shop file"],
            Refers::Instrument => ["instrument", "instrument", "a gauge or wrench of the same file"],
            Refers::Profile => ["profile", "profile", "a profile of the shop file"],
            Refers::Fastener => ["fastener", "fastener", "a fastener of the shop file"],
            Refers::Block => ["block", "block", "a block of the shop file"],
            Refers::Beam => ["beam", "beam", "a beam of the axis"],
            Refers::Axis => ["axis", "axis", "an axis"],
            Refers::Rail => ["rail", "rail", "a rail"],
            Refers::OtherRail => ["other-rail", "other rail", "another rail of the axis"],
            Refers::Joint => ["joint", "joint", "a joint"],
            Refers::Support => ["support", "support", "a support of the rail"],
            Refers::RowPlace => ["row-place", "place of this row", "a place of the row"],
            Refers::Part => ["part", "joint, support or segment", "a rail or a part of it"],
            Refers::Address => ["address", "part", "anything that has an address"],
            Refers::Rule => ["rule", "rule", "a rule"],
            Refers::Record => ["record", "record", "what an earlier record is about"],
            Refers::Hold => ["hold", "hold", "what an earlier hold is about"],
        }
    }

    /// The kind that a schema calls by that word.
    pub fn named(word: &str) -> Option<Refers> {
        Refers::ALL.into_iter().find(|refers| refers.word() == word)
    }

    /// As a schema calls it.
    pub fn word(self) -> &'static str {
        self.words()[0]
    }

    /// How a message calls it: "there is no gauge `DI-44`".
    pub fn called(self) -> &'static str {
        self.words()[1]
    }

    /// How the language reference calls it.
    pub fn describe(self) -> &'static str {
        self.words()[2]
    }

    /// Which addresses are of this sort, with an example; nothing where any address will do.
    pub fn wanted(self) -> Option<&'static str> {
        match self {
            Refers::Rail => Some("a rail, as `X.port`"),
            Refers::Joint => Some("a joint, as `X.port.J1`"),
            Refers::Part => Some("a rail, a segment or a support, as `X.port.S4`"),
            Refers::Axis => Some("an axis, as `X`"),
            _ => None,
        }
    }
}
