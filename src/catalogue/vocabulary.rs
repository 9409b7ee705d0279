//! Words that people write in a spec or a parts file where the forms have another.

use form::Vocabulary;

/// What a reader of specs and parts files knows of the trade.
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
    ],
    naming_keys: &["name", "relay"],
};
