//! The formats of findings. A new one is its file and its line here.

use super::findings::FindingsFormat;
use super::{github, gitlab, json, sarif, terminal};

/// Every format, the first where none is asked for.
pub static FINDINGS_FORMATS: [&dyn FindingsFormat; 5] =
    [&terminal::Terminal, &json::Json, &sarif::Sarif, &github::Github, &gitlab::Gitlab];
