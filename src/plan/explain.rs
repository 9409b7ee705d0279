//! What each part and each wire of a proposal is for: what the driver loses without it. Nothing is remembered from the
//! planning: each is taken out, and the harness is solved again.

use facts::Facts;
use job::{Job, Stop};
use model::{Domain, Model, PartKind};
use std::collections::BTreeMap;
use trace::{FaultTracer, Rates, ScreenSeen, SetState};

/// A part or a wire that is missing, and what then is lost.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlannedReason {
    /// What is taken out: `wire 12 (K1.86 – SA) is open`, `fuse F1 is blown`.
    pub without: String,
    /// Its name, or the number of the wire.
    pub thing: String,
    /// What then no longer shows or works as before: `REAR on dash`, `L1`.
    pub lost: Vec<String>,
    /// Of a ground wire or one of sound without which nothing is lost: what it is for.
    pub beside: Option<String>,
}

/// For each part and wire, what is lost without it, in words: `REAR, LEFT on dash`.
pub fn purposes(reasons: &[PlannedReason]) -> BTreeMap<String, String> {
    let mut all: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for reason in reasons {
        let lost = all.entry(reason.thing.clone()).or_default();
        lost.extend(reason.lost.iter().map(String::as_str).filter(|one| !lost.contains(one)).collect::<Vec<_>>());
    }
    let words = |(thing, lost): (String, Vec<&str>)| {
        let reason = reasons.iter().find(|reason| reason.thing == thing);
        let beside = reason.and_then(|reason| reason.beside.clone()).filter(|_| lost.is_empty());
        (thing, beside.unwrap_or_else(|| joined(&lost)))
    };
    all.into_iter().map(words).collect()
}

/// What is lost, with each screen named once.
fn joined(lost: &[&str]) -> String {
    let mut screens: Vec<(&str, Vec<&str>)> = Vec::new();
    for one in lost {
        let (shown, screen) = one.rsplit_once(" on ").unwrap_or((one, ""));
        match screens.iter_mut().find(|(known, _)| *known == screen) {
            Some((_, all)) => all.push(shown),
            None => screens.push((screen, vec![shown])),
        }
    }
    let of_one = |(screen, shown): &(&str, Vec<&str>)| match *screen {
        "" => shown.join(", "),
        screen => format!("{} on {screen}", shown.join(", ")),
    };
    let all: Vec<String> = screens.iter().map(of_one).collect();
    if all.is_empty() { "nothing that a view or `works` asks for".to_string() } else { all.join("; ") }
}

/// Faults that take a part or a wire out.
const TAKEN_OUT: [&str; 10] = [
    "wire-open",
    "picture-core-open",
    "fuse-blown",
    "coil-open",
    "diode-open",
    "output-dead",
    "switch-dead",
    "load-dead",
    "camera-dead",
    "screen-dead",
];

/// What is lost without each part and each wire.
///
/// # Errors
/// When the job is ended.
pub fn reasons<'j>(job: &'j Job<'j>) -> Result<Vec<PlannedReason>, Stop> {
    let facts = job.facts()?;
    let tracer = FaultTracer::new(facts, &Rates::typical());
    let settings = settings(facts);
    let sound = tracer.seen(&settings, None);
    let faults = tracer.faults().iter().filter(|fault| TAKEN_OUT.contains(&fault.kind));
    let reason = |fault| {
        let faulty = tracer.seen(&settings, Some(fault));
        let thing = fault.mended(facts.model).into_iter().next().unwrap_or_default();
        let (lost, beside) = (lost(facts, &sound, &faulty), beside(facts.model, &thing));
        PlannedReason { without: fault.words.clone(), thing, lost, beside }
    };
    let mut all: Vec<PlannedReason> = faults.map(reason).collect();
    all.extend(unfailing(facts.model, &all));
    all.extend(sounding(facts.model, &all));
    Ok(all)
}

