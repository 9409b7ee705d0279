//! From the spec's form to the model: every name looked up, every default filled in, every problem reported.

mod cavities;
mod connectors;
mod elements;
mod input_problems;
mod intent;
mod names;
mod nets;
mod parts;
mod supplies;
mod wires;
mod works;

use super::{Accepted, Draft, JobDetails, Limits, LooseWire, Model, PlaceId, Run};
use catalogue::Catalogue;
use form::place::suggestion;
use form::{Name, Place, Placed, Problem, Sources, UnreadNames};
use quantity::{Amps, Celsius, Gauge, Metres, Share, Volts};
use spec::{AcceptedSeverity, Covering, LimitsForm, SpecForm, SpecRead, Surroundings};
use std::collections::BTreeMap;

pub(crate) use nets::name as name_nets;

/// A spec that can't be used: everything that is wrong with it, in the order of the text.
#[derive(Debug)]
pub struct Unreadable {
    /// The texts, for showing the lines.
    pub sources: Sources,
    /// What is wrong.
    pub problems: Vec<Problem>,
}

/// Looks up every name of a spec.
///
/// # Errors
/// All problems of reading and of looking up together, sorted by place.
pub fn resolve(read: SpecRead, catalogue: &Catalogue) -> Result<Draft, Unreadable> {
    let SpecRead { form, parts, sources, mut problems, unread, parts_missing } = read;
    let Some(form) = form else { return Err(Unreadable { sources, problems }) };
    let mut all = catalogue.clone();
    for file in parts.0.iter().rev() {
        all.add(file);
    }
    all.add(&form.own_parts);
    let kinds = parts.0.iter().chain([&form.own_parts]).flat_map(|parts| &parts.0);
    let broken_kinds = kinds.filter(|kind| kind.body.is_none()).map(|kind| kind.name.value.clone()).collect();
    let mut resolver = Resolver {
        model: empty(&form, sources),
        form: &form,
        catalogue: all,
        problems: Vec::new(),
        names: BTreeMap::new(),
        broken: Vec::new(),
        broken_kinds,
        parts_missing,
        unread,
        unknown: BTreeMap::new(),
    };
    resolver.run();
    let Resolver { mut model, problems: more, unread, .. } = resolver;
    problems.extend(more);
    if problems.is_empty() {
        return Ok(model);
    }
    // A wire to a pin that isn't there is for the checks to find; where they can't run it is reported with the rest.
    let reported =
        |loose: &&LooseWire| loose.is_of_incomplete(&model) || loose.pin.as_ref().is_some_and(|pin| unread.holds(pin));
    problems.extend(model.loose.iter().filter(|loose| !reported(loose)).map(|loose| loose.problem(&model)));
    problems.sort_by_key(|p| p.place);
    problems.dedup();
    Err(Unreadable { sources: std::mem::take(&mut model.sources), problems })
}

/// Places of one unknown name that are shown, beside its first.
const MOST_SAME: usize = 3;

/// Problems after which looking up stops.
const MOST_PROBLEMS: usize = 200;

/// Spaces in which a name means one thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Space {
    Places,
    Kinds,
    Screens,
    /// Supplies, grounds, inputs, parts, connectors and splices.
    Things,
}

struct Resolver<'f> {
    model: Draft,
    form: &'f SpecForm,
    catalogue: Catalogue,
    problems: Vec<Problem>,
    /// Where each name of the one space of parts, supplies, grounds, splices, connectors and inputs was given.
    names: BTreeMap<Name, Place>,
    /// Names that stand in the spec but whose bodies can't be used, or not all of them; what refers to them and isn't
    /// there is not reported again.
    broken: Vec<Name>,
    /// The same, of kinds of part.
    broken_kinds: Vec<Name>,
    /// Whether there may be kinds of part that could not be read.
    parts_missing: bool,
    /// Names that were written where nothing could be read.
    unread: UnreadNames,
    /// For each unknown name of a space, its problem.
    unknown: BTreeMap<(Space, Name), usize>,
}

impl Resolver<'_> {
    fn run(&mut self) {
        places(self);
        intent::inputs(self);
        supplies::supplies(self);
        parts::grounds(self);
        parts::splices(self);
        parts::device_entries(self);
        connectors::connectors(self);
        intent::input_feeds(self);
        supplies::supply_conditions(self);
        elements::inside_all(self);
        intent::screens(self);
        intent::views(self);
        works::works(self);
        wires::wires(self);
        intent::drives(self);
        self.model.picture_switches = parts::picture_switches(&self.catalogue);
        accepted(self);
    }

    fn report(&mut self, problem: Problem) {
        self.problems.push(problem);
    }

    /// Reports a name that is nothing. Where the same name stands again, that is no further problem but a further
    /// place: most often the name is misspelt where it is defined.
    fn report_unknown(&mut self, space: Space, name: &Placed<Name>, problem: Problem) {
        let key = (space, name.value.clone());
        match self.unknown.get(&key) {
            Some(&first) => {
                let also = &mut self.problems[first].also;
                if also.len() < MOST_SAME {
                    also.push((name.place, "again here".to_string()));
                }
            }
            None => {
                self.unknown.insert(key, self.problems.len());
                self.report(problem);
            }
        }
    }

    /// Whether a name that isn't there was written and could not be read, which has been reported.
    fn excused(&self, name: &Name) -> bool {
        self.broken.contains(name) || self.unread.holds(name)
    }

    /// So much is wrong that looking further would only take time.
    fn enough(&self) -> bool {
        self.problems.len() > MOST_PROBLEMS
    }

    /// A place by name, reported if there is none.
    fn place(&mut self, name: &Placed<Name>) -> Option<PlaceId> {
        let found = self.model.places.iter().position(|p| *p == name.value).map(PlaceId);
        if found.is_none() && !self.excused(&name.value) {
            let hint = suggestion(name, self.model.places.iter().map(|p| p.as_str()), "places");
            let problem = Problem::at(name.place, format!("`{}` is not among the places", name.value)).hint(hint);
            self.report_unknown(Space::Places, name, problem);
        }
        found
    }
}

