//! Colour and width.

/// How findings are drawn.
#[derive(Clone, Copy, Debug)]
pub struct Style {
    /// With the colours of a terminal.
    pub colour: bool,
    /// In characters.
    pub width: usize,
}

impl Default for Style {
    fn default() -> Self {
        Style { colour: false, width: 100 }
    }
}