/// Parts that no fault above takes out, such as splices, connectors and converters: they are for what their wires are for.
fn unfailing(model: &Model, known: &[PlannedReason]) -> Vec<PlannedReason> {
    let vehicle = [PartKind::Supply, PartKind::Feed, PartKind::Ground];
    let parts = model.parts.iter().filter(|part| !vehicle.contains(&part.kind));
    let missing = parts.filter(|part| !known.iter().any(|reason| reason.thing == part.name.as_str()));
    let reason = |part: &model::Part| {
        let wires = part.pins.iter().flat_map(|pin| model.wires_on(*pin)).map(|wire| model.wire(wire).id.as_str());
        let mut lost: Vec<String> = Vec::new();
        for reason in wires.flat_map(|wire| known.iter().filter(move |reason| reason.thing == wire)) {
            lost.extend(reason.lost.iter().filter(|one| !lost.contains(one)).cloned().collect::<Vec<_>>());
        }
        let thing = part.name.to_string();
        PlannedReason { without: format!("`{thing}` is missing"), thing, lost, beside: None }
    };
    missing.map(reason).filter(|reason| !reason.lost.is_empty()).collect()
}

/// Wires of sound that no fault above takes out.
fn sounding(model: &Model, known: &[PlannedReason]) -> Vec<PlannedReason> {
    let is_known = |wire: &model::Wire| known.iter().any(|reason| reason.thing == wire.id.as_str());
    let wires = model.wires.iter().filter(|wire| wire.domain == Domain::Audio && !is_known(wire));
    let reason = |wire: &model::Wire| PlannedReason {
        without: format!("wire {} is open", wire.id),
        thing: wire.id.to_string(),
        lost: Vec::new(),
        beside: Some("sound".to_string()),
    };
    wires.map(reason).collect()
}

/// What a ground wire is for, where the current finds a way without it.
fn beside(model: &Model, wire: &str) -> Option<String> {
    let wire = model.wires.iter().find(|one| one.id.as_str() == wire)?;
    if wire.ends.iter().any(|pin| model.pin(*pin).domain == Domain::Audio) {
        return Some("sound".to_string());
    }
    (wire.domain == Domain::Ground).then(|| "the return current, so that no shield carries it".to_string())
}

/// The states in which faults are compared, the simplest first. Of more, those that move most inputs are left out.
pub fn settings(facts: &Facts) -> Vec<SetState> {
    let mut rows: Vec<_> = facts.table().rows.iter().filter(|row| !row.passing).collect();
    rows.sort_by_key(|row| row.solution.state.positions.away());
    let set = rows.iter().filter_map(|row| SetState::of(facts, &row.name, &row.solution.state));
    set.take(MOST_SETTINGS).collect()
}

/// States in which faults are compared.
const MOST_SETTINGS: usize = 48;

/// What each screen shows and whether each promise is kept, in each setting.
type Shown = [Option<(Vec<ScreenSeen>, Vec<bool>)>];

/// What shows in the sound harness and no longer with a fault.
fn lost(facts: &Facts, sound: &Shown, faulty: &Shown) -> Vec<String> {
    let model = facts.model;
    let mut all: Vec<String> = Vec::new();
    let mut add = |words: String| {
        if !all.contains(&words) {
            all.push(words);
        }
    };
    for (before, after) in sound.iter().zip(faulty) {
        let Some((screens, works)) = before else { continue };
        for (screen, was) in screens.iter().enumerate() {
            if after.as_ref().is_none_or(|(screens, _)| screens[screen] != *was) {
                add(format!("{} on {}", seen_words(model, was), model.screens[screen].name));
            }
        }
        for (promise, works) in works.iter().enumerate() {
            if after.as_ref().is_none_or(|(_, after)| after[promise] != *works) {
                add(model.part(model.works[promise].part).name.to_string());
            }
        }
    }
    all
}

/// What a screen shows, in words.
pub fn seen_words(model: &Model, seen: &ScreenSeen) -> String {
    match seen {
        ScreenSeen::Nothing => "nothing".to_string(),
        ScreenSeen::Home => "home page".to_string(),
        ScreenSeen::Picture(part) | ScreenSeen::Still(part) => model.part(*part).name.to_string(),
        ScreenSeen::Disturbed => "a disturbed picture".to_string(),
    }
}
