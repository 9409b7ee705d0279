//! `--paper`: the papers that a shop prints on.

use clap::ValueEnum;
use kit::sheet::Papers;

/// The papers that a shop prints on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub(super) enum PaperChoice {
    /// A4, and A3 for large drawings.
    #[default]
    A4,
    /// Letter, and Tabloid for large drawings.
    Letter,
}

impl PaperChoice {
    /// The papers themselves.
    pub fn papers(self) -> Papers {
        match self {
            Self::A4 => Papers::Iso,
            Self::Letter => Papers::Inch,
        }
    }
}
