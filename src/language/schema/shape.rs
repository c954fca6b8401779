//! The shape of the language: which nodes there are, with which parts, of which types.

use super::names::Names;
use super::refers::Refers;
use crate::text::{EntryRef, NodeRef};

/// The whole language.
#[derive(Debug)]
pub struct Language {
    /// In the order of the reference.
    pub subjects: Vec<Chapter>,
    /// The nodes that may stand at the top of a file, each with the kinds of file it may stand in.
    pub top: Vec<NodeShape>,
    names: Names,
}

impl Language {
    pub(super) fn new(subjects: Vec<Chapter>, top: Vec<NodeShape>) -> Language {
        assert!(top.len() <= Places::MOST, "the language has too many nodes");
        let names = top.iter().map(|shape| shape.name.as_str()).collect();
        Language { subjects, top, names }
    }

    /// The node of that name at the top of a file.
    pub fn node(&self, name: &str) -> Option<&NodeShape> {
        self.place(name).map(|place| &self.top[place])
    }

    #[inline]
    pub(super) fn place(&self, name: &str) -> Option<usize> {
        self.names.find(name, |place| &self.top[place].name)
    }
}

/// One schema document: a chapter of the language reference.
#[derive(Debug)]
pub struct Chapter {
    /// Its heading.
    pub title: String,
    /// Its paragraphs.
    pub text: Vec<String>,
    /// The names of the top nodes it defines.
    pub nodes: Vec<String>,
}

/// One kind of node.
#[derive(Debug, Default)]
pub struct NodeShape {
    /// As it is written.
    pub name: String,
    /// One line about it.
    pub help: String,
    /// Text that may be copied.
    pub example: Option<String>,
    /// For a top node: which files it may stand in.
    pub files: Vec<String>,
    /// How often it must stand there.
    pub least: usize,
    /// What beside it makes it needless.
    pub unless: Option<String>,
    /// How often it may.
    pub most: Option<usize>,
    /// Its first arguments, one by one.
    pub args: Vec<EntryShape>,
    /// The arguments behind them.
    pub rest: FurtherArguments,
    /// Its properties.
    pub props: Vec<EntryShape>,
    /// What may stand in its block.
    pub children: Vec<NodeShape>,
    /// Properties of which one at least must be there.
    pub one_of: Vec<String>,
    /// What its block holds is what it says: an empty one says nothing.
    pub filled: bool,
    /// Its two ends are never in one place.
    pub apart: bool,
    /// Written for people, with all that it holds: no verdict and no number rests on it.
    pub informative: bool,
    pub(super) outline: Outline,
}

/// What the check of a node asks at every row: found once.
#[derive(Debug, Default)]
pub(super) struct Outline {
    props: Names,
    children: Names,
    /// How many arguments there must be.
    pub least_args: usize,
    /// The two ends of each span.
    pub ends: Vec<Ends>,
    /// The properties that must be there.
    pub needed_props: Places,
    /// Those of which one at least must be there.
    pub one_of: Option<Places>,
    /// The nodes that must be below it.
    pub needed_children: Places,
}

/// Where a shape has the lower and the upper end of a span.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ends([EndPlace; 2]);

/// Where one end is said.
#[derive(Clone, Copy, Debug)]
pub(super) enum EndPlace {
    Prop(usize),
    Arg(usize),
}

impl Ends {
    /// The names of a lower and an upper end.
    const PAIRS: [(&str, &str); 6] =
        [("least", "most"), ("from", "to"), ("from", "until"), ("since", "until"), ("on", "due"), ("date", "until")];

    /// Those that a shape has, where both are of one type or both are days.
    fn of(shape: &NodeShape) -> Vec<Ends> {
        let place = |name: &str| {
            let prop = shape.props.iter().position(|part| part.name == name).map(EndPlace::Prop);
            prop.or_else(|| shape.args.iter().position(|part| part.name == name).map(EndPlace::Arg))
        };
        let both = |(lower, upper): &(&str, &str)| {
            let ends = Ends([place(lower)?, place(upper)?]);
            let [lower, upper] = ends.parts(shape).map(|part| part.ty);
            (lower == upper || lower.is_day() && upper.is_day()).then_some(ends)
        };
        Ends::PAIRS.iter().filter_map(both).collect()
    }

    /// What the shape says of each.
    pub(crate) fn parts(self, shape: &NodeShape) -> [&EntryShape; 2] {
        self.0.map(|end| match end {
            EndPlace::Prop(at) => &shape.props[at],
            EndPlace::Arg(at) => &shape.args[at],
        })
    }

    /// Where a node says each, if it says both.
    pub(crate) fn entries<'d>(self, shape: &NodeShape, node: NodeRef<'d>) -> Option<[EntryRef<'d>; 2]> {
        let entry = |end| match end {
            EndPlace::Prop(at) => node.prop(&shape.props[at].name),
            EndPlace::Arg(at) => node.args().nth(at),
        };
        let [lower, upper] = self.0;
        Some([entry(lower)?, entry(upper)?])
    }
}

