//! The remedies of a candidate: how its wiring differs from the first wiring that was tried.

use form::Name;

/// What a candidate is made by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Attempt {
    /// The n-th arrangement of the pictures, with the fewest contacts.
    Arrangement(usize),
    /// A way for each term, so that nothing drops out while a contact changes over.
    Steady,
}

/// What differs from the first wiring of a candidate, because that did not pass.
#[derive(Debug, Clone, Default)]
pub struct Remedies {
    /// A relay for every load, even where a vehicle wire may carry it.
    pub relayed: bool,
    /// A camera of a screen that the battery feeds has power wherever the screen has, even where its picture never shows.
    pub awake: bool,
    /// Supplies that are too weak for what they feed: a relay on the battery repeats them.
    pub repeated: Vec<Name>,
    /// Relays and modules at one place have a wire each to a ground elsewhere, where the loss of a common one moves them.
    pub own_grounds: bool,
    /// The ground nearest to the first large load is for large loads alone.
    pub reserve: bool,
    /// All pictures, and what controls them, share one ground point: none of their currents returns by a shield.
    pub one_ground: bool,
    /// Diodes keep current of the coils from flowing back into the vehicle's wires, when a ground comes off.
    pub blocked: bool,
    /// What is live until a relay moves reaches a screen's trigger through a module that waits for it.
    pub delayed: bool,
    /// Cameras and sources with an isolator in each picture cable: no shield joins two ground points there.
    pub isolated: Vec<Name>,
}

/// What a candidate that passed was made by.
#[derive(Debug, Clone)]
pub struct Passed {
    /// Its network.
    pub attempt: Attempt,
    /// Its wiring.
    pub remedies: Remedies,
}
