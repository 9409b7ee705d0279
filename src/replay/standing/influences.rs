//! What can move a screen or a relay: every input and every actor that feeds or grounds it, through any number of
//! relays. Other loads of the same feed are left out: the rules about states judge the voltage that they cost, and they
//! solve every combination.

use circuit::{ActorId, ActorRule, BranchId, Circuit, InputId, Logic, NodeId, Position, Solution, State};
use explore::About;
use model::ScreenId;
use quantity::{Amps, Volts};
use states::Solved;

/// Who feeds and who grounds whom, as seen in every state that can be reached.
pub(super) struct Feeds<'c> {
    circuit: &'c Circuit,
    grounded_below: Volts,
    /// By branch: whether its other end and its condition matter to its `from`, and to its `to`.
    matters: Vec<[bool; 2]>,
    /// By node, the branches on it.
    branches_at: Vec<Vec<u32>>,
}

/// The inputs and actors that decide an outcome.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Influences {
    /// By input.
    pub inputs: Vec<bool>,
    /// By actor.
    pub actors: Vec<bool>,
}

/// Above this voltage, current that flows into a node may be its feed.
const FED_ABOVE: Volts = Volts::new(2.0);

/// Below this share of the nominal voltage, current that flows out of a node may be what grounds it.
const GROUNDED_BELOW: f64 = 0.25;

/// Current that is more than a rounding error; what leaks from one node alone is ten times as much.
const SOME_AMPS: Amps = Amps::new(1e-9);

impl<'c> Feeds<'c> {
    /// Before any state.
    pub fn new(circuit: &'c Circuit, nominal: Volts) -> Feeds<'c> {
        let mut branches_at = vec![vec![]; circuit.nodes.len()];
        for (k, branch) in circuit.branches.iter().enumerate() {
            branches_at[branch.from.index()].push(k as u32);
            branches_at[branch.to.index()].push(k as u32);
        }
        let matters = vec![[false; 2]; circuit.branches.len()];
        Feeds { circuit, grounded_below: nominal * GROUNDED_BELOW, matters, branches_at }
    }

    /// Adds a state.
    pub fn look(&mut self, solution: &Solution) {
        for (k, branch) in self.circuit.branches.iter().enumerate() {
            let amps = solution.amps(BranchId(k as u32));
            if amps.abs() < SOME_AMPS {
                continue;
            }
            let ends = [branch.from, branch.to];
            // In the direction of the current.
            let (source, sink) = if amps.value() > 0.0 { (0, 1) } else { (1, 0) };
            self.matters[k][sink] |= solution.volts(ends[sink]) > FED_ABOVE;
            self.matters[k][source] |= solution.volts(ends[source]) < self.grounded_below;
        }
    }

    /// Everything that decides the outcome.
    pub fn concern(&self, about: &About) -> Influences {
        let nothing = Influences {
            inputs: vec![false; self.circuit.inputs.len()],
            actors: vec![false; self.circuit.actors.len()],
        };
        let mut search =
            Search { feeds: self, found: nothing, nodes: vec![false; self.circuit.nodes.len()], waiting: vec![] };
        about.inputs.iter().for_each(|id| search.input(*id));
        about.actors.iter().for_each(|id| search.actor(*id));
        about.nodes.iter().for_each(|id| search.node(*id));
        for id in &about.branches {
            let branch = &self.circuit.branches[id.index()];
            [branch.from, branch.to].into_iter().for_each(|node| search.node(node));
        }
        while let Some(node) = search.waiting.pop() {
            search.leave(node);
        }
        search.found
    }
}

struct Search<'f, 'c> {
    feeds: &'f Feeds<'c>,
    found: Influences,
    nodes: Vec<bool>,
    waiting: Vec<NodeId>,
}

impl Search<'_, '_> {
    fn node(&mut self, node: NodeId) {
        if !std::mem::replace(&mut self.nodes[node.index()], true) {
            self.waiting.push(node);
        }
    }

    /// From a node to everything that feeds or grounds it.
    fn leave(&mut self, node: NodeId) {
        for k in &self.feeds.branches_at[node.index()] {
            let branch = &self.feeds.circuit.branches[*k as usize];
            let end = usize::from(branch.from != node);
            if self.feeds.matters[*k as usize][end] {
                self.logic(&branch.when);
                self.node(if end == 0 { branch.to } else { branch.from });
            }
        }
    }

    fn logic(&mut self, logic: &Logic) {
        let (mut inputs, mut actors) = (vec![], vec![]);
        logic.visit(&mut |id| inputs.push(id), &mut |id| actors.push(id));
        inputs.into_iter().for_each(|id| self.input(id));
        actors.into_iter().for_each(|id| self.actor(id));
    }

    fn input(&mut self, id: InputId) {
        if !std::mem::replace(&mut self.found.inputs[id.index()], true) {
            let input = &self.feeds.circuit.inputs[id.index()];
            self.logic(&input.needs);
            input.excludes.iter().for_each(|other| self.input(*other));
        }
    }

    fn actor(&mut self, id: ActorId) {
        if std::mem::replace(&mut self.found.actors[id.index()], true) {
            return;
        }
        let actor = &self.feeds.circuit.actors[id.index()];
        self.logic(&actor.powered);
        match &actor.rule {
            ActorRule::Threshold { plus, minus, .. } => [plus, minus].into_iter().for_each(|node| self.node(*node)),
            ActorRule::Latch { set, reset } => [set, reset].into_iter().for_each(|logic| self.logic(logic)),
            ActorRule::Toggle { start }
            | ActorRule::Hold { start }
            | ActorRule::Delay { start }
            | ActorRule::Pulse { start } => {
                self.logic(start);
            }
        }
    }
}

/// Everything that decides what a screen shows and should show.
pub(super) fn of_screen(solved: &Solved, feeds: &Feeds, screen: ScreenId) -> Influences {
    let mut about = About::default();
    solved.about_screen(screen, &mut about);
    feeds.concern(&about)
}

impl Influences {
    /// The relevant positions and actors of a state.
    pub fn part_of(&self, state: &State) -> (Vec<Position>, Vec<bool>) {
        let positions = state.positions.0.iter().zip(&self.inputs).filter(|(_, mine)| **mine).map(|(at, _)| *at);
        let actors = (0..self.actors.len()).filter(|i| self.actors[*i]).map(|i| ActorId(i as u32));
        (positions.collect(), actors.map(|id| state.memory.on(id)).collect())
    }
}
