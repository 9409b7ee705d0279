use crate::evidence::{shown_at, unless_short};
use crate::{Finding, Finds, Rule, Severity};
use catalogue::part_form::{ContactRating, LoadKind};
use circuit::{BranchId, Solution};
use facts::moment::{CORNERS, Peak};
use facts::{Facts, Moment};
use model::{ElementId, ElementKind, PinId};
use quantity::Amps;

pub const RULE: Rule = Rule {
    name: "load/contact-overloaded",
    severity: Severity::Error,
    explanation: include_str!("contact_overloaded.md"),
    finds: Finds::InHarness(find),
};

/// One side of a contact or one throw of a switch.
pub(super) struct Side {
    pub element: ElementId,
    pub branch: BranchId,
    common: PinId,
    pub pin: PinId,
    pub rating: Ratings,
}

fn find(facts: &Facts) -> Vec<Finding> {
    let sides = (0..facts.model.elements.len()).flat_map(|i| sides(facts, ElementId(i)));
    sides.filter_map(|side| of_side(facts, &side)).collect()
}

/// Every rated side of a contact or throw of a switch.
pub(super) fn sides(facts: &Facts, element: ElementId) -> Vec<Side> {
    let branches = facts.solved.assembly.element(element);
    match &facts.model.element(element).kind {
        ElementKind::Contact { common, made, rest, rating: Some(rating), .. } => {
            let made = made.map(|pin| (pin, made_side(rating)));
            let rest = rest.map(|pin| (pin, rest_side(rating)));
            let pins = made.into_iter().chain(rest);
            pins.zip(branches)
                .map(|((pin, rating), &branch)| Side { element, branch, common: *common, pin, rating })
                .collect()
        }
        ElementKind::Throw { common, throw, rating: Some(rating), .. } => {
            let rating = Ratings { resistive: *rating, lamp: None, inductive: None, inrush: None };
            let side = |&branch| Side { element, branch, common: *common, pin: *throw, rating: rating.clone() };
            branches.first().map(side).into_iter().collect()
        }
        _ => Vec::new(),
    }
}

/// The ratings of one side.
#[derive(Clone)]
pub(super) struct Ratings {
    resistive: Amps,
    lamp: Option<Amps>,
    inductive: Option<Amps>,
    inrush: Option<Amps>,
}

fn made_side(rating: &ContactRating) -> Ratings {
    let ContactRating { resistive, lamp, inductive, inrush, .. } = *rating;
    Ratings { resistive, lamp, inductive, inrush }
}

/// The ratings of a rest contact: those not given follow the others in proportion to the resistive ratings.
fn rest_side(rating: &ContactRating) -> Ratings {
    let rest = rating.rest.unwrap_or(rating.resistive);
    let share = rest / rating.resistive;
    Ratings {
        resistive: rest,
        lamp: rating.lamp.map(|amps| amps * share),
        inductive: rating.inductive.map(|amps| amps * share),
        inrush: rating.rest_inrush.or(rating.inrush.map(|amps| amps * share)),
    }
}

/// Current of the loads behind a contact, by kind of load.
#[derive(Default)]
pub(super) struct Shares {
    lamp: Amps,
    inductive: Amps,
    other: Amps,
    inrush: Amps,
}

fn of_side(facts: &Facts, side: &Side) -> Option<Finding> {
    let peak = facts.worst().amps(side.branch)?;
    let solution = facts.solution(&peak.moment)?;
    let shares = shares(facts, side, &solution);
    let most = allowed(&side.rating, &shares);
    if peak.value > most {
        return Some(finding(facts, side, peak, &solution, most, &shares));
    }
    let inrush = side.rating.inrush?;
    let moment = at_switch_on(&peak.moment);
    let solution = facts.solution(&moment)?;
    let drawn = self::shares(facts, side, &solution).inrush;
    (drawn > inrush).then(|| {
        let name = name(facts, side);
        let state = facts.names().moment(&moment);
        let message = format!("the loads behind {name} draw {drawn} at switch-on {state}, limit {inrush}");
        let peak = Peak { value: peak.value, moment };
        evidence(facts, side, &peak, &solution, message).limit("inrush", drawn, inrush)
    })
}

/// The state of a moment at the corner with the highest inrush: highest supply, cold copper.
pub(super) fn at_switch_on(moment: &Moment) -> Moment {
    Moment { corner: CORNERS[2], ..moment.clone() }
}

/// The current that the contact may carry with this mixture of loads: the ratings weighed by their shares of it.
pub(super) fn allowed(rating: &Ratings, shares: &Shares) -> Amps {
    let total = shares.lamp + shares.inductive + shares.other;
    if total.value() <= 0.0 {
        return rating.resistive;
    }
    let used = shares.lamp / rating.lamp.unwrap_or(rating.resistive)
        + shares.inductive / rating.inductive.unwrap_or(rating.resistive)
        + shares.other / rating.resistive;
    total / used
}

/// What takes the current that flows through a contact in a state.
pub(super) fn shares(facts: &Facts, side: &Side, solution: &Solution) -> Shares {
    let forward = solution.amps(side.branch).value() >= 0.0;
    let between = if forward { [side.common, side.pin] } else { [side.pin, side.common] };
    let mut shares = Shares::default();
    for taker in facts.takers(solution, between) {
        let share = match &facts.model.element(taker.element).kind {
            ElementKind::Load(load) if load.kind == LoadKind::Lamp => &mut shares.lamp,
            ElementKind::Load(load) if load.kind == LoadKind::Motor => &mut shares.inductive,
            ElementKind::Coil(_) => &mut shares.inductive,
            _ => &mut shares.other,
        };
        *share = *share + taker.intake.amps;
        shares.inrush = shares.inrush + taker.intake.inrush;
    }
    shares
}

/// The contact from one pin to the other, by its part.
pub(super) fn name(facts: &Facts, side: &Side) -> String {
    let [common, pin] = [side.common, side.pin].map(|pin| &facts.model.pin(pin).name);
    let part = facts.model.part(facts.model.element(side.element).part);
    format!("the contact of `{}` from `{common}` to `{pin}`", part.name)
}

fn finding(facts: &Facts, side: &Side, peak: &Peak<Amps>, solution: &Solution, most: Amps, shares: &Shares) -> Finding {
    let state = facts.names().moment(&peak.moment);
    let kinds = [(shares.lamp, "lamps"), (shares.inductive, "coils and motors"), (shares.other, "other loads")];
    let kinds: Vec<&str> = kinds.iter().filter(|(amps, _)| amps.value() > 1e-3).map(|(_, word)| *word).collect();
    let of = if kinds.is_empty() { String::new() } else { format!(" for {}", kinds.join(", ")) };
    let message = format!("{} carries {} {state}, limit {most}{of}", name(facts, side), peak.value);
    evidence(facts, side, peak, solution, message).limit("through the contact", peak.value, most)
}

fn evidence(facts: &Facts, side: &Side, peak: &Peak<Amps>, solution: &Solution, message: String) -> Finding {
    let part = facts.model.part(facts.model.element(side.element).part);
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("a {}", part.use_name))
        .hint("split the load over two contacts, or use a relay with a contact rated for it");
    let (finding, _) = shown_at(facts, finding, &peak.moment);
    unless_short(facts, finding, solution, &facts.paths().over(solution, side.pin))
}
