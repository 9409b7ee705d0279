//! What a tech saw and read, from words.

use super::cable::CableSeen;
use super::fault::{Mending, faults};
use super::measure::{Measure, MeterValue};
use super::observable::Observable;
use super::rates::Rates;
use super::setting::SetState;
use facts::Facts;
use model::{ElementId, ElementKind, Model, PartId, PartKind, PinId, PlaceId, ScreenId, WireId};
use states::Picture;

/// What a tech sees on a screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ScreenSeen {
    /// Nothing: black, dark, or `no signal`.
    Nothing,
    /// Its home page.
    Home,
    /// The picture of a source.
    Picture(PartId),
    /// The picture of a source that no longer moves.
    Still(PartId),
    /// A picture that rolls, flickers or is mixed.
    Disturbed,
}

/// How a lamp, a buzzer or another load works.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum WorksSeen {
    /// Not at all.
    Off,
    /// Weakly: a lamp glows.
    Glows,
    /// As it should.
    On,
}

/// One thing seen or read, in a setting.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// The setting.
    pub(crate) setting: SetState,
    /// What was seen or read.
    pub(crate) what: Answered,
    /// Whether it is so only now and then.
    pub(crate) now_and_then: bool,
    /// Whether a state was named with it.
    pub(crate) has_state: bool,
}

/// What was seen or read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Answered {
    /// A screen shows this.
    Screen(ScreenId, ScreenSeen),
    /// How a lamp, a buzzer or another load works; by its place among the model's promises.
    Works(usize, WorksSeen),
    /// A fuse is blown or whole.
    Fuse(ElementId, bool),
    /// A new fuse in place of a blown one blows, or holds.
    NewFuse(ElementId, bool),
    /// An input of a screen shows a picture that is right elsewhere, or not.
    Input(PinId, bool),
    /// Wires are exchanged in a connector, or not.
    Plug(PartId, bool),
    /// A battery goes flat.
    Flat,
    /// The batteries supply more than they should with everything at rest, or not.
    Drain(bool),
    /// The state of an unplugged picture cable.
    Cable(WireId, CableSeen),
    /// Whether something changes as the wires at a place are moved.
    Wiggle(PlaceId, bool),
    /// Whether what was wrong works after a repair.
    Mended(Mending, bool),
    /// What a meter or a test lamp shows.
    Meter(Measure, MeterValue),
}

impl Answered {
    /// What was looked at.
    pub(crate) fn look(self) -> Observable {
        match self {
            Answered::Fuse(fuse, _) => Observable::Fuse(fuse),
            Answered::NewFuse(fuse, _) => Observable::NewFuse(fuse),
            Answered::Plug(part, _) => Observable::Plug(part),
            Answered::Input(pin, _) => Observable::Input(pin),
            Answered::Flat | Answered::Drain(_) => Observable::Drain,
            Answered::Screen(screen, _) => Observable::Screen(screen),
            Answered::Works(promise, _) => Observable::Works(promise),
            Answered::Cable(wire, _) => Observable::Cable(wire),
            Answered::Wiggle(place, _) => Observable::Wiggle(place),
            Answered::Mended(mending, _) => Observable::Mended(mending),
            Answered::Meter(measure, _) => Observable::Meter(measure),
        }
    }
}

/// Words that can't be understood: what is wrong, and what to write.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrongAnswer {
    /// What is wrong.
    pub what: String,
    /// What to write instead.
    pub hint: String,
}

impl ScreenSeen {
    /// What a picture looks like.
    pub(crate) fn of(picture: &Picture) -> ScreenSeen {
        match picture {
            Picture::Source(part) => ScreenSeen::Picture(*part),
            Picture::Home => ScreenSeen::Home,
            Picture::Black | Picture::Dark | Picture::NoSignal(_) => ScreenSeen::Nothing,
            Picture::Clash(_) | Picture::WrongFormat(_) | Picture::Flickers(_) => ScreenSeen::Disturbed,
        }
    }

