//! The search: candidates in the order of their cost, each judged, until one passes.

use crate::attempts::{CANDIDATES, improved, races};
use crate::awake;
use crate::bound::coils;
use crate::choice::Choice;
use crate::choose::{Arranged, TermRules, arrangements, load_terms};
use crate::conflict::Refusal;
use crate::contradict::every_line_applies;
use crate::distances::Distances;
use crate::earlier::{EarlierNet, EarlierSpec};
use crate::judge::{Judgement, SeriousFinding, roots};
use crate::kinds::ProposalKind;
use crate::kit::Kit;
use crate::left::left;
use crate::logic::{ArrangedScreens, LogicPlan, LogicProof, candidate_of, fewest, shared};
use crate::network::ContactNetwork;
use crate::pictures::can_split;
use crate::prove::{AskedOf, Proposal};
use crate::remedies::{Attempt, Passed, Remedies};
use crate::selector::{SelectorKind, selector};
use crate::signals::{OfferedSignal, signals, with_joined};
use crate::targets::{LoadWish, PictureSlot, ScreenWish, live, loads, screen};
use crate::wish::WishRead;
use catalogue::part_form::{Domain, PinRole};
use form::{Name, Problem, Texts};
use quantity::Volts;
use std::path::Path;

/// States of a candidate from which on no further one is tried: judging takes seconds.
const MANY: usize = 300;
/// Signals that terms are made of at most.
const MOST_SIGNALS: usize = 128;

/// The first candidate that passes.
///
/// # Errors
/// What conflicts, what plan can't do, or what `check` finds in the best candidate.
pub fn search(texts: &dyn Texts, path: &Path, wish: &WishRead, asked: &AskedOf) -> Result<Proposal, Refusal> {
    let (kind, earlier) = (asked.kind, asked.earlier);
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
            awake::in_time(wish, &screen)?;
            let slots = screen.slots(selector.as_ref(), least)?;
            Ok((screen, slots))
        })
        .collect::<Result<_, Refusal>>()?;
    can_split(wish, &kit, &screens.iter().map(|(screen, _)| screen).collect::<Vec<_>>())?;
    let arranged = |steady: bool| {
        let mut plan = planned(wish, &signals, screens.clone(), steady)?;
        if let Some(earlier) = earlier {
            as_before(earlier, wish, &mut plan, selector.as_ref());
        }
        Ok::<LogicPlan, Refusal>(plan)
    };
    let plan = arranged(false)?;
    let hub = hub(wish, &distances, &plan);
    let bound = coils(&plan, &signals);
    let all_signals = with_joined(&signals);
    let shares = matches!(kind, ProposalKind::FewestParts | ProposalKind::Selector);
    let judged = |passed: &Passed| {
        let (number, steady) = match passed.attempt {
            Attempt::Arrangement(number) => (number, false),
            Attempt::Steady => (0, true),
        };
        let steady_plan = if steady { Some(arranged(true)?) } else { None };
        let plan = steady_plan.as_ref().unwrap_or(&plan);
        let Some(first) = candidate_of(plan, &signals, (number, steady)) else { return Ok(None) };
        let settled = earlier.is_some() || number > 0;
        let (network, screens, proof) = match steady {
            true => unproved(first, bound),
            false => {
                let found = fewest(wish, plan, &signals, first, (settled, bound));
                if shares { shared(wish, plan, &all_signals, found, settled) } else { found }
            }
        };
        let loads: Vec<LoadWish> = plan.loads.iter().map(|(load, _)| load.clone()).collect();
        let choice = Choice {
            wish,
            kit: &kit,
            distances: &distances,
            signals: &all_signals,
            screens: &screens,
            loads: &loads,
            network: &network,
            selector: selector.as_ref(),
            hub,
            apart: kind == ProposalKind::MostRobust,
            logic: plan.logic.clone(),
            proof,
            remedies: passed.remedies.clone(),
        };
        let (verdict, mut proposal, remedies) = improved(texts, path, asked, choice)?;
        proposal.passed = Some(Passed { attempt: passed.attempt, remedies });
        Ok::<_, Refusal>(Some((verdict, proposal)))
    };
    let first = Remedies { relayed: kind == ProposalKind::MostRobust, ..Remedies::default() };
    let known = asked.passed.map(|passed| {
        let remedies = Remedies { relayed: first.relayed || passed.remedies.relayed, ..passed.remedies.clone() };
        Passed { attempt: passed.attempt, remedies }
    });
    let delayed = Remedies { delayed: true, ..first.clone() };
    let arrangements = (0..CANDIDATES).map(|number| (Attempt::Arrangement(number), &first));
    let last = [(Attempt::Steady, &first), (Attempt::Arrangement(0), &delayed)];
    let all = arrangements.chain(last).map(|(attempt, remedies)| Passed { attempt, remedies: remedies.clone() });
    let mut best: Option<(Judgement, String)> = None;
    for (at, attempt) in known.into_iter().chain(all).enumerate() {
        let is_known = at == 0 && asked.passed.is_some();
        let is_last = attempt.attempt == Attempt::Steady || attempt.remedies.delayed;
        let skipped = |(verdict, _): &(Judgement, String)| match is_last {
            true => !races(verdict),
            false => verdict.states > MANY,
        };
        if !is_known && best.as_ref().is_some_and(skipped) {
            continue;
        }
        let Some((verdict, proposal)) = judged(&attempt)? else { continue };
        if verdict.solved && verdict.findings.is_empty() {
            return Ok(proposal);
        }
        let weight = |verdict: &Judgement| {
            (verdict.findings.iter().filter(|finding| finding.error).count(), verdict.findings.len())
        };
        if best.as_ref().is_none_or(|(known, _)| weight(&verdict) < weight(known)) {
            best = Some((verdict, proposal.text));
        }
    }
    let (verdict, spec) = best.ok_or(Refusal::Interrupted)?;
    // What follows from something else is not named, nor what the wish causes.
    let own = |finding: &SeriousFinding| verdict.findings.iter().any(|other| other.message == finding.message);
    let verdict = match roots(texts, path, &spec) {
        Ok(mut folded) if folded.findings.iter().any(own) => {
            folded.findings.retain(own);
            folded
        }
        _ => verdict,
    };
    Err(Refusal::Unproved { spec, problems: left(wish, &verdict) })
}

