//! The search: candidates in the order of their cost, each judged, until one passes.

use crate::choose::{Arranged, arrangements, load_terms};
use crate::complete::{Choice, complete, ratings};
use crate::conflict::Refusal;
use crate::contradict::every_line_applies;
use crate::harness::Assembled;
use crate::judge::{Judgement, SeriousFinding, judge};
use crate::kinds::ProposalKind;
use crate::kit::Kit;
use crate::lay::{Distances, MOST, lay};
use crate::network::{ContactNetwork, Nature, TargetTerms};
use crate::selector::selector;
use crate::signals::{OfferedSignal, signals};
use crate::targets::{LoadWish, PictureSlot, ScreenWish, Wanted, live, loads, screen};
use crate::wish::WishRead;
use crate::write::{Additions, text};
use form::{Name, Place, Problem, Texts};
use quantity::Volts;
use std::collections::BTreeMap;
use std::path::Path;

/// Candidates that are judged at most.
const CANDIDATES: usize = 4;
/// Rules that a ground point for large loads alone may satisfy.
const GROUNDS: [&str; 4] = ["safety/ground-lost", "load/drop", "load/video-ground-lift", "load/ground-drop"];
/// States of a candidate from which on no further one is tried: judging takes seconds.
const MANY: usize = 300;
/// Signals that terms are made of at most.
const MOST_SIGNALS: usize = 128;
/// Most wires in a splice where the usual number overfills it.
const FEWEST: usize = 4;
/// Times that a fuse gets the next rating after it was found too small.
const RATINGS: usize = 4;

/// A complete spec that every check passes.
#[derive(Debug, Clone)]
pub struct Proposal {
    /// The spec's text.
    pub text: String,
    /// Parts that were added, splices not counted.
    pub parts: usize,
    /// The family of each of them, in the words of the catalogue.
    pub families: Vec<String>,
    /// Relays among them.
    pub relays: usize,
    /// Wires that were added.
    pub wires: usize,
    /// Splices that were added.
    pub splices: usize,
    /// States in which it was solved.
    pub states: usize,
    /// Notes of `check`.
    pub notes: usize,
    /// Warnings of `check` that any wiring of this wish has.
    pub warnings: Vec<String>,
}

/// The screens with their slots and arrangements, and the loads: what one supply of the logic makes of a wish.
struct Plan {
    logic: Name,
    supplies: Vec<Name>,
    screens: Vec<(ScreenWish, Vec<PictureSlot>, Vec<Arranged>)>,
    loads: Vec<(LoadWish, TargetTerms)>,
}

