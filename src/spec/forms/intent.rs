//! What should be seen: screens, their views, and drives that put them to the test.

use catalogue::part_form::{Idle, OnLoss, ShowForm};
use form;
use form::{Condition, Name, Placed, YesNo};
use quantity::{PerMinute, Seconds, Share, Volts};

form::form! {
    /// A screen.
    pub struct ScreenForm ("a screen") {
        /// The part.
        pub part: Placed<Name>,
        /// What it shows by its trigger pins, first match wins; left out, as its kind of part does.
        pub shows: Vec<ShowForm>,
        /// What it shows when no trigger is on.
        pub otherwise: Option<Idle>,
        /// Time it takes to change its input.
        pub switch_over: Option<Seconds>,
        /// What it does when its picture goes.
        pub on_loss: Option<OnLoss>,
        /// Whether the driver sees it while driving. Usual: yes.
        pub driver_sees: Option<YesNo>,
    }
}

form::form! {
    /// One line of what a screen should show.
    pub struct ViewForm ("a view") {
        /// When this line counts, by inputs (`reverse`, `key = run`) and by what parts remember (`K1`, or `LM.latched` as
        /// states print it); the last line has `otherwise` in its place.
        pub when: Option<Condition>,
        /// The camera or source, or `home`, `black` or `any`.
        pub show: Option<Placed<Name>>,
        /// What is shown when no other line counts: a source, `home`, `black` or `any`.
        pub otherwise: Option<Placed<Name>>,
        /// How soon the picture must be there.
        pub within: Option<Placed<Seconds>>,
        /// Whether the picture must not blink.
        pub steady: YesNo,
    }
}

form::form! {
    /// How flashers flash from a step of a drive on. Usual: the middle of what their inputs allow for.
    pub struct FlashForm ("a flash") {
        /// Flashes per minute.
        pub rate: Option<PerMinute>,
        /// On-time share.
        pub duty: Option<Share>,
    }
}

/// What the supplies with volts of their own are at from a step of a drive on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SupplyStep {
    /// What they usually are at.
    Usual,
    /// All at this voltage, as while the engine is started.
    At(Volts),
}

/// One step of a drive: a time, the inputs that change, and what is expected to be shown.
#[derive(Debug, Clone)]
pub struct StepForm {
    /// When, from the start of the drive.
    pub at: Placed<Seconds>,
    /// Inputs and their new positions. A flasher feed that is on flashes, two that are on flash together.
    pub changes: Vec<(Placed<Name>, Placed<Name>)>,
    /// How flashers flash from here on.
    pub flash: Option<FlashForm>,
    /// What the supplies are at from here on.
    pub supply: Option<SupplyStep>,
    /// For each screen, what it is expected to show at this time.
    pub expect: Vec<(Placed<Name>, Placed<Name>)>,
}
