//! Taking a circuit apart into a trunk and zones.
//!
//! The trunk connects the supply's poles to everything by little resistance: battery, fuses, feeds, chassis. It is
//! linear and switches with a few master inputs at most (the key). Without it the rest falls into zones that share
//! nothing else: no branch, no actor, no input but the masters.

use super::combinations::Combinations;
use super::cut::{Loosened, TrunkCut};
use circuit::{
    ActorId, ActorRule, BranchId, Circuit, CircuitInput, InputId, LEAST_OHMS, Law, Logic, NEGATIVE, NodeId, place_in,
};
use quantity::Volts;
use std::collections::BTreeMap;

/// A largest zone of this size is small enough: combinations of positions, as a power of two in hundredths.
const SMALL_ENOUGH: usize = 400;

/// Most combinations of positions of master inputs.
const MOST_MASTER_POSITIONS: usize = 32;

/// A circuit taken apart.
#[derive(Debug, Clone)]
pub(crate) struct Zones {
    /// Inputs that every zone has, first among its own, and the combinations of their positions.
    pub masters: Vec<InputId>,
    pub combinations: Combinations,
    /// Nodes of the trunk to which zones connect, its other nodes, and the branches between all of them or to the
    /// battery's negative.
    pub trunk: Vec<NodeId>,
    pub inner: Vec<NodeId>,
    pub trunk_branches: Vec<BranchId>,
    /// Whether some feed is driven with pulses.
    pub pulsed: bool,
    pub zones: Vec<Zone>,
}

/// A zone as a circuit of its own. Its lists run parallel to those of that circuit.
#[derive(Debug, Clone)]
pub(crate) struct Zone {
    /// With a source on each terminal for each combination of master positions, after the branches of its own.
    pub circuit: Circuit,
    pub nodes: Vec<NodeId>,
    pub branches: Vec<BranchId>,
    pub inputs: Vec<InputId>,
    pub actors: Vec<ActorId>,
    /// Where it connects to the trunk: its own node, and the place in the trunk.
    pub terminals: Vec<(NodeId, usize)>,
}

impl Zone {
    /// Its circuit, or one made from it, with the terminals held at these voltages of the trunk, by combination and
    /// trunk node.
    pub(crate) fn held(&self, mut circuit: Circuit, volts: &[impl AsRef<[f64]>]) -> Circuit {
        let sources = &mut circuit.branches[self.branches.len()..];
        for ((_, at), sources) in self.terminals.iter().zip(sources.chunks_mut(volts.len())) {
            for (source, volts) in sources.iter_mut().zip(volts) {
                if let Law::Source { volts: held, .. } = &mut source.law {
                    *held = [Volts::new(volts.as_ref()[*at]); 3];
                }
            }
        }
        circuit
    }
}

/// Takes a circuit apart so that its largest zone is smallest, the `soft` nodes being no trunk; `None` if it stays
/// whole.
pub(crate) fn take_apart(circuit: &Circuit, soft: &[bool]) -> Option<Zones> {
    let mut masters = vec![false; circuit.inputs.len()];
    let cut_with = |masters: &[bool]| TrunkCut::loosened(circuit, masters, soft, Loosened::Nothing);
    let mut cut = cut_with(&masters);
    let mut best = cut.size();
    // An input that others need, or that feeds a bus, is a candidate; each that makes the largest zone smaller is
    // taken.
    for i in 0..circuit.inputs.len() {
        if best <= SMALL_ENOUGH {
            break;
        }
        if !can_be_master(circuit, i) {
            continue;
        }
        masters[i] = true;
        let positions: usize =
            (0..masters.len()).filter(|m| masters[*m]).map(|m| circuit.inputs[m].positions.len()).product();
        let tried = cut_with(&masters);
        let size = tried.size();
        if positions <= MOST_MASTER_POSITIONS && size + 1 < best {
            (cut, best) = (tried, size);
        } else {
            masters[i] = false;
        }
    }
    zones(&cut)
}

/// The conditions of a master may not name anything inside a zone.
fn can_be_master(circuit: &Circuit, i: usize) -> bool {
    let input = &circuit.inputs[i];
    let id = InputId(i as u32);
    input.needs == Logic::Always
        && input.excludes.is_empty()
        && circuit.inputs.iter().all(|other| !other.excludes.contains(&id))
}

/// The zones of a cut; `None` if fewer than two of them have inputs.
fn zones(cut: &TrunkCut) -> Option<Zones> {
    let circuit = cut.circuit;
    let masters: Vec<InputId> =
        (0..circuit.inputs.len()).filter(|i| cut.masters[*i]).map(|i| InputId(i as u32)).collect();
    let combinations = Combinations(masters.iter().map(|id| circuit.inputs[id.index()].positions.len()).collect());
    let (trunk, inner) = cut.trunk_nodes();
    let pulsed = circuit.branches.iter().any(|branch| matches!(branch.law, Law::Pulsed { .. }));
    let mut made = Zones { masters, combinations, trunk, inner, trunk_branches: vec![], pulsed, zones: vec![] };
    let mut drafts: BTreeMap<usize, Draft> = BTreeMap::new();
    for (i, _) in circuit.inputs.iter().enumerate().filter(|(i, _)| !cut.masters[*i]) {
        let id = InputId(i as u32);
        drafts.entry(cut.find(cut.input(id))).or_default().inputs.push(id);
    }
    for i in 0..circuit.actors.len() {
        let id = ActorId(i as u32);
        drafts.entry(cut.find(cut.actor(id))).or_default().actors.push(id);
    }
    for k in 0..circuit.branches.len() {
        match cut.is_trunk(k) {
            true => made.trunk_branches.push(BranchId(k as u32)),
            false => {
                drafts.entry(cut.find(cut.branch(k))).or_default().branches.push(BranchId(k as u32));
            }
        }
    }
    if drafts.values().filter(|draft| !draft.inputs.is_empty()).count() < 2 {
        return None;
    }
    let mut local = vec![NEGATIVE; circuit.nodes.len()];
    made.zones = drafts.values().map(|draft| zone(cut, &made, draft, &mut local)).collect();
    Some(made)
}

