//! What stands in a chart: which lanes a record has, in words, spans and looks, before anything has a place.

use super::chart::Chart;
use catalogue::part_form::OnLoss;
use circuit::{ActorId, Position};
use kit::colour::Rgb;
use model::{ElementKind, InputId, Model, PartId, ScreenId, Shown, WorksId};
use replay::{Displayed, PromiseKind, Promised, Stage, Time, Verdict, promised_words};
use states::shown_words;

/// One lane, or a heading above lanes.
#[derive(Debug, Clone)]
pub enum ChartLane {
    /// A heading.
    Heading(&'static str),
    /// Something that is on or off.
    Wave {
        /// What it is.
        label: LaneLabel,
        /// When it is on.
        on: Vec<[Time; 2]>,
        /// When a flasher's lever is on, behind that.
        lever: Vec<[Time; 2]>,
    },
    /// Something that is one of several things.
    Bands {
        /// What it is.
        label: LaneLabel,
        /// What it is when.
        bands: Vec<Band>,
        /// Whether it is what a screen shows: the lane that the chart is about.
        main: bool,
    },
    /// Promises kept and broken.
    Marks(Vec<Mark>),
}

impl ChartLane {
    /// Whether it changes between two moments.
    pub fn changes_in(&self, [from, to]: [Time; 2]) -> bool {
        let is_in = |at: &Time| *at > from && *at < to;
        match self {
            ChartLane::Wave { on, .. } => on.iter().flatten().any(is_in),
            ChartLane::Bands { bands, .. } => bands.iter().flat_map(|band| &band.span).any(is_in),
            ChartLane::Heading(_) | ChartLane::Marks(_) => false,
        }
    }
}

/// A lane's name, and what it is for.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LaneLabel {
    /// Its name.
    pub name: String,
    /// In the customer's words.
    pub title: String,
}

/// A span of a lane.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// From when to when.
    pub span: [Time; 2],
    /// What it says.
    pub text: String,
    /// What it says where there is little room; may be empty.
    pub short: String,
    /// What it looks like.
    pub look: BandLook,
}

/// What a band looks like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BandLook {
    /// Filled with a light colour.
    Tint(Rgb),
    /// Not filled.
    Plain,
    /// Hatched: between two things.
    Hatched,
    /// Hatched upright: starting up.
    Upright,
    /// Black.
    Solid,
    /// No power: a dashed outline.
    Dashed,
    /// Something that shouldn't be: a heavy outline in the colour of cautions.
    Alert,
}

impl BandLook {
    /// What the key says of it; nothing of looks that each band explains by its own words.
    pub fn words(self) -> &'static str {
        match self {
            BandLook::Hatched => "switching over",
            BandLook::Upright => "starting up",
            BandLook::Dashed => "no power",
            BandLook::Solid => "black, or no picture",
            BandLook::Alert => "picture not reliable",
            BandLook::Tint(_) | BandLook::Plain => "",
        }
    }
}

/// A promise, kept or broken.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// The moments between which it counts.
    pub span: [Time; 2],
    /// The moment that decided.
    pub at: Time,
    /// Whether it was kept.
    pub verdict: Verdict,
    /// In words.
    pub text: String,
}

/// Light colours for pictures, one a source; letters are legible on each (tested).
pub const TINTS: [Rgb; 8] = [
    Rgb::hex(0xbcd9f2),
    Rgb::hex(0xfbdc9b),
    Rgb::hex(0xc3e6bd),
    Rgb::hex(0xe2cbef),
    Rgb::hex(0xf8c9c4),
    Rgb::hex(0xb5e6df),
    Rgb::hex(0xe4ddb0),
    Rgb::hex(0xd3d9e0),
];

/// The sources of a model in the order of its parts, each with a letter and a colour that are the same in all its charts.
#[derive(Debug, Clone)]
pub struct PictureSources(pub Vec<PartId>);

impl PictureSources {
    /// Every part that a picture starts at.
    pub fn of(model: &Model) -> PictureSources {
        let sends = |part: &PartId| {
            let elements = &model.part(*part).elements;
            elements.iter().any(|id| matches!(model.element(*id).kind, ElementKind::Source { .. }))
        };
        PictureSources(model.part_ids().filter(sends).collect())
    }

    fn place(&self, part: PartId) -> usize {
        let Some(place) = self.0.iter().position(|p| *p == part) else { panic!("{part:?} sends no picture") };
        place
    }

    /// `a` for the first one.
    pub fn letter(&self, part: PartId) -> String {
        let place = self.place(part);
        let letter = char::from(b'a' + (place % 26) as u8).to_string();
        if place < 26 { letter } else { format!("{letter}{}", place / 26) }
    }

    /// Its colour.
    pub fn tint(&self, part: PartId) -> Rgb {
        TINTS[self.place(part) % TINTS.len()]
    }
}

