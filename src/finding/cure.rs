//! How what a rule found is put right: by writing, or only by work and a later reading.

/// How a finding is put right.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cure {
    /// The text or the description is mended.
    Writing,
    /// By writing until the rail has a torque record: then it is built so.
    UntilBuilt,
    /// Only work and a later reading cure it, or the calendar brought it.
    AtMachine,
}

impl Cure {
    /// As the page of a rule says it.
    pub fn words(self) -> &'static str {
        match self {
            Cure::Writing => "by writing",
            Cure::UntilBuilt => "by writing until the rail has a torque record, then at the machine",
            Cure::AtMachine => "at the machine",
        }
    }
}
