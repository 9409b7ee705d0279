//! Rear views against 49 CFR 571.111, S5.5, as far as wiring decides them. The clauses are cited from memory and only
//! point to the law: what holds is its text, and whether it applies to a vehicle is not for a program to say.

use super::asker::{Asker, Case};
use super::within::{Arrival, Late, Linger, MovesIntoViews, linger, state_after};
use crate::machine::{Deed, Till};
use crate::promise::first;
use crate::setting::Setting;
use crate::time::Time;
use catalogue::part_form::Meaning;
use model::{InputId, ScreenId, Shown};

/// S5.5.3, response time: the rear image is displayed within this time of the start of a backing event (from memory).
pub const RESPONSE: Time = Time::milliseconds(2_000);

/// S14.2, test procedure: the selector goes to reverse at the earliest this long after the vehicle was started (from
/// memory).
pub const AFTER_START: Time = Time::milliseconds(4_000);

/// S4, backing event: it ends at the latest when the vehicle has gone forward for this long (from memory; or at 10 mph,
/// or after 10 m, whichever the maker takes), and S5.5.4 then ends the rear image.
pub const LINGER: Time = Time::milliseconds(10_000);

/// A rear view and its times.
#[derive(Debug, Clone, PartialEq)]
pub struct Rear {
    /// The screen.
    pub screen: ScreenId,
    /// The line of its intent.
    pub view: usize,
    /// What it asks for.
    pub shown: Shown,
    /// The input that means reverse gear.
    pub reverse: InputId,
    /// The worst time from reverse to the picture, the vehicle running.
    pub response: Option<Arrival>,
    /// The same, with reverse 4 s after everything else was switched on.
    pub after_start: Option<Arrival>,
    /// How long the picture may stay on after reverse.
    pub linger: Linger,
    /// A state from which backing up doesn't begin with this picture, because the intent asks for another.
    pub other_default: Option<Arrival>,
}

/// Asks the questions about rear views, for every input that means reverse gear and every screen.
pub fn ask(asker: &mut Asker, into: &mut MovesIntoViews) -> Vec<Rear> {
    let model = asker.solved.model;
    let means_reverse = |id: &InputId| model.inputs[id.0].means == Some(Meaning::ReverseGear);
    let mut all = vec![];
    for reverse in (0..model.inputs.len()).map(InputId).filter(means_reverse) {
        for screen in (0..model.screens.len()).map(ScreenId) {
            if let Some(view) = rear_view(asker, screen, reverse) {
                all.push(rear(asker, into, screen, view, reverse));
            }
        }
    }
    all
}

/// The line of a screen's intent that counts when backing up begins with as little else as possible going on.
fn rear_view(asker: &mut Asker, screen: ScreenId, reverse: InputId) -> Option<usize> {
    let subject = asker.screen(screen);
    for start in &subject.starts {
        if start.positions.0[reverse.0] == 0 && asker.moves(&subject.concern, start).contains(&(reverse, 1)) {
            let after = state_after(asker, screen, start, (reverse, 1))?;
            let (view, shown) = asker.wanted(screen, &after)?;
            let when = &asker.solved.model.screens[screen.0].views[view].when;
            let because = matches!(shown, Shown::Source(_)) && when.names_input(reverse);
            return because.then_some(view);
        }
    }
    None
}

fn rear(asker: &mut Asker, into: &mut MovesIntoViews, screen: ScreenId, view: usize, reverse: InputId) -> Rear {
    let shown = asker.solved.model.screens[screen.0].views[view].show;
    let subject = asker.screen(screen);
    let (mut after_start, mut other) = (None, None);
    let moved = (reverse, 1);
    for start in &subject.starts {
        if start.positions.0[reverse.0] != 0 || !asker.moves(&subject.concern, start).contains(&moved) {
            continue;
        }
        let Some(after) = state_after(asker, screen, start, moved) else { continue };
        let late = |took, case, from| Late { from, ..Late::new(took, start, moved, case) };
        if asker.wanted(screen, &after).is_none_or(|(_, wanted)| wanted != shown) {
            let case = asker.case(start, &[moved], &Setting::default());
            Late::keep(&mut other, None, || late(None, case, Time::ZERO));
            continue;
        }
        // With everything switched on at once, 4 s before.
        let make = |asker: &Asker, setting: &Setting| {
            let (until, till) = (asker.horizon + AFTER_START, Till::Shown(screen, shown, None));
            let script = vec![(Time::ZERO, Deed::Put(start.way.clone())), (AFTER_START, Deed::Put(vec![moved]))];
            Case { way: vec![], script, until, till, ..asker.case(start, &[], setting) }
        };
        asker.play_all(false, &make, &mut |_, case, machine| {
            let record = &machine.record;
            let took = first(&record.screens[screen.0], AFTER_START, record.to, |display| display.agrees(shown));
            let took = took.map(|at| at - AFTER_START);
            Late::keep(&mut after_start, took, || late(took, case, AFTER_START));
        });
    }
    let ways = into.of(asker, screen, view, RESPONSE);
    let response = ways.by_move.iter().find(|(by, _)| *by == moved).and_then(|(_, way)| way.warm.clone());
    let mut tell = |late: Option<Late>| late.map(|late| late.tell(asker));
    let (response, after_start, other_default) = (tell(response), tell(after_start), tell(other));
    let linger = linger(asker, screen, view);
    Rear { screen, view, shown, reverse, response, after_start, linger, other_default }
}