/// The first candidate that passes.
///
/// # Errors
/// What conflicts, what plan can't do, or what `check` finds in the best candidate.
pub fn search(texts: &dyn Texts, path: &Path, wish: &WishRead, kind: ProposalKind) -> Result<Proposal, Refusal> {
    let nominal = wish.form.job.0.as_ref().and_then(|job| job.nominal.0).map_or(Volts::new(12.0), |volts| volts.value);
    let highest =
        wish.form.supplies.iter().filter_map(|(_, s)| s.volts.map(|v| v.value.0[2])).fold(nominal, Volts::max);
    let kit = Kit::new(&wish.catalogue, nominal, highest, kind == ProposalKind::PlainRelays);
    let distances = Distances::new(&wish.form);
    let signals = signals(wish);
    if signals.len() > MOST_SIGNALS {
        let message = format!("{} vehicle wires and switched supplies; plan takes {MOST_SIGNALS}", signals.len());
        return Err(Refusal::Beyond(vec![Problem::whole(message).hint("remove the inputs that no view needs")]));
    }
    every_line_applies(wish)?;
    let selector = selector(&wish.catalogue, nominal).filter(|_| kind != ProposalKind::PlainRelays);
    let least = usize::from(kind == ProposalKind::Selector);
    let screens: Vec<(ScreenWish, Vec<PictureSlot>)> = wish
        .form
        .screens
        .iter()
        .map(|(name, form)| {
            let screen = screen(wish, name, form)?;
            let slots = screen.slots(selector.as_ref(), least)?;
            Ok((screen, slots))
        })
        .collect::<Result<_, Refusal>>()?;
    let plan = planned(wish, &signals, screens)?;
    let hub = hub(wish, &distances, &plan);
    let mut best: Option<(Judgement, String)> = None;
    for candidate in 0..CANDIDATES {
        let Some((network, screens)) = candidate_of(&plan, &signals, candidate) else { break };
        let loads: Vec<LoadWish> = plan.loads.iter().map(|(load, _)| load.clone()).collect();
        let choice = Choice {
            wish,
            kit: &kit,
            distances: &distances,
            signals: &signals,
            screens: &screens,
            loads: &loads,
            network: &network,
            selector: selector.as_ref(),
            hub,
            reserve: false,
            apart: kind == ProposalKind::MostRobust,
            logic: plan.logic.clone(),
        };
        let (mut verdict, mut proposal) = proved(texts, path, &choice)?;
        if verdict.findings.iter().any(|finding| GROUNDS.contains(&finding.rule.as_str())) && !loads.is_empty() {
            let (other, reserved) = proved(texts, path, &Choice { reserve: true, ..choice })?;
            if other.findings.len() < verdict.findings.len() {
                (verdict, proposal) = (other, reserved);
            }
        }
        if verdict.solved && verdict.findings.is_empty() {
            return Ok(proposal);
        }
        let weight = |verdict: &Judgement| {
            (verdict.findings.iter().filter(|finding| finding.error).count(), verdict.findings.len())
        };
        let many = verdict.states > MANY;
        if best.as_ref().is_none_or(|(known, _)| weight(&verdict) < weight(known)) {
            best = Some((verdict, proposal.text));
        }
        if many {
            break;
        }
    }
    let (verdict, spec) = best.ok_or(Refusal::Interrupted)?;
    Err(Refusal::Unproved { spec, problems: left(wish, &verdict) })
}

/// The terms of everything, with the first supply of the logic that can separate what must differ.
fn planned(
    wish: &WishRead,
    signals: &[OfferedSignal],
    screens: Vec<(ScreenWish, Vec<PictureSlot>)>,
) -> Result<Plan, Refusal> {
    let loads = loads(wish);
    let mut candidates: Vec<&Name> = Vec::new();
    let always = wish.form.supplies.iter().filter(|(_, form)| form.follows.is_none()).map(|(name, _)| &name.value);
    let of_screens = screens.iter().map(|(screen, _)| &screen.supply);
    for name in of_screens
        .chain(wish.form.supplies.iter().filter(|(_, s)| s.follows.is_some()).map(|(name, _)| &name.value))
        .chain(always)
    {
        if !candidates.contains(&name) {
            candidates.push(name);
        }
    }
    let mut first = None;
    for logic in candidates {
        match with_logic(wish, signals, &screens, &loads, logic) {
            Ok(plan) => return Ok(plan),
            Err(refusal) => first = first.or(Some(refusal)),
        }
    }
    Err(first.unwrap_or_else(|| Refusal::Conflict(vec![Problem::whole("a wish needs a supply under `supplies`")])))
}

fn with_logic(
    wish: &WishRead,
    signals: &[OfferedSignal],
    screens: &[(ScreenWish, Vec<PictureSlot>)],
    loads: &[LoadWish],
    logic: &Name,
) -> Result<Plan, Refusal> {
    let form = wish.form.supplies.get(logic);
    let set = live(&wish.combos, form.and_then(|form| form.follows.as_ref()));
    let arranged = |(screen, slots): &(ScreenWish, Vec<PictureSlot>)| {
        let all = arrangements(wish, screen, signals, &set)?;
        Ok((screen.clone(), slots.clone(), all))
    };
    let battery = wish.form.supplies.iter().position(|(_, form)| form.follows.is_none()).unwrap_or(0);
    let load = |load: &LoadWish| Ok((load.clone(), load_terms(wish, load, signals, &set, battery)?));
    Ok(Plan {
        logic: logic.clone(),
        supplies: wish.form.supplies.iter().map(|(name, _)| name.value.clone()).collect(),
        screens: screens.iter().map(arranged).collect::<Result<_, Refusal>>()?,
        loads: loads.iter().map(load).collect::<Result<_, Refusal>>()?,
    })
}

