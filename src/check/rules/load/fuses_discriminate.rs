use super::short_clears::{state_of, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use catalogue::part_form::OpeningForm;
use facts::Facts;
use form::Place;
use model::{ElementId, ElementKind, Model, PinId};
use quantity::{Amps, Seconds};
use size::fuse_curve::{fuse, latest, soonest};

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

/// The fuse upstream of another.
struct Before<'m> {
    /// Its name in words.
    words: String,
    rating: Amps,
    /// Its opening times.
    opens: &'m [OpeningForm],
    place: Place,
    /// Whether it is a fuse of the vehicle, known only by the `fuse` of a supply or an input.
    is_the_vehicles: bool,
}

/// A short just after a fuse that has another one upstream.
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
        None => of_vehicle(model, short.from, own_opens)?,
    };
    let amps = short.amps[1];
    let (own_latest, other_soonest) = (latest(own_opens, amps / own), soonest(before.opens, amps / before.rating));
    // The upstream fuse doesn't open at this current, or later than this one.
    if other_soonest.is_none_or(|soonest| own_latest.is_some_and(|latest| latest < soonest)) {
        return None;
    }
    let part = model.part(model.element(id).part);
    let words = |time: Option<Seconds>| time.map_or_else(|| "no time given".to_string(), |t| t.to_string());
    let other = &before.words;
    let is_idle = before.rating < own;
    let message = match is_idle {
        true => {
            format!("{other} ({}) opens before `{}` ({own}), which then protects nothing", before.rating, part.name)
        }
        false => {
            format!("a short behind `{}` ({own}) draws {amps} and may also open {other} ({})", part.name, before.rating)
        }
    };
    let mut finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("{own}"))
        .also(before.place, format!("{}, upstream", before.rating))
        .value("short-circuit current at the highest supply voltage", amps)
        .limit(
            &format!("longest opening time of `{}`", part.name),
            words(own_latest),
            format!("must be shorter than the shortest of {other}, {}", words(other_soonest)),
        )
        .hint(match before.is_the_vehicles {
            true => "use a fuse of less than half the rating of the vehicle's fuse; the fuse box cover shows its rating and kind",
            false => "use fuses of the same kind, the upstream one with more than twice the rating of the other",
        })
        .shown_in(state_of(model, &short), "highest supply, hot copper");
    finding.evidence.path = waypoints(facts, &short, amps);
    if before.is_the_vehicles && !is_idle {
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

/// The vehicle's fuse of the supply or the tapped wire that feeds the short, if its rating is known. It counts as of the
/// same kind as the fuse behind it.
fn of_vehicle<'m>(model: &'m Model, source: PinId, opens: &'m [OpeningForm]) -> Option<Before<'m>> {
    let fuse = model.vehicle_fuse(source).filter(|fuse| fuse.is_known)?;
    let part = model.part(model.pin(fuse.of).part);
    let words = format!("the vehicle's fuse of `{}`", part.name);
    Some(Before { words, rating: fuse.rating, opens, place: part.place, is_the_vehicles: true })
}
