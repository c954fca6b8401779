//! The shapes of all JSON of our own as JSON Schemas (draft 2020-12), made from the types that are written. SARIF and the
//! code-quality report have their own standards.

use schemars::generate::SchemaSettings;
use schemars::transform::{RecursiveTransform, Transform};
use schemars::{JsonSchema, Schema};

use super::json::{self, FindingsJson};
use super::layout::json as layout;
use super::trace::{self, TraceJson};
use crate::views::compare::{self, Comparison};
use crate::views::motion::{self, MotionRun};
use crate::views::readings;
use crate::views::report::{self, Fleet, LimitTrial, Report};

/// A shape: the name that stands in its field `format`, and its schema.
pub struct JsonFormat {
    /// As it stands in the field `format`.
    pub format: &'static str,
    made: fn() -> Schema,
}

impl JsonFormat {
    /// The schema of what is written, under the name of the format.
    pub fn schema(&self) -> Schema {
        let mut schema = (self.made)();
        schema.insert("title".into(), self.format.into());
        schema
    }

    /// The file of the schema: `schema/report.schema.json`.
    pub fn file(&self) -> String {
        let name =
            self.format.trim_start_matches("wayledger-").trim_end_matches(|c: char| c == '-' || c.is_ascii_digit());
        format!("schema/{name}.schema.json")
    }
}

/// Every shape.
pub const JSON_FORMATS: [JsonFormat; 9] = [
    JsonFormat { format: json::FORMAT, made: closed_schema::<FindingsJson> },
    JsonFormat { format: report::FORMAT, made: closed_schema::<Report> },
    JsonFormat { format: report::FLEET_FORMAT, made: closed_schema::<Fleet> },
    JsonFormat { format: report::TRIAL_FORMAT, made: closed_schema::<LimitTrial> },
    JsonFormat { format: motion::FORMAT, made: closed_schema::<MotionRun> },
    JsonFormat { format: trace::FORMAT, made: closed_schema::<TraceJson> },
    JsonFormat { format: layout::FORMAT, made: closed_schema::<layout::LayoutJson> },
    JsonFormat { format: compare::FORMAT, made: closed_schema::<Comparison> },
    JsonFormat { format: readings::FORMAT, made: closed_schema::<readings::Reading> },
];

/// The schema of what a type writes: every field there is, and no other.
pub(super) fn closed_schema<T: JsonSchema>() -> Schema {
    let mut schema = SchemaSettings::draft2020_12().for_serialize().into_generator().into_root_schema_for::<T>();
    RecursiveTransform(closed).transform(&mut schema);
    schema
}

/// An object holds nothing beyond what is said of it.
fn closed(schema: &mut Schema) {
    if schema.get("properties").is_some() {
        schema.insert("additionalProperties".into(), false.into());
    }
}
