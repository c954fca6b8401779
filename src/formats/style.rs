//! Colour and width.

/// How findings are drawn.
#[derive(Clone, Copy, Debug)]
pub struct Style {
    pub colour: bool,
    pub width: usize,
}

impl Default for Style {
    fn default() -> Self {
        Style { colour: false, width: 100 }
    }
}
