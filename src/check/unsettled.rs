//! What does not come to rest, or comes to rest differently by how it got there; and the way to a state in words.

use super::Context;
use model::{SignalId, SignalKind};
use solve::{ActorId, Chatter, CurrentPath, Exploration, Move, Solution, State};
use states::listed;

impl Context<'_> {
    /// The explorations at every corner, the nominal one first.
    pub fn explorations(&self) -> impl Iterator<Item = &Exploration> {
        std::iter::once(&self.solved.exploration).chain(self.worst.explorations())
    }

    /// The relays among some actors, in the order of the spec; a coil counts as its relay.
    pub fn relays(&self, actors: &[ActorId]) -> Vec<SignalId> {
        let (model, assembly) = (self.model, &self.solved.assembly);
        let mut relays: Vec<SignalId> = Vec::new();
        for (i, signal) in model.signals.iter().enumerate() {
            let SignalKind::Relay { coils, .. } = &signal.kind else { continue };
            let mut own = coils.iter().filter_map(|coil| assembly.coil(*coil)).chain(assembly.actor(SignalId(i)));
            if own.any(|actor| actors.contains(&actor)) {
                relays.push(SignalId(i));
            }
        }
        relays
    }

    /// Rounds that never end, or races, each with its relays: for each set of relays the first that is met.
    pub fn chatters(&self, race: bool) -> Vec<(Vec<SignalId>, &Chatter)> {
        let mut found: Vec<(Vec<SignalId>, &Chatter)> = Vec::new();
        for chatter in self.explorations().flat_map(|exploration| &exploration.chatter) {
            let relays = self.relays(&chatter.actors);
            if chatter.rests.is_empty() != race && !found.iter().any(|(same, _)| *same == relays) {
                found.push((relays, chatter));
            }
        }
        found
    }

    /// The step of a round in which the coils of its relays take most, with the way of that current.
    pub fn busiest_step<'c>(&self, relays: &[SignalId], chatter: &'c Chatter) -> Option<(&'c Solution, CurrentPath)> {
        let ways = chatter.round.iter().flat_map(|step| relays.iter().map(move |relay| (step, relay)));
        let ways = ways.map(|(step, relay)| (step, self.way_of_signal(step, *relay)));
        let amps = |way: &CurrentPath| way.steps.iter().map(|step| step.amps.value()).fold(0.0, f64::max);
        // The first of those that take the same.
        ways.reduce(|best, next| if amps(&next.1) > amps(&best.1) { next } else { best })
    }

    /// The signals that some actors are, in the order of the spec; a coil counts as its relay.
    pub fn signals_of(&self, actors: &[ActorId]) -> Vec<SignalId> {
        let relays = self.relays(actors);
        let is = |id: &SignalId| {
            relays.contains(id) || self.solved.assembly.actor(*id).is_some_and(|actor| actors.contains(&actor))
        };
        (0..self.model.signals.len()).map(SignalId).filter(is).collect()
    }

    /// What signals that find no rest do, all of one kind or each told by itself: `K1` pulls in and drops out.
    pub fn swings(&self, signals: &[SignalId]) -> String {
        let way = |id: &SignalId, several: bool| match (&self.model.signals[id.0].kind, several) {
            (SignalKind::Relay { .. }, false) => "pulls in and drops out",
            (SignalKind::Relay { .. }, true) => "pull in and drop out",
            (SignalKind::Sense { .. }, false) => "comes on and goes off",
            (SignalKind::Sense { .. }, true) => "come on and go off",
            (_, false) => "starts and stops",
            (_, true) => "start and stop",
        };
        let several = signals.len() > 1;
        let told: Vec<SignalId> = match signals.first() {
            Some(first) => signals.iter().copied().filter(|id| way(id, false) == way(first, false)).collect(),
            None => return "something that switches goes on and off".to_string(),
        };
        let others: Vec<SignalId> = signals.iter().copied().filter(|id| !told.contains(id)).collect();
        let mine = format!("{} {}", self.signal_words(&told), way(&told[0], several && told.len() > 1));
        if others.is_empty() { mine } else { format!("{mine}, {}", self.swings(&others)) }
    }

    /// `K1 and K2`; what works or doesn't goes by its part's name.
    pub fn signal_words(&self, signals: &[SignalId]) -> String {
        let name = |id: &SignalId| match &self.model.signals[id.0] {
            signal if matches!(signal.kind, SignalKind::Working { .. }) => {
                self.model.part(signal.part).name.to_string()
            }
            signal => signal.name.clone(),
        };
        let names: Vec<String> = signals.iter().map(|id| format!("`{}`", name(id))).collect();
        listed(&names).unwrap_or_else(|| "something that switches".to_string())
    }

    /// The changes that lead to a state, in words: `after alarm on, then alarm off`.
    pub fn way_words(&self, exploration: &Exploration, state: &State) -> Option<String> {
        let model = self.model;
        let circuit = &self.solved.assembly.circuit;
        let words = |step: Move| match step {
            Move::Connect => "the battery connected".to_string(),
            Move::Input(input, at) => {
                let input = &model.inputs[input.index()];
                format!("{} {}", input.name, input.positions[usize::from(at)])
            }
            Move::Elapsed(actor) => format!("the time of {} over", circuit.actors[actor.index()].name),
            Move::PowerLoss => "the supply lost and back".to_string(),
        };
        let way: Vec<String> = exploration.way_to(state)?.into_iter().map(words).collect();
        Some(if way.is_empty() { "from the start".to_string() } else { format!("after {}", way.join(", then ")) })
    }

    /// Whether the worst currents of some corner are known within bounds only.
    pub fn is_bounded(&self) -> bool {
        self.explorations().any(|exploration| exploration.is_bounded())
    }

    /// States that could not be solved at some corner, in words.
    pub fn unsolved(&self) -> Vec<String> {
        let unsolved = self.explorations().flat_map(|exploration| &exploration.unsolved);
        let mut words: Vec<String> =
            unsolved.map(|one| format!("{} ({}): {}", self.positions_words(&one.state), one.corner, one.why)).collect();
        words.sort();
        words.dedup();
        words
    }

    /// The inputs that are away from rest: `reverse on, key run`.
    fn positions_words(&self, state: &State) -> String {
        let at = |i: usize| usize::from(state.positions.0[i]);
        let inputs = self.model.inputs.iter().enumerate().filter(|(i, _)| at(*i) != 0);
        let away: Vec<String> = inputs.map(|(i, input)| format!("{} {}", input.name, input.positions[at(i)])).collect();
        if away.is_empty() { "at rest".to_string() } else { away.join(", ") }
    }

    /// Whether a relay takes part in a round that never ends.
    pub fn is_chattering(&self, relay: SignalId) -> bool {
        self.chatters(false).iter().any(|(relays, _)| relays.contains(&relay))
    }
}
