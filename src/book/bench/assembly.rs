//! What is fitted and plugged in between the tests without power and those with power, and in which order.

use crate::bench::steps::{BenchGroup, BenchProbe, BenchStep, GroupKind};
use facts::bench::{BuildFault, stays_in_vehicle};
use model::{ElementId, ElementKind, Family, Model, Part, PartId, PartKind};

/// Whether a part is crimped or soldered into the wires, not plugged.
pub fn in_line(part: &Part) -> bool {
    part.kind == PartKind::Device && matches!(part.form.family, Family::Diode | Family::Resistor)
}

/// Names of parts that go in, as the pin list has them.
pub fn names(model: &Model, mine: impl Fn(&Part) -> bool) -> Vec<String> {
    let here = |id: &PartId| !stays_in_vehicle(model, model.part(*id), *id);
    model.part_ids().filter(here).map(|id| model.part(id)).filter(|p| mine(p)).map(|p| p.name.to_string()).collect()
}

/// The steps that fit all parts before the power comes on.
pub fn together(model: &Model) -> BenchGroup {
    let mut steps = Vec::new();
    let mut step = |what: &str, names: Vec<String>, done: &str| {
        if !names.is_empty() {
            steps.push(BenchStep::action(what, names.join(", "), done));
        }
    };
    let device = |part: &Part| part.kind == PartKind::Device && !in_line(part);
    let has = |part: &Part, is: fn(&ElementKind) -> bool| {
        part.elements.iter().any(|element| is(&model.element(*element).kind))
    };
    let fuse = |part: &Part| has(part, |kind| matches!(kind, ElementKind::Fuse { .. }));
    let relay = |part: &Part| has(part, |kind| matches!(kind, ElementKind::Coil(_)));
    let diodes = |part: &Part| in_line(part) && part.form.family == Family::Diode;
    step("Crimp or solder in", names(model, diodes), "each with its band on the cathode's wire");
    step(
        "Crimp or solder in",
        names(model, |p| in_line(p) && p.form.family == Family::Resistor),
        "fitted and insulated",
    );
    step("Mate, or plug onto their parts", names(model, |p| p.kind == PartKind::Connector), "each latched");
    step("Plug in or connect", names(model, |p| device(p) && !fuse(p) && !relay(p)), "every pin by its pin list");
    step("Plug in", names(model, |p| device(p) && relay(p) && !fuse(p)), "each in its own socket");
    let fuses = names(model, |p| device(p) && fuse(p));
    if !fuses.is_empty() {
        let is_fuse = |id: &ElementId| matches!(model.element(*id).kind, ElementKind::Fuse { .. });
        let ratings = (0..model.elements.len()).map(ElementId).filter(is_fuse).map(BuildFault::OtherRating).collect();
        let last = BenchStep::action("Put in last", fuses.join(", "), "each of its listed rating");
        steps.push(BenchStep { probe: BenchProbe::Part(ratings), ..last });
    }
    BenchGroup {
        title: "Put it together".to_string(),
        how: "Still no supply. Fit only what has passed so far, in this order; then connect the power.".to_string(),
        kind: GroupKind::Assembly,
        set: Vec::new(),
        steps,
    }
}