    /// In words: `black`, `home`, `REAR`, `frozen REAR`, `disturbed`.
    pub fn words(self, model: &Model) -> String {
        match self {
            ScreenSeen::Nothing => "black".to_string(),
            ScreenSeen::Home => "home".to_string(),
            ScreenSeen::Picture(part) => model.part(part).name.to_string(),
            ScreenSeen::Still(part) => format!("frozen {}", model.part(part).name),
            ScreenSeen::Disturbed => "disturbed".to_string(),
        }
    }
}

impl WorksSeen {
    /// From its number.
    pub fn from_code(code: u16) -> WorksSeen {
        match code {
            0 => WorksSeen::Off,
            1 => WorksSeen::Glows,
            _ => WorksSeen::On,
        }
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            WorksSeen::Off => "off",
            WorksSeen::Glows => "glows",
            WorksSeen::On => "on",
        }
    }
}

/// The answer of a circuit that does not settle; nothing more is known then.
pub(crate) const UNSTEADY: &str = "comes and goes";

/// What ends an observation that holds only sometimes.
pub(crate) const NOW_AND_THEN: &str = " now and then";

impl Observation {
    pub(crate) fn new(setting: SetState, what: Answered) -> Observation {
        Observation { setting, what, now_and_then: false, has_state: true }
    }

    /// The same where no state was named.
    pub fn without_state(self) -> Observation {
        Observation { has_state: false, ..self }
    }

    /// `SCREEN black|home|disturbed|SOURCE|frozen SOURCE`, `LAMP on|off|glows`, `FUSE blown|whole`,
    /// `FUSE new holds|new blows`, `battery flat`, `plug CONNECTOR right|exchanged`, `cable WIRE whole|open|shorted` or `wiggle PLACE changes|nothing`,
    /// seen in a setting; with `now and then` at its end, only sometimes.
    ///
    /// # Errors
    /// A screen, a source, a load, a fuse, a cable or a place that does not exist.
    pub fn seen(facts: &Facts, text: &str, setting: SetState) -> Result<Observation, WrongAnswer> {
        match text.trim().strip_suffix(NOW_AND_THEN) {
            Some(text) => {
                let what = Answered::from_words(facts, text)?;
                Ok(Observation { now_and_then: true, ..Observation::new(setting, what) })
            }
            None => Ok(Observation::new(setting, Answered::from_words(facts, text)?)),
        }
    }
}

impl Answered {
    fn from_words(facts: &Facts, text: &str) -> Result<Answered, WrongAnswer> {
        let model = facts.model;
        let (screen, shows) = text.trim().split_once(' ').ok_or_else(|| WrongAnswer {
            what: format!("`{text}` does not say what is seen"),
            hint:
                "write the screen, then black, home, disturbed or the name of a camera: `dash black`; `L1 off` for a \
                   lamp, `F2 blown` for a fuse"
                    .to_string(),
        })?;
        if let Some(what) = of_part(facts, screen, shows.trim()) {
            return Ok(what);
        }
        match screen {
            "battery" if shows.trim() == "flat" => return Ok(Answered::Flat),
            "input" => return of_input(model, shows.trim()),
            "plug" => return of_plug(model, shows.trim()),
            "cable" => return of_cable(model, shows.trim()),
            "wiggle" => return of_place(model, shows.trim()),
            "mended" => return of_repair(facts, shows.trim()),
            _ => {}
        }
        let names: Vec<String> = model.screens.iter().map(|screen| screen.name.to_string()).collect();
        let at = names.iter().position(|name| name == screen).ok_or_else(|| WrongAnswer {
            what: match model.part_named(screen) {
                Some(_) => format!("`{shows}` is not what can be seen at `{screen}`"),
                None => format!("`{screen}` is not a screen, a fuse, or a part with `works`"),
            },
            hint: format!(
                "the screens are {}; write `L1 off`, `L1 on` or `L1 glows` for a part with `works`, `F2 blown` or `F2 new blows` \
                 for a fuse, `battery flat` for a battery",
                names.join(", ")
            ),
        })?;
        let source = |name: &str| {
            model.part_named(name).ok_or_else(|| WrongAnswer {
                what: format!("`{name}` is no picture"),
                hint: "write black, home, disturbed, the name of a camera or another source, or frozen and its name"
                    .to_string(),
            })
        };
        let seen = match shows.trim() {
            "black" | "dark" | "nothing" => ScreenSeen::Nothing,
            // As `states` prints it.
            shows if ["no picture", "dark (", "no signal"].iter().any(|begin| shows.starts_with(begin)) => {
                ScreenSeen::Nothing
            }
            "home" => ScreenSeen::Home,
            "disturbed" | "rolls" | "flickers" | "bars" => ScreenSeen::Disturbed,
            name => match name.strip_prefix("frozen ") {
                Some(name) => ScreenSeen::Still(source(name.trim())?),
                None => ScreenSeen::Picture(source(name)?),
            },
        };
        Ok(Answered::Screen(ScreenId(at), seen))
    }
}

