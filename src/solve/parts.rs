//! Taking a circuit apart: a trunk of stiff nodes that only conducts, and parts that hang on it.
//!
//! The trunk is what joins the supply's poles to everything by little resistance: battery, fuses, feeds, chassis. It is
//! linear and switches with a few master inputs at most (the key). What is left when it is taken out falls into parts
//! that share nothing else: no branch, no actor, no input but the masters.

use super::circuit::{
    ActorId, BranchId, Circuit, Input, InputId, LEAST_OHMS, Law, Logic, NEGATIVE, NodeId, Position, Rule, place_in,
    position,
};
use super::cut::Cut;
use std::collections::BTreeMap;

/// A greatest part of so many combinations of positions, as a power of two in hundredths, is small enough.
const SMALL_ENOUGH: usize = 400;

/// Most combinations of positions of master inputs.
const MOST_MASTER_POSITIONS: usize = 32;

/// A circuit taken apart.
#[derive(Debug, Clone)]
pub(super) struct Parts {
    /// Inputs that every part has, first among its own.
    pub masters: Vec<InputId>,
    /// Nodes of the trunk that parts hang on, its other nodes, and the branches between all of them or to the battery's
    /// negative.
    pub trunk: Vec<NodeId>,
    pub inner: Vec<NodeId>,
    pub trunk_branches: Vec<BranchId>,
    pub parts: Vec<Part>,
}

/// A part as a circuit of its own. Its lists run parallel to those of that circuit.
#[derive(Debug, Clone)]
pub(super) struct Part {
    /// With a source on each terminal for each combination of master positions, after the branches of its own.
    pub circuit: Circuit,
    pub nodes: Vec<NodeId>,
    pub branches: Vec<BranchId>,
    pub inputs: Vec<InputId>,
    pub actors: Vec<ActorId>,
    /// Where it hangs: its own node, and the place in the trunk.
    pub terminals: Vec<(NodeId, usize)>,
}

impl Part {
    /// The source that holds a terminal at a combination of master positions.
    pub(super) fn source(&self, terminal: usize, combination: usize, combinations: usize) -> BranchId {
        BranchId((self.branches.len() + terminal * combinations + combination) as u32)
    }
}

impl Parts {
    /// How many combinations of positions the masters have.
    pub(super) fn combinations(&self, circuit: &Circuit) -> usize {
        self.masters.iter().map(|id| circuit.inputs[id.index()].positions.len()).product()
    }

    /// Positions of the masters in a combination.
    pub(super) fn master_positions(&self, circuit: &Circuit, mut combination: usize) -> Vec<Position> {
        let each = self.masters.iter().map(|id| {
            let count = circuit.inputs[id.index()].positions.len();
            let at = combination % count;
            combination /= count;
            position(at)
        });
        each.collect()
    }
}

/// The combination that the first positions of a part stand in.
pub(super) fn combination(circuit: &Circuit, masters: &[InputId], positions: &[Position]) -> usize {
    let mut factor = 1;
    let each = masters.iter().zip(positions).map(|(id, position)| {
        let place = factor * usize::from(*position);
        factor *= circuit.inputs[id.index()].positions.len();
        place
    });
    each.sum()
}

/// Takes a circuit apart in the way that leaves the smallest greatest part; `None` where it stays whole.
pub(super) fn take_apart(circuit: &Circuit) -> Option<Parts> {
    let mut masters = vec![false; circuit.inputs.len()];
    let mut cut = Cut::new(circuit, &masters);
    let mut best = cut.size();
    // An input that others need, or that feeds a bus, is a candidate; the greatest gain is taken until there is none.
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
        let tried = Cut::new(circuit, &masters);
        let size = tried.size();
        if positions <= MOST_MASTER_POSITIONS && size + 1 < best {
            (cut, best) = (tried, size);
        } else {
            masters[i] = false;
        }
    }
    parts(&cut)
}

/// A master's own conditions may not speak of what is inside a part.
fn can_be_master(circuit: &Circuit, i: usize) -> bool {
    let input = &circuit.inputs[i];
    let id = InputId(i as u32);
    input.needs == Logic::Always
        && input.excludes.is_empty()
        && circuit.inputs.iter().all(|other| !other.excludes.contains(&id))
}

