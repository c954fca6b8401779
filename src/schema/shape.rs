//! The shape of the language: which nodes there are, with which parts, of which types.

/// The whole language.
#[derive(Debug, Default)]
pub struct Language {
    pub subjects: Vec<Subject>,
    /// The nodes that may stand at the top of a file, each with the kinds of file it may stand in.
    pub top: Vec<NodeShape>,
}

/// One schema document: a chapter of the language reference.
#[derive(Debug)]
pub struct Subject {
    pub title: String,
    pub text: Vec<String>,
    /// The names of the top nodes it defines.
    pub nodes: Vec<String>,
}

/// One kind of node.
#[derive(Debug, Default)]
pub struct NodeShape {
    pub name: String,
    pub help: String,
    pub example: Option<String>,
    /// For a top node: which files it may stand in.
    pub files: Vec<String>,
    pub least: usize,
    pub most: Option<usize>,
    pub args: Vec<Part>,
    pub rest: Arguments,
    pub props: Vec<Part>,
    pub children: Vec<NodeShape>,
}

/// What may follow the named arguments.
#[derive(Debug, Default)]
pub enum Arguments {
    #[default]
    None,
    /// Any number of one type, at least so many.
    Many { part: Part, least: usize },
    /// Pairs of readings: `before -> after`.
    Readings,
}

/// An argument or a property.
#[derive(Debug)]
pub struct Part {
    pub name: String,
    pub help: String,
    pub ty: Type,
    pub required: bool,
    /// `#null` is allowed, and means that the value is not there yet.
    pub blank: bool,
    pub allow: Vec<String>,
    pub range: Range,
}

impl Part {
    /// One reading of a groove.
    pub(super) fn reading() -> Part {
        Part {
            name: "reading".into(),
            help: "Write it in mm, as `-0.04`.".into(),
            ty: Type::Quantity(crate::quantity::Dimension::Length),
            required: true,
            blank: false,
            allow: Vec::new(),
            range: Range::Any,
        }
    }
}

/// What a number must be.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Range {
    #[default]
    Any,
    AtLeastZero,
    AboveZero,
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
    Flag,
    Count,
    Date,
    Moment,
    /// `X.port.J1`.
    Address,
    /// `S4`, `J1`, or a range `S11..S1`.
    Supports,
    /// A support's name or a position.
    Station,
    /// A number of any dimension: what it is compared with decides.
    Amount,
    Quantity(crate::quantity::Dimension),
}

impl Type {
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
            "length" => Type::Quantity(D::Length),
            "travel" => Type::Quantity(D::Travel),
            "torque" => Type::Quantity(D::Torque),
            "force" => Type::Quantity(D::Force),
            "mass" => Type::Quantity(D::Mass),
            "temperature" => Type::Quantity(D::Temperature),
            "acceleration" => Type::Quantity(D::Acceleration),
            "stiffness" => Type::Quantity(D::Stiffness),
            "per-kelvin" => Type::Quantity(D::PerKelvin),
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
            Type::Station => "a support or a position".into(),
            Type::Amount => "a number".into(),
            Type::Quantity(dimension) => match dimension.plain_unit() {
                "" => format!("a {}", dimension.name()),
                unit => format!("a {} in {unit}", dimension.name()),
            },
        }
    }
}

impl NodeShape {
    pub fn child(&self, name: &str) -> Option<&NodeShape> {
        self.children.iter().find(|child| child.name == name)
    }

    pub fn prop(&self, name: &str) -> Option<&Part> {
        self.props.iter().find(|part| part.name == name)
    }
}
