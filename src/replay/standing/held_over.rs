//! How late does a picture come while a timer still holds the previous one?
//!
//! A hold that bridges a flasher also holds on when the driver changes his mind. The other questions start where
//! everything has settled; this one makes a move just before, so that a timer of that move still runs.

use super::asker::{Asker, Case, Put, Start};
use super::within::{Arrival, Late, Within, took, was_up};
use crate::machine::{Deed, Till};
use crate::setting::Setting;
use crate::time::Time;
use circuit::{Positions, State, position};
use explore::Move;
use model::{ScreenId, Shown};
use states::Walk;
use std::collections::BTreeMap;

/// A picture that comes late because another one is held.
#[derive(Debug, Clone, PartialEq)]
pub struct HeldOver {
    /// The screen.
    pub screen: ScreenId,
    /// The line of its intent.
    pub view: usize,
    /// What it asks for.
    pub shown: Shown,
    /// The time allowed.
    pub limit: Time,
    /// The worst of all pairs of moves.
    pub worst: Arrival,
}

/// From one move of a lever to the next (common practice, no source).
const BETWEEN: Time = Time::milliseconds(100);

/// A picture that is also late from rest is reported by `within`.
pub fn ask(asker: &mut Asker, within: &[Within]) -> Vec<HeldOver> {
    let in_time = within.iter().filter(|one| one.late(one.worst.as_ref()).is_none());
    let mut moves = FirstMoves { walk: Walk::new(asker.solved.solvers()), made: BTreeMap::new() };
    in_time.filter_map(|one| held_over(asker, &mut moves, one)).collect()
}

fn held_over(asker: &mut Asker, moves: &mut FirstMoves, within: &Within) -> Option<HeldOver> {
    let Within { screen, view, shown, limit, .. } = *within;
    let subject = asker.screen(screen);
    let mut worst = None;
    for start in &subject.starts {
        for before in asker.moves(&subject.concern, start) {
            let Some(between) = moves.left_running(asker, start, before) else { continue };
            if asker.wanted(screen, &between.state).is_some_and(|(wanted, _)| wanted == view) {
                continue;
            }
            for moved in asker.moves(&subject.concern, &between) {
                let after = between.after(asker, moved);
                if after.is_none_or(|after| asker.wanted(screen, &after).is_none_or(|(wanted, _)| wanted != view)) {
                    continue;
                }
                let till = Till::Shown(screen, shown, Some(view));
                let script = vec![(Time::ZERO, Deed::Put(vec![before])), (BETWEEN, Deed::Put(vec![moved]))];
                let make = |asker: &Asker, setting: &Setting| Case {
                    till,
                    script: script.clone(),
                    ..asker.case(start, &[], setting)
                };
                let flashing = asker.flashes(&subject.concern, &start.positions);
                asker.play_all(flashing, &make, &mut |asker, case, machine| {
                    let Some((_, took)) = took(&machine, screen, view, shown, limit) else { return };
                    if was_up(asker, &machine, screen) {
                        Late::keep(&mut worst, took, || Late {
                            before: Some(before),
                            counted: BETWEEN,
                            ..Late::new(took, start, moved, case)
                        });
                    }
                });
            }
        }
    }
    let late: Late = worst.filter(|late: &Late| late.key() > limit)?;
    let worst = Arrival { counted: Time::ZERO, ..late.tell(asker) };
    Some(HeldOver { screen, view, shown, limit, worst })
}

/// Single moves from starts, each solved once, whichever view asks.
struct FirstMoves<'r> {
    walk: Walk<'r>,
    /// Where each leads to: the positions and the state, if it leaves a timer running.
    made: BTreeMap<(State, Put), Option<(Positions, State)>>,
}

impl FirstMoves<'_> {
    /// The start after one move, if that leaves a timer running.
    fn left_running(&mut self, asker: &Asker, start: &Start, put: Put) -> Option<Start> {
        let assembly = &asker.solved.assembly;
        let here = State { positions: start.positions.clone(), memory: start.state.memory.clone() };
        let by = Move::Input(assembly.input(put.0), position(put.1));
        let made = self.made.entry((here.clone(), put)).or_insert_with(|| {
            let step = self.walk.change(&here, by)?;
            let running = !step.after.pending(&assembly.circuit).is_empty();
            running.then_some((step.start.positions, step.after))
        });
        let (positions, state) = made.clone()?;
        Some(Start { positions, state, ..start.clone() })
    }
}

impl Start {
    /// The positions after a move, before anything switches.
    fn after(&self, asker: &Asker, (input, to): Put) -> Option<State> {
        let assembly = &asker.solved.assembly;
        let positions = self.positions.moved(&assembly.circuit, assembly.input(input), position(to))?;
        Some(State { positions, memory: self.state.memory.clone() })
    }
}
