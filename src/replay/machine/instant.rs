//! What happens at one moment, in its order.

use super::{Deed, Machine, QUICK, ROUNDS};
use crate::plan::ActorKind;
use crate::replay_circuit::{ReplayCircuit, Still};
use crate::time::Time;
use circuit::ActorId;
use model::{InputId, ScreenId};

impl Machine {
    /// Everything that happens at one moment; the deeds are those that come from outside.
    pub(super) fn happen(&mut self, replayed: &mut ReplayCircuit, at: Time, deeds: &[(Time, Deed)]) {
        self.now = at;
        self.inside(replayed);
        if deeds.iter().any(|(_, deed)| *deed == Deed::Look) {
            let seen = self.screens.iter().map(|s| s.display.clone()).collect();
            self.record.looks.push((self.now, seen));
        }
        deeds.iter().for_each(|(_, deed)| self.deed(replayed, deed));
        if self.edges() || !deeds.is_empty() {
            self.settle(replayed);
            self.inside(replayed);
        }
    }

    /// Runs everything that is due now inside the harness.
    fn inside(&mut self, replayed: &mut ReplayCircuit) {
        for _ in 0..ROUNDS {
            if self.due() > self.now || self.stopped.is_some() {
                return;
            }
            for i in 0..self.actor_due.len() {
                if self.actor_due[i] <= self.now {
                    self.actor_due[i] = Time::NEVER;
                    let id = ActorId(i as u32);
                    let on = self.state.memory.on(id);
                    self.state.memory.set_on(id, !on);
                }
            }
            self.startup.advance(self.now);
            for (screen, plan) in self.screens.iter_mut().zip(&replayed.plan.screens) {
                if screen.due.is_some_and(|due| due <= self.now) {
                    screen.show(plan);
                }
            }
            self.settle(replayed);
        }
        self.stopped = Some("relays or timers without any time of their own move each other without end".into());
    }

    /// Turns flashers on or off whose time has come; returns whether there were any.
    fn edges(&mut self) -> bool {
        let edges = self.flashers.advance(self.now);
        for &(input, on) in &edges {
            self.state.positions.0[input.0] = if on { self.lever.0[input.0] } else { 0 };
        }
        !edges.is_empty()
    }

    pub(super) fn deed(&mut self, replayed: &mut ReplayCircuit, deed: &Deed) {
        match deed {
            Deed::Put(changes) => self.move_inputs(replayed, changes),
            Deed::Flash(setting) => {
                *self = self.clone().flashing_as(setting);
                self.flashers.stop_all().into_iter().for_each(|input| self.flash(replayed, input));
            }
            Deed::Supply(level) => self.level = *level,
            Deed::Look => {}
        }
    }

    /// Moves inputs in the given order, then again those whose `needs` came true only with a later one.
    fn move_inputs(&mut self, replayed: &mut ReplayCircuit, changes: &[(InputId, usize)]) {
        let circuit = &replayed.wiring.assembly.circuit;
        let mut left: Vec<(InputId, usize)> = changes.to_vec();
        loop {
            let before = left.len();
            left.retain(|&(input, position)| {
                let moved =
                    self.lever.moved(circuit, replayed.wiring.assembly.input(input), circuit::position(position));
                let refused = moved.is_none();
                self.lever = moved.unwrap_or_else(|| self.lever.clone());
                refused
            });
            if left.is_empty() || left.len() == before {
                break;
            }
        }
        self.record.refused.extend(left.into_iter().map(|(input, position)| (self.now, input, position)));
        for i in 0..self.lever.0.len() {
            let input = InputId(i);
            if self.lever.0[i] == 0 {
                self.flashers.stop(input);
            } else if !self.flashers.runs(input) && self.flashers.flashing {
                self.flash(replayed, input);
            }
            self.state.positions.0[i] = if self.flashers.is_dark(input) { 0 } else { self.lever.0[i] };
        }
    }

