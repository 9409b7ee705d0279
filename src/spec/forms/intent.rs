//! What the screens should show: screens, their views, and drives that test them.

use catalogue::part_form::{Idle, OnLoss, ShowForm};
use form;
use form::{Condition, Name, Placed, YesNo};
use quantity::{PerMinute, Seconds, Share, Volts};

/// What to do about keys of a part that stand under a screen.
const PART_ELSEWHERE: &str = "write the part itself under `parts`, and name it here: part: HU1";

form::form! {
    /// A screen.
    pub struct ScreenForm ("a screen", &[("use", PART_ELSEWHERE), ("at", PART_ELSEWHERE), ("title", PART_ELSEWHERE)]) {
        /// The part.
        pub part: Placed<Name>,
        /// What it shows with which trigger pins on: the first match wins. Without it, as in its kind of part.
        pub shows: Vec<ShowForm>,
        /// What it shows when no trigger is on. Without it, as in its kind of part, else `home`.
        pub otherwise: Option<Idle>,
        /// Time that it takes to switch to another input. Without it, as in its kind of part, else 500 ms.
        pub switch_over: Option<Seconds>,
        /// What it shows when its picture is lost. Without it, as in its kind of part, else `black`.
        pub on_loss: Option<OnLoss>,
        /// Whether the driver sees it while driving. Usual: yes.
        pub driver_sees: Option<YesNo>,
    }
}

form::form! {
    /// One line of a screen's views.
    pub struct ViewForm ("a view") {
        /// When this line applies, by inputs (`reverse`, `key = run`) and memory (`K1`, or `LM.latched` as `states`
        /// prints it). The last line has `otherwise` instead.
        pub when: Option<Condition>,
        /// The camera or source, or `home`, `black` or `any`.
        pub show: Option<Placed<Name>>,
        /// What the screen should show when no other line applies: a source, `home`, `black` or `any`.
        pub otherwise: Option<Placed<Name>>,
        /// The time within which the picture must be there. Without it, it may take any time.
        pub within: Option<Placed<Seconds>>,
        /// Whether the picture must stay without a gap.
        pub steady: YesNo,
    }
}

form::form! {
    /// When a part should work, and that it should not work otherwise.
    pub struct WorksForm ("a `works`") {
        /// When it should work, by inputs (`brake`, `key = run`) and memory (`K1`).
        pub when: Condition,
        /// Which of its loads, by the name that its kind of part gives it. Without it, all of them.
        pub load: Option<Placed<Name>>,
        /// The time within which it must work. Without it, it may take any time.
        pub within: Option<Placed<Seconds>>,
        /// Whether it must work without a gap, even while a turn signal flashes.
        pub steady: YesNo,
    }
}

/// When a part should work: a condition alone (`works: brake`), a map, or a list of these, one for each load.
#[derive(Debug, Clone)]
pub struct Works(pub Vec<WorksForm>);

form::form! {
    /// Flash rate and on-time share from a step of a drive on. Usual: the middle of what the inputs allow.
    pub struct FlashForm ("a flash") {
        /// Flashes per minute. Without it, the middle of what the inputs allow.
        pub rate: Option<PerMinute>,
        /// On-time share. Without it, the middle of what the inputs allow.
        pub duty: Option<Share>,
    }
}

/// Voltage of the supplies with `volts`, from a step of a drive on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SupplyStep {
    /// Their usual voltage.
    Usual,
    /// This voltage for all, for example at engine start.
    At(Volts),
}

/// One step of a drive: a time, the inputs that change, and what the screens should show.
#[derive(Debug, Clone)]
pub struct StepForm {
    /// Time from the start of the drive.
    pub at: Placed<Seconds>,
    /// Inputs and their new positions. A flasher feed that is on flashes, two that are on flash together.
    pub changes: Vec<(Placed<Name>, Placed<Name>)>,
    /// Flash rate and on-time share from here on.
    pub flash: Option<FlashForm>,
    /// Voltage of the supplies from here on.
    pub supply: Option<SupplyStep>,
    /// For each screen, what it should show at this time.
    pub expect: Vec<(Placed<Name>, Placed<Name>)>,
}
