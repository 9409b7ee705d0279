//! The figures of a proposal: parts, minutes, cost, currents, times, and what the driver sees when a part fails.

use crate::costs::CostTable;
use crate::explain::{seen_words, settings};
use catalogue::part_form::Meaning;
use facts::Facts;
use job::{Job, Stop};
use model::{ElementId, ElementKind, InputId, Model};
use quantity::{Amps, Seconds};
use serde::Serialize;
use trace::{Failure, FaultTracer, Rates, ScreenSeen, SetState};

/// The figures of a proposal.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProposalFigures {
    /// Parts that were added, splices not counted.
    pub parts: usize,
    /// Wires that were added.
    pub wires: usize,
    /// Minutes at the bench, from the table of costs.
    pub minutes: u32,
    /// Cost in the shop's currency, from the table of costs.
    pub cost: u32,
    /// The most that each feed of the vehicle supplies.
    pub feeds: Vec<FeedFigure>,
    /// The slowest picture of all views with `within`; none if no view has it.
    pub slowest: Option<Seconds>,
    /// What all batteries supply with every input at rest.
    pub key_off: Amps,
    /// What the driver sees when a part fails, for each fault that shows.
    pub failures: Vec<FailureFigure>,
    /// Number of faults of parts that were solved, one at a time.
    pub part_faults: usize,
    /// Whether an input of the wish means reverse gear.
    pub has_reverse: bool,
    /// Number of wires that were solved as chafed through to the body, which blows a fuse or leaves a signal dead.
    pub chafed_wires: usize,
}

/// The highest current from a feed of the vehicle.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FeedFigure {
    /// The supply or the vehicle's wire.
    pub feed: String,
    /// The current, over all states and corners.
    pub amps: Amps,
    /// The limit that the wish states.
    pub limit: Option<Amps>,
}

impl FeedFigure {
    /// Whether it is more than the vehicle allows.
    pub fn is_over(&self) -> bool {
        self.limit.is_some_and(|limit| self.amps > limit)
    }
}

/// A fault, and what the screens then show in another way than without it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FailureFigure {
    /// The fault.
    pub fault: String,
    /// Whether a part fails, not a wire.
    pub is_of_part: bool,
    /// Where a screen differs: `key run, reverse: dash shows nothing, not REAR`.
    pub seen: Vec<String>,
    /// Number of states in which a screen shows less or another picture.
    pub lost: usize,
    /// Whether a picture shows that should not.
    pub misleads: bool,
    /// Whether a picture that shows in reverse gear is lost there.
    pub takes_rear: bool,
}

/// What a proposal adds.
pub struct AddedThings {
    /// The family of each part that it adds, in the words of the catalogue.
    pub families: Vec<String>,
    /// Wires.
    pub wires: usize,
    /// Splices.
    pub splices: usize,
}

/// Measures a proposal.
///
/// # Errors
/// When the job is ended.
pub fn measure<'j>(job: &'j Job<'j>, added: &AddedThings, costs: &CostTable) -> Result<ProposalFigures, Stop> {
    let (facts, model) = (job.facts()?, job.model()?);
    let things = added.families.iter().map(|family| (family.as_str(), 1));
    let work = [("wire", added.wires), ("splice", added.splices)];
    let (mut cost, mut minutes) = (0, 0);
    for (thing, number) in things.chain(work) {
        let [of_one, time] = costs.one(thing);
        // OK because a harness has far fewer than four thousand wires.
        cost += of_one * number as u32;
        minutes += time * number as u32;
    }
    let arrivals = facts.standing().within.iter().filter_map(|within| within.worst.as_ref()?.took);
    let (failures, [part_faults, chafed_wires]) = failures(facts);
    Ok(ProposalFigures {
        parts: added.families.len(),
        wires: added.wires,
        minutes,
        cost,
        feeds: feeds(facts, model),
        slowest: arrivals.max().map(|took| took.seconds()),
        key_off: at_rest(facts, model),
        failures,
        part_faults,
        has_reverse: inputs_of_reverse(model).next().is_some(),
        chafed_wires,
    })
}