/// A load that is on or off, or a fuse that is blown or whole.
fn of_part(facts: &Facts, name: &str, shows: &str) -> Option<Answered> {
    let model = facts.model;
    let part = model.part_named(name)?;
    let promise = model.works.iter().position(|promise| promise.part == part);
    let fuse = model.part(part).elements.iter().find(|id| matches!(model.element(**id).kind, ElementKind::Fuse { .. }));
    match (shows, promise, fuse) {
        ("on" | "lit" | "works" | "flashes" | "flashing" | "on, flashing", Some(promise), _) => {
            Some(Answered::Works(promise, WorksSeen::On))
        }
        ("off" | "not" | "dead", Some(promise), _) => Some(Answered::Works(promise, WorksSeen::Off)),
        ("glows" | "dim" | "weak", Some(promise), _) => Some(Answered::Works(promise, WorksSeen::Glows)),
        ("new holds", _, Some(fuse)) => Some(Answered::NewFuse(*fuse, false)),
        ("new blows", _, Some(fuse)) => Some(Answered::NewFuse(*fuse, true)),
        ("blown" | "open", _, Some(fuse)) => Some(Answered::Fuse(*fuse, true)),
        ("whole" | "intact", _, Some(fuse)) => Some(Answered::Fuse(*fuse, false)),
        _ => None,
    }
}

/// `WHAT works|still`.
fn of_repair(facts: &Facts, text: &str) -> Result<Answered, WrongAnswer> {
    let faults = faults(facts, &Rates::typical());
    let (name, seen) = text.rsplit_once(' ').unwrap_or((text, ""));
    let mending = faults.iter().map(|fault| fault.repair).find(|repair| repair.words(facts.model) == name);
    let mending = mending.ok_or_else(|| WrongAnswer {
        what: format!("`{name}` is nothing that a suspect of this harness needs mended"),
        hint: "write a wire or a part as the spec does: `mended wire 12 works`, `mended K1 still`".to_string(),
    })?;
    match seen {
        "works" => Ok(Answered::Mended(mending, true)),
        "still" => Ok(Answered::Mended(mending, false)),
        _ => Err(WrongAnswer {
            what: format!("`{seen}` does not say whether it works now"),
            hint: "write works, or still where what was wrong is still so".to_string(),
        }),
    }
}

/// `PIN shows|nothing`.
fn of_input(model: &Model, text: &str) -> Result<Answered, WrongAnswer> {
    let (name, seen) = text.rsplit_once(' ').unwrap_or((text, ""));
    let mut inputs = model.screens.iter().flat_map(|screen| screen.shows.iter().map(|show| show.input));
    let pin = inputs.find(|pin| model.pin_name(*pin) == name).ok_or_else(|| WrongAnswer {
        what: format!("`{name}` is not an input of a screen"),
        hint: "write an input as the spec does: `input HU1.cam1 shows`".to_string(),
    })?;
    match seen {
        "shows" => Ok(Answered::Input(pin, true)),
        "nothing" => Ok(Answered::Input(pin, false)),
        _ => Err(WrongAnswer {
            what: format!("`{seen}` does not say whether the input shows the other picture"),
            hint: "write shows, or nothing".to_string(),
        }),
    }
}

