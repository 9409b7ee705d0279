//! Steps to states in words, in the vehicle and at the bench.

use circuit::{ActorId, Assembly, State};
use explore::Move;
use model::{ElementKind, Model, PartId, PartKind, SignalId, SignalKind};
use states::WalkStep;

/// The steps in words, for someone in the vehicle: `Key run`, `press Trailer picture (SW1) and let go`.
pub fn in_vehicle(model: &Model, assembly: &Assembly, moves: &[Move]) -> Vec<String> {
    let mut words = Vec::new();
    let mut moves = moves.iter().peekable();
    while let Some(by) = moves.next() {
        words.push(match by {
            Move::Connect => "connect the battery".to_string(),
            Move::PowerLoss => "disconnect the battery and connect it again".to_string(),
            Move::Elapsed(actor) => wait(model, assembly, *actor),
            Move::Input(id, position) => {
                let input = &model.inputs[id.index()];
                let let_go = input.momentary && *position != 0 && moves.peek() == Some(&&Move::Input(*id, 0));
                if let_go {
                    moves.next();
                }
                let switch = input.switch.map(|part| format!(" ({})", model.part(part).name)).unwrap_or_default();
                match (input.momentary, *position) {
                    (true, 0) => format!("let go of {}{switch}", input.title),
                    (true, _) if let_go => format!("press {}{switch} and let go", input.title),
                    (true, _) => format!("press {}{switch} and hold it", input.title),
                    (false, at) => format!("{} {}", input.title, input.positions[usize::from(at)]),
                }
            }
        });
    }
    words
}

/// The same at the bench, where a supply's clips replace the vehicle: `plus on end of wire 4 (reverse)`,
/// `press SW1 (Trailer picture) and let go`.
pub fn at_bench(model: &Model, assembly: &Assembly, changes: &[WalkStep]) -> Vec<String> {
    let mut words = Vec::new();
    let mut changes = changes.iter().peekable();
    while let Some(change) = changes.next() {
        let Move::Input(id, position) = change.by else {
            if let Move::Elapsed(actor) = change.by {
                words.push(wait(model, assembly, actor));
            }
            continue;
        };
        let input = &model.inputs[id.index()];
        let let_go = input.momentary
            && position != 0
            && changes.peek().is_some_and(|next| next.by == Move::Input(id, 0))
            && changes.next().is_some();
        let [before, after] = [&change.before, &change.after].map(|state| Clips::of(model, assembly, state));
        let mut done = after.changes(model, &before);
        if let Some(switch) = input.switch {
            let (name, at) = (&model.part(switch).name, &input.positions[usize::from(position)]);
            let title = &input.title;
            done.push(match (input.momentary, position) {
                (true, 0) => format!("let go of {name} ({title})"),
                (true, _) if let_go => format!("press {name} ({title}) and let go"),
                (true, _) => format!("press {name} ({title}) and hold it"),
                (false, _) => format!("{name} ({title}) to {at}"),
            });
        } else if let_go {
            done.iter_mut().for_each(|done| done.push_str(" for a moment"));
        }
        if !done.is_empty() {
            words.push(done.join(" and "));
        }
    }
    words
}

/// `wait until the hold time of T1 has run out (3 s)`.
fn wait(model: &Model, assembly: &Assembly, actor: ActorId) -> String {
    let mine = (0..model.signals.len()).map(SignalId).find(|id| assembly.actor(*id) == Some(actor));
    match mine.map(|id| &model.signals[id.0]) {
        Some(signal) => match &signal.kind {
            SignalKind::Timer { kind, time, .. } => {
                format!("wait until the {kind} time of {} has run out ({time})", model.part(signal.part).name)
            }
            _ => format!("wait until {} has moved", signal.name),
        },
        None => "wait".to_string(),
    }
}

/// Where the poles of a bench supply go in a state: plus on these, minus on these besides the ground rings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clips {
    /// Supplies and feeds that are live.
    pub plus: Vec<PartId>,
    /// Feeds that go to ground.
    pub minus: Vec<PartId>,
}

/// Where the clip for a supply or a feed of the vehicle goes: the loose ends of the wires that will be joined to it,
/// `end of wire 4 (accessory)`; `None` if no wire of the harness will.
pub fn clip(model: &Model, id: PartId) -> Option<String> {
    let part = model.part(id);
    let wires = part.pins.iter().flat_map(|pin| model.wires_on(*pin));
    let ids: Vec<&str> = wires.map(|id| model.wire(id)).filter(|w| !w.existing).map(|w| w.id.as_str()).collect();
    match ids[..] {
        [] => None,
        [one] => Some(format!("end of wire {one} ({})", part.name)),
        _ => Some(format!("ends of wires {} ({})", ids.join(", "), part.name)),
    }
}

impl Clips {
    /// In a state.
    pub fn of(model: &Model, assembly: &Assembly, state: &State) -> Clips {
        let mut clips = Clips { plus: Vec::new(), minus: Vec::new() };
        let holds = |when| state.holds(&assembly.logic(when));
        for id in model.part_ids() {
            let part = model.part(id);
            if !matches!(part.kind, PartKind::Supply | PartKind::Feed) {
                continue;
            }
            for element in part.elements.iter().map(|element| &model.element(*element).kind) {
                match element {
                    ElementKind::Battery { .. } => clips.plus.push(id),
                    ElementKind::Derived { when, .. } if holds(when) => clips.plus.push(id),
                    ElementKind::Feed(feed) if holds(&feed.when) && feed.from.is_some() => clips.plus.push(id),
                    ElementKind::Feed(feed) if holds(&feed.when) => clips.minus.push(id),
                    _ => {}
                }
            }
        }
        clips
    }

    /// In words what is clipped on and off to come from other clips to these: `plus on end of wire 4 (reverse)`.
    pub fn changes(&self, model: &Model, before: &Clips) -> Vec<String> {
        let names = |ids: &[PartId], without: &[PartId]| -> Option<String> {
            let names: Vec<String> =
                ids.iter().filter(|id| !without.contains(id)).filter_map(|id| clip(model, *id)).collect();
            (!names.is_empty()).then(|| names.join(", "))
        };
        let reported = |word: &str, names: Option<String>| names.map(|names| format!("{word} {names}"));
        [
            reported("plus off", names(&before.plus, &self.plus)),
            reported("minus off", names(&before.minus, &self.minus)),
            reported("plus on", names(&self.plus, &before.plus)),
            reported("minus on", names(&self.minus, &before.minus)),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}
