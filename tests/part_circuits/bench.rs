//! A test bench: one part on a supply, every input of it on a switch of its own, as a spec would say it.

use catalogue::part_form::{Domain, Family, Inside, PartForm, PinRole};

/// The spec of a bench for one part, called X: feeds to the battery, returns to ground, each trigger input to a switched
/// feed of its name, the part's own switch moved by `hand`.
pub fn spec(name: &str, part: &PartForm) -> String {
    let volts = part.nominal.map_or(12.0, |v| v.value());
    let triple = [0.9, 1.05, 1.2].map(|share| format!("{} V", volts * share)).join(", ");
    let ground = if part.family == Family::Ground { name } else { "ring-m6" };
    let (inputs, wires) = wiring(part);
    format!(
        "harness: 1\n\
         job: {{title: Bench, nominal: {volts} V}}\n\
         places: [bench]\n\
         supplies:\n  battery: {{terminal: \"30\", at: bench, volts: [{triple}], resistance: 10 mΩ}}\n\
         grounds:\n  G: {{at: bench, use: {ground}}}\n\
         inputs: {{{}}}\n\
         {}\
         wires: [{}]\n",
        inputs.join(", "),
        entry(name, part),
        wires.join(", ")
    )
}

/// The inputs and the wires of the bench.
fn wiring(part: &PartForm) -> (Vec<String>, Vec<String>) {
    let (mut inputs, mut wires) = (Vec::new(), Vec::new());
    for (pin, form) in part.pins.iter() {
        let pin = &pin.value;
        let other = match (form.domain, form.is) {
            (Domain::Ground, _) => "G".to_string(),
            (Domain::Power, Some(PinRole::Feed)) => "battery".to_string(),
            (Domain::Trigger, Some(PinRole::Input)) => {
                inputs.push(format!("to-{pin}: {{kind: switched-feed, at: bench}}"));
                format!("to-{pin}")
            }
            _ => continue,
        };
        wires.push(format!("{{id: {}, from: X.{pin}, to: {other}, gauge: 1 mm²}}", wires.len() + 1));
    }
    if part.inside.iter().any(|inside| matches!(inside, Inside::Switch(_))) {
        inputs.push("hand: {kind: toggle, part: X}".into());
    }
    (inputs, wires)
}

fn entry(name: &str, part: &PartForm) -> String {
    let section = match part.family {
        Family::Ground => return String::new(),
        Family::Connector => "connectors",
        Family::Splice => "splices",
        Family::Camera => "cameras",
        Family::Player | Family::Recorder => "sources",
        _ => "parts",
    };
    let rating = part.ratings.first().map_or_else(String::new, |rating| format!(", rating: {rating}"));
    format!("{section}: {{X: {{use: {name}, at: bench{rating}}}}}\n")
}
