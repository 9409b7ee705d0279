//! Leaps over the rounds of flashers that repeat while a long timer runs.
//!
//! At the start of a round the machine is as at the start of the round before, except for times. Some times are still due at
//! the same moment: a long timer goes on running. The other times moved by the length of a round: each round sets them again.
//! Until a time of the first sort is due, every round repeats the last. A leap writes the records of that round again and
//! moves the times of the second sort.

use super::startup::Startup;
use super::{Machine, Till};
use crate::display::ScreenMotion;
use crate::time::Time;
use circuit::State;

/// The machine when its flashers began a round.
#[derive(Debug)]
pub(super) struct RoundStart {
    at: Time,
    state: State,
    started: Vec<bool>,
    startup: Startup,
    screens: Vec<ScreenMotion>,
    /// The times that may move along: when each actor is due, and when its start last ended.
    times: Vec<Time>,
}

/// At the start of a round that repeats the one before: the machine goes on to the start of the last round that ends before
/// `limit` and before anything that has been running longer is due. Otherwise, keeps what a round starts from. A
/// run that ends when all repeats leaps only while something is running.
pub(super) fn leap(machine: &mut Machine, before: &mut Option<RoundStart>, limit: Time, till: Till) {
    let is_busy = machine.startup.is_busy() || machine.screens.iter().any(|screen| screen.due.is_some());
    if is_busy || !machine.flashers.begin_a_round(machine.now) {
        return;
    }
    if let Some(start) = before
        && let Some((rounds, is_waiting)) = start.rounds(machine, limit)
        && (is_waiting || till != Till::Repeats)
    {
        start.skip(machine, rounds);
    }
    *before = Some(RoundStart::of(machine));
}

impl RoundStart {
    fn of(machine: &Machine) -> RoundStart {
        RoundStart {
            at: machine.now,
            state: machine.state.clone(),
            started: machine.started.clone(),
            startup: machine.startup.clone(),
            screens: machine.screens.clone(),
            times: times(machine),
        }
    }

    /// How many rounds can be leapt over from the next start, and whether something is running; `None` if the two differ.
    fn rounds(&self, machine: &Machine, limit: Time) -> Option<(i64, bool)> {
        let length = machine.now - self.at;
        let alike = (&machine.state, &machine.started, &machine.startup) == (&self.state, &self.started, &self.startup)
            && machine.screens.iter().zip(&self.screens).all(|(now, then)| now.stands_like(then));
        let moves = |(now, then): (&Time, &Time)| now == then || *then != Time::NEVER && *now - *then == length;
        if !alike || length <= Time::ZERO || !times(machine).iter().zip(&self.times).all(moves) {
            return None;
        }
        let goes_on = machine.actor_due.iter().zip(&self.times).filter(|(now, then)| now == then);
        let first_due = goes_on.map(|(now, _)| *now).min().unwrap_or(Time::NEVER);
        let end = first_due.min(limit);
        let rounds = ((end - machine.now).count() - 1) / length.count();
        (end > machine.now && rounds > 0).then_some((rounds, first_due != Time::NEVER))
    }

    /// Writes the last round again, and moves what moves along with it.
    fn skip(&self, machine: &mut Machine, rounds: i64) {
        let by = (machine.now - self.at) * rounds;
        if machine.recording {
            machine.record.repeat(self.at, machine.now, rounds);
        }
        let (due, ended) = self.times.split_at(machine.actor_due.len());
        for (due, _) in machine.actor_due.iter_mut().zip(due).filter(|(due, then)| *due != *then) {
            *due = *due + by;
        }
        for (ended, then) in machine.ended.iter_mut().zip(ended) {
            *ended = ended.map(|at| if at == *then { at } else { at + by });
        }
        machine.screens.iter_mut().zip(&self.screens).for_each(|(screen, then)| screen.go_along(then, by));
        machine.flashers.go_on(by);
        machine.now = machine.now + by;
    }
}

/// The times that may move along with rounds: when each actor is due, and when its start last ended.
fn times(machine: &Machine) -> Vec<Time> {
    let ended = machine.ended.iter().map(|ended| ended.unwrap_or(Time::NEVER));
    machine.actor_due.iter().copied().chain(ended).collect()
}

#[cfg(test)]
mod tests {
    use crate::machine::{Deed, Machine, Till};
    use crate::replay_circuit::ReplayCircuit;
    use crate::setting::Setting;
    use crate::tests::flasher_through;
    use crate::time::Time;
    use model::{InputId, Model};
    use states::Solved;

    const LONG: Time = Time::milliseconds(40_000);

    /// A record with one input on from the start and off after ten seconds; `looks` adds a last step of the script, before
    /// which there are no leaps.
    fn played(replayed: &mut ReplayCircuit, setting: &Setting, input: usize, looks: bool) -> Machine {
        let mut machine = Machine::at_rest(replayed, setting);
        let off = replayed.wiring.model.inputs.iter().position(|other| other.flash.is_some());
        machine.begin(replayed);
        let mut script = vec![(Time::ZERO, Deed::Put(vec![(InputId(input), 1)]))];
        // Another flasher, which a hold bridges, ends while this one goes on.
        if let Some(other) = off.filter(|other| *other != input) {
            script.push((Time::milliseconds(500), Deed::Put(vec![(InputId(other), 1)])));
            script.push((Time::milliseconds(3_500), Deed::Put(vec![(InputId(other), 0)])));
        }
        script.extend(looks.then_some((LONG, Deed::Look)));
        machine.play(replayed, &script, LONG, LONG, Till::End);
        machine.record.looks.clear();
        machine
    }

    /// Every flasher of a harness, with and without leaps, at two rates: the records are the same.
    fn assert_leaps_change_nothing(model: &Model) -> usize {
        let solved = Solved::new(model);
        let mut replayed = ReplayCircuit::new(&solved);
        let flashers = (0..model.inputs.len()).filter(|i| model.inputs[*i].flash.is_some());
        let mut events = 0;
        for input in flashers {
            for setting in [Setting::default(), Setting::corners().pop().unwrap()] {
                let leapt = played(&mut replayed, &setting, input, false);
                let whole = played(&mut replayed, &setting, input, true);
                assert_eq!(leapt.record, whole.record, "input {input}");
                assert_eq!((&leapt.state, &leapt.started), (&whole.state, &whole.started));
                events += leapt.record.inputs[input].points.len();
            }
        }
        events
    }

    #[test]
    fn a_record_is_the_same_with_every_round_played() {
        for module in
            ["hold, at: bench", "hold, at: bench, time: 20 s", "delay, at: bench, time: 20 s", "pulse, at: bench"]
        {
            assert!(assert_leaps_change_nothing(&flasher_through(&format!("{{use: {module}}}"))) > 100);
        }
        for demo in sample::DEMOS {
            assert_leaps_change_nothing(&sample::demo(demo));
        }
    }
}