/// The place with the shortest ways to taps and screens: relays and modules go there.
fn hub(wish: &WishRead, distances: &Distances, plan: &Plan) -> usize {
    let mut ends: Vec<usize> =
        wish.form.inputs.iter().filter_map(|(_, i)| i.at.as_ref().map(|at| wish.place(&at.value))).collect();
    for (screen, ..) in &plan.screens {
        if let Some((entry, _)) = wish.part(&screen.part)
            && let Some(at) = &entry.at
        {
            ends.extend([wish.place(&at.value); 2]);
        }
    }
    let sum = |place: &usize| ends.iter().map(|end| distances.between(*place, *end)).sum::<f64>();
    (0..wish.form.places.len()).min_by(|a, b| sum(a).total_cmp(&sum(b))).unwrap_or(0)
}

type Screens = Vec<(ScreenWish, Vec<PictureSlot>, Arranged)>;

/// The network of a candidate: the n-th arrangement of every screen, or its last.
fn candidate_of(plan: &Plan, signals: &[OfferedSignal], n: usize) -> Option<(ContactNetwork, Screens)> {
    if n > 0 && plan.screens.iter().all(|(_, _, all)| all.len() <= n) {
        return None;
    }
    let screens: Screens = plan
        .screens
        .iter()
        .filter_map(|(screen, slots, all)| {
            Some((screen.clone(), slots.clone(), all.get(n.min(all.len() - 1))?.clone()))
        })
        .collect();
    let natures: Vec<Nature> = signals.iter().map(|signal| signal.nature).collect();
    let terms = screens.iter().flat_map(|(screen, _, arranged)| {
        arranged.terms.iter().flatten().map(|terms| (screen.supply.clone(), terms.clone()))
    });
    let supply = |name: &Name| plan.supplies.iter().position(|supply| supply == name).unwrap_or(0);
    let mut targets: Vec<TargetTerms> =
        terms.map(|(name, terms)| TargetTerms { terms, supply: supply(&name) }).collect();
    targets.extend(plan.loads.iter().map(|(_, terms)| terms.clone()));
    let mut network = ContactNetwork::build(&natures, &targets);
    network.coils = plan.loads.len();
    Some((network, screens))
}

/// A candidate with gauges and ratings chosen, judged.
fn proved(texts: &dyn Texts, path: &Path, choice: &Choice) -> Result<(Judgement, Proposal), Refusal> {
    let placed = |problems: Vec<Problem>| {
        let first = choice.wish.form.harness.place;
        let at = |problem: Problem| Problem { place: problem.place.or(Some(first)), ..problem };
        Refusal::Beyond(problems.into_iter().map(at).collect())
    };
    let assembled = complete(choice).map_err(placed)?;
    let mut most = MOST;
    let mut up = vec![0; assembled.fuses.len()];
    let mut gauges = BTreeMap::new();
    let mut last = None;
    for _ in 0..=RATINGS {
        let mut assembled = assembled.clone();
        let (wires, splices) = lay(&mut assembled, choice.distances, most);
        let ratings = ratings(choice.kit, &assembled.fuses, &up);
        let additions =
            Additions { assembled: &assembled, ratings: &ratings, wires: &wires, splices: &splices, gauges: &gauges };
        let spec = text(choice.wish, &additions);
        let mut verdict = judge(texts, path, &spec).map_err(|said| Refusal::Unproved {
            spec: spec.clone(),
            problems: vec![Problem::whole(format!("the planned spec does not read: {said}"))],
        })?;
        let small = |rule: &str| rule == "load/fuse-loaded" || rule == "load/fuse-inrush";
        let named = |part: usize, about: &str| assembled.parts[part].name.as_str() == about;
        // Thicker wires fit in a splice only if they are fewer.
        let crowded = |f: &SeriousFinding| f.rule == "build/splice-overfilled" || f.rule == "load/drop";
        let mut changed = most > FEWEST && verdict.findings.iter().any(crowded);
        if changed {
            most = FEWEST;
        }
        for (index, fuse) in assembled.fuses.iter().enumerate() {
            if verdict.findings.iter().any(|f| small(&f.rule) && named(fuse.part, &f.about)) {
                up[index] += 1;
                changed = true;
            }
        }
        let (caused, rest) = verdict.findings.into_iter().partition(|f| caused_by_wish(choice, f));
        verdict.findings = rest;
        let sized = changed || gauges.is_empty();
        gauges = if changed { BTreeMap::new() } else { verdict.gauges.clone() };
        let proposal = Proposal {
            text: spec,
            parts: assembled.parts.len() + choice.wish.buttons.len(),
            families: families(choice, &assembled),
            relays: choice.network.relays.len(),
            wires: wires.len(),
            splices: splices.len(),
            states: verdict.states,
            notes: verdict.notes,
            warnings: caused.into_iter().map(|finding: SeriousFinding| finding.message).collect(),
        };
        last = Some((verdict, proposal));
        let clean = last.as_ref().is_some_and(|(verdict, _)| verdict.findings.is_empty());
        if !sized || !(changed || clean) {
            break;
        }
    }
    last.ok_or(Refusal::Interrupted)
}

