//! What a reader of specs and parts files knows of the trade: words that people write where the forms have another, and
//! the ranges of quantities.

use super::ranges::RANGES;
use form::Vocabulary;

/// For every reader of specs and parts files, and their schemas.
pub const VOCABULARY: &Vocabulary = &Vocabulary {
    synonyms: &[
        ("part", "use"),
        ("type", "use"),
        ("type", "kind"),
        ("size", "gauge"),
        ("area", "gauge"),
        ("awg", "gauge"),
        ("mm2", "gauge"),
        ("color", "colour"),
        ("place", "at"),
        ("location", "at"),
        ("name", "title"),
        ("screens", "shields"),
    ],
    naming_keys: &["name", "relay"],
    ranges: RANGES,
};
