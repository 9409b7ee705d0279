//! What a screen shows in a solved state: its own rule picks an input, and the picture counts only if its source is
//! powered, the way is open, and the screen takes the format.

use super::Wiring;
use catalogue::part_form::Idle;
use circuit::{Reading, Solution, State};
use graph::{Link, Passage, PicturePath};
use model::{
    ElementId, ElementKind, Model, PartId, PinId, ScreenId, Shown, SignalId, SignalKind, StateCondition, WireId,
};
use std::borrow::Cow;

/// What is on a screen.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Picture {
    /// The picture of one source.
    Source(PartId),
    /// The screen's home page.
    Home,
    /// Nothing, as the screen's rule says.
    Black,
    /// The screen has no power.
    Dark,
    /// An input is picked on which no picture arrives.
    NoSignal(PinId),
    /// Two sources at once on the picked input.
    Clash(Vec<PartId>),
    /// A picture in a format that the screen doesn't take.
    WrongFormat(PartId),
    /// These in turn, with each pulse of a pulsed feed.
    Flickers(Vec<Picture>),
}

impl Picture {
    /// Whether the intent asks for this. A screen without power can't show its home page: where that is no fault, depends on
    /// what keeps it dark (`facts::screens`).
    pub fn agrees(&self, shown: Shown) -> bool {
        match shown {
            Shown::Any => true,
            Shown::Source(part) => *self == Picture::Source(part),
            Shown::Home => matches!(self, Picture::Home | Picture::Dark),
            Shown::Black => matches!(self, Picture::Black | Picture::Dark),
        }
    }

    /// In words.
    pub fn words(&self, model: &Model) -> String {
        match self {
            Picture::Source(part) => model.part(*part).name.to_string(),
            Picture::Home => "home".into(),
            Picture::Black => "black".into(),
            Picture::Dark => "dark (no power)".into(),
            Picture::NoSignal(pin) => format!("no picture on {}", model.pin(*pin).name),
            Picture::Clash(parts) => {
                let names: Vec<&str> = parts.iter().map(|p| model.part(*p).name.as_str()).collect();
                format!("{} at once", names.join(" and "))
            }
            Picture::WrongFormat(part) => format!("{} in a format it can't take", model.part(*part).name),
            Picture::Flickers(turns) => {
                let turns: Vec<String> = turns.iter().map(|picture| picture.words(model)).collect();
                format!("{} in turn with each pulse", turns.join(" and "))
            }
        }
    }
}

/// In words, what should be shown.
pub fn shown_words(model: &Model, shown: Shown) -> String {
    match shown {
        Shown::Source(part) => model.part(part).name.to_string(),
        Shown::Home => "home".into(),
        Shown::Black => "black".into(),
        Shown::Any => "anything".into(),
    }
}

/// A picture that arrives at an input.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ArrivingPicture {
    /// Its source.
    pub source: PartId,
    /// Index of its video path in [`Wiring::pictures`].
    pub way: usize,
}

/// One screen in one state.
#[derive(Debug, Clone)]
pub struct ScreenReading {
    /// What it shows.
    pub picture: Picture,
    /// The line of its own rule that picked the input; `None` where no trigger is on.
    pub rule: Option<usize>,
    /// Live pictures on the picked input.
    pub arrivals: Vec<ArrivingPicture>,
    /// Trigger inputs between their thresholds.
    pub undecided: Vec<SignalId>,
    /// The line of the intent that applies, if there is one.
    pub view: Option<usize>,
    /// Whether the picture is what that line asks for; true if no line applies.
    pub agrees: bool,
}

/// What each screen that takes part in a round of steps shows in turn; screens that show the same in all are left out.
pub fn alternating(wiring: &Wiring, round: &[Solution]) -> Vec<(ScreenId, Vec<Picture>)> {
    let screens = (0..wiring.model.screens.len()).map(ScreenId);
    let shown = screens.map(|screen| {
        let mut pictures: Vec<Picture> = Vec::new();
        for picture in round.iter().map(|step| read_screen(wiring, step, screen).picture) {
            if !pictures.contains(&picture) {
                pictures.push(picture);
            }
        }
        (screen, pictures)
    });
    shown.filter(|(_, pictures)| pictures.len() > 1).collect()
}

/// What a screen does that shows several pictures in turn, in words.
pub fn alternates_words(model: &Model, pictures: &[Picture]) -> String {
    let words: Vec<String> = pictures.iter().map(|picture| picture.words(model)).collect();
    format!("alternates between {}", words.join(" and "))
}