/// All lanes of a chart, from top to bottom.
pub fn lanes(chart: &Chart, sources: &PictureSources) -> Vec<ChartLane> {
    let mut all = vec![];
    let mut group = |heading: &'static str, lanes: Vec<ChartLane>| {
        if !lanes.is_empty() {
            all.push(ChartLane::Heading(heading));
            all.extend(lanes);
        }
    };
    let inputs = (0..chart.record.levers.len()).filter_map(|i| input(chart, InputId(i))).collect();
    group("what the driver and the vehicle do", inputs);
    let actors = (0..chart.record.actors.len()).filter_map(|i| actor(chart, i)).collect();
    group("relays and modules", actors);
    let parts = (0..chart.record.parts.len()).flat_map(|i| part(chart, sources, i)).collect();
    group("cameras and parts starting up", parts);
    let mut screens = vec![];
    for i in 0..chart.record.screens.len() {
        screens.extend(screen(chart, sources, ScreenId(i)));
    }
    group("screens", screens);
    all
}

fn input(chart: &Chart, id: InputId) -> Option<ChartLane> {
    let (input, lever, end) = (&chart.model().inputs[id.0], &chart.record.levers[id.0], chart.record.to);
    if lever.points.iter().all(|(_, at)| *at == 0) {
        return None;
    }
    let label = LaneLabel { name: input.name.to_string(), title: other(&input.title, &input.name) };
    let away = |(from, to, at): (Time, Time, &Position)| (*at != 0 && to > from).then_some([from, to]);
    if input.positions.len() == 2 {
        let on = chart.record.inputs[id.0].spans(end).filter_map(away).collect();
        let lever = if input.flash.is_some() { lever.spans(end).filter_map(away).collect() } else { vec![] };
        return Some(ChartLane::Wave { label, on, lever });
    }
    let bands = lever.spans(end).filter(|(from, to, at)| **at != 0 && to > from).map(|(from, to, at)| {
        let text = input.positions[usize::from(*at)].to_string();
        Band { span: [from, to], short: String::new(), text, look: BandLook::Tint(TINTS[7]) }
    });
    Some(ChartLane::Bands { label, bands: bands.collect(), main: false })
}

/// A title, unless it only says the name again.
fn other(title: &str, name: &str) -> String {
    if title == name { String::new() } else { title.to_string() }
}

fn actor(chart: &Chart, i: usize) -> Option<ChartLane> {
    let lane = &chart.record.actors[i];
    if !chart.plan.has_time_or_memory(i) || lane.points.iter().all(|(_, on)| !on) {
        return None;
    }
    let name = chart.wiring.assembly.circuit.actors[i].name.clone();
    let title = part_of(chart, ActorId(i as u32)).map(|part| chart.model().part(part).title.clone());
    let on = lane.spans(chart.record.to).filter(|(from, to, on)| **on && to > from).map(|(from, to, _)| [from, to]);
    Some(ChartLane::Wave {
        label: LaneLabel { name, title: title.unwrap_or_default() },
        on: on.collect(),
        lever: vec![],
    })
}

/// The part that an actor is in: its name is the actor's, or the start of it.
fn part_of(chart: &Chart, actor: ActorId) -> Option<PartId> {
    let model = chart.model();
    let assembly = &chart.wiring.assembly;
    let signal = (0..model.signals.len()).map(model::SignalId).find(|s| assembly.actor(*s) == Some(actor));
    let coil = || (0..model.elements.len()).map(model::ElementId).find(|e| assembly.coil(*e) == Some(actor));
    signal.map(|s| model.signals[s.0].part).or_else(|| coil().map(|e| model.element(e).part))
}

fn part(chart: &Chart, sources: &PictureSources, i: usize) -> Vec<ChartLane> {
    let part = chart.plan.starters[i].part;
    let lane = &chart.record.parts[i];
    // A screen's own start is seen on its display.
    let screen = chart.model().screens.iter().any(|screen| screen.part == part);
    if screen || lane.points.iter().all(|(_, stage)| *stage == Stage::Off) {
        return vec![];
    }
    let this = chart.model().part(part);
    let known = sources.0.contains(&part);
    let bands = lane.spans(chart.record.to).filter(|(from, to, stage)| **stage != Stage::Off && to > from);
    let bands = bands.map(|(from, to, stage)| match stage {
        Stage::Up if known => Band {
            span: [from, to],
            text: "picture".into(),
            short: String::new(),
            look: BandLook::Tint(sources.tint(part)),
        },
        Stage::Up => Band { span: [from, to], text: "on".into(), short: String::new(), look: BandLook::Plain },
        _ => Band { span: [from, to], text: "starting".into(), short: String::new(), look: BandLook::Upright },
    });
    let label = LaneLabel { name: this.name.to_string(), title: other(&this.title, &this.name) };
    let bands = ChartLane::Bands { label, bands: bands.collect(), main: false };
    let works = |id: WorksId| chart.model().works[id.0].part == part;
    let marks = marks(chart, |promised| matches!(promised, Promised::Works(id) if works(id)));
    [bands].into_iter().chain(marks).collect()
}

