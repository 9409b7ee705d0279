//! The bench test of the wires without power: continuity of every wire, and no unwanted connections.

use crate::bench::assembly;
use crate::bench::copper::{self, JoinedShield, joined_shields, ways};
use crate::bench::limit::Limit;
use crate::bench::steps::{BenchGroup, BenchProbe, BenchStep, GroupKind};
use crate::lists::connections::screen_at;
use model::{Model, PartKind, PinId, WireId};
use petgraph::unionfind::UnionFind;
use quantity::Ohms;
use spec::WireMake;
use states::listed;
use std::collections::BTreeMap;

/// Resistance that crimps, splices and meter tips may add to a good wire (common practice, no source).
const JOINTS_ADD: Ohms = Ohms::new(0.1);

/// Share by which the copper may exceed its calculated resistance, for length and temperature (common practice, no
/// source).
const COPPER_ADDS: f64 = 0.2;

/// Reading that counts as no connection (common practice, no source).
pub const APART: &str = "open, above 1 MΩ";

/// The continuity of every wire: in each group of joined wires, from one end to every other; a wire in parallel with
/// others, alone.
pub fn end_to_end(model: &Model) -> BenchGroup {
    let mut steps = Vec::new();
    let not_yet = not_yet_in(model);
    let shields = joined_shields(model);
    for net in &copper::joined_wires(model) {
        steps.extend(net.beside.iter().map(|id| before_it_is_closed(model, &shields, *id)));
        let Some((first, others)) = net.ends.split_first() else { continue };
        let ways = ways(model, net, *first);
        for other in others {
            let way = ways.get(other).cloned().unwrap_or_default();
            let ids: Vec<&str> = way.iter().map(|id| model.wire(*id).id.as_str()).collect();
            let what = format!("{} {}", if ids.len() == 1 { "wire" } else { "wires" }, ids.join(", "));
            let tips = [first.tip(model), other.tip(model)];
            steps.push(reading(model, &shields, &way, what, tips, BenchProbe::Wires([*first, *other])));
        }
    }
    BenchGroup {
        title: "Every wire, end to end".to_string(),
        how: format!(
            "No supply. Nothing plugged in, connectors apart, rings and bare ends touching nothing.{not_yet} Meter on \
             ohms, one that shows hundredths: hold the tips together first, and subtract that reading from all others. \
             Move the wire while you read: the reading must not jump. Limit: the copper's resistance plus 20 %, plus \
             0.1 Ω for crimps and splices (common practice, no source)."
        ),
        kind: GroupKind::Continuity,
        set: Vec::new(),
        steps,
    }
}

/// Parts that would bridge wires under test: they are fitted after these tests.
fn not_yet_in(model: &Model) -> String {
    match assembly::names(model, assembly::in_line) {
        names if names.is_empty() => String::new(),
        names => format!(" Not fitted yet: {}.", names.join(", ")),
    }
}

/// One reading along wires, from tip to tip.
fn reading(
    model: &Model,
    shields: &[JoinedShield],
    way: &[WireId],
    what: String,
    tips: [String; 2],
    probe: BenchProbe,
) -> BenchStep {
    if let [only] = way
        && model.wire(*only).make == WireMake::Coax
    {
        return coax(model, shields, *only, what, tips);
    }
    let known = way.iter().all(|id| model.wire(*id).length.is_some());
    let cable = way.iter().any(|id| !matches!(model.wire(*id).make, WireMake::Single | WireMake::Twisted));
    let (expect, pass, limit) = if known && !cable {
        let ohms: Ohms = way.iter().map(|id| copper::resistance(model, *id)).sum();
        let most = (ohms * (1.0 + COPPER_ADDS) + JOINTS_ADD).value();
        // Rounding errors must not turn 0.11 into 0.12.
        let most = (most * 100.0 - 1e-6).ceil() / 100.0;
        let limit = Limit::Ohms { least: Ohms::default(), most: Ohms::new(most) };
        (format!("{:.2} Ω", ohms.value()), format!("at most {most:.2} Ω"), limit)
    } else {
        ("joined".to_string(), "joined".to_string(), Limit::Joined)
    };
    let [red, black] = tips;
    BenchStep { what, red, black, expect, pass, limit, probe }
}

