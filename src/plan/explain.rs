//! What each part and each wire of a proposal is for: what the driver loses without it. Nothing is remembered from the
//! planning: each is taken out, and the harness is solved again.

use facts::Facts;
use job::{Job, Stop};
use model::Model;
use trace::{FaultTracer, Rates, ScreenSeen, SetState};

/// A part or a wire that is missing, and what then is lost.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlannedReason {
    /// What is taken out: `wire 12 (K1.86 – SA) is open`, `fuse F1 is blown`.
    pub without: String,
    /// What then no longer shows or works as before: `REAR on dash`, `L1`.
    pub lost: Vec<String>,
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
        PlannedReason { without: fault.words.clone(), lost: lost(facts, &sound, &faulty) }
    };
    Ok(faults.map(reason).collect())
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
        ScreenSeen::Home => "its home page".to_string(),
        ScreenSeen::Picture(part) | ScreenSeen::Still(part) => model.part(*part).name.to_string(),
        ScreenSeen::Disturbed => "a disturbed picture".to_string(),
    }
}
