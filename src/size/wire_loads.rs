//! The current of each wire and the drop of each load, over every reachable state that lasts.

use super::opens_a_fuse;
use circuit::{Assembly, Copper, Corner, Solution, Supply, Tracer, Via, assemble};
use explore::{Interrupted, Watch, explore_all};
use model::{ElementId, ElementKind, Model, WireId};
use quantity::{Amps, Volts};

/// Currents of wires and drops of loads at the corners that are worst for them.
#[derive(Debug, Clone)]
pub struct WireLoads {
    /// For each wire, the highest current in any state, highest supply and cold copper.
    pub most: Vec<Amps>,
    /// For each load, its drop in the state in which it loses most, lowest supply and hot copper.
    pub loads: Vec<LoadDrop>,
}

/// What a load's wires lose from the supply and back, in its worst state.
#[derive(Debug, Clone)]
pub struct LoadDrop {
    /// The load.
    pub load: ElementId,
    /// Its wires, there and back, with their currents.
    pub wires: Vec<(WireId, Amps)>,
    /// Drop in mated contacts, which counts towards the limit like that of wires.
    pub contacts: Volts,
    /// Drop in wires and mated contacts together.
    pub drop: Volts,
}

/// Finds the currents of wires and the drops of loads.
///
/// # Errors
/// When the watch breaks.
pub fn wire_loads(model: &Model, watch: Watch) -> Result<WireLoads, Interrupted> {
    let assembly = assemble(model);
    let hard = Corner { supply: Supply::Greatest, copper: Copper::Cold, ..Corner::NOMINAL };
    let weak = Corner { supply: Supply::Least, copper: Copper::Hot, ..Corner::NOMINAL };
    let explored = explore_all(&assembly.circuit, &[hard, weak], watch)?;
    let [hard, weak] = &explored[..] else { return Err(Interrupted) };
    let mut most = vec![Amps::new(0.0); model.wires.len()];
    hard.visit(&assembly.circuit, &mut |solution| {
        if opens_a_fuse(model, &assembly, solution) {
            return;
        }
        for id in model.wire_ids() {
            if let Some(branch) = assembly.wire(id) {
                most[id.0] = most[id.0].max(solution.amps(branch).abs());
            }
        }
    });
    let tracer = Tracer::new(model, &assembly);
    let mut worst: Vec<Option<LoadDrop>> = vec![None; model.elements.len()];
    weak.visit(&assembly.circuit, &mut |solution| {
        if opens_a_fuse(model, &assembly, solution) {
            return;
        }
        for (i, element) in model.elements.iter().enumerate() {
            if !matches!(element.kind, ElementKind::Load(_)) || assembly.amps(solution, ElementId(i)).value() < 1e-4 {
                continue;
            }
            let drop = load_drop(model, &assembly, &tracer, solution, ElementId(i));
            if worst[i].as_ref().is_none_or(|w| drop.drop > w.drop) {
                worst[i] = Some(drop);
            }
        }
    });
    Ok(WireLoads { most, loads: worst.into_iter().flatten().collect() })
}

/// What a load's wires lose in one state: from the first pin of a supply or a converter, and back to the battery's
/// negative.
pub fn load_drop(
    model: &Model,
    assembly: &Assembly,
    tracer: &Tracer,
    solution: &Solution,
    load: ElementId,
) -> LoadDrop {
    let mut out = LoadDrop { load, wires: Vec::new(), contacts: Volts::new(0.0), drop: Volts::new(0.0) };
    let ElementKind::Load(this) = &model.element(load).kind else { return out };
    let there = tracer.into_pin(assembly, solution, this.feed);
    let back = tracer.out_of_pin(assembly, solution, this.ground);
    let mut volts_before = there.start.pin().map_or(Volts::new(0.0), |pin| assembly.volts(solution, pin));
    let mut add = |via: Via, lost: Volts, amps: Amps| {
        match via {
            Via::Wire(id) => out.wires.push((id, amps)),
            Via::Joint(_) => out.contacts = out.contacts + lost.max(Volts::new(0.0)),
            Via::Element(_) | Via::Shield(_) | Via::ShieldContacts => return,
        }
        out.drop = out.drop + lost.max(Volts::new(0.0));
    };
    for step in &there.steps {
        // A supply or a converter raises the voltage: the drop counts from there on.
        add(step.via, volts_before - step.volts, step.amps);
        volts_before = step.volts;
    }
    volts_before = assembly.volts(solution, this.ground);
    for step in &back.steps {
        add(step.via, volts_before - step.volts, step.amps);
        volts_before = step.volts;
    }
    out
}
