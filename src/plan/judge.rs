//! The judge of every candidate: the same job and the same checks as the command line uses.

use crate::costs::CostTable;
use crate::explain::{PlannedReason, reasons};
use crate::figures::{AddedThings, FeedFigure, ProposalFigures, feeds, measure};
use crate::texts::Instead;
use check::{Report, Severity};
use facts::Facts;
use form::Texts;
use job::{Job, Stop};
use model::{Model, PartKind, PinId, WireId, conductor};
use quantity::Gauge;
use replay::Displayed;
use replay::standing::{Race, RaceEffect};
use std::collections::BTreeMap;
use std::path::Path;

/// What a job says about a spec's text.
pub struct Judgement {
    /// Whether every state could be solved.
    pub solved: bool,
    /// States that were solved.
    pub states: usize,
    /// Each error and warning. While candidates are compared, no cause is searched for, so that all count.
    pub findings: Vec<SeriousFinding>,
    /// The most that each feed of the vehicle supplies.
    pub feeds: Vec<FeedFigure>,
    /// The gauge of each wire, by number.
    pub gauges: BTreeMap<String, Gauge>,
}

/// An error or a warning.
#[derive(Debug, Clone)]
pub struct SeriousFinding {
    /// Its rule.
    pub rule: String,
    /// Whether it is an error.
    pub error: bool,
    /// What it is about.
    pub about: String,
    /// What it says.
    pub message: String,
    /// The line of the spec's text that it marks.
    pub line: String,
    /// Whether a screen is without a picture for a moment, and shows no wrong one: of relays that move one after the other.
    pub blank: bool,
    /// The wire on that line; of a lifted ground, with those that meet it in splices.
    pub wires: Vec<MarkedWire>,
    /// The other wires on the path of the current, the one with the highest resistance first.
    pub path: Vec<MarkedWire>,
}

/// A wire that a finding marks.
#[derive(Debug, Clone)]
pub struct MarkedWire {
    /// Its number.
    pub id: String,
    /// A gauge with more copper.
    pub thicker: Option<Gauge>,
    /// Its ends whose terminals take no more.
    pub tight: Vec<String>,
}

/// Whether what shows between two pictures on the screen of a finding is never a picture.
fn is_blank(facts: &Facts, finding: &check::Finding) -> bool {
    let own = |race: &&Race| facts.model.screens[race.screen.0].place.line == finding.place.line;
    let shows = |race: &&Race| matches!(race.effect, RaceEffect::Shows(_));
    let mut races = facts.standing().races.iter().filter(own).filter(shows).peekable();
    races.peek().is_some() && races.all(|race| matches!(race.gets, Displayed::Lost(_) | Displayed::Black))
}

/// The wire on a line; with those that meet it in splices, if `joined`.
fn marked(model: &Model, line: usize, joined: bool) -> Vec<MarkedWire> {
    let ids = (0..model.wires.len()).map(WireId);
    let mut all: Vec<WireId> = ids.filter(|id| model.wire(*id).place.line == line).collect();
    let mut next = 0;
    while let Some(id) = all.get(next).copied().filter(|_| joined) {
        let splices =
            model.wire(id).ends.iter().filter(|pin| model.part(model.pin(**pin).part).kind == PartKind::Splice);
        for other in splices.flat_map(|pin| model.wires_on(*pin)) {
            if !all.contains(&other) {
                all.push(other);
            }
        }
        next += 1;
    }
    all.into_iter().map(|id| marked_wire(model, id)).collect()
}

/// Share of the resistance of a path below which more copper in a wire does not help.
const MATTERS: f64 = 0.1;

/// The wires on the path of a finding that matter, but the one that it marks; the one with the highest resistance first.
fn path(facts: &Facts, finding: &check::Finding) -> Vec<MarkedWire> {
    let model = facts.model;
    let on_path = |id: &WireId| {
        let name = facts.names().wire(*id);
        finding.evidence.path.iter().any(|point| point.through.as_ref() == Some(&name))
    };
    let own = |id: &WireId| model.wire(*id).place.line != finding.place.line;
    let mut all: Vec<WireId> = (0..model.wires.len()).map(WireId).filter(own).filter(on_path).collect();
    let resistance = |id: &WireId| {
        let wire = model.wire(*id);
        wire.length.map_or(0.0, |length| length.value()) / wire.gauge.area()
    };
    let sum: f64 = all.iter().map(resistance).sum();
    all.retain(|id| resistance(id) > MATTERS * sum);
    all.sort_by(|a, b| resistance(b).total_cmp(&resistance(a)));
    all.into_iter().map(|id| marked_wire(model, id)).collect()
}

