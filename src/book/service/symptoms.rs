//! Symptom sheets: for each wrong picture of each screen, the first probes as a tree, with pins, colours and limits.

use facts::Facts;
use serde::Serialize;
use trace::{FaultTracer, Probe, ProbePin, Rates, SheetAnswer, SheetProbe, Symptom, SymptomSheet};

/// What to do about the wrong pictures of the screens.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Symptoms {
    /// A sheet for each symptom of several causes.
    pub sheets: Vec<SymptomTree>,
    /// Symptoms whose causes need no probe or one.
    pub few: Vec<FewCauses>,
    /// How many faults there are, where they are too many for sheets.
    pub too_many: Option<usize>,
}

impl Symptoms {
    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.sheets.is_empty() && self.few.is_empty() && self.too_many.is_none()
    }
}

/// The first probes for a symptom.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SymptomTree {
    /// The symptom.
    #[serde(flatten)]
    pub symptom: Symptom,
    /// Faults that show this.
    pub faults: usize,
    /// How many of them the probes name, each by itself or with those that the same repair mends or nothing distinguishes.
    pub resolved: usize,
    /// How many suspects the probes leave on average.
    pub left: String,
    /// How probable it is that the fault is among them, in percent.
    pub share: String,
    /// The probes, the first one first.
    pub probes: Vec<TreeProbe>,
}

/// A probe of a tree.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TreeProbe {
    /// The state to set; empty where it is set, or does not matter.
    pub state: String,
    /// What to do: `measure the voltage at`.
    pub act: String,
    /// The pins, in the order of the leads.
    pub pins: Vec<TreePin>,
    /// What follows the pins: `against the battery's negative`.
    pub then: String,
    /// Minutes that it takes.
    pub minutes: String,
    /// What to mind.
    pub cautions: Vec<String>,
    /// What each answer leads to.
    pub answers: Vec<SheetAnswer>,
}

/// A pin of a tree's probe.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TreePin {
    /// The pin.
    pub pin: String,
    /// Where it is.
    pub place: String,
    /// The wires on it, each with its colour; the colour is empty where none is given.
    pub wires: Vec<(String, String)>,
}

/// A symptom with few causes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FewCauses {
    /// The symptom.
    #[serde(flatten)]
    pub symptom: Symptom,
    /// Its causes.
    pub causes: Vec<String>,
}

/// Symptoms of fewer faults need no tree.
const LEAST_FAULTS: usize = 4;

/// With more faults, their dictionary would take longer than the rest of the book: `loomwright trace` answers instead.
const MOST_FAULTS: usize = 1500;

/// The symptom sheets of a harness, with the typical rates of faults. None for a harness without screens; a harness
/// with too many faults has their number instead.
pub fn symptoms(facts: &Facts) -> Symptoms {
    let tracer = FaultTracer::new(facts, &Rates::typical());
    let faults = tracer.faults().len();
    if facts.model.screens.is_empty() || faults > MOST_FAULTS {
        let too_many = (!facts.model.screens.is_empty()).then_some(faults);
        return Symptoms { sheets: Vec::new(), few: Vec::new(), too_many };
    }
    let sheets = tracer.sheets();
    let (few, many): (Vec<SymptomSheet>, Vec<SymptomSheet>) =
        sheets.into_iter().partition(|sheet| sheet.faults < LEAST_FAULTS || sheet.probes.is_empty());
    Symptoms {
        sheets: many.into_iter().map(tree).collect(),
        few: few.into_iter().map(|sheet| FewCauses { symptom: sheet.symptom, causes: sheet.causes }).collect(),
        too_many: None,
    }
}

fn tree(sheet: SymptomSheet) -> SymptomTree {
    // The state that is set when a probe is reached; a probe before it leads to it. None is set before the first.
    let mut set = vec![String::new(); sheet.probes.len()];
    let mut probes = Vec::new();
    for (at, probe) in sheet.probes.into_iter().enumerate() {
        let is_set = probe.state.is_empty() || probe.state == set[at];
        let now = if probe.state.is_empty() { set[at].clone() } else { probe.state.clone() };
        for next in probe.answers.iter().filter_map(|answer| answer.then) {
            if let Some(next) = set.get_mut(next - 1) {
                now.clone_into(next);
            }
        }
        let state = if is_set { String::new() } else { probe.state.clone() };
        probes.push(tree_probe(probe, state));
    }
    SymptomTree {
        symptom: sheet.symptom,
        faults: sheet.faults,
        resolved: sheet.resolved,
        left: format!("{:.1}", sheet.left),
        share: format!("{:.0} %", sheet.share * 100.0),
        probes,
    }
}

fn tree_probe(probe: SheetProbe, state: String) -> TreeProbe {
    let (act, pins, then) = match &probe.probe {
        Probe::Pin(pin) => ("measure the voltage at", vec![pin], "against the battery's negative"),
        Probe::Unplugged(pin) => {
            ("unplug its connector or part and measure the voltage at", vec![pin], "against the battery's negative")
        }
        Probe::Lamp(pin) => ("hold a test lamp to", vec![pin], "against the battery's negative"),
        Probe::Drop(from, to) => ("measure the voltage between", vec![from, to], ""),
        Probe::ToGround(pin) => ("measure the resistance from", vec![pin], " to the battery's negative"),
        Probe::Apart(pin) => {
            ("unplug its connector or part and measure the resistance from", vec![pin], " to the battery's negative")
        }
        Probe::Ohms(from, to) => ("measure the resistance between", vec![from, to], ""),
        _ => ("", Vec::new(), ""),
    };
    TreeProbe {
        state,
        act: if pins.is_empty() { trace::what(&probe.probe) } else { act.to_string() },
        pins: pins.into_iter().map(tree_pin).collect(),
        then: then.to_string(),
        minutes: format!("{:.1} min", probe.minutes),
        cautions: probe.cautions,
        answers: probe.answers,
    }
}

fn tree_pin(pin: &ProbePin) -> TreePin {
    let wire = |text: &String| match text.split_once(' ') {
        Some((id, colour)) => (id.to_string(), colour.to_string()),
        None => (text.clone(), String::new()),
    };
    TreePin { pin: pin.pin.clone(), place: pin.place.clone(), wires: pin.wires.iter().map(wire).collect() }
}
