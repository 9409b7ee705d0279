//! The proposals that a wish was planned in, side by side: what each costs, and what the driver sees when a part of it fails.

use serde::Serialize;

/// Proposals side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProposalTable {
    /// The file of the wish.
    pub wish: String,
    /// The index of the proposal that this book builds; `None` if the spec differs from all of them.
    pub built: Option<usize>,
    /// The proposals, numbered from 1.
    pub sheets: Vec<ProposalSheet>,
}

/// A proposal.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProposalSheet {
    /// Its number.
    pub number: usize,
    /// What kind of proposal it is.
    pub kind: String,
    /// Parts that it adds.
    pub parts: usize,
    /// Wires that it adds.
    pub wires: usize,
    /// Minutes at the bench.
    pub minutes: u32,
    /// Cost in the shop's currency.
    pub cost: u32,
    /// The slowest picture of all views with `within`.
    pub slowest: String,
    /// What the batteries give with everything at rest.
    pub key_off: String,
    /// Faults with which a screen differs somewhere.
    pub showing: usize,
    /// Faults that were solved, one at a time.
    pub faults: usize,
    /// Faults with which a wrong picture shows.
    pub misleading: usize,
    /// Faults with which the rear view is lost in reverse; none if no input means reverse gear.
    pub rear: Option<usize>,
    /// How few relays its logic needs.
    pub logic: String,
    /// The most that each feed of the vehicle gives.
    pub feeds: Vec<ProposalFeed>,
    /// The faults that show, the worst first.
    pub failures: Vec<ProposalFailure>,
}

/// The most that a feed of the vehicle gives.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProposalFeed {
    /// The supply or the vehicle's wire.
    pub feed: String,
    /// The current.
    pub amps: String,
    /// Its limit.
    pub limit: String,
}

/// A fault that shows.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProposalFailure {
    /// The fault.
    pub fault: String,
    /// Whether a part fails, not a wire.
    pub is_of_part: bool,
    /// Where a screen differs.
    pub seen: String,
    /// Whether a wrong picture shows.
    pub misleads: bool,
    /// Whether the rear view is lost in reverse.
    pub takes_rear: bool,
}