/// Half as much copper more, or what the terminals at its ends take, if that is more than now.
fn marked_wire(model: &Model, id: WireId) -> MarkedWire {
    let wire = model.wire(id);
    let larger = |share: f64, fits: &dyn Fn(Gauge) -> bool| {
        conductor::thinnest(wire.gauge, |size| size.area() >= share * wire.gauge.area() && fits(size))
    };
    let fits = |size: Gauge| size::ends_take(model, id, size);
    let most = larger(1.4, &|_| true);
    let tight = |pin: &&PinId| most.is_some_and(|gauge| !size::pin_takes(model, **pin, gauge));
    let tight: Vec<String> = wire.ends.iter().filter(tight).map(|pin| model.pin_name(*pin)).collect();
    let american = || conductor::awg_sizes().find(|size| size.area() >= 1.2 * wire.gauge.area() && fits(*size));
    let between = larger(1.2, &fits).or_else(american).filter(|_| !tight.is_empty());
    match between {
        Some(gauge) => MarkedWire { id: wire.id.to_string(), thicker: Some(gauge), tight: Vec::new() },
        None => MarkedWire { id: wire.id.to_string(), thicker: most, tight },
    }
}

/// What else a judged job can be asked without solving it again.
pub trait Further {
    /// Notes of `check`.
    fn notes(&self) -> usize;
    /// Its figures; `None` when the job is ended.
    fn figures(&self, added: &AddedThings, costs: &CostTable) -> Option<ProposalFigures>;
    /// What each part and wire is for; empty when the job is ended.
    fn reasons(&self) -> Vec<PlannedReason>;
}

struct JudgedJob<'j>(&'j Job<'j>);

impl Further for JudgedJob<'_> {
    fn notes(&self) -> usize {
        self.0.report().map_or(0, |report| report.count(Severity::Note))
    }
    fn figures(&self, added: &AddedThings, costs: &CostTable) -> Option<ProposalFigures> {
        measure(self.0, added, costs).ok()
    }
    fn reasons(&self) -> Vec<PlannedReason> {
        reasons(self.0).unwrap_or_default()
    }
}

/// Judges a spec's text; `then` may change the judgement and ask further. `path` is that of the wish, so that includes are
/// found.
///
/// # Errors
/// The messages of a text that does not read; when the job is ended.
pub fn judge<T>(
    texts: &dyn Texts,
    path: &Path,
    text: &str,
    then: impl FnOnce(&mut Judgement, &dyn Further) -> T,
) -> Result<(Judgement, T), String> {
    let job = read(texts, path, text)?;
    let judged = job.unfolded_report().and_then(|report| verdict(&job, &report));
    let mut judgement = judged.map_err(|_| "interrupted".to_string())?;
    let more = then(&mut judgement, &JudgedJob(&job));
    Ok((judgement, more))
}

/// What is wrong with a spec's text, without what follows from something else.
///
/// # Errors
/// As [`judge`].
pub fn roots(texts: &dyn Texts, path: &Path, text: &str) -> Result<Judgement, String> {
    let job = read(texts, path, text)?;
    let judged = job.report().and_then(|report| verdict(&job, report));
    judged.map_err(|_| "interrupted".to_string())
}

fn read<'j>(texts: &dyn Texts, path: &Path, text: &str) -> Result<Job<'j>, String> {
    Job::read(&Instead { texts, path, text }, path).map_err(|unreadable| {
        let lines = unreadable.problems.iter().map(|problem| match problem.place {
            Some(place) => format!("line {}: {}\n", place.line, problem.message),
            None => format!("{}\n", problem.message),
        });
        lines.collect::<String>()
    })
}

/// Whether a text reads as a harness with these gauges: the one that was judged, with its gauges written out.
pub fn has_gauges(texts: &dyn Texts, path: &Path, text: &str, gauges: &BTreeMap<String, Gauge>) -> bool {
    let model = read(texts, path, text).ok().and_then(|job| job.into_model().ok());
    model.is_some_and(|model| gauges_of(&model) == *gauges)
}

fn gauges_of(model: &Model) -> BTreeMap<String, Gauge> {
    model.wires.iter().map(|wire| (wire.id.to_string(), wire.gauge)).collect()
}

fn verdict<'j>(job: &'j Job<'j>, report: &Report) -> Result<Judgement, Stop> {
    let (model, facts) = (job.model()?, job.facts()?);
    let text = model.sources.files.first().map_or("", |file| file.text.as_str());
    let serious = |finding: &check::Finding| SeriousFinding {
        rule: finding.rule.to_string(),
        error: finding.severity == Severity::Error,
        about: finding.about.clone(),
        message: finding.message.clone(),
        line: text.lines().nth(finding.place.line.saturating_sub(1)).unwrap_or("").to_string(),
        blank: finding.rule == "time/relay-race" && is_blank(facts, finding),
        wires: marked(model, finding.place.line, finding.rule == "load/video-ground-lift"),
        path: path(facts, finding),
    };
    let findings: Vec<SeriousFinding> =
        report.roots().filter(|finding| finding.severity != Severity::Note).map(serious).collect();
    Ok(Judgement {
        solved: report.passes() || report.count(Severity::Error) > 0,
        states: job.solved()?.table().rows.len(),
        findings,
        feeds: feeds(job.facts()?, model),
        gauges: gauges_of(model),
    })
}