/// Some of the properties or nodes that a shape knows, by their places in it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Places(u128);

impl Places {
    /// A shape may know so many properties, and so many nodes.
    pub(crate) const MOST: usize = u128::BITS as usize;

    #[inline]
    pub(crate) fn has(self, place: usize) -> bool {
        self.0 & 1 << place != 0
    }

    #[inline]
    pub(crate) fn add(&mut self, place: usize) {
        self.0 |= 1 << place;
    }

    /// Whether one of the others is among these.
    #[inline]
    pub(crate) fn meet(self, others: Places) -> bool {
        others.0 & self.0 != 0
    }

    /// Whether all of the others are among these.
    #[inline]
    pub(crate) fn hold(self, others: Places) -> bool {
        others.0 & !self.0 == 0
    }
}

impl FromIterator<usize> for Places {
    fn from_iter<I: IntoIterator<Item = usize>>(all: I) -> Places {
        let mut places = Places::default();
        all.into_iter().for_each(|place| places.add(place));
        places
    }
}

/// What may follow the named arguments.
#[derive(Debug, Default)]
pub enum FurtherArguments {
    /// None.
    #[default]
    None,
    /// Any number of one type, at least so many.
    Many {
        /// Each of them.
        part: EntryShape,
        /// How many there must be.
        least: usize,
    },
    /// Pairs of readings: `before -> after`.
    Readings,
}

/// An argument or a property.
#[derive(Debug)]
pub struct EntryShape {
    /// As it is written, or as an argument is spoken of.
    pub name: String,
    /// One line about it.
    pub help: String,
    /// What it holds.
    pub ty: Type,
    /// What the name it holds refers to; nothing where it refers to nothing that is described.
    pub refers: Option<Refers>,
    /// It must be there.
    pub required: bool,
    /// `#null` is allowed, and means that the value is not there yet.
    pub blank: bool,
    /// The words it may be.
    pub allow: Vec<String>,
    /// The numbers it may be.
    pub range: Range,
    /// Written for people: no verdict and no number rests on it.
    pub informative: bool,
}

impl EntryShape {
    /// One reading of a groove.
    pub(super) fn reading() -> EntryShape {
        EntryShape {
            name: "reading".into(),
            help: "Write it in mm, as `-0.04`.".into(),
            ty: Type::Quantity(crate::quantity::Dimension::Length),
            refers: None,
            required: true,
            blank: false,
            allow: Vec::new(),
            range: Range::Any,
            informative: false,
        }
    }
}

/// What a number must be.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Range {
    /// Any number.
    #[default]
    Any,
    /// No negative one.
    AtLeastZero,
    /// Above zero.
    AboveZero,
    /// From zero to one: a part of a whole.
    UpToOne,
}

/// The type of a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Type {
    /// Free text. A number is taken as it is spelt.
    Text,
    /// A name without spaces, dots or punctuation that joins it to something else.
    Name,
    /// One of the allowed words.
    Word,
    /// `#true` or `#false`.
    Flag,
    /// A whole number.
    Count,
    /// Year, month and day.
    Date,
    /// A date, with or without a time.
    Moment,
    /// `X.port.J1`.
    Address,
    /// `S4`, `J1`, or a range `S11..S1`.
    Supports,
    /// A support's name or a position.
    Station,
    /// A number of any dimension: what it is compared with decides.
    Amount,
    /// An amount of one of several dimensions, as its unit says; without a unit, of the first.
    OneOf(&'static [crate::quantity::Dimension]),
    /// A public key as OpenSSH writes it.
    Key,
    /// An amount of one dimension.
    Quantity(crate::quantity::Dimension),
}

impl Type {
    /// A day, with or without a time.
    pub(super) fn is_day(self) -> bool {
        matches!(self, Type::Date | Type::Moment)
    }

    /// What its amounts may measure; nothing where it is no amount, or one of any dimension.
    pub(crate) fn dimensions(&self) -> Option<&[crate::quantity::Dimension]> {
        match self {
            Type::Quantity(dimension) => Some(std::slice::from_ref(dimension)),
            Type::OneOf(dimensions) => Some(dimensions),
            _ => None,
        }
    }