/// What all batteries supply with every input at rest and every timer run out.
fn at_rest(facts: &Facts, model: &Model) -> Amps {
    let Some(row) = facts.table().rows.iter().find(|row| !row.passing && row.solution.state.positions.away() == 0)
    else {
        return Amps::new(0.0);
    };
    let batteries = (0..model.elements.len())
        .map(ElementId)
        .filter(|id| matches!(model.element(*id).kind, ElementKind::Battery { .. }));
    batteries.fold(Amps::new(0.0), |sum, id| sum + facts.solved.assembly.amps(&row.solution, id).abs())
}

/// The most that each feed of the vehicle supplies.
pub fn feeds(facts: &Facts, model: &Model) -> Vec<FeedFigure> {
    let feed = |id: ElementId| {
        let element = model.element(id);
        let (pin, limit) = match &element.kind {
            ElementKind::Battery { plus, figures, .. } => (*plus, figures.limit),
            ElementKind::Derived { pin, figures, .. } => (*pin, figures.limit),
            ElementKind::Feed(feed) => (feed.pin, feed.limit),
            _ => return None,
        };
        let peak = facts.worst().taken(pin)?;
        let name = model.part(element.part).name.to_string();
        (peak.value.value() > 1e-6).then_some(FeedFigure { feed: name, amps: peak.value, limit })
    };
    (0..model.elements.len()).map(ElementId).filter_map(feed).collect()
}

/// Kinds of faults of parts that are compared. The service sheet deals with wires and connections.
const COMPARED: [&str; 13] = [
    "fuse-blown",
    "coil-open",
    "contact-stuck-open",
    "contact-stuck-closed",
    "diode-open",
    "diode-shorted",
    "ground-lost",
    "feed-missing",
    "output-dead",
    "switch-dead",
    "load-dead",
    "camera-dead",
    "screen-dead",
];

/// A wire that chafes through to the body, which blows its fuse.
const CHAFED: &str = "wire-to-ground";

fn is_compared(failure: &Failure) -> bool {
    failure.kind == CHAFED || COMPARED.contains(&failure.kind)
}

/// The inputs that mean reverse gear.
fn inputs_of_reverse(model: &Model) -> impl Iterator<Item = InputId> + '_ {
    (0..model.inputs.len()).map(InputId).filter(|id| model.inputs[id.0].means == Some(Meaning::ReverseGear))
}

/// What differs on the screens with each fault of a part, and how many faults there are.
fn failures(facts: &Facts) -> (Vec<FailureFigure>, [usize; 2]) {
    let tracer = FaultTracer::new(facts, &Rates::typical());
    let settings = settings(facts);
    let reverse: Vec<InputId> = inputs_of_reverse(facts.model).collect();
    let in_reverse = |setting: &SetState| reverse.iter().any(|input| setting.sets(*input));
    let sound = tracer.seen(&settings, None);
    let faults: Vec<&Failure> = tracer.faults().iter().filter(|fault| is_compared(fault)).collect();
    let figure = |fault: &&Failure| {
        let seen = tracer.seen(&settings, Some(fault));
        let mut figure = FailureFigure {
            fault: fault.words.clone(),
            is_of_part: fault.kind != CHAFED,
            seen: Vec::new(),
            lost: 0,
            misleads: false,
            takes_rear: false,
        };
        for ((setting, before), after) in settings.iter().zip(&sound).zip(&seen) {
            let Some((before, _)) = before else { continue };
            for (screen, was) in before.iter().enumerate() {
                let is = after.as_ref().map_or(ScreenSeen::Disturbed, |(after, _)| after[screen]);
                if is == *was {
                    continue;
                }
                let lost = matches!(was, ScreenSeen::Picture(_));
                figure.lost += usize::from(lost);
                figure.takes_rear |= lost && in_reverse(setting);
                figure.misleads |= matches!(is, ScreenSeen::Picture(_));
                let name = &facts.model.screens[screen].name;
                let words = |seen: &ScreenSeen| seen_words(facts.model, seen);
                figure.seen.push(format!("{}: {name} shows {}, not {}", setting.name, words(&is), words(was)));
            }
        }
        (!figure.seen.is_empty()).then_some(figure)
    };
    let figures: Vec<FailureFigure> = faults.iter().filter_map(figure).collect();
    let chafed = faults.iter().filter(|fault| fault.kind == CHAFED).count();
    (figures, [faults.len() - chafed, chafed])
}