/// The readings of a coaxial cable: its centre, its shield, and one against the other.
fn coax(model: &Model, shields: &[JoinedShield], id: WireId, what: String, [red, black]: [String; 2]) -> BenchStep {
    let [one, other] = model.wire(id).ends.map(|end| screen_at(model, end));
    let mut pass =
        format!("centre to centre joined; shield to shield ({one} to {other}) joined; centre to shield open");
    if shields.iter().any(|shield| shield.wire == id && shield.is_beside) {
        pass.push_str("; then leave the shield open at one end until section 2 is done: a ground wire is in parallel");
    }
    let (expect, limit, probe) = ("joined".to_string(), Limit::Joined, BenchProbe::Coax(id));
    BenchStep { what, red, black, expect, pass, limit, probe }
}

/// A wire beside others that would read instead of it.
fn before_it_is_closed(model: &Model, shields: &[JoinedShield], id: WireId) -> BenchStep {
    let wire = model.wire(id);
    let what = format!("wire {} alone, before its second end is crimped: others are in parallel with it", wire.id);
    let tips = wire.ends.map(|end| model.pin_name(end));
    reading(model, shields, &[id], what, tips, BenchProbe::WireAlone(id))
}

/// By pin: which group of pins it is joined to, by wires and by shields; `None` for a pin without a wire.
fn joined_pins(model: &Model) -> Vec<Option<usize>> {
    let nets = copper::joined_wires(model);
    let mut net_of: Vec<Option<usize>> = vec![None; model.pins.len()];
    for (i, net) in nets.iter().enumerate() {
        net.wires.iter().flat_map(|id| model.wire(*id).ends).for_each(|pin| {
            net_of[pin.0].get_or_insert(i);
        });
    }
    let mut groups: UnionFind<usize> = UnionFind::new(nets.len());
    for shield in joined_shields(model).iter().filter(|shield| !shield.is_beside) {
        if let [Some(one), Some(other)] = shield.ends.map(|pin| net_of[pin.0]) {
            groups.union(one, other);
        }
    }
    net_of.into_iter().map(|net| net.map(|net| groups.find(net))).collect()
}

/// Which of the pins are joined on purpose: `1, 4 and 6`, a text for each group of two or more.
fn together(model: &Model, joined: &[Option<usize>], pins: &[PinId]) -> Vec<String> {
    let mut groups: BTreeMap<Option<usize>, Vec<&str>> = BTreeMap::new();
    for pin in pins {
        groups.entry(joined[pin.0]).or_default().push(model.pin(*pin).name.as_str());
    }
    groups
        .into_iter()
        .filter(|(group, names)| group.is_some() && names.len() > 1)
        .filter_map(|(_, names)| listed(&names))
        .collect()
}

/// In each connector and part: every pin against every other, except those that are joined on purpose.
pub fn apart(model: &Model) -> BenchGroup {
    let not_yet = not_yet_in(model);
    let joined_pins = joined_pins(model);
    let mut wired = vec![false; model.pins.len()];
    model.wires.iter().filter(|w| !w.existing).flat_map(|w| w.ends).for_each(|pin| wired[pin.0] = true);
    let mut steps = Vec::new();
    for part in model.parts.iter().filter(|p| matches!(p.kind, PartKind::Connector | PartKind::Device)) {
        let pins: Vec<PinId> = part.pins.iter().copied().filter(|pin| wired[pin.0]).collect();
        if pins.len() < 2 {
            continue;
        }
        let joined = together(model, &joined_pins, &pins);
        let names: Vec<&str> = pins.iter().map(|pin| model.pin(*pin).name.as_str()).collect();
        let pass = if joined.is_empty() {
            APART.to_string()
        } else {
            format!("{APART}; joined on purpose: {}", joined.join("; "))
        };
        steps.push(BenchStep {
            what: format!("{} ({})", part.name, part.title),
            red: names.join(", "),
            black: "each of the others".to_string(),
            expect: "open".to_string(),
            pass,
            limit: Limit::Open,
            probe: BenchProbe::Apart(pins),
        });
    }
    BenchGroup {
        title: "No unwanted connections".to_string(),
        how: format!("Still no supply and nothing plugged in.{not_yet} Meter on its highest ohms range."),
        kind: GroupKind::Apart,
        set: Vec::new(),
        steps,
    }
}