/// What a cut leaves; `None` where that is less than two parts with inputs.
fn parts(cut: &Cut) -> Option<Parts> {
    let circuit = cut.circuit;
    let masters: Vec<InputId> =
        (0..circuit.inputs.len()).filter(|i| cut.masters[*i]).map(|i| InputId(i as u32)).collect();
    let (trunk, inner) = cut.trunk_nodes();
    let mut made = Parts { masters, trunk, inner, trunk_branches: vec![], parts: vec![] };
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
    made.parts = drafts.values().map(|draft| part(cut, &made, draft, &mut local)).collect();
    Some(made)
}

/// `local` has the negative for every node, before and after.
fn part(cut: &Cut, made: &Parts, draft: &Draft, local: &mut [NodeId]) -> Part {
    let circuit = cut.circuit;
    let mut part = Part {
        circuit: Circuit { hot: circuit.hot, ..Circuit::new() },
        nodes: vec![NEGATIVE],
        branches: draft.branches.clone(),
        inputs: made.masters.iter().chain(&draft.inputs).copied().collect(),
        actors: draft.actors.clone(),
        terminals: vec![],
    };
    let mut place = |id: NodeId, part: &mut Part| {
        if id != NEGATIVE && local[id.index()] == NEGATIVE {
            let here = part.circuit.node(String::new());
            local[id.index()] = here;
            part.nodes.push(id);
            if cut.trunk[id.index()] {
                part.terminals.push((here, place_in(&made.trunk, &id)));
            }
        }
        local[id.index()]
    };
    let input = |id: InputId| InputId(part_index(&made.masters, &draft.inputs, id));
    let actor = |id: ActorId| ActorId(place_in(&draft.actors, &id) as u32);
    for id in made.masters.iter().chain(&draft.inputs) {
        let whole = &circuit.inputs[id.index()];
        part.circuit.inputs.push(Input {
            name: String::new(),
            positions: vec![String::new(); whole.positions.len()],
            momentary: whole.momentary,
            needs: translate(&whole.needs, &input, &actor),
            excludes: whole.excludes.iter().map(|other| input(*other)).collect(),
        });
    }
    for id in &draft.branches {
        let branch = &circuit.branches[id.index()];
        let (from, to) = (place(branch.from, &mut part), place(branch.to, &mut part));
        let mut law = branch.law.clone();
        if let Law::Drawn { output, .. } = &mut law {
            *output = BranchId(place_in(&draft.branches, output) as u32);
        }
        let local = part.circuit.switched(String::new(), from, to, law, translate(&branch.when, &input, &actor));
        part.circuit.branches[local.index()].tolerance = branch.tolerance;
    }
    for id in &draft.actors {
        let mut whole = circuit.actors[id.index()].clone();
        whole.powered = translate(&whole.powered, &input, &actor);
        match &mut whole.rule {
            Rule::Threshold { plus, minus, .. } => {
                (*plus, *minus) = (place(*plus, &mut part), place(*minus, &mut part));
            }
            Rule::Latch { set, reset } => {
                (*set, *reset) = (translate(set, &input, &actor), translate(reset, &input, &actor));
            }
            Rule::Toggle { start } | Rule::Hold { start } | Rule::Delay { start } | Rule::Pulse { start } => {
                *start = translate(start, &input, &actor);
            }
        }
        part.circuit.actors.push(whole);
    }
    hold_terminals(circuit, made, &mut part);
    part.nodes.iter().for_each(|id| local[id.index()] = NEGATIVE);
    part
}

fn hold_terminals(whole: &Circuit, made: &Parts, part: &mut Part) {
    for (node, _) in part.terminals.clone() {
        for combination in 0..made.combinations(whole) {
            let positions = made.master_positions(whole, combination);
            let each = positions.iter().enumerate().map(|(i, position)| Logic::At(InputId(i as u32), *position));
            let when = each.fold(Logic::Always, Logic::and);
            let law = Law::Source { volts: Default::default(), ohms: LEAST_OHMS };
            part.circuit.switched(String::new(), NEGATIVE, node, law, when);
        }
    }
}
#[derive(Default)]
struct Draft {
    inputs: Vec<InputId>,
    actors: Vec<ActorId>,
    branches: Vec<BranchId>,
}

fn part_index(masters: &[InputId], own: &[InputId], id: InputId) -> u32 {
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
