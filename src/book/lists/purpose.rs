//! What the harness is for, as the spec says it: the inputs, what each screen should show when, and when parts should
//! work.

use model::{Input, Model, Screen, WorksPromise};
use quantity::{Amps, Seconds};
use serde::Serialize;
use spec::InputKind;
use states::shown_words;

/// What it is for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Purpose {
    /// What the driver and the vehicle do.
    pub inputs: Vec<InputLine>,
    /// What the screens should show.
    pub screens: Vec<ScreenLines>,
    /// When parts should work.
    pub works: Vec<WorksLine>,
}

/// When a part should work.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WorksLine {
    /// The part, with the load where it has several.
    pub part: String,
    /// In words.
    pub title: String,
    /// Where it is.
    pub place: String,
    /// The condition, as the spec says it.
    pub when: String,
    /// How soon.
    pub within: Option<Seconds>,
    /// Without a gap.
    pub steady: bool,
}

/// One input.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct InputLine {
    /// Its name.
    pub name: String,
    /// In words.
    pub title: String,
    /// Its kind; `None` if it has no wire.
    pub kind: Option<&'static str>,
    /// What its wire comes from, in words.
    pub taken_from: Option<&'static str>,
    /// Where its wire or switch is.
    pub place: Option<String>,
    /// Its positions, the one at rest first.
    pub positions: Vec<String>,
    /// Highest current to be taken from its wire.
    pub limit: Option<Amps>,
    /// Flash rates that are allowed for.
    pub flash: Option<String>,
}

/// One screen.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ScreenLines {
    /// Its name.
    pub name: String,
    /// Its part.
    pub part: String,
    /// The part in words.
    pub title: String,
    /// Where it is.
    pub place: String,
    /// Whether the driver sees it while driving.
    pub driver_sees: bool,
    /// What it should show, first match wins.
    pub views: Vec<ViewLine>,
}

/// One line of the intent.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ViewLine {
    /// When it counts, as the spec says it.
    pub when: String,
    /// What should be shown.
    pub shows: String,
    /// That in words, where it is a part with words of its own.
    pub title: Option<String>,
    /// How soon.
    pub within: Option<Seconds>,
    /// Must not blink.
    pub steady: bool,
}

/// Gathers it from the model.
pub fn purpose(model: &Model) -> Purpose {
    Purpose {
        inputs: model.inputs.iter().map(|input| input_line(model, input)).collect(),
        screens: model.screens.iter().map(|screen| screen_lines(model, screen)).collect(),
        works: model.works.iter().map(|promise| works_line(model, promise)).collect(),
    }
}

fn works_line(model: &Model, promise: &WorksPromise) -> WorksLine {
    let part = model.part(promise.part);
    let load = promise.load.as_ref().map(|load| format!(".{load}")).unwrap_or_default();
    WorksLine {
        part: format!("{}{load}", part.name),
        title: part.title.clone(),
        place: model.place_name(part.at).to_string(),
        when: promise.text.clone(),
        within: promise.within,
        steady: promise.steady,
    }
}

fn input_line(model: &Model, input: &Input) -> InputLine {
    let part = input.pin.map(|pin| model.pin(pin).part).or(input.switch);
    InputLine {
        name: input.name.to_string(),
        title: input.title.clone(),
        kind: input.kind.map(InputKind::word),
        taken_from: input.kind.map(taken_from),
        place: part.map(|id| model.place_name(model.part(id).at).to_string()),
        positions: input.positions.iter().map(ToString::to_string).collect(),
        limit: input.limit,
        flash: input.flash.map(|flash| flash.to_string()),
    }
}

/// Where an input's wire comes from, in the words of the bench.
fn taken_from(kind: InputKind) -> &'static str {
    match kind {
        InputKind::LampFeed => "lamp feed",
        InputKind::FlasherFeed => "turn signal feed",
        InputKind::PulsedFeed => "lamp feed, pulsed",
        InputKind::SwitchedFeed => "switched feed",
        InputKind::GroundSwitch => "wire that goes to ground",
        InputKind::ModuleOutput => "module output",
        InputKind::ModuleLow => "module output that goes to ground",
        InputKind::Toggle => "switch",
        InputKind::Push => "push button",
    }
}

fn screen_lines(model: &Model, screen: &Screen) -> ScreenLines {
    let part = model.part(screen.part);
    let views = screen.views.iter().map(|view| ViewLine {
        when: view.text.clone(),
        shows: shown_words(model, view.show),
        title: match view.show {
            model::Shown::Source(id) => Some(model.part(id).title.clone()),
            _ => None,
        },
        within: view.within,
        steady: view.steady,
    });
    ScreenLines {
        name: screen.name.to_string(),
        part: part.name.to_string(),
        title: part.title.clone(),
        place: model.place_name(part.at).to_string(),
        driver_sees: screen.driver_sees,
        views: views.collect(),
    }
}
