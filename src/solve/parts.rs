//! Taking a circuit apart: a trunk of stiff nodes that only conducts, and parts that hang on it.
//!
//! The trunk is what joins the supply's poles to everything by little resistance: battery, fuses, feeds, chassis. It is
//! linear and switches with a few master inputs at most (the key). What is left when it is taken out falls into parts
//! that share nothing else: no branch, no actor, no input but the masters.

use super::circuit::{ActorId, BranchId, Circuit, Input, InputId, LEAST_OHMS, Law, Logic, NEGATIVE, NodeId, Rule};
use std::collections::{BTreeMap, BinaryHeap};

/// A node that this much resistance or less joins to the battery's negative, through sources or not, may be trunk.
const STIFF_OHMS: f64 = 0.5;

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
    pub(super) fn master_positions(&self, circuit: &Circuit, mut combination: usize) -> Vec<u8> {
        let each = self.masters.iter().map(|id| {
            let count = circuit.inputs[id.index()].positions.len();
            let position = combination % count;
            combination /= count;
            position as u8
        });
        each.collect()
    }
}

/// The combination that the first positions of a part stand in.
pub(super) fn combination(circuit: &Circuit, masters: &[InputId], positions: &[u8]) -> usize {
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
    cut.parts()
}

/// A master's own conditions may not speak of what is inside a part.
fn can_be_master(circuit: &Circuit, i: usize) -> bool {
    let input = &circuit.inputs[i];
    let id = InputId(i as u32);
    input.needs == Logic::Always
        && input.excludes.is_empty()
        && circuit.inputs.iter().all(|other| !other.excludes.contains(&id))
}

struct Cut<'c> {
    circuit: &'c Circuit,
    masters: Vec<bool>,
    trunk: Vec<bool>,
    /// Union-find over nodes, actors, inputs and branches, one after the other.
    parent: Vec<u32>,
}

impl<'c> Cut<'c> {
    fn new(circuit: &'c Circuit, masters: &[bool]) -> Self {
        let elements = circuit.nodes.len() + circuit.actors.len() + circuit.inputs.len() + circuit.branches.len();
        let mut cut = Cut {
            circuit,
            masters: masters.to_vec(),
            trunk: vec![false; circuit.nodes.len()],
            parent: (0..elements as u32).collect(),
        };
        cut.find_trunk();
        cut.join();
        cut.prune();
        cut
    }

    fn node(&self, id: NodeId) -> usize {
        id.index()
    }

    fn actor(&self, id: ActorId) -> usize {
        self.circuit.nodes.len() + id.index()
    }

    fn input(&self, id: InputId) -> usize {
        self.circuit.nodes.len() + self.circuit.actors.len() + id.index()
    }

    fn branch(&self, k: usize) -> usize {
        self.circuit.nodes.len() + self.circuit.actors.len() + self.circuit.inputs.len() + k
    }

    fn find(&self, mut element: usize) -> usize {
        while self.parent[element] as usize != element {
            element = self.parent[element] as usize;
        }
        element
    }

    fn union(&mut self, a: usize, b: usize) {
        let (a, b) = (self.find(a), self.find(b));
        // The lower one stays, so that the result doesn't depend on the order of joining.
        self.parent[a.max(b)] = a.min(b) as u32;
    }

    fn only_masters(&self, logic: &Logic) -> bool {
        let mut only = true;
        let mut actors = false;
        logic.visit(&mut |input| only &= self.masters[input.index()], &mut |_| actors = true);
        only && !actors
    }

    /// Whether a branch conducts as a trunk may, if its ends are trunk.
    fn conducts(&self, k: usize) -> Option<f64> {
        let branch = &self.circuit.branches[k];
        match branch.law {
            Law::Conductor { ohms, .. } | Law::Source { ohms, .. } if self.only_masters(&branch.when) => {
                Some(ohms.max(LEAST_OHMS).value())
            }
            _ => None,
        }
    }

    /// Nodes near enough to the battery's negative (Dijkstra's shortest paths by resistance).
    fn find_trunk(&mut self) {
        let mut near: Vec<Vec<(u32, f64)>> = vec![vec![]; self.circuit.nodes.len()];
        for (k, branch) in self.circuit.branches.iter().enumerate() {
            if let Some(ohms) = self.conducts(k) {
                near[branch.from.index()].push((branch.to.0, ohms));
                near[branch.to.index()].push((branch.from.0, ohms));
            }
        }
        let mut distance = vec![f64::INFINITY; near.len()];
        distance[0] = 0.0;
        // Positive numbers order as their bits do.
        let mut waiting = BinaryHeap::from([(std::cmp::Reverse(0u64), 0u32)]);
        while let Some((std::cmp::Reverse(bits), node)) = waiting.pop() {
            let here = f64::from_bits(bits);
            if here > distance[node as usize] {
                continue;
            }
            for (other, ohms) in &near[node as usize] {
                let there = here + ohms;
                if there <= STIFF_OHMS && there < distance[*other as usize] {
                    distance[*other as usize] = there;
                    waiting.push((std::cmp::Reverse(there.to_bits()), *other));
                }
            }
        }
        self.trunk = distance.iter().map(|d| d.is_finite()).collect();
    }

