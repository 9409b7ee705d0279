//! The current of each wire and the drop of each load, over every reachable state that lasts.

use super::opens_a_fuse;
use circuit::{Assembly, Copper, Corner, Solution, Supply, Tracer, Via, assemble};
use explore::{Interrupted, Watch, explore_all};
use model::{ElementId, ElementKind, Model, WireId, end_contacts};
use quantity::{Amps, MOST_AMPS, Share, Volts};

/// Currents of wires and drops of loads at the corners that are worst for them.
#[derive(Debug, Clone)]
pub struct WireLoads {
    /// For each wire, the highest current in any state, highest supply and cold copper.
    pub most: Vec<Amps>,
    /// For each load, its drop in the state in which it loses most, lowest supply and hot copper.
    pub loads: Vec<LoadDrop>,
}

/// What a load's wires lose from the supply and back in one state.
#[derive(Debug, Clone)]
pub struct LoadDrop {
    /// The load.
    pub load: ElementId,
    /// The nominal voltage of the system that feeds it: behind a converter, the converter's.
    pub system: Volts,
    /// Its wires, there and back.
    pub wires: Vec<WireLoss>,
    /// Drop in mated contacts, in the ends of wires for high currents and in shields, which counts towards the limit like that of wires.
    pub contacts: Volts,
    /// Drop in wires and contacts together.
    pub drop: Volts,
}

/// A wire on the way of a load's current.
#[derive(Debug, Clone, Copy)]
pub struct WireLoss {
    /// The wire.
    pub wire: WireId,
    /// Its current.
    pub amps: Amps,
    /// What it loses.
    pub volts: Volts,
}

impl LoadDrop {
    /// Its drop as a share of its system's nominal voltage.
    pub fn share(&self) -> Share {
        Share::new(self.drop / self.system)
    }

    /// The wire that loses most.
    pub fn worst(&self) -> Option<WireLoss> {
        self.wires.iter().copied().reduce(|a, b| if b.volts > a.volts { b } else { a })
    }
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
    hard.visit_in_any_order(&assembly.circuit, &mut |solution| {
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
            let Some(drop) = load_drop(model, &assembly, &tracer, solution, ElementId(i)) else { continue };
            if worst[i].as_ref().is_none_or(|w| drop.share() > w.share()) {
                worst[i] = Some(drop);
            }
        }
    });
    Ok(WireLoads { most, loads: worst.into_iter().flatten().collect() })
}

/// What a load's wires lose in one state: from the first pin of a supply or a converter, and back to the battery's negative.
/// A converter makes up for what is lost before it: load/starved reports where it can't. `None` for anything but a load.
pub fn load_drop(
    model: &Model,
    assembly: &Assembly,
    tracer: &Tracer,
    solution: &Solution,
    load: ElementId,
) -> Option<LoadDrop> {
    let ElementKind::Load(this) = &model.element(load).kind else { return None };
    let there = tracer.into_pin(assembly, solution, this.feed);
    let back = tracer.out_of_pin(assembly, solution, this.ground);
    let source = there.steps.first().map(|step| step.via);
    let mut out = LoadDrop {
        load,
        system: system(model, source),
        wires: Vec::new(),
        contacts: Volts::new(0.0),
        drop: Volts::new(0.0),
    };
    let mut volts_before = there.start.pin().map_or(Volts::new(0.0), |pin| assembly.volts(solution, pin));
    let mut add = |via: Via, lost: Volts, amps: Amps| {
        let volts = lost.max(Volts::new(0.0));
        // A drop means nothing if nothing limits the current.
        if amps > MOST_AMPS {
            return;
        }
        match via {
            Via::Wire(wire) => {
                let at_ends = (amps * end_contacts(model, model.wire(wire))).min(volts);
                out.contacts = out.contacts + at_ends;
                out.wires.push(WireLoss { wire, amps, volts: volts - at_ends });
            }
            Via::Joint(_) | Via::Shield(_) => out.contacts = out.contacts + volts,
            Via::Element(_) | Via::ShieldContacts => return,
        }
        out.drop = out.drop + volts;
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
    Some(out)
}

/// The nominal voltage of the system that a source feeds.
fn system(model: &Model, source: Option<Via>) -> Volts {
    match source {
        Some(Via::Element(id)) => match model.element(id).kind {
            ElementKind::Converter { volts, .. } => volts,
            _ => model.job.nominal,
        },
        _ => model.job.nominal,
    }
}