/// Reads a screen in a solved state.
pub fn read_screen(wiring: &Wiring, solution: &Solution, id: ScreenId) -> ScreenReading {
    let model = wiring.model;
    let screen = &model.screens[id.0];
    let reading = |signal: SignalId| wiring.assembly.reading(model, solution, signal);
    let of_part = |i: &usize| model.signals[*i].part == screen.part;
    let mine: Vec<SignalId> = (0..model.signals.len()).filter(of_part).map(SignalId).collect();
    let undecided = mine.iter().copied().filter(|s| reading(*s) == Reading::Undecided).collect();
    let powered = mine
        .iter()
        .filter(|s| matches!(model.signals[s.0].kind, SignalKind::Working { .. }))
        .all(|s| reading(*s) == Reading::On);
    let mut turns = solution.in_turn().into_iter().map(|state| glance(wiring, &state, id, powered));
    // OK because a solution goes through at least the state that it is of.
    let first = turns.next().unwrap_or_else(|| glance(wiring, &solution.state, id, powered));
    let mut pictures = vec![first.picture.clone()];
    pictures.extend(turns.map(|glance| glance.picture));
    pictures.dedup();
    let picture = if pictures.len() > 1 { Picture::Flickers(pictures) } else { first.picture };
    let view = screen.views.iter().position(|view| wiring.assembly.holds(solution, &view.when));
    let agrees = view.is_none_or(|v| picture.agrees(screen.views[v].show));
    ScreenReading { picture, rule: first.rule, arrivals: first.arrivals, undecided, view, agrees }
}

/// What a screen picks and receives at one moment.
struct Glance {
    picture: Picture,
    rule: Option<usize>,
    arrivals: Vec<ArrivingPicture>,
}

fn glance(wiring: &Wiring, state: &State, id: ScreenId, powered: bool) -> Glance {
    let model = wiring.model;
    let screen = &model.screens[id.0];
    let holds = |logic: &StateCondition| state.holds(&wiring.assembly.logic(logic));
    let rule = screen.shows.iter().position(|show| holds(&show.when)).filter(|_| powered);
    let mut arrivals = Vec::new();
    let picture = match rule.map(|r| screen.shows[r].input) {
        _ if !powered => Picture::Dark,
        None if screen.otherwise == Idle::Home => Picture::Home,
        None => Picture::Black,
        Some(input) => {
            for (way, path) in wiring.pictures[&input].iter().enumerate() {
                if comes_in(wiring, state, path) {
                    arrivals.push(ArrivingPicture { source: path.source, way });
                }
            }
            arriving(model, screen.part, input, &arrivals)
        }
    };
    Glance { picture, rule, arrivals }
}

/// What arrives, as the screen senses it.
pub fn arriving(model: &Model, screen: PartId, input: PinId, arrivals: &[ArrivingPicture]) -> Picture {
    let mut sources: Vec<PartId> = arrivals.iter().map(|a| a.source).collect();
    sources.sort();
    sources.dedup();
    match sources[..] {
        [] => Picture::NoSignal(input),
        [only] if takes(model, screen, only) => Picture::Source(only),
        [only] => Picture::WrongFormat(only),
        _ => Picture::Clash(sources),
    }
}

/// The picture of a screen if some of the signals at the picked input are lost.
pub fn picture_without(
    wiring: &Wiring,
    id: ScreenId,
    reading: ScreenReading,
    is_lost: impl Fn(PinId, &ArrivingPicture) -> bool,
) -> Picture {
    let screen = &wiring.model.screens[id.0];
    let Some(input) = reading.rule.map(|rule| screen.shows[rule].input) else { return reading.picture };
    let left: Vec<ArrivingPicture> = reading.arrivals.iter().filter(|one| !is_lost(input, one)).cloned().collect();
    match left.len() == reading.arrivals.len() {
        true => reading.picture,
        false => arriving(wiring.model, screen.part, input, &left),
    }
}

impl ArrivingPicture {
    /// Whether it comes to an input through a wire.
    pub fn comes_through(&self, wiring: &Wiring, input: PinId, is_it: impl Fn(WireId) -> bool) -> bool {
        let mut links = wiring.pictures[&input][self.way].links.iter();
        links.any(|(_, link)| matches!(link, Link::Wire(wire) if is_it(*wire)))
    }
}

/// Whether a screen takes what a source sends; a part that names no formats fits any.
pub fn takes(model: &Model, screen: PartId, source: PartId) -> bool {
    let (takes, sends) = (&model.part(screen).formats, &model.part(source).formats);
    takes.is_empty() || sends.is_empty() || sends.iter().any(|f| takes.contains(f))
}

/// Whether a picture comes through a path in a state.
pub fn comes_in(wiring: &Wiring, state: &State, path: &PicturePath) -> bool {
    conditions(wiring.model, path).all(|when| state.holds(&wiring.assembly.logic(&when)))
}

/// The conditions of a video path: its source works, and every path through a part on it is open.
pub(super) fn conditions<'m>(
    model: &'m Model,
    path: &PicturePath,
) -> impl Iterator<Item = Cow<'m, StateCondition>> + use<'m> {
    let source = model.part(path.source).elements.iter().filter_map({
        let pin = path.source_pin;
        move |id| match &model.element(*id).kind {
            ElementKind::Source { pin: p, when } if *p == pin => Some(Cow::Borrowed(when)),
            _ => None,
        }
    });
    let through: Vec<ElementId> = path
        .links
        .iter()
        .filter_map(|(_, link)| match link {
            Link::Through(id, Passage::Signal) => Some(*id),
            _ => None,
        })
        .collect();
    source.chain(through.into_iter().flat_map(|id| model.element(id).paths().map(|path| path.when)))
}
