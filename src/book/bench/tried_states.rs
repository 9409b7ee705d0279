//! Which states the bench test tries.

use crate::lists::states::state_of;
use circuit::Reading;
use model::{ScreenId, Shown, SignalId, SignalKind};
use spec::InputKind;
use states::{Picture, Solved, StateRow, StateTable};

/// Most states that are tried at the bench; the state table has them all.
const MOST_STATES: usize = 40;

/// The states to test: all inputs at rest; one for each view of each screen; those with conflicting requests (all turn
/// signals together, each pair of triggers of a screen, each pair of lines of its intent); one for each relay that is in;
/// one for each part that should work; and one for each input that none of these moves.
pub(super) fn tried<'t>(solved: &Solved, table: &'t StateTable) -> Vec<&'t StateRow> {
    let model = solved.model;
    let mut rows: Vec<&StateRow> = table.rows.first().into_iter().collect();
    let mut add = |row: Option<&'t StateRow>| {
        if let Some(row) = row.filter(|row| !rows.iter().any(|r| std::ptr::eq(*r, *row))) {
            rows.push(row);
        }
    };
    for screen in (0..model.screens.len()).map(ScreenId) {
        for view in 0..model.screens[screen.0].views.len() {
            add(state_of(table, screen, view));
        }
    }
    add(hazards(solved, table));
    for screen in &model.screens {
        let sense = |id: &SignalId| {
            model.signals[id.0].part == screen.part && matches!(model.signals[id.0].kind, SignalKind::Sense { .. })
        };
        let triggers: Vec<SignalId> = (0..model.signals.len()).map(SignalId).filter(sense).collect();
        for (i, one) in triggers.iter().enumerate() {
            for other in &triggers[i + 1..] {
                let both = |row: &&StateRow| !row.passing && is_on(solved, row, *one) && is_on(solved, row, *other);
                add(table.rows.iter().find(both));
            }
        }
    }
    // Two lines of the intent at once: a relay or a diode often exists only to decide between them.
    for screen in &model.screens {
        let holds = |row: &StateRow, view: usize| solved.assembly.holds(&row.solution, &screen.views[view].when);
        let names = |view: &usize| matches!(screen.views[*view].show, Shown::Source(_));
        let views: Vec<usize> = (0..screen.views.len()).filter(names).collect();
        for (i, one) in views.iter().enumerate() {
            for other in &views[i + 1..] {
                let both = |row: &&StateRow| !row.passing && holds(row, *one) && holds(row, *other);
                if !rows.iter().any(both) {
                    rows.extend(table.rows.iter().find(both));
                }
            }
        }
    }
    for relay in (0..model.signals.len()).map(SignalId) {
        let moved = |row: &&StateRow| !row.passing && is_on(solved, row, relay);
        let is_relay = matches!(model.signals[relay.0].kind, SignalKind::Relay { .. });
        if is_relay && !rows.iter().any(moved) {
            rows.extend(table.rows.iter().find(moved));
        }
    }
    for promise in &model.works {
        let asked = |row: &&StateRow| !row.passing && solved.assembly.holds(&row.solution, &promise.when);
        if !rows.iter().any(asked) {
            rows.extend(table.rows.iter().find(asked));
        }
    }
    // What no line of the intent names is tried anyway: the brake that only feeds a trailer.
    for (i, input) in model.inputs.iter().enumerate().filter(|(_, input)| input.pin.is_some() || input.switch.is_some())
    {
        let moved = |row: &&StateRow| row.positions[i] != 0;
        if !input.momentary && !rows.iter().any(moved) {
            let row = table.rows.iter().find(|row| !row.passing && moved(row));
            rows.extend(row);
        }
    }
    rows.truncate(MOST_STATES);
    rows
}

/// Of the states with every turn signal on, the one with the most lit screens, triggers, holds and latches for the
/// fewest inputs.
fn hazards<'t>(solved: &Solved, table: &'t StateTable) -> Option<&'t StateRow> {
    let model = solved.model;
    let flashers: Vec<usize> =
        (0..model.inputs.len()).filter(|i| model.inputs[*i].kind == Some(InputKind::FlasherFeed)).collect();
    if flashers.len() < 2 {
        return None;
    }
    let worth = |row: &StateRow| {
        let of_screen = |id: &SignalId| {
            let signal = &model.signals[id.0];
            matches!(signal.kind, SignalKind::Sense { .. }) && model.screens.iter().any(|s| s.part == signal.part)
        };
        let triggers = (0..model.signals.len()).map(SignalId).filter(of_screen);
        let on = triggers.filter(|id| is_on(solved, row, *id)).count() + row.memory.len();
        let lit = row.screens.iter().filter(|screen| screen.picture != Picture::Dark).count();
        let inputs = row.solution.state.positions.away();
        (on + 2 * lit) as i64 - inputs as i64
    };
    let all = table.rows.iter().filter(|row| !row.passing && flashers.iter().all(|i| row.positions[*i] != 0));
    all.min_by_key(|row| std::cmp::Reverse(worth(row)))
}

fn is_on(solved: &Solved, row: &StateRow, id: SignalId) -> bool {
    solved.assembly.reading(solved.model, &row.solution, id) == Reading::On
}