/// `CONNECTOR right|exchanged`.
fn of_plug(model: &Model, text: &str) -> Result<Answered, WrongAnswer> {
    let (name, seen) = text.rsplit_once(' ').unwrap_or((text, ""));
    let has_plugs = |part: &PartId| matches!(model.part(*part).kind, PartKind::Connector | PartKind::Device);
    let part = model.part_named(name).filter(has_plugs).ok_or_else(|| WrongAnswer {
        what: format!("`{name}` is not a connector or a part with plugs"),
        hint: "write a connector as the spec does: `plug X1 right`".to_string(),
    })?;
    match seen {
        "right" => Ok(Answered::Plug(part, false)),
        "exchanged" => Ok(Answered::Plug(part, true)),
        _ => Err(WrongAnswer {
            what: format!("`{seen}` does not say what the connector looks like"),
            hint: "write right, or exchanged".to_string(),
        }),
    }
}

/// `WIRE whole|open|shorted`.
fn of_cable(model: &Model, text: &str) -> Result<Answered, WrongAnswer> {
    let (id, state) = text.split_once(' ').unwrap_or((text, ""));
    let wire = model.wire_ids().find(|wire| model.wire(*wire).id.as_str() == id).ok_or_else(|| WrongAnswer {
        what: format!("there is no wire `{id}`"),
        hint: "write the number of a picture cable as the spec does: `cable 40 open`".to_string(),
    })?;
    let can_be = |seen: &CableSeen| *seen != CableSeen::High;
    let state = CableSeen::from_words(state.trim()).filter(can_be).ok_or_else(|| WrongAnswer {
        what: format!("`{state}` is not the state of a cable"),
        hint: "write whole, open or shorted".to_string(),
    })?;
    Ok(Answered::Cable(wire, state))
}

/// `PLACE changes|nothing`.
fn of_place(model: &Model, text: &str) -> Result<Answered, WrongAnswer> {
    let (name, seen) = text.rsplit_once(' ').unwrap_or((text, ""));
    let names = || (0..model.places.len()).map(|at| model.place_name(Some(PlaceId(at))).to_string());
    let at = names().position(|one| one == name).ok_or_else(|| WrongAnswer {
        what: format!("there is no place `{name}`"),
        hint: format!("the places are {}", names().collect::<Vec<_>>().join(", ")),
    })?;
    match seen {
        "changes" => Ok(Answered::Wiggle(PlaceId(at), true)),
        "nothing" => Ok(Answered::Wiggle(PlaceId(at), false)),
        _ => Err(WrongAnswer {
            what: format!("`{seen}` does not say what the wires do"),
            hint: "write changes, or nothing".to_string(),
        }),
    }
}

/// A pin that a meter can read, by its name.
///
/// # Errors
/// A part or pin that does not exist; a pin of pictures, sound or data.
pub fn pin_named(facts: &Facts, name: &str) -> Result<PinId, WrongAnswer> {
    let model = facts.model;
    let (part_name, pin_name) = name.split_once('.').unwrap_or((name, ""));
    let part = model.part_named(part_name).ok_or_else(|| WrongAnswer {
        what: format!("`{part_name}` is not a part"),
        hint: "write a pin as the spec does, such as `K1.86`".to_string(),
    })?;
    let one_pin = model.part(part).kind.one_pin().then(|| model.part(part).pins[0]);
    let pin = one_pin.or_else(|| model.pin_named(part, pin_name)).ok_or_else(|| {
        let pins: Vec<&str> = model.part(part).pins.iter().map(|pin| model.pin(*pin).name.as_str()).collect();
        WrongAnswer {
            what: format!("`{part_name}` has no pin `{pin_name}`"),
            hint: format!("its pins are {}", pins.join(", ")),
        }
    })?;
    match facts.solved.assembly.pin(pin) {
        Some(_) => Ok(pin),
        None => Err(WrongAnswer {
            what: format!("`{name}` carries pictures, sound or data, which a meter does not show"),
            hint: "read a feed, a ground or a trigger, or say what the screen shows".to_string(),
        }),
    }
}

/// A wire that carries current, by its number.
pub(crate) fn wire_named(facts: &Facts, id: &str) -> Result<WireId, WrongAnswer> {
    let model = facts.model;
    let found = model.wire_ids().find(|wire| model.wire(*wire).id.as_str() == id);
    found.filter(|wire| facts.solved.assembly.wire(*wire).is_some()).ok_or_else(|| WrongAnswer {
        what: format!("there is no wire `{id}` that carries current"),
        hint: "write a wire's number as the spec does, such as `wire 12`".to_string(),
    })
}