    /// Whether a branch is the trunk's own.
    fn is_trunk(&self, k: usize) -> bool {
        let branch = &self.circuit.branches[k];
        self.trunk[branch.from.index()] && self.trunk[branch.to.index()] && self.conducts(k).is_some()
    }

    fn logic_elements(&self, logic: &Logic) -> Vec<usize> {
        let (mut inputs, mut actors) = (vec![], vec![]);
        logic.visit(&mut |id| inputs.push(id), &mut |id| actors.push(id));
        let inputs = inputs.into_iter().filter(|id| !self.masters[id.index()]).map(|id| self.input(id));
        inputs.chain(actors.into_iter().map(|id| self.actor(id))).collect()
    }

    fn join_all(&mut self, first: usize, others: impl IntoIterator<Item = usize>) {
        others.into_iter().for_each(|other| self.union(first, other));
    }

    /// Joins what belongs together once the trunk is out.
    fn join(&mut self) {
        let circuit = self.circuit;
        for (k, branch) in circuit.branches.iter().enumerate() {
            if self.is_trunk(k) {
                continue;
            }
            let ends = [branch.from, branch.to].into_iter().filter(|end| !self.trunk[end.index()]);
            let mut all: Vec<usize> = ends.map(|end| self.node(end)).collect();
            all.extend(self.logic_elements(&branch.when));
            if let Law::Drawn { output, .. } = branch.law {
                all.push(self.branch(output.index()));
            }
            self.join_all(self.branch(k), all);
        }
        for (i, actor) in circuit.actors.iter().enumerate() {
            let mut all = self.logic_elements(&actor.powered);
            match &actor.rule {
                Rule::Threshold { plus, minus, .. } => {
                    let ends = [*plus, *minus].into_iter().filter(|end| !self.trunk[end.index()]);
                    all.extend(ends.map(|end| self.node(end)));
                }
                Rule::Latch { set, reset } => {
                    all.extend(self.logic_elements(set));
                    all.extend(self.logic_elements(reset));
                }
                Rule::Toggle { start } | Rule::Hold { start } | Rule::Delay { start } | Rule::Pulse { start } => {
                    all.extend(self.logic_elements(start));
                }
            }
            self.join_all(self.actor(ActorId(i as u32)), all);
        }
        for (i, input) in circuit.inputs.iter().enumerate() {
            if self.masters[i] {
                continue;
            }
            let mut all = self.logic_elements(&input.needs);
            all.extend(input.excludes.iter().map(|other| self.input(*other)));
            self.join_all(self.input(InputId(i as u32)), all);
        }
    }

    /// Gives a part the ends of the trunk that it alone hangs on.
    fn prune(&mut self) {
        let mut on: Vec<Vec<usize>> = vec![vec![]; self.circuit.nodes.len()];
        for (k, branch) in self.circuit.branches.iter().enumerate().filter(|(_, b)| b.from != b.to) {
            on[branch.from.index()].push(k);
            on[branch.to.index()].push(k);
        }
        let mut waiting: Vec<usize> = (1..on.len()).filter(|n| self.trunk[*n]).collect();
        while let Some(node) = waiting.pop() {
            if !self.trunk[node] {
                continue;
            }
            let (trunk, hang): (Vec<usize>, Vec<usize>) = on[node].iter().partition(|k| self.is_trunk(**k));
            let mut parts: Vec<usize> = hang.iter().map(|k| self.find(self.branch(*k))).collect();
            // An actor that looks at the node hangs on it too.
            for (i, actor) in self.circuit.actors.iter().enumerate() {
                if let Rule::Threshold { plus, minus, .. } = actor.rule
                    && (plus.index() == node || minus.index() == node)
                {
                    parts.push(self.find(self.actor(ActorId(i as u32))));
                }
            }
            parts.sort_unstable();
            parts.dedup();
            if let ([k], [part]) = (&trunk[..], &parts[..])
                && self.only_masters_or(*k)
            {
                self.trunk[node] = false;
                self.union(*part, node);
                self.union(*part, self.branch(*k));
                let branch = &self.circuit.branches[*k];
                let other = if branch.from.index() == node { branch.to } else { branch.from };
                if other != NEGATIVE {
                    waiting.push(other.index());
                }
            }
        }
    }

    /// A source stays in the trunk: it is what holds it.
    fn only_masters_or(&self, k: usize) -> bool {
        matches!(self.circuit.branches[k].law, Law::Conductor { .. })
    }

