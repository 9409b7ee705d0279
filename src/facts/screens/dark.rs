//! Screens without power where the views promise their home page. With the ignition off, or switched off by the driver, a
//! screen may be dark; what else keeps it dark is a fault.

use crate::Explored;
use crate::moment::{Shows, note};
use circuit::{ActorId, Position};
use explore::About;
use model::{InputId, Model, ScreenId, Shown, SignalId, SignalKind};
use spec::InputKind;
use states::{Picture, Solved, read_screen};
use std::collections::{BTreeMap, BTreeSet};

/// What may switch a screen off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Switch {
    /// An input that the vehicle's supplies follow.
    Ignition(InputId),
    /// A switch that the driver moves.
    Driver(InputId),
    /// A latching relay.
    Latch(SignalId, ActorId),
}

/// Where each switch stands.
type Stand = Vec<(Switch, Position)>;

/// The lines of a screen's views that promise the home page and get a dark screen without a good reason, at the nominal corner.
///
/// A dark state has a good reason if a switch stands where it turns the screen off: the screen is dark in every state
/// with the switch there, and in another position of it the screen has power. A switch of the driver's has to leave the line
/// some state in which it is kept; an ignition need not.
pub(super) fn dark_lines(solved: &Solved, explored: &Explored, about: &About, id: ScreenId) -> BTreeMap<usize, Shows> {
    let switches = switches(solved);
    let circuit = &solved.assembly.circuit;
    let views = &solved.model.screens[id.0].views;
    let is_home = |view: &usize| views[*view].show == Shown::Home;
    let mut lit: BTreeSet<(Switch, Position)> = BTreeSet::new();
    let mut kept: BTreeSet<(usize, Switch)> = BTreeSet::new();
    let mut dark: BTreeMap<(usize, Stand), Shows> = BTreeMap::new();
    let Some(nominal) = explored.all().next() else { return BTreeMap::new() };
    nominal.visit_about(circuit, about, &mut |solution| {
        if !solution.state.pending(circuit).is_empty() {
            return;
        }
        let reading = read_screen(solved, solution, id);
        let home = reading.view.filter(is_home);
        let at = |switch: &Switch| match switch {
            Switch::Ignition(input) | Switch::Driver(input) => solution.position(solved.assembly.input(*input)),
            Switch::Latch(_, actor) => Position::from(solution.on(*actor)),
        };
        let stand = switches.iter().map(|switch| (*switch, at(switch)));
        match (reading.picture, home) {
            (Picture::Dark, None) => {}
            (Picture::Dark, Some(view)) => note(&mut dark, (view, stand.collect()), solution),
            (_, home) => {
                lit.extend(stand);
                kept.extend(home.into_iter().flat_map(|view| switches.iter().map(move |switch| (view, *switch))));
            }
        }
    });
    let turns_off = |view: usize, (switch, at): (Switch, Position)| {
        let is_lit_elsewhere = lit.iter().any(|(other, _)| *other == switch);
        let may = matches!(switch, Switch::Ignition(_)) || kept.contains(&(view, switch));
        may && is_lit_elsewhere && !lit.contains(&(switch, at))
    };
    let mut lines: BTreeMap<usize, Shows> = BTreeMap::new();
    for ((view, stand), shows) in dark {
        if stand.into_iter().any(|one| turns_off(view, one)) {
            continue;
        }
        match lines.get_mut(&view) {
            Some(known) => known.join(shows),
            None => {
                lines.insert(view, shows);
            }
        }
    }
    lines
}

/// What may switch a screen off: inputs without a wire, toggles, wires of the vehicle without a meaning of their own that are
/// live while on, latching relays.
fn switches(solved: &Solved) -> Vec<Switch> {
    let model = solved.model;
    let of_input = |id: InputId| match model.inputs[id.0].kind {
        None => Some(Switch::Ignition(id)),
        Some(InputKind::SwitchedFeed) if model.inputs[id.0].means.is_none() => Some(Switch::Ignition(id)),
        Some(InputKind::Toggle) => Some(Switch::Driver(id)),
        Some(_) => None,
    };
    let latches = (0..model.signals.len()).map(SignalId).filter(|id| is_latch(model, *id));
    let inputs = (0..model.inputs.len()).map(InputId).filter_map(of_input);
    inputs.chain(latches.filter_map(|id| Some(Switch::Latch(id, solved.assembly.actor(id)?)))).collect()
}

fn is_latch(model: &Model, id: SignalId) -> bool {
    matches!(model.signals[id.0].kind, SignalKind::Relay { latching: true, .. })
}
