//! Step 0 of the bench test: what to set, to know and to mind before the first reading.

use crate::bench::steps::{BenchGroup, BenchStep};
use crate::bench::tolerance::supply_limit;
use crate::lists::settings::settings;
use crate::lists::states::printed;
use facts::bench::stays_in_vehicle;
use model::{Model, Part, PartId, SignalKind};
use quantity::{Amps, Volts};

/// All of it, in the order of the spec. `drawn`: the most that the harness draws in a state that is tried.
pub fn before(model: &Model, supply: Option<Volts>, drawn: Option<Amps>) -> BenchGroup {
    let step = |what: String, expect: String, pass: &str| BenchStep {
        what,
        red: String::new(),
        black: String::new(),
        expect,
        pass: pass.to_string(),
    };
    let mut steps: Vec<BenchStep> = Vec::new();
    if let Some(volts) = supply {
        steps.push(step("Bench supply, set to".to_string(), volts.to_string(), "set, and read with the meter"));
    }
    if let Some(drawn) = drawn {
        let what = format!("Its current limit: at most {} is drawn in these tests", printed(drawn));
        let pass = "set; if it folds back as something is switched on, a little more";
        steps.push(step(what, supply_limit(drawn).to_string(), pass));
    }
    let leads = "Meter's own leads, tips held together";
    steps.push(step(leads.to_string(), "note it".to_string(), "taken off every reading in ohms"));
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
        steps.push(step(
            "In the vehicle, not at the bench".to_string(),
            away.join(", "),
            "nothing is expected of them here",
        ));
    }
    BenchGroup {
        title: "Before the first reading".to_string(),
        how: "The readings with power are worked out for this bench: the supply's clips stand in for the vehicle's own \
              wiring, its lamps are not there, and nothing is bolted to a body. In the vehicle, the service sheets count."
            .to_string(),
        doing: true,
        set: Vec::new(),
        steps,
    }
}