    /// The type that a schema calls by that name.
    pub fn named(name: &str) -> Option<Type> {
        use crate::quantity::Dimension as D;
        Some(match name {
            "text" => Type::Text,
            "name" => Type::Name,
            "word" => Type::Word,
            "flag" => Type::Flag,
            "count" => Type::Count,
            "date" => Type::Date,
            "moment" => Type::Moment,
            "address" => Type::Address,
            "supports" => Type::Supports,
            "station" => Type::Station,
            "amount" => Type::Amount,
            "length-or-force-or-angle" => Type::OneOf(&[D::Length, D::Force, D::Angle]),
            "length-or-angle" => Type::OneOf(&[D::Length, D::Angle]),
            "key" => Type::Key,
            "length" => Type::Quantity(D::Length),
            "travel" => Type::Quantity(D::Travel),
            "torque" => Type::Quantity(D::Torque),
            "force" => Type::Quantity(D::Force),
            "mass" => Type::Quantity(D::Mass),
            "temperature" => Type::Quantity(D::Temperature),
            "acceleration" => Type::Quantity(D::Acceleration),
            "stiffness" => Type::Quantity(D::Stiffness),
            "second-moment" => Type::Quantity(D::SecondMoment),
            "per-kelvin" => Type::Quantity(D::PerKelvin),
            "stress" => Type::Quantity(D::Stress),
            "ratio" => Type::Quantity(D::Ratio),
            _ => return None,
        })
    }

    /// How a message and the language reference call it.
    pub fn describe(self) -> String {
        match self {
            Type::Text => "a text".into(),
            Type::Name => "a name".into(),
            Type::Word => "one of the allowed words".into(),
            Type::Flag => "`#true` or `#false`".into(),
            Type::Count => "a whole number".into(),
            Type::Date => "a date, as \"2026-04-14\"".into(),
            Type::Moment => "a date, as \"2026-04-14\" or \"2026-04-14T08:10\"".into(),
            Type::Address => "an address, as `X.port.J1`".into(),
            Type::Supports => "a support or a range, as `S4` or `S11..S1`".into(),
            Type::Station => "a support, an end in a joint or a position".into(),
            Type::Amount => "a number".into(),
            Type::OneOf(dimensions) => {
                let (first, rest) = dimensions.split_first().expect("of one dimension at least");
                let rest: Vec<String> = rest.iter().map(|it| it.with_article()).collect();
                format!("{} in {}, or with its unit {}", first.with_article(), first.plain_unit(), rest.join(" or "))
            }
            Type::Key => "an Ed25519 public key, as \"ssh-ed25519 AAAA…\"".into(),
            Type::Quantity(dimension) => match dimension.plain_unit() {
                "" => dimension.with_article(),
                unit => format!("{} in {unit}", dimension.with_article()),
            },
        }
    }
}

impl NodeShape {
    /// With its outline, once all its parts are there.
    pub(super) fn outlined(mut self) -> NodeShape {
        assert!(self.props.len().max(self.children.len()) <= Places::MOST, "`{}` has too many parts", self.name);
        let needed = |(place, needed): (usize, bool)| needed.then_some(place);
        let least_args = self.args.iter().rposition(|part| part.required).map_or(0, |last| last + 1);
        self.outline = Outline {
            props: self.props.iter().map(|part| part.name.as_str()).collect(),
            children: self.children.iter().map(|child| child.name.as_str()).collect(),
            least_args: match &self.rest {
                FurtherArguments::Many { least, .. } => least_args.max(self.args.len() + least),
                FurtherArguments::None | FurtherArguments::Readings => least_args,
            },
            ends: Ends::of(&self),
            needed_props: self.props.iter().map(|part| part.required).enumerate().filter_map(needed).collect(),
            one_of: (!self.one_of.is_empty()).then(|| {
                let place = |name: &String| self.props.iter().position(|part| part.name == *name);
                self.one_of.iter().map(|name| place(name).unwrap_or_else(|| panic!("there is no {name}="))).collect()
            }),
            needed_children: self.children.iter().map(|child| child.least > 0).enumerate().filter_map(needed).collect(),
        };
        self
    }

    /// Of a top node: it describes something and is no record.
    pub(crate) fn describes(&self) -> bool {
        self.files.iter().all(|file| file != "record")
    }

    /// The shape of a node in its block.
    pub fn child(&self, name: &str) -> Option<&NodeShape> {
        self.child_place(name).map(|place| &self.children[place])
    }

    #[inline]
    pub(super) fn child_place(&self, name: &str) -> Option<usize> {
        self.outline.children.find(name, |place| &self.children[place].name)
    }

    /// What an entry is: the property of a name, else the argument behind so many others.
    pub(crate) fn part(&self, name: Option<&str>, args_before: usize) -> Option<&EntryShape> {
        let Some(name) = name else {
            let rest = match &self.rest {
                FurtherArguments::Many { part, .. } => Some(part),
                FurtherArguments::None | FurtherArguments::Readings => None,
            };
            return self.args.get(args_before).or(rest);
        };
        self.prop(name)
    }

    /// The property of that name.
    pub fn prop(&self, name: &str) -> Option<&EntryShape> {
        self.prop_place(name).map(|place| &self.props[place])
    }

    #[inline]
    pub(super) fn prop_place(&self, name: &str) -> Option<usize> {
        self.outline.props.find(name, |place| &self.props[place].name)
    }
}
