//! Advice to connect a pin to ground or to a supply, tried before it is given. If that connection alone brings a new fault, or
//! does not remove the old one, the advice is to compare with the plan.

use super::alike::unfed;
use super::link::link;
use super::regions::Regions;
use super::suspects::is_dead;
use super::trials::{Repaired, Trials};
use crate::{Finding, Repair, Severity, WorksFault, rules};
use explore::Interrupted;
use facts::Facts;
use facts::walk::Towards;
use model::{ElementKind, Model, PartKind, PinId, Shown};
use states::Picture;

/// Most supplies that are tried for a pin.
const MOST_SUPPLIES: usize = 4;

/// Takes back the advice to connect a pin to ground if that leaves the part without what it needs, or brings a new fault.
/// Where the pin is on a feed, any error that stays in its region speaks against the advice.
pub fn check_ground(facts: &Facts, root: &mut Finding, repair: &Repair, before: &Repaired, after: &Repaired) {
    let Some((pin, is_fed)) = repair.grounds() else { return };
    let model = facts.model;
    let part = model.pin(pin).part;
    let regions = Regions::new(model);
    let is_own = |finding: &Finding| finding.about == root.about;
    let stays = |finding: &&Finding| {
        let is_near = is_own(finding) || is_fed && is_dead(finding) && regions.may_reach(finding, part);
        finding.severity == Severity::Error && is_near || is_fed && finding.rule == "logic/input-unused"
    };
    if brings_faults(before, after) || after.found.iter().any(|finding| stays(&finding)) {
        root.hint = format!(
            "check against the plan which wires belong on `{}`: with a ground there alone, something else is still wrong",
            model.pin_name(pin)
        );
    }
}

/// Takes back the advice to connect a pin to a supply if no supply of the vehicle can be connected to it without a new fault.
///
/// # Errors
/// When the watch breaks.
pub fn check_supplies(
    facts: &Facts,
    findings: &mut [Finding],
    before: &Repaired,
    trials: &mut Trials,
) -> Result<(), Interrupted> {
    for at in 0..findings.len() {
        let finding = &findings[at];
        if finding.follows_from.is_some() || finding.rule != "net/part-unpowered" || finding.repair.is_some() {
            continue;
        }
        let Some(unfed) = unfed(facts, finding) else { continue };
        let pin = rules::open_end(facts, unfed, Towards::Supply);
        match stands(facts, finding, pin, before, trials)? {
            Stands::With(after) => link(findings, at, before, &after),
            Stands::Untried => {}
            Stands::No => {
                findings[at].hint = format!(
                    "compare with the plan what feeds `{}`: connected to a supply there alone, something else is wrong",
                    facts.model.pin_name(pin)
                )
            }
        }
    }
    Ok(())
}

/// Whether advice to connect a pin to a supply stands.
enum Stands {
    /// With this harness, in which one is connected.
    With(Box<Repaired>),
    /// No work is left to try it, and nothing speaks against it.
    Untried,
    /// No supply repairs the finding, or each brings another fault.
    No,
}

/// Whether one supply of the vehicle repairs a finding and brings no fault. Without work left for a trial, only a pin without a
/// wire may be connected.
fn stands(
    facts: &Facts,
    finding: &Finding,
    pin: PinId,
    before: &Repaired,
    trials: &mut Trials,
) -> Result<Stands, Interrupted> {
    let is_ground = |end: &PinId| facts.model.part(facts.model.pin(*end).part).kind == PartKind::Ground;
    if facts.nets().with(pin).iter().any(is_ground) {
        return Ok(Stands::No);
    }
    for supply in supplies(facts.model).into_iter().take(MOST_SUPPLIES) {
        let Some(after) = before.with(&Repair::Joined(pin, supply), trials)? else {
            let is_free = facts.connectivity().wires_on(pin).is_empty();
            return Ok(if is_free { Stands::Untried } else { Stands::No });
        };
        if !after.has(finding, before) && !brings_faults(before, &after) {
            return Ok(Stands::With(Box::new(after)));
        }
    }
    Ok(Stands::No)
}

fn supplies(model: &Model) -> Vec<PinId> {
    let pins = model.elements.iter().filter_map(|element| match &element.kind {
        ElementKind::Battery { plus: pin, .. } | ElementKind::Derived { pin, .. } => Some(*pin),
        _ => None,
    });
    pins.collect()
}

/// Whether a repair brings an error of the wiring that was not there, or changes what a view or a promise lacks: a lamp that
/// never worked and now always does. A fuse or a thicker wire may be needed as well.
fn brings_faults(before: &Repaired, after: &Repaired) -> bool {
    let is_of_wiring = |finding: &&Finding| {
        let spoils = ["net/", "logic/", "load/overvoltage"].iter().any(|family| finding.rule.starts_with(family));
        finding.severity == Severity::Error && spoils
    };
    let wiring: Vec<Finding> = after.found.iter().filter(is_of_wiring).cloned().collect();
    let is_other = |finding: &Finding| {
        let alike = |other: &&Finding| other.rule == finding.rule && other.about == finding.about;
        let same = |other: &Finding| other.place == finding.place && says(other) == says(finding);
        ["logic/works-differs", "logic/view-differs"].contains(&finding.rule)
            && !before.found.iter().filter(alike).any(same)
    };
    before.is_spoilt(&wiring) || wiring.iter().any(is_other)
}

/// What a finding says, without the states in which it does.
fn says(finding: &Finding) -> (Option<WorksFault>, Option<&(Shown, Picture)>) {
    (finding.involved.works, finding.involved.shows.as_ref())
}
