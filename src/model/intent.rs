//! What is done and what should be seen: inputs and conditions on them, screens and their views, drives.

use super::{InputId, PartId, PinId, ScreenId, SignalId};
use catalogue::part_form::{Idle, Meaning, OnLoss};
use form::{Name, Place};
use quantity::{Amps, PerMinute, Seconds, Share, Span, Watts};
use spec::{InputKind, SupplyStep};

/// Something that the driver or the vehicle does.
#[derive(Debug, Clone)]
pub struct Input {
    /// Its name.
    pub name: Name,
    /// Words for people; its name where the spec gives none.
    pub title: String,
    /// Its kind; `None` where it has positions but no wire.
    pub kind: Option<InputKind>,
    /// What it says about the vehicle when it leaves rest; an input that has a meaning has two positions.
    pub means: Option<Meaning>,
    /// Its positions, the one at rest first; at least two.
    pub positions: Vec<Name>,
    /// The switch that it moves.
    pub switch: Option<PartId>,
    /// The pin where its wire is taken.
    pub pin: Option<PinId>,
    /// Highest current to be taken.
    pub limit: Option<Amps>,
    /// Allowed flash rates, of a flasher feed.
    pub flash: Option<Span<PerMinute>>,
    /// Allowed on-time shares: of a flash, or of pulse-width driving.
    pub duty: Option<Span<Share>>,
    /// Vehicle's own lamps on the feed.
    pub lamps: Option<Watts>,
    /// What must hold for it to leave its rest position.
    pub needs: Option<StateCondition>,
    /// Inputs that can't be away from rest at the same time.
    pub excludes: Vec<InputId>,
    /// Springs back by itself.
    pub momentary: bool,
    /// Its place in the spec.
    pub place: Place,
}

/// A resolved condition.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StateCondition {
    /// Always or never.
    Always(bool),
    /// An input is in a position.
    InputIs(InputId, usize),
    /// A signal is on.
    Signal(SignalId),
    /// Not.
    Not(Box<StateCondition>),
    /// All of them.
    All(Vec<StateCondition>),
    /// Any of them.
    Any(Vec<StateCondition>),
}

impl StateCondition {
    /// Its value, given positions of inputs and the signals that are on.
    pub fn holds(&self, position: &impl Fn(InputId) -> usize, on: &impl Fn(SignalId) -> bool) -> bool {
        match self {
            StateCondition::Always(value) => *value,
            StateCondition::InputIs(input, at) => position(*input) == *at,
            StateCondition::Signal(signal) => on(*signal),
            StateCondition::Not(inner) => !inner.holds(position, on),
            StateCondition::All(terms) => terms.iter().all(|t| t.holds(position, on)),
            StateCondition::Any(terms) => terms.iter().any(|t| t.holds(position, on)),
        }
    }

    /// Calls `f` with every leaf.
    pub fn leaves(&self, f: &mut impl FnMut(&StateCondition)) {
        match self {
            StateCondition::Not(inner) => inner.leaves(f),
            StateCondition::All(terms) | StateCondition::Any(terms) => terms.iter().for_each(|t| t.leaves(f)),
            leaf => f(leaf),
        }
    }

    /// Whether an input's position decides in it.
    pub fn names_input(&self, id: InputId) -> bool {
        self.has_leaf(|leaf| matches!(leaf, StateCondition::InputIs(input, _) if *input == id))
    }

    /// Whether a signal decides in it.
    pub fn names_signal(&self, id: SignalId) -> bool {
        self.has_leaf(|leaf| *leaf == StateCondition::Signal(id))
    }

    /// Whether any signal decides in it.
    pub fn names_signals(&self) -> bool {
        self.has_leaf(|leaf| matches!(leaf, StateCondition::Signal(_)))
    }

    fn has_leaf(&self, is: impl Fn(&StateCondition) -> bool) -> bool {
        let mut found = false;
        self.leaves(&mut |leaf| found |= is(leaf));
        found
    }
}

/// A screen and what it should show.
#[derive(Debug, Clone)]
pub struct Screen {
    /// Its name.
    pub name: Name,
    /// The part.
    pub part: PartId,
    /// By its trigger pins, first match wins: the video pin that it shows.
    pub shows: Vec<Show>,
    /// What it shows when no trigger is on.
    pub otherwise: Idle,
    /// Time to change its input.
    pub switch_over: Seconds,
    /// Behaviour without a picture.
    pub on_loss: OnLoss,
    /// Whether the driver sees it while driving.
    pub driver_sees: bool,
    /// The intent, first match wins; may be empty.
    pub views: Vec<View>,
    /// Its place in the spec.
    pub place: Place,
}

/// One line of a screen's own rule.
#[derive(Debug, Clone)]
pub struct Show {
    /// Its trigger pins.
    pub when: StateCondition,
    /// As written.
    pub text: String,
    /// The video pin.
    pub input: PinId,
}

/// One line of the intent.
#[derive(Debug, Clone)]
pub struct View {
    /// When it counts.
    pub when: StateCondition,
    /// The condition as written; `otherwise` for the last.
    pub text: String,
    /// What should be shown.
    pub show: Shown,
    /// How soon.
    pub within: Option<Seconds>,
    /// Must not blink.
    pub steady: bool,
    /// Its place in the spec.
    pub place: Place,
}

/// A promise that loads of a part work while a condition holds, and don't work otherwise.
#[derive(Debug, Clone)]
pub struct WorksPromise {
    /// The part.
    pub part: PartId,
    /// Which of its loads, in words; `None` for all of them.
    pub load: Option<Name>,
    /// The signals of these loads: each is on while its load has its lowest working voltage.
    pub loads: Vec<SignalId>,
    /// All of these loads work.
    pub all_work: StateCondition,
    /// At least one of them works.
    pub any_works: StateCondition,
    /// When they should work.
    pub when: StateCondition,
    /// That condition as written.
    pub text: String,
    /// How soon.
    pub within: Option<Seconds>,
    /// Without a gap.
    pub steady: bool,
    /// Its place in the spec.
    pub place: Place,
}

/// What a screen shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Shown {
    /// The picture of a camera or another source.
    Source(PartId),
    /// The screen's home page.
    Home,
    /// No picture.
    Black,
    /// Whatever it likes.
    Any,
}

/// A script for the timeline.
#[derive(Debug, Clone)]
pub struct Drive {
    /// Its name.
    pub name: Name,
    /// Its steps, by time.
    pub steps: Vec<Step>,
    /// Its place in the spec.
    pub place: Place,
}

/// One step of a drive.
#[derive(Debug, Clone)]
pub struct Step {
    /// When, from the start.
    pub at: Seconds,
    /// Inputs and what they are put to.
    pub changes: Vec<(InputId, usize)>,
    /// Flash rate and on-time share from here on; a value that is not given is the middle of the allowed range.
    pub flash: Option<(Option<PerMinute>, Option<Share>)>,
    /// What the supplies are at from here on.
    pub supply: Option<SupplyStep>,
    /// Screens and what they are expected to show, with the place where that is written.
    pub expect: Vec<(ScreenId, Shown, Place)>,
    /// Its place in the spec.
    pub place: Place,
}
