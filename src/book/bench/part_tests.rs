//! The bench test of each part by itself: fuses, diodes, coils and contacts, resistors, switches.

use crate::bench::continuity::APART;
use crate::bench::limit::Limit;
use crate::bench::steps::{BenchGroup, BenchProbe, BenchStep, GroupKind};
use catalogue::part_form::Acts;
use facts::bench::BuildFault;
use model::{Coil, ElementId, ElementKind, Family, Model, PartKind, PinId, SignalId, SignalKind};
use quantity::{Ohms, Share, Volts};

/// How far a coil or a resistor may be off (common practice, no source).
const TOLERANCE: Share = Share::new(0.1);

/// Each part by itself: fuses, diodes, coils and rest contacts, resistors, switches, and the times that modules are set
/// to.
pub fn parts_alone(model: &Model) -> BenchGroup {
    let mut steps = Vec::new();
    for (i, element) in model.elements.iter().enumerate() {
        let (id, part) = (ElementId(i), model.part(element.part));
        if part.existing || matches!(part.kind, PartKind::Supply | PartKind::Feed | PartKind::Ground) {
            continue;
        }
        let what = format!("{} ({})", part.name, part.title);
        let mut step = |tips: [PinId; 2], expect: String, pass: String, limit: Limit, shows: Vec<BuildFault>| {
            let [red, black] = tips.map(|pin| model.pin_name(pin));
            steps.push(BenchStep {
                what: what.clone(),
                red,
                black,
                expect,
                pass,
                limit,
                probe: BenchProbe::Part(shows),
            });
        };
        match &element.kind {
            ElementKind::Fuse { between: [a, b], rating, .. } => {
                let shows = vec![BuildFault::OtherRating(id), BuildFault::Missing(id)];
                step([*a, *b], format!("{rating} marked on it"), "joined".to_string(), Limit::Joined, shows);
            }
            ElementKind::Diode { anode, cathode, knee, .. } => {
                let silicon = knee.value() >= 0.5;
                let [least, most] = if silicon { [0.4, 0.8] } else { [0.1, 0.4] }.map(Volts::new);
                let expect = format!("{:.1} V to {:.1} V on the diode range", least.value(), most.value());
                let limit = Limit::Volts { least: Some(least), most };
                let shows = vec![BuildFault::Shorted(id), BuildFault::Missing(id)];
                step([*anode, *cathode], expect, "open with the tips swapped".to_string(), limit, shows);
            }
            ElementKind::Coil(coil) => {
                let (expect, limit) = (coil.resistance.to_string(), near(coil.resistance));
                step([coil.feed, coil.ground], expect, coil_pass(coil), limit, vec![BuildFault::OpenCoil(id)]);
            }
            ElementKind::Contact { common, rest, made, relay, .. } => {
                let turned = turned_back(model, *relay).map(|words| format!("; {words}")).unwrap_or_default();
                let shows = || vec![BuildFault::StaysMade(id)];
                if let Some(rest) = rest {
                    let pass = format!("joined{turned}");
                    step([*common, *rest], "joined".to_string(), pass, Limit::Joined, shows());
                }
                if let Some(made) = made {
                    let pass = format!("{APART}{turned}");
                    step([*common, *made], "open".to_string(), pass, Limit::Open, shows());
                }
            }
            ElementKind::Resistor { between: [a, b], resistance, .. } if part.form.family == Family::Resistor => {
                step([*a, *b], resistance.to_string(), within(), near(*resistance), vec![BuildFault::Missing(id)]);
            }
            ElementKind::Throw { input: Some(input), common, throw, when, .. } => {
                let positions = &model.inputs[input.0].positions;
                let closed: Vec<&str> = (0..positions.len())
                    .filter(|at| when.holds(&|id| if id == *input { *at } else { 0 }, &|_| false))
                    .map(|at| positions[at].as_str())
                    .collect();
                let pass = format!("joined at {}, open otherwise", closed.join(", "));
                let expect = format!("joined at {}", closed.join(", "));
                step([*common, *throw], expect, pass, Limit::Confirmed, Vec::new());
            }
            _ => {}
        }
    }
    BenchGroup {
        title: "Each part by itself".to_string(),
        how: "Before the part is plugged or crimped in. A coil with a diode across it reads correctly with red on the first pin only."
            .to_string(),
        kind: GroupKind::Part,
        set: Vec::new(),
        steps,
    }
}

/// `within 10 %`.
fn within() -> String {
    format!("within {TOLERANCE}")
}

/// Within the tolerance of a resistance.
fn near(resistance: Ohms) -> Limit {
    Limit::Ohms { least: resistance * (1.0 - TOLERANCE.value()), most: resistance * (1.0 + TOLERANCE.value()) }
}

fn coil_pass(coil: &Coil) -> String {
    match coil.acts {
        Acts::Holds => within(),
        acts => format!("{}; this coil {acts}", within()),
    }
}

/// How to reset a latching relay that is delivered set; `None` for a relay that does not latch.
fn turned_back(model: &Model, relay: SignalId) -> Option<String> {
    let SignalKind::Relay { coils, latching: true } = &model.signals[relay.0].kind else { return None };
    let coil = |id: &model::ElementId| match &model.element(*id).kind {
        ElementKind::Coil(coil) if matches!(coil.acts, Acts::Resets | Acts::Toggles) => Some(coil),
        _ => None,
    };
    let coil = coils.iter().find_map(coil)?;
    let [feed, ground] = [coil.feed, coil.ground].map(|pin| model.pin(pin).name.to_string());
    Some(format!("if it came set, reset it: {} on {feed}, ground on {ground} for a moment", model.job.nominal))
}
