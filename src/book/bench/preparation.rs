//! Step 0 of the bench test: what to set and to note before the first reading.

use crate::bench::steps::{BenchGroup, BenchStep, GroupKind};
use crate::bench::tolerance::supply_limit;
use crate::lists::settings::settings;
use crate::lists::states::printed;
use facts::bench::stays_in_vehicle;
use model::{Model, Part, PartId, SignalKind};
use quantity::{Amps, Volts};

/// The steps, in the order of the spec. `drawn` is the highest current that the harness draws in a tested state.
pub fn before(model: &Model, supply: Option<Volts>, drawn: Option<Amps>) -> BenchGroup {
    let step = |what: String, expect: String, pass: &str| BenchStep::action(what, expect, pass);
    let mut steps: Vec<BenchStep> = Vec::new();
    if let Some(volts) = supply {
        steps.push(step("Bench supply, set to".to_string(), volts.to_string(), "set, and read with the meter"));
    }
    if let Some(drawn) = drawn {
        let what = format!("Its current limit: these tests draw at most {}", printed(drawn));
        let pass = "set; raise it a little if the supply limits when a load switches on";
        steps.push(step(what, supply_limit(drawn).to_string(), pass));
    }
    let leads = "Resistance of the meter's leads, tips held together";
    steps.push(step(leads.to_string(), "note it".to_string(), "subtracted from every reading in ohms"));
    for id in model.part_ids().filter(|id| !stays_in_vehicle(model, model.part(*id), *id)) {
        let part = model.part(id);
        let name = format!("{} ({})", part.name, part.title);
        steps.extend(
            settings(model, id).into_iter().map(|(what, to)| step(format!("{name}: set the {what} to"), to, "set")),
        );
        steps.extend(part.note.iter().map(|note| step(format!("{name}: note"), note.clone(), "seen")));
    }
    let away = |id: &PartId| {
        let part: &Part = model.part(*id);
        model.signals.iter().any(|s| s.part == *id && matches!(s.kind, SignalKind::Working { .. }))
            && stays_in_vehicle(model, part, *id)
    };
    let away: Vec<&str> = model.part_ids().filter(away).map(|id| model.part(id).name.as_str()).collect();
    if !away.is_empty() {
        steps.push(step("In the vehicle, not at the bench".to_string(), away.join(", "), "not tested here"));
    }
    BenchGroup {
        title: "Before the first reading".to_string(),
        how: "The readings with power are calculated for this bench: the supply's clips replace the vehicle's own wiring, \
              the vehicle's lamps are absent, and nothing is bolted to a body. In the vehicle, use the service sheets."
            .to_string(),
        kind: GroupKind::Before,
        set: Vec::new(),
        steps,
    }
}
