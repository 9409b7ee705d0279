//! What a tech saw and read, from words.

use super::setting::SetState;
use facts::Facts;
use model::{ElementId, ElementKind, Model, PartId, PinId, ScreenId};
use quantity::Volts;
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
    /// A picture that rolls, flickers or is mixed.
    Disturbed,
}

/// One thing seen or read, in a setting.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// The setting.
    pub(crate) setting: SetState,
    /// What was seen or read.
    pub(crate) what: Answered,
}

/// What was seen or read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Answered {
    /// A screen shows this.
    Screen(ScreenId, ScreenSeen),
    /// A meter between the pin and the battery's negative reads this.
    Volts(PinId, Volts),
    /// A lamp, a buzzer or another load is on or off; by its place among the model's promises.
    Works(usize, bool),
    /// A fuse is blown or whole.
    Fuse(ElementId, bool),
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

    /// In words: `black`, `home`, `REAR`, `disturbed`.
    pub fn words(self, model: &Model) -> String {
        match self {
            ScreenSeen::Nothing => "black".to_string(),
            ScreenSeen::Home => "home".to_string(),
            ScreenSeen::Picture(part) => model.part(part).name.to_string(),
            ScreenSeen::Disturbed => "disturbed".to_string(),
        }
    }
}

impl Observation {
    /// `SCREEN black|home|disturbed|SOURCE`, `LAMP on|off` or `FUSE blown|whole`, seen in a setting.
    ///
    /// # Errors
    /// A screen, a source, a load or a fuse that does not exist.
    pub fn seen(facts: &Facts, text: &str, setting: SetState) -> Result<Observation, WrongAnswer> {
        let model = facts.model;
        let (screen, shows) = text.trim().split_once(' ').ok_or_else(|| WrongAnswer {
            what: format!("`{text}` does not say what is seen"),
            hint:
                "write the screen, then black, home, disturbed or the name of a camera: `dash black`; `L1 off` for a \
                   lamp, `F2 blown` for a fuse"
                    .to_string(),
        })?;
        if let Some(what) = of_part(facts, screen, shows.trim()) {
            return Ok(Observation { setting, what });
        }
        let names: Vec<String> = model.screens.iter().map(|screen| screen.name.to_string()).collect();
        let at = names.iter().position(|name| name == screen).ok_or_else(|| WrongAnswer {
            what: format!("`{screen}` is not a screen"),
            hint: format!("the screens are {}", names.join(", ")),
        })?;
        let seen = match shows.trim() {
            "black" | "dark" | "nothing" | "no picture" => ScreenSeen::Nothing,
            "home" => ScreenSeen::Home,
            "disturbed" => ScreenSeen::Disturbed,
            name => ScreenSeen::Picture(model.part_named(name).ok_or_else(|| WrongAnswer {
                what: format!("`{name}` is no picture"),
                hint: "write black, home, disturbed, or the name of a camera or another source".to_string(),
            })?),
        };
        Ok(Observation { setting, what: Answered::Screen(ScreenId(at), seen) })
    }

    /// `PIN VOLTS`, read in a setting.
    ///
    /// # Errors
    /// A pin that does not exist or carries no voltage, or no number.
    pub fn read(facts: &Facts, text: &str, setting: SetState) -> Result<Observation, WrongAnswer> {
        let (name, volts) = text.trim().split_once([' ', '=']).ok_or_else(|| WrongAnswer {
            what: format!("`{text}` does not say what the meter reads"),
            hint: "write the pin, then the voltage: `K1.86 11.9 V`".to_string(),
        })?;
        let pin = pin_named(facts, name)?;
        let number = volts.trim().trim_start_matches('=').trim().trim_end_matches(['V', 'v']).trim();
        let value: f64 = number.parse().ok().filter(|value: &f64| value.is_finite()).ok_or_else(|| WrongAnswer {
            what: format!("`{}` is not a voltage", volts.trim()),
            hint: "write a number in volts, such as `11.9 V`".to_string(),
        })?;
        Ok(Observation { setting, what: Answered::Volts(pin, Volts::new(value)) })
    }
}

/// A load that is on or off, or a fuse that is blown or whole.
fn of_part(facts: &Facts, name: &str, shows: &str) -> Option<Answered> {
    let model = facts.model;
    let part = model.part_named(name)?;
    let promise = model.works.iter().position(|promise| promise.part == part);
    let fuse = model.part(part).elements.iter().find(|id| matches!(model.element(**id).kind, ElementKind::Fuse { .. }));
    match (shows, promise, fuse) {
        ("on" | "works", Some(promise), _) => Some(Answered::Works(promise, true)),
        ("off" | "dead", Some(promise), _) => Some(Answered::Works(promise, false)),
        ("blown" | "open", _, Some(fuse)) => Some(Answered::Fuse(*fuse, true)),
        ("whole" | "intact", _, Some(fuse)) => Some(Answered::Fuse(*fuse, false)),
        _ => None,
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
