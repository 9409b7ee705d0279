use super::short_clears::{state_of, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use catalogue::part_form::OpeningForm;
use facts::Facts;
use facts::fuse_curve::{fuse, latest, soonest};
use form::Place;
use model::{ElementId, ElementKind, Model, PinId};
use quantity::{Amps, Seconds};

pub const RULE: Rule = Rule {
    name: "load/fuses-discriminate",
    severity: Severity::Warning,
    explanation: include_str!("fuses_discriminate.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let elements = facts.model.elements.iter().enumerate();
    let fuses = elements.filter_map(|(i, element)| match element.kind {
        ElementKind::Fuse { between, .. } => Some((ElementId(i), between)),
        _ => None,
    });
    fuses.filter_map(|(id, between)| of_fuse(facts, id, between)).collect()
}

/// What stands before a fuse.
struct Before<'m> {
    /// In words, with what it is good for.
    words: String,
    rating: Amps,
    /// When it opens.
    opens: &'m [OpeningForm],
    place: Place,
    /// The vehicle's own fuse of a supply, of which nothing but the supply's `limit` is known.
    is_the_vehicles: bool,
}

/// A short right behind a fuse that another one stands before.
fn of_fuse(facts: &Facts, id: ElementId, between: [PinId; 2]) -> Option<Finding> {
    let model = facts.model;
    let far = between.into_iter().max_by(|a, b| {
        let ohms = |pin: &PinId| facts.shorts().ohms_to(*pin).map_or(f64::INFINITY, |ohms| ohms.value());
        ohms(a).total_cmp(&ohms(b))
    })?;
    let short = facts.shorts().short(far, None)?;
    let at = short.fuses.iter().position(|one| *one == id)?;
    let (own, own_opens, _) = fuse(model, id)?;
    let before = match at.checked_sub(1) {
        Some(before) => of_harness(model, short.fuses[before])?,
        None => of_vehicle(model, short.way.first()?.0, own_opens)?,
    };
    let amps = short.amps[1];
    let (own_latest, other_soonest) = (latest(own_opens, amps / own), soonest(before.opens, amps / before.rating));
    // The one before doesn't open at all at this current, or later than this one has.
    if other_soonest.is_none_or(|soonest| own_latest.is_some_and(|latest| latest < soonest)) {
        return None;
    }
    let part = model.part(model.element(id).part);
    let words = |time: Option<Seconds>| time.map_or_else(|| "no time that is said".to_string(), |t| t.to_string());
    let other = &before.words;
    let message =
        format!("a short behind `{}` ({own}) may open {other} ({}) as well: {amps} flow", part.name, before.rating);
    let mut finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("{own}"))
        .also(before.place, format!("{}, before it", before.rating))
        .value("short-circuit current at greatest supply", amps)
        .limit(
            &format!("`{}` opens at the latest after", part.name),
            words(own_latest),
            format!("before {other} may, after {}", words(other_soonest)),
        )
        .hint(match before.is_the_vehicles {
            true => "take a fuse of less than half of the vehicle's own, whose rating and kind stand on its cover",
            false => "of two fuses of one kind in a row the first needs more than twice the rating of the second",
        })
        .shown_in(state_of(model, &short), "greatest supply, hot copper");
    finding.evidence.path = waypoints(facts, &short, amps);
    if before.is_the_vehicles {
        finding.severity = Severity::Note;
    }
    Some(finding)
}

fn of_harness(model: &Model, id: ElementId) -> Option<Before<'_>> {
    let (rating, opens, _) = fuse(model, id)?;
    let part = model.part(model.element(id).part);
    let words = format!("`{}`", part.name);
    Some(Before { words, rating, opens, place: part.place, is_the_vehicles: false })
}

/// The fuse that a supply's `limit` stands for, its own or that of what feeds it, taken to be of the same kind as the one
/// behind it.
fn of_vehicle<'m>(model: &'m Model, supply: PinId, opens: &'m [OpeningForm]) -> Option<Before<'m>> {
    let feeds = |at: PinId| {
        model.elements.iter().find_map(|element| match &element.kind {
            ElementKind::Battery { plus, figures, .. } if *plus == at => Some((figures.limit, None)),
            ElementKind::Derived { from, pin, figures, .. } if *pin == at => Some((figures.limit, Some(*from))),
            _ => None,
        })
    };
    let mut at = Some(supply);
    let mut least: Option<(Amps, PinId)> = None;
    while let Some((pin, (limit, from))) = at.and_then(|pin| Some((pin, feeds(pin)?))) {
        if let Some(limit) = limit.filter(|limit| least.is_none_or(|(least, _)| *limit < least)) {
            least = Some((limit, pin));
        }
        at = from;
    }
    let (rating, pin) = least?;
    let part = model.part(model.pin(pin).part);
    let words = format!("the vehicle's own fuse of `{}`", part.name);
    Some(Before { words, rating, opens, place: part.place, is_the_vehicles: true })
}
