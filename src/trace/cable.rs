//! Wires and picture cables taken off at both ends: what a meter shows.

/// What a meter shows at the ends of an unplugged picture cable, or of a wire that is taken off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CableSeen {
    /// It goes through and is clear of everything else: of the shield, the body, and the wires beside it.
    Whole,
    /// It is open.
    Open,
    /// It touches something else.
    Shorted,
    /// It goes through, with much resistance.
    High,
}

impl CableSeen {
    /// All of them.
    pub(crate) const ALL: [CableSeen; 4] = [CableSeen::Whole, CableSeen::Open, CableSeen::Shorted, CableSeen::High];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            CableSeen::Whole => "whole",
            CableSeen::Open => "open",
            CableSeen::Shorted => "shorted",
            CableSeen::High => "high",
        }
    }

    /// From words.
    pub(crate) fn from_words(words: &str) -> Option<CableSeen> {
        CableSeen::ALL.into_iter().find(|seen| seen.words() == words)
    }

    /// From its number.
    pub(crate) fn from_code(code: u16) -> Option<CableSeen> {
        CableSeen::ALL.into_iter().find(|seen| *seen as u16 == code)
    }
}