fn places(resolver: &mut Resolver) {
    let mut seen: BTreeMap<&str, Place> = BTreeMap::new();
    for place in &resolver.form.places {
        if resolver.enough() {
            return;
        }
        if let Some(first) = seen.insert(place, place.place) {
            resolver.problems.push(
                Problem::at(place.place, format!("`{}` appears twice among the places", place.value))
                    .also(first, "first here"),
            );
            continue;
        }
        resolver.model.places.push(place.value.clone());
    }
    for run in &resolver.form.runs {
        if resolver.enough() {
            return;
        }
        let length = run.length.0.unwrap_or_default();
        let place = run.between.first().map_or(length.place, |p| p.place);
        let ends: Vec<PlaceId> = run.between.iter().filter_map(|p| resolver.place(p)).collect();
        let [a, b] = ends[..] else {
            if run.between.len() != 2 && !run.incomplete {
                resolver.report(Problem::at(place, "a run is between two places").hint("between: [engine-bay, dash]"));
            }
            continue;
        };
        if let Some(at) = &run.breaks_at
            && run.between.iter().all(|end| end.value != at.value)
        {
            let ends = format!("breaks-at: {}, or {}", run.between[0].value, run.between[1].value);
            resolver.report(Problem::at(at.place, "a run comes apart at one of its two places").hint(ends));
        }
        if a == b {
            resolver.report(Problem::at(run.between[1].place, "a run goes to another place, not back to the same"));
            continue;
        }
        resolver.model.runs.push(Run {
            ends: [a, b],
            length: length.value,
            tolerance: run.tolerance.unwrap_or(Metres::new(0.02)),
            surroundings: run.inside.unwrap_or(Surroundings::Cabin),
            covering: run.covering.unwrap_or(Covering::Tape),
            clips: run.clips,
            place,
        });
    }
}

fn accepted(resolver: &mut Resolver) {
    for accept in &resolver.form.accept {
        resolver.model.accepted.push(Accepted {
            rule: accept.finding.value.0.clone(),
            on: accept.on.value.0.clone(),
            because: accept.because.value.0.clone(),
            severity: accept.severity.unwrap_or(AcceptedSeverity::Note),
            at: accept.at.as_ref().map(|at| at.0.clone()),
            place: accept.finding.place,
        });
    }
}

fn empty(form: &SpecForm, sources: Sources) -> Draft {
    Model {
        job: job(form),
        limits: limits(form.limits.as_ref()),
        places: Vec::new(),
        runs: Vec::new(),
        parts: Vec::new(),
        pins: Vec::new(),
        wires: Vec::new(),
        loose: Vec::new(),
        joints: Vec::new(),
        elements: Vec::new(),
        signals: Vec::new(),
        inputs: Vec::new(),
        screens: Vec::new(),
        works: Vec::new(),
        drives: Vec::new(),
        picture_switches: Vec::new(),
        accepted: Vec::new(),
        sources,
    }
}

/// What job it is. Where a key of it could not be read, that has been reported and a stand-in lets looking up go on.
fn job(form: &SpecForm) -> JobDetails {
    let job = form.job.0.as_ref();
    let title = job.and_then(|j| j.title.0.as_ref());
    JobDetails {
        title: title.map(|t| t.value.0.clone()).unwrap_or_default(),
        revision: job.and_then(|j| j.revision.as_ref()).map_or_else(|| "-".to_string(), |r| r.0.clone()),
        nominal: job.and_then(|j| j.nominal.0).map_or(Volts::new(12.0), |n| n.value),
        note: job.and_then(|j| j.note.as_ref()).map(|n| n.0.clone()),
        place: title.map_or(form.harness.place, |t| t.place),
    }
}

/// The usual limits are common practice, no source, but for the drop (ABYC E-11 asks 3 % of critical circuits).
fn limits(form: Option<&LimitsForm>) -> Limits {
    let pick = |f: fn(&LimitsForm) -> Option<Share>, usual: f64| form.and_then(f).unwrap_or(Share::new(usual));
    Limits {
        drop: pick(|l| l.drop, 0.03),
        fuse_load: pick(|l| l.fuse_load, 0.8),
        hot: form.and_then(|l| l.hot).unwrap_or(Celsius::new(60.0)),
        sneak_voltage: form.and_then(|l| l.sneak_voltage).unwrap_or(Volts::new(1.0)),
        sneak_current: form.and_then(|l| l.sneak_current).unwrap_or(Amps::new(0.001)),
        key_off: form.and_then(|l| l.key_off).unwrap_or(Amps::new(0.03)),
        video_lift: form.and_then(|l| l.video_lift).unwrap_or(Volts::new(0.1)),
        cut_allowance: pick(|l| l.cut_allowance, 0.1),
        end_allowance: form.and_then(|l| l.end_allowance).unwrap_or(Metres::new(0.05)),
        thinnest: form.and_then(|l| l.thinnest).unwrap_or(Gauge::Metric(0.5)),
        local_length: form.and_then(|l| l.local_length).unwrap_or(Metres::new(0.3)),
    }
}