/// The family of each part that a proposal adds.
fn families(choice: &Choice, assembled: &Assembled) -> Vec<String> {
    let parts = assembled.parts.iter().map(|part| part.kind.as_str());
    let kinds = parts.chain(choice.wish.buttons.iter().map(|button| button.kind.as_str()));
    kinds.filter_map(|kind| Some(choice.wish.catalogue.get(kind)?.family.word().to_string())).collect()
}

/// Whether a warning is there whatever the wiring is: an input that nothing needs to know, or a supply that must feed
/// something with everything at rest.
fn caused_by_wish(choice: &Choice, finding: &SeriousFinding) -> bool {
    let rest = |set: &[bool]| set.first().copied().unwrap_or(false);
    match finding.rule.as_str() {
        "logic/input-unused" => {
            let mut used = choice.signals.iter().zip(&choice.network.used).filter(|(_, used)| **used);
            !used.any(|(signal, _)| signal.name.as_str() == finding.about)
        }
        "load/key-off-drain" => {
            let shows = |(screen, ..): &(ScreenWish, Vec<PictureSlot>, Arranged)| {
                screen.supply.as_str() == finding.about
                    && screen.wanted.first().is_some_and(|(wanted, _)| !matches!(wanted, Wanted::Black | Wanted::Any))
            };
            choice.screens.iter().any(shows) || choice.loads.iter().any(|load| rest(&load.target.on))
        }
        _ => false,
    }
}

/// What is left, at the lines of the wish that it concerns.
fn left(wish: &WishRead, verdict: &Judgement) -> Vec<Problem> {
    let lines: Vec<&str> = wish.text.lines().collect();
    let problem = |finding: &SeriousFinding| {
        let own = lines.iter().position(|line| line.trim() == finding.line.trim());
        // The first thing of the wish that the finding names.
        let named = finding.message.split('`').skip(1).step_by(2).chain([finding.about.as_str()]);
        let line_of = |name: &str| {
            let key = format!("{name}:");
            lines.iter().position(|line| line.trim_start_matches([' ', '{']).starts_with(&key))
        };
        let at = own.or_else(|| named.filter(|name| !name.is_empty()).find_map(line_of));
        let message = format!("{} ({})", finding.message, finding.rule);
        let hint = match finding.rule.as_str() {
            "safety/ground-lost" | "load/drop" | "load/video-ground-lift" | "load/ground-drop" => {
                "add a ground point where large loads are, apart from those of cameras and screens"
            }
            _ => "change this line, or write these parts and wires by hand",
        };
        match at {
            Some(at) => {
                let before: usize = lines[..at].iter().map(|line| line.len() + 1).sum();
                let column = lines[at].len() - lines[at].trim_start().len();
                let (start, end) = (before + column, before + lines[at].trim_end().len());
                Problem::at(Place { file: 0, start, end, line: at + 1, column: column + 1 }, message).hint(hint)
            }
            None => Problem::at(wish.form.harness.place, message).hint(hint),
        }
    };
    if verdict.findings.is_empty() {
        let message = "the proposal has states that can't be solved";
        return vec![Problem::at(wish.form.harness.place, message).hint("split the wish in two")];
    }
    verdict.findings.iter().map(problem).collect()
}