    /// Combinations of positions in the greatest part, as a power of two, in hundredths so that it is a whole number.
    fn size(&self) -> usize {
        let mut sizes: BTreeMap<usize, f64> = BTreeMap::new();
        for (i, input) in self.circuit.inputs.iter().enumerate().filter(|(i, _)| !self.masters[*i]) {
            let part = self.find(self.input(InputId(i as u32)));
            *sizes.entry(part).or_default() += (input.positions.len() as f64).log2();
        }
        (sizes.values().fold(0.0, |a: f64, b| a.max(*b)) * 100.0) as usize
    }

    fn parts(&self) -> Option<Parts> {
        let circuit = self.circuit;
        let masters: Vec<InputId> =
            (0..circuit.inputs.len()).filter(|i| self.masters[*i]).map(|i| InputId(i as u32)).collect();
        let (trunk, inner) = self.trunk_nodes();
        let mut made = Parts { masters, trunk, inner, trunk_branches: vec![], parts: vec![] };
        let mut drafts: BTreeMap<usize, Draft> = BTreeMap::new();
        for (i, _) in circuit.inputs.iter().enumerate().filter(|(i, _)| !self.masters[*i]) {
            let id = InputId(i as u32);
            drafts.entry(self.find(self.input(id))).or_default().inputs.push(id);
        }
        for i in 0..circuit.actors.len() {
            let id = ActorId(i as u32);
            drafts.entry(self.find(self.actor(id))).or_default().actors.push(id);
        }
        for k in 0..circuit.branches.len() {
            match self.is_trunk(k) {
                true => made.trunk_branches.push(BranchId(k as u32)),
                false => {
                    drafts.entry(self.find(self.branch(k))).or_default().branches.push(BranchId(k as u32));
                }
            }
        }
        if drafts.values().filter(|draft| !draft.inputs.is_empty()).count() < 2 {
            return None;
        }
        made.parts = drafts.values().map(|draft| self.part(&made, draft)).collect();
        Some(made)
    }

    /// Nodes of the trunk that something hangs on, and the others.
    fn trunk_nodes(&self) -> (Vec<NodeId>, Vec<NodeId>) {
        let mut hung = vec![false; self.trunk.len()];
        for (k, branch) in self.circuit.branches.iter().enumerate() {
            if !self.is_trunk(k) {
                hung[branch.from.index()] = true;
                hung[branch.to.index()] = true;
            }
        }
        for actor in &self.circuit.actors {
            if let Rule::Threshold { plus, minus, .. } = actor.rule {
                hung[plus.index()] = true;
                hung[minus.index()] = true;
            }
        }
        let nodes = (1..self.trunk.len()).filter(|n| self.trunk[*n]).map(|n| NodeId(n as u32));
        nodes.partition(|node| hung[node.index()])
    }

    fn part(&self, made: &Parts, draft: &Draft) -> Part {
        let circuit = self.circuit;
        let mut part = Part {
            circuit: Circuit { hot: circuit.hot, ..Circuit::new() },
            nodes: vec![NEGATIVE],
            branches: draft.branches.clone(),
            inputs: made.masters.iter().chain(&draft.inputs).copied().collect(),
            actors: draft.actors.clone(),
            terminals: vec![],
        };
        let mut local: BTreeMap<NodeId, NodeId> = BTreeMap::from([(NEGATIVE, NEGATIVE)]);
        let mut place = |id: NodeId, part: &mut Part| {
            *local.entry(id).or_insert_with(|| {
                part.nodes.push(id);
                let here = part.circuit.node(String::new());
                if self.trunk[id.index()] {
                    // OK because the trunk lists every such node.
                    let at = made.trunk.binary_search(&id).unwrap_or_default();
                    part.terminals.push((here, at));
                }
                here
            })
        };
        let input = |id: InputId| InputId(part_index(&made.masters, &draft.inputs, id));
        let actor = |id: ActorId| ActorId(draft.actors.binary_search(&id).unwrap_or_default() as u32);
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
                *output = BranchId(draft.branches.binary_search(output).unwrap_or_default() as u32);
            }
            part.circuit.switched(String::new(), from, to, law, translate(&branch.when, &input, &actor));
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
        self.hold_terminals(made, &mut part);
        part
    }

    fn hold_terminals(&self, made: &Parts, part: &mut Part) {
        for (node, _) in part.terminals.clone() {
            for combination in 0..made.combinations(self.circuit) {
                let positions = made.master_positions(self.circuit, combination);
                let each = positions.iter().enumerate().map(|(i, position)| Logic::At(InputId(i as u32), *position));
                let when = each.fold(Logic::Always, Logic::and);
                let law = Law::Source { volts: Default::default(), ohms: LEAST_OHMS };
                part.circuit.switched(String::new(), NEGATIVE, node, law, when);
            }
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
        // OK because a part has every input that it speaks of.
        Err(_) => (masters.len() + own.binary_search(&id).unwrap_or_default()) as u32,
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
