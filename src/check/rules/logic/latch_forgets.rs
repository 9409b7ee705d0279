use crate::evidence::{part_place, shown_at, waypoints};
use crate::{Finding, Finds, Repair, Rule, Severity};
use catalogue::part_form::TimerKind;
use circuit::Solution;
use facts::{Facts, Moment};
use model::{ElementKind, Input, SignalId, SignalKind};
use states::StateRow;

pub const RULE: Rule = Rule {
    name: "logic/latch-forgets",
    severity: Severity::Error,
    explanation: include_str!("latch_forgets.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let is_latch =
        |id: &SignalId| matches!(facts.model.signals[id.0].kind, SignalKind::Timer { kind: TimerKind::Toggle, .. });
    let latches = (0..facts.model.signals.len()).map(SignalId).filter(is_latch);
    let latches = latches.filter_map(|latch| Some(finding(facts, latch, held_by(facts, latch)?)));
    let relays = (0..facts.model.signals.len()).map(SignalId);
    latches.chain(relays.filter_map(|relay| of_ordinary_relay(facts, relay))).collect()
}

/// An ordinary relay that a view or a promise names as what stays on, and that is in only while a button is pressed.
fn of_ordinary_relay(facts: &Facts, relay: SignalId) -> Option<Finding> {
    let model = facts.model;
    let SignalKind::Relay { coils, latching: false } = &model.signals[relay.0].kind else { return None };
    let views = model.screens.iter().flat_map(|screen| &screen.views).map(|view| (&view.when, view.place));
    let promises = model.works.iter().map(|promise| (&promise.when, promise.place));
    let (_, named_at) = views.chain(promises).find(|(when, _)| when.names_signal(relay))?;
    let is_in = |row: &&StateRow| row.relays.contains(&relay);
    let first = facts.table().rows.iter().find(is_in)?;
    let pressed = |row: &StateRow| {
        let inputs = model.inputs.iter().zip(&row.positions);
        inputs.into_iter().find(|(input, position)| input.momentary && **position != 0).map(|(input, _)| input)
    };
    let button = pressed(first)?;
    if facts.table().cut_short || !facts.table().rows.iter().filter(is_in).all(|row| pressed(row).is_some()) {
        return None;
    }
    let part = model.part(model.signals[relay.0].part);
    let name = &model.signals[relay.0].name;
    let finding = RULE
        .finding(
            part.place,
            format!(
                "`{name}` is in only while `{}` is pressed: a `{}` keeps no position, and this spec asks for what it remembers",
                button.name, part.use_name
            ),
        )
        .about(part.name.as_str())
        .label("an ordinary relay")
        .also(named_at, "asks for it as for a memory")
        .also(button.place, "the button")
        .hint(format!("use a latching relay for `{name}`, or let one of its own contacts hold it"));
    let finding = match coils[..] {
        [coil] => finding.repaired_by(Repair::Latching(coil)),
        _ => finding,
    };
    let (finding, solution) = shown_at(facts, finding, &Moment::of(&first.solution));
    Some(match solution {
        Some(solution) => {
            let way = facts.paths().of_signal(&solution, relay);
            finding.path(waypoints(facts, &solution, &way))
        }
        None => finding,
    })
}

/// The button that is pressed in every state in which a latch is set, and the first such state; `None` for a latch that
/// stays set without a button.
fn held_by<'f>(facts: &'f Facts, latch: SignalId) -> Option<(&'f Input, &'f StateRow)> {
    let set: Vec<&StateRow> = facts.table().rows.iter().filter(|row| row.memory.contains(&latch)).collect();
    let first = set.first()?;
    let is_pressed = |i: usize| set.iter().all(|row| row.positions[i] != 0);
    let mut buttons = facts.model.inputs.iter().enumerate().filter(|(_, input)| input.momentary);
    buttons.find(|(i, _)| is_pressed(*i)).map(|(_, input)| (input, *first))
}

fn finding(facts: &Facts, latch: SignalId, (button, row): (&Input, &StateRow)) -> Finding {
    let model = facts.model;
    let part = model.signals[latch.0].part;
    let name = &model.part(part).name;
    let finding = RULE
        .finding(
            part_place(facts, part),
            format!("`{name}` is set only while `{}` is pressed, and forgets it then", button.name),
        )
        .about(name.as_str())
        .label("has no supply without the button")
        .also(button.place, "the button")
        .hint(format!(
            "feed the supply pin of `{name}` from a wire that stays live, and run the button to its trigger pin: these two \
             wires may be swapped"
        ));
    let (finding, solution) = shown_at(facts, finding, &Moment::of(&row.solution));
    let load = model.part(part).elements.iter().find_map(|id| match &model.element(*id).kind {
        ElementKind::Load(load) => Some((*id, load)),
        _ => None,
    });
    let (Some(solution), Some((id, load))) = (solution, load) else { return finding };
    let released = facts.table().rows.iter().find(|other| is_released(facts, row, other, button));
    let volts = |solution: &Solution| {
        facts.solved.assembly.volts(solution, load.feed) - facts.solved.assembly.volts(solution, load.ground)
    };
    let finding = match released {
        Some(other) => finding.limit(
            "voltage at its supply, button released",
            volts(&other.solution),
            format!("needs {}", load.least),
        ),
        None => finding,
    };
    let way = facts.paths().through(&solution, id, load.feed, load.ground);
    finding.path(waypoints(facts, &solution, &way))
}

/// Whether a state is another but for the button, which is released there.
fn is_released(facts: &Facts, pressed: &StateRow, other: &StateRow, button: &Input) -> bool {
    let inputs = facts.model.inputs.iter().zip(pressed.positions.iter().zip(&other.positions));
    inputs.into_iter().all(|(input, (before, after))| match input.name == button.name {
        true => *after == 0,
        false => before == after,
    })
}