    /// Starts a flasher, if the input is one.
    pub(super) fn flash(&mut self, replayed: &ReplayCircuit, input: InputId) {
        let Some(pattern) = self.setting.pattern(&replayed.wiring.model.inputs[input.0]) else { return };
        let on = self.flashers.start(input, pattern, self.now);
        self.state.positions.0[input.0] = if on { self.lever.0[input.0] } else { 0 };
    }

    /// Moves everything that moves at once, sets times for the rest, and updates the screens.
    pub(super) fn settle(&mut self, replayed: &mut ReplayCircuit) {
        for _ in 0..ROUNDS {
            let still = match replayed.still(self.level, &self.state) {
                Ok(still) => still,
                Err(why) => {
                    self.stopped = Some(why);
                    break;
                }
            };
            if self.recording && !self.visited.contains(&still) {
                self.visited.push(still);
            }
            let still = replayed.get(self.level, still);
            self.startup.follow(&replayed.plan, still, self.now);
            if !self.actors(replayed, still) {
                for (i, (screen, plan)) in self.screens.iter_mut().zip(&replayed.plan.screens).enumerate() {
                    screen.look(
                        replayed.wiring.model,
                        ScreenId(i),
                        plan,
                        &still.screens[i],
                        &self.startup.up,
                        self.now,
                    );
                }
                self.note(replayed);
                return;
            }
        }
        self.stopped.get_or_insert_with(|| "trigger inputs and latches move each other without end".into());
    }

    /// Moves all actors that move at once, together; returns whether any did.
    fn actors(&mut self, replayed: &ReplayCircuit, still: &Still) -> bool {
        let mut moved = vec![];
        for (i, plan) in replayed.plan.actors.iter().enumerate() {
            let id = ActorId(i as u32);
            let facts = still.actors[i];
            let on = self.state.memory.on(id);
            let powered = facts.powered && plan.starter.is_none_or(|s| self.startup.up[s]);
            let start = powered && facts.start;
            let before = std::mem::replace(&mut self.started[i], start);
            let begins = start && !before;
            if before && !start {
                self.ended[i] = Some(self.now);
            }
            let due = &mut self.actor_due[i];
            let next = match plan.kind {
                ActorKind::Coil { operate, release } => {
                    if facts.wants == on {
                        *due = Time::NEVER;
                    } else if *due == Time::NEVER {
                        let time = if facts.wants { operate } else { release };
                        *due = self.now + if self.quick.contains(&id) { time.share(QUICK) } else { time };
                    }
                    on
                }
                ActorKind::Threshold => facts.wants,
                ActorKind::Latch => powered && !facts.reset && (on || start),
                ActorKind::Toggle { debounce } => {
                    let bounces = self.ended[i].is_some_and(|ended| self.now - ended < debounce);
                    powered && (on ^ (begins && !bounces))
                }
                ActorKind::Hold(_) => {
                    if start || !on || !powered {
                        *due = Time::NEVER;
                    } else if *due == Time::NEVER {
                        *due = self.now + self.times[i];
                    }
                    powered && (on || start)
                }
                ActorKind::Delay(_) => {
                    if !start || on {
                        *due = Time::NEVER;
                    } else if *due == Time::NEVER {
                        *due = self.now + self.times[i];
                    }
                    on && start
                }
                ActorKind::Pulse(_) => {
                    if begins {
                        *due = self.now + self.times[i];
                    } else if !powered {
                        *due = Time::NEVER;
                    }
                    powered && (on || begins)
                }
            };
            if next != on {
                moved.push((id, next));
            }
        }
        for (id, on) in &moved {
            self.state.memory.set_on(*id, *on);
        }
        !moved.is_empty()
    }

    /// Records every lane's value.
    pub(super) fn note(&mut self, replayed: &ReplayCircuit) {
        if !self.recording {
            return;
        }
        self.record.note(replayed, self.now, &self.lever, &self.state, self.startup.stages(), &self.screens);
    }
}