/// A network for which no smaller one was looked for.
fn unproved(
    (network, screens): (ContactNetwork, ArrangedScreens),
    bound: usize,
) -> (ContactNetwork, ArrangedScreens, LogicProof) {
    let relays = network.relays.len();
    (network, screens, LogicProof::unsearched(relays, bound))
}

/// The terms of everything, with the first supply of the logic that can separate what must differ.
fn planned(
    wish: &WishRead,
    signals: &[OfferedSignal],
    screens: Vec<(ScreenWish, Vec<PictureSlot>)>,
    steady: bool,
) -> Result<LogicPlan, Refusal> {
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
        match with_logic(wish, signals, &screens, &loads, (logic, steady)) {
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
    (logic, steady): (&Name, bool),
) -> Result<LogicPlan, Refusal> {
    let form = wish.form.supplies.get(logic);
    let set = live(&wish.combos, form.and_then(|form| form.follows.as_ref()));
    let rules = TermRules { logic: &set, steady };
    let arranged = |(screen, slots): &(ScreenWish, Vec<PictureSlot>)| {
        let all = arrangements(wish, screen, signals, &rules)?;
        Ok((screen.clone(), slots.clone(), all))
    };
    let battery = wish.form.supplies.iter().position(|(_, form)| form.follows.is_none()).unwrap_or(0);
    let load = |load: &LoadWish| Ok((load.clone(), load_terms(wish, load, signals, &rules, battery)?));
    Ok(LogicPlan {
        logic: logic.clone(),
        supplies: wish.form.supplies.iter().map(|(name, _)| name.value.clone()).collect(),
        screens: screens.iter().map(arranged).collect::<Result<_, Refusal>>()?,
        loads: loads.iter().map(load).collect::<Result<_, Refusal>>()?,
    })
}

/// The place with the shortest ways to taps and screens: relays and modules go there.
fn hub(wish: &WishRead, distances: &Distances, plan: &LogicPlan) -> usize {
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

/// Puts the arrangements first that leave the most pictures where the earlier plan has them.
fn as_before(earlier: &EarlierSpec, wish: &WishRead, plan: &mut LogicPlan, selector: Option<&SelectorKind>) {
    for (screen, slots, all) in &mut plan.screens {
        let before: Vec<Option<PictureSlot>> =
            screen.pictures.iter().map(|picture| slot_before(earlier, wish, screen, picture, selector)).collect();
        let moved = |arranged: &Arranged| {
            let placed = arranged.order.iter().zip(slots.iter());
            placed.filter(|(picture, slot)| picture.is_some_and(|p| before[p].is_some_and(|b| b != **slot))).count()
        };
        all.sort_by_key(moved);
    }
}

/// Where the earlier plan connects a picture.
fn slot_before(
    earlier: &EarlierSpec,
    wish: &WishRead,
    screen: &ScreenWish,
    picture: &Name,
    selector: Option<&SelectorKind>,
) -> Option<PictureSlot> {
    let (_, kind) = wish.part(picture)?;
    let output = kind.pins.iter().find(|(_, pin)| pin.domain == Domain::Video && pin.is == Some(PinRole::Output))?.0;
    let net = earlier.net_of(&format!("{picture}.{}", output.value))?;
    let line_of = |net: &EarlierNet| {
        screen.lines.iter().position(|line| net.ends.contains(&format!("{}.{}", screen.part, line.input)))
    };
    if let Some(line) = line_of(net) {
        return Some(PictureSlot { line, input: None });
    }
    let selector = selector?;
    let parts = earlier.form.parts.iter().filter(|(_, entry)| entry.use_.as_str() == selector.name);
    parts.into_iter().find_map(|(name, _)| {
        let enters = |(_, pin): &(Name, Name)| net.ends.contains(&format!("{}.{pin}", name.value));
        let input = selector.inputs.iter().position(enters)?;
        let line = line_of(earlier.net_of(&format!("{}.{}", name.value, selector.output))?)?;
        Some(PictureSlot { line, input: Some(input) })
    })
}