/// `local` has the negative for every node, before and after.
fn zone(cut: &TrunkCut, made: &Zones, draft: &Draft, local: &mut [NodeId]) -> Zone {
    let circuit = cut.circuit;
    let mut zone = Zone {
        circuit: Circuit { hot: circuit.hot, ..Circuit::new() },
        nodes: vec![NEGATIVE],
        branches: draft.branches.clone(),
        inputs: made.masters.iter().chain(&draft.inputs).copied().collect(),
        actors: draft.actors.clone(),
        terminals: vec![],
    };
    let mut place = |id: NodeId, zone: &mut Zone| {
        if id != NEGATIVE && local[id.index()] == NEGATIVE {
            let here = zone.circuit.node(String::new());
            local[id.index()] = here;
            zone.nodes.push(id);
            if cut.trunk[id.index()] {
                zone.terminals.push((here, place_in(&made.trunk, &id)));
            }
        }
        local[id.index()]
    };
    let input = |id: InputId| InputId(zone_index(&made.masters, &draft.inputs, id));
    let actor = |id: ActorId| ActorId(place_in(&draft.actors, &id) as u32);
    for id in made.masters.iter().chain(&draft.inputs) {
        let whole = &circuit.inputs[id.index()];
        zone.circuit.inputs.push(CircuitInput {
            name: String::new(),
            positions: vec![String::new(); whole.positions.len()],
            momentary: whole.momentary,
            needs: translate(&whole.needs, &input, &actor),
            excludes: whole.excludes.iter().map(|other| input(*other)).collect(),
        });
    }
    for id in &draft.branches {
        let branch = &circuit.branches[id.index()];
        let (from, to) = (place(branch.from, &mut zone), place(branch.to, &mut zone));
        let mut law = branch.law.clone();
        if let Law::Drawn { output, .. } = &mut law {
            *output = BranchId(place_in(&draft.branches, output) as u32);
        }
        let local = zone.circuit.switched(String::new(), from, to, law, translate(&branch.when, &input, &actor));
        zone.circuit.branches[local.index()].tolerance = branch.tolerance;
    }
    for id in &draft.actors {
        let mut whole = circuit.actors[id.index()].clone();
        whole.powered = translate(&whole.powered, &input, &actor);
        match &mut whole.rule {
            ActorRule::Threshold { plus, minus, .. } => {
                (*plus, *minus) = (place(*plus, &mut zone), place(*minus, &mut zone));
            }
            ActorRule::Latch { set, reset } => {
                (*set, *reset) = (translate(set, &input, &actor), translate(reset, &input, &actor));
            }
            ActorRule::Toggle { start }
            | ActorRule::Hold { start }
            | ActorRule::Delay { start }
            | ActorRule::Pulse { start } => {
                *start = translate(start, &input, &actor);
            }
        }
        zone.circuit.actors.push(whole);
    }
    hold_terminals(made, &mut zone);
    zone.nodes.iter().for_each(|id| local[id.index()] = NEGATIVE);
    zone
}

/// Adds a source on each terminal for each combination of the masters, whose voltage is set when it is solved.
fn hold_terminals(made: &Zones, zone: &mut Zone) {
    for (node, _) in zone.terminals.clone() {
        for combination in 0..made.combinations.count() {
            let positions = made.combinations.positions(combination);
            let each = positions.iter().enumerate().map(|(i, position)| Logic::At(InputId(i as u32), *position));
            let when = each.fold(Logic::Always, Logic::and);
            let law = Law::Source { volts: Default::default(), ohms: LEAST_OHMS };
            zone.circuit.switched(String::new(), NEGATIVE, node, law, when);
        }
    }
}

#[derive(Default)]
struct Draft {
    inputs: Vec<InputId>,
    actors: Vec<ActorId>,
    branches: Vec<BranchId>,
}

fn zone_index(masters: &[InputId], own: &[InputId], id: InputId) -> u32 {
    match masters.binary_search(&id) {
        Ok(at) => at as u32,
        Err(_) => (masters.len() + place_in(own, &id)) as u32,
    }
}

fn translate(logic: &Logic, input: &impl Fn(InputId) -> InputId, actor: &impl Fn(ActorId) -> ActorId) -> Logic {
    let all = |terms: &[Logic]| terms.iter().map(|term| translate(term, input, actor)).collect();
    match logic {
        Logic::Always => Logic::Always,
        Logic::Never => Logic::Never,
        Logic::At(id, position) => Logic::At(input(*id), *position),
        Logic::On(id) => Logic::On(actor(*id)),
        Logic::Not(inner) => Logic::Not(Box::new(translate(inner, input, actor))),
        Logic::All(terms) => Logic::All(all(terms)),
        Logic::Any(terms) => Logic::Any(all(terms)),
    }
}
