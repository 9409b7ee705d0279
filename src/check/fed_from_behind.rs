//! Feeds and supplies of the vehicle that are off and draw a current from the harness, while the vehicle's loads pull their
//! voltage down.

use super::evidence::{end_place, shown_at, waypoints};
use super::{Finding, Rule};
use circuit::BranchId;
use facts::Facts;
use facts::sneak::Lifted;
use model::{ElementId, PinId};
use quantity::Amps;

/// A wire or a supply of the vehicle, and the vehicle's loads that pull its voltage down while it is off.
pub struct Hidden {
    /// The wire or the supply.
    pub element: ElementId,
    /// The pin to which the harness connects.
    pub pin: PinId,
    /// The branches of the vehicle's loads.
    pub branches: Vec<BranchId>,
    /// What they are: `lamps`.
    pub loads: &'static str,
    /// The current from which it counts.
    pub noticed: Amps,
}

/// A finding if the harness feeds it, that is, if it has a voltage without the vehicle's loads. Otherwise the millivolts of
/// a shared ground cause its current.
pub fn fed_though_hidden(facts: &Facts, rule: &Rule, hidden: &Hidden, taken: &Lifted) -> Option<Finding> {
    let least = facts.model.limits.sneak_voltage;
    let backfeed = facts.backfeed();
    let without = backfeed.volts_without(&taken.moment, hidden.pin, hidden.branches.iter().copied())?;
    if without <= least {
        return None;
    }
    let solution = facts.solution(&taken.moment)?;
    let path = backfeed.held_by(&solution, hidden.pin)?;
    let name = facts.model.pin_name(hidden.pin);
    let state = facts.names().moment(&taken.moment);
    let all = facts.sneaks().taken(hidden.element);
    let most = all.iter().map(|one| one.amps).fold(taken.amps, Amps::max);
    let message =
        format!("`{name}` is off {state} but draws {} from the harness, limit {}", taken.amps, hidden.noticed);
    let finding = rule
        .finding(end_place(facts, hidden.pin), message)
        .about(name.as_str())
        .label("back-fed")
        .limit("current into it", taken.amps, hidden.noticed)
        .limit(&format!("voltage there without the vehicle's {}", hidden.loads), without, least)
        .value("highest current in any state", most);
    let (finding, _) = shown_at(facts, finding, &taken.moment);
    Some(finding.path(waypoints(facts, &solution, &path)))
}
