//! The kinds of proposal that a wish can get.

use serde::Serialize;

/// A kind of proposal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ProposalKind {
    /// As few parts as plan finds.
    FewestParts,
    /// A fuse of its own for every camera and screen, so that one that fails takes no other with it.
    MostRobust,
    /// Relays in place of inverters, semiconductor switches and selectors; a flasher still needs its hold module.
    PlainRelays,
    /// Pictures through a selector, even where the screen has inputs for all.
    Selector,
}

impl ProposalKind {
    /// Every kind, in the order in which they are offered.
    pub const ALL: [ProposalKind; 4] =
        [ProposalKind::FewestParts, ProposalKind::MostRobust, ProposalKind::PlainRelays, ProposalKind::Selector];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            ProposalKind::FewestParts => "fewest parts",
            ProposalKind::MostRobust => "most robust against chafed wires: a fuse for each camera and screen",
            ProposalKind::PlainRelays => "plain relays only",
            ProposalKind::Selector => "pictures through a selector",
        }
    }
}