fn screen(chart: &Chart, sources: &PictureSources, id: ScreenId) -> Vec<ChartLane> {
    let (model, end) = (chart.model(), chart.record.to);
    let screen = &model.screens[id.0];
    let name = screen.name.to_string();
    let long = |(from, to): (Time, Time)| to > from;
    let display = chart.record.screens[id.0].spans(end).filter(|(from, to, _)| long((*from, *to)));
    let display = display.map(|(from, to, display)| {
        let (look, short) = look(display, sources);
        Band { span: [from, to], text: display.words(model), short, look }
    });
    let wanted = chart.record.wanted[id.0].spans(end).filter(|(from, to, _)| long((*from, *to)));
    let wanted = wanted.filter_map(|(from, to, view)| {
        let shown = screen.views[(*view)?].show;
        let (look, short) = match shown {
            Shown::Source(part) => (BandLook::Tint(sources.tint(part)), sources.letter(part)),
            _ => (BandLook::Plain, String::new()),
        };
        Some(Band { span: [from, to], text: shown_words(model, shown), short, look })
    });
    let wanted = joined(wanted.collect());
    let mut lanes = vec![];
    if !wanted.is_empty() {
        let label = LaneLabel { name: name.clone(), title: "should show".into() };
        lanes.push(ChartLane::Bands { label, bands: wanted, main: false });
    }
    let label = LaneLabel { name, title: "shows".into() };
    lanes.push(ChartLane::Bands { label, bands: display.collect(), main: true });
    lanes.extend(marks(chart, |promised| matches!(promised, Promised::Shows(screen, _) if screen == id)));
    lanes
}

/// A lane of the promises about one screen or part; `None` without any.
fn marks(chart: &Chart, is_about: impl Fn(Promised) -> bool) -> Option<ChartLane> {
    let about = chart.promises.iter().filter(|promise| is_about(promise.promised));
    let marks: Vec<Mark> = about.map(|promise| mark(chart.model(), promise)).collect();
    (!marks.is_empty()).then_some(ChartLane::Marks(marks))
}

/// Neighbours that say the same become one.
fn joined(bands: Vec<Band>) -> Vec<Band> {
    let mut all: Vec<Band> = vec![];
    for band in bands {
        match all.last_mut() {
            Some(last) if last.text == band.text && last.span[1] == band.span[0] => last.span[1] = band.span[1],
            _ => all.push(band),
        }
    }
    all
}

fn look(display: &Displayed, sources: &PictureSources) -> (BandLook, String) {
    match display {
        Displayed::Live(part) => (BandLook::Tint(sources.tint(*part)), sources.letter(*part)),
        Displayed::Frozen(part) | Displayed::Unreadable(part) => (BandLook::Alert, sources.letter(*part)),
        Displayed::Mixed(_) | Displayed::Flickers => (BandLook::Alert, String::new()),
        Displayed::Home | Displayed::Lost(OnLoss::Home) => (BandLook::Plain, String::new()),
        Displayed::Black | Displayed::Lost(_) => (BandLook::Solid, String::new()),
        Displayed::Changing => (BandLook::Hatched, String::new()),
        Displayed::Starting => (BandLook::Upright, String::new()),
        Displayed::Dark => (BandLook::Dashed, String::new()),
    }
}

fn mark(model: &Model, promise: &replay::Promise) -> Mark {
    let shown = match promise.promised {
        Promised::Shows(_, shown) => shown_words(model, shown),
        works @ Promised::Works(_) => promised_words(model, works),
    };
    let (at, text) = match &promise.kind {
        PromiseKind::Within { limit, there } => {
            let limit = limit.seconds();
            match there {
                Some(there) => (promise.from + *there, format!("{shown} in {there} (within {limit})")),
                None => (promise.to, format!("{shown} not there (within {limit})")),
            }
        }
        PromiseKind::Steady { there: None, .. } => (promise.to, format!("{shown} never there (steady)")),
        PromiseKind::Steady { gaps, .. } => match gaps.iter().max_by_key(|gap| gap.length()) {
            None => (promise.to, format!("{shown} steady")),
            Some(worst) => {
                let times = if gaps.len() == 1 { "once".to_string() } else { format!("{} times", gaps.len()) };
                (gaps[0].from, format!("{shown} away {times}, up to {} (steady)", worst.length()))
            }
        },
        PromiseKind::Expect { found } => match promise.verdict {
            Verdict::Kept => (promise.from, format!("{shown} expected")),
            _ => (promise.from, format!("{shown} expected, {} found", found.words(model))),
        },
    };
    Mark { span: [promise.from, promise.to.max(promise.from)], at, verdict: promise.verdict, text }
}

#[cfg(test)]
mod tests {
    use super::*;
    use kit::colour::{INK, TEXT_CONTRAST};

    #[test]
    fn letters_are_legible_on_every_tint() {
        for tint in TINTS {
            assert!(INK.contrast(tint) >= TEXT_CONTRAST, "{}", tint.css());
        }
    }
}
