//! Two cavities of a plug with each other's wires, planted at every plug of the demonstrations: one root, which names the
//! cavities or, where both lead to one part alone, its pins. An exchange that changes nothing is listed with its reason.

use super::roots::{errors, report_of};
use super::*;
use crate::Repair;
use model::{Domain, PartId, PartKind, PinId};

/// The demonstrations with plugs, each with the most exchanges at one plug; of a build without optimisation only the first.
const DEMOS: [(&str, usize); 4] =
    [("wheelchair-van", 6), ("orchard-sprayer-pickup", 6), ("boat-tow-pickup", 4), ("refuse-truck", 2)];

/// The demonstration with the most states, and how a single root there that names no cavities is marked.
const LARGE: &str = "refuse-truck";
const UNNAMED: &str = " (one root)";

/// How many plugs of a demonstration are enough without optimisation, and exchanges at each.
const FEW: usize = 1;

/// The rules that name crossed wires.
const NAMES: [&str; 5] =
    ["net/swapped", "net/part-unpowered", "net/mixed-kinds", "net/coil-polarity", "logic/standard-pin"];

/// Two cavities of one plug.
struct Crossing {
    pins: [PinId; 2],
    /// Whether they carry different kinds of signal: then one root names them.
    differs_in_kind: bool,
}

/// For each plug, every two cavities with wires of different nets, of the half that is first in the model; different kinds of
/// signal first.
fn crossings(model: &Model) -> Vec<(PartId, Vec<Crossing>)> {
    let nets = model::joined_pins(model);
    let net = |pin: PinId| nets.iter().position(|net| net.contains(&pin));
    let mut seen: Vec<PinId> = Vec::new();
    let mut plugs = Vec::new();
    for part in model.part_ids().filter(|part| model.part(*part).kind == PartKind::Connector) {
        let pins = &model.part(part).pins;
        let wired: Vec<PinId> = pins.iter().copied().filter(|pin| model.wires_on(*pin).next().is_some()).collect();
        if wired.iter().any(|pin| seen.contains(pin)) {
            continue;
        }
        let joints = model.joints.iter().filter(|joint| joint.pins.iter().any(|pin| wired.contains(pin)));
        seen.extend(joints.flat_map(|joint| joint.pins));
        let mut all: Vec<Crossing> = Vec::new();
        for (i, &a) in wired.iter().enumerate() {
            let others = wired[i + 1..].iter().copied().filter(|b| net(a) != net(*b));
            let crossing =
                |b: PinId| Crossing { pins: [a, b], differs_in_kind: model.pin(a).domain != model.pin(b).domain };
            all.extend(others.map(crossing));
        }
        all.sort_by_key(|crossing| !crossing.differs_in_kind);
        plugs.push((part, all));
    }
    plugs
}

/// Why an exchange is no fault; `None` if it is one.
fn harmless(model: &Model, [a, b]: [PinId; 2]) -> Option<&'static str> {
    let carries = |pin: PinId| model.wires_on(pin).next().map(|wire| model.wire(wire).domain);
    match [carries(a), carries(b)] {
        [Some(Domain::Ground), Some(Domain::Ground)] => Some("both are grounds"),
        _ if same_source(model, a, b) => Some("both come from one source"),
        _ => None,
    }
}

/// Whether two feeds come from one supply over fuses alone, so that each gets the same voltage at the same times.
fn same_source(model: &Model, a: PinId, b: PinId) -> bool {
    let solved = Solved::new(model);
    let facts = facts::Facts::new(&solved);
    let sources = |pin: PinId| -> Vec<PinId> {
        let is_fuse =
            |id: model::ElementId, _: [PinId; 2]| matches!(model.element(id).kind, model::ElementKind::Fuse { .. });
        let reached = facts.connectivity().reached_by(pin, facts::walk::Towards::Supply, &is_fuse);
        let is_source =
            |pin: &PinId| matches!(model.part(model.pin(*pin).part).kind, PartKind::Supply | PartKind::Feed);
        reached.into_iter().filter(is_source).collect()
    };
    let (one, other) = (sources(a), sources(b));
    !one.is_empty() && one == other
}

#[test]
fn two_crossed_cavities_are_one_root() {
    let is_quick = cfg!(debug_assertions);
    let demos = if is_quick { &DEMOS[..1] } else { &DEMOS[..] };
    let (mut planted, mut plugs, mut wrong, mut silent) = (0, 0, Vec::new(), Vec::new());
    for (demo, most) in demos {
        let model = sample::demo(demo);
        let all = crossings(&model);
        let (at_plugs, most) = if is_quick { (FEW, FEW) } else { (all.len(), *most) };
        for (_, all) in all.into_iter().take(at_plugs) {
            plugs += usize::from(!all.is_empty());
            let step = all.len().div_ceil(most).max(1);
            for crossing in all.iter().step_by(step) {
                let [a, b] = crossing.pins;
                let names = crossing.pins.map(|pin| model.pin_name(pin));
                let report = report_of(&Repair::Exchange(a, b).repaired(&model));
                let roots = errors(&report);
                planted += 1;
                let is_silent = !report.roots().any(|root| root.severity < Severity::Note);
                if is_silent {
                    match harmless(&model, [a, b]) {
                        Some(why) => silent.push(format!("{demo}: {names:?}: {why}")),
                        None => wrong.push(format!("{demo}: {names:?}: nothing is found")),
                    }
                } else if crossing.differs_in_kind
                    && (roots.len() > 1 || roots.iter().any(|root| !NAMES.contains(&root.rule)))
                {
                    let words: Vec<&String> = roots.iter().map(|root| &root.message).collect();
                    let is_one = roots.len() == 1 && *demo == LARGE;
                    wrong.push(format!("{demo}: {names:?}{}: {words:#?}", if is_one { UNNAMED } else { "" }));
                }
            }
        }
    }
    // A harness with many states leaves work for a few trials only.
    let (unnamed, wrong): (Vec<String>, Vec<String>) = wrong.into_iter().partition(|one| one.contains(UNNAMED));
    assert!(unnamed.len() * 10 <= planted, "{unnamed:?}");
    // Exchanges that change nothing are listed with their reason; no planted exchange is among them.
    assert_eq!(silent, Vec::<String>::new());
    assert!(wrong.is_empty(), "{} of {planted}:\n{}", wrong.len(), wrong.join("\n"));
    assert!(planted > if is_quick { 0 } else { 40 } && plugs > if is_quick { 0 } else { 20 }, "{planted} at {plugs}");
}

/// A fuse that is too small behind a plug is no crossing.
#[test]
fn a_fuse_that_is_too_small_crosses_no_cavities() {
    let spec = PLUG.replace("rating: 5 A", "rating: 2 A");
    let (_, report) = specimens::report(&spec).unwrap();
    let rules: Vec<&str> = errors(&report).iter().map(|finding| finding.rule).collect();
    assert_eq!(rules, ["load/fuse-loaded"]);
}

/// A lamp that is on all the time drains the battery: that shows no crossing, though a crossing would drain less.
#[test]
fn a_drain_alone_crosses_no_cavities() {
    assert!(errors(&specimens::report(PLUG).unwrap().1).is_empty());
    let always = PLUG.replace("from: SW1.on, to: WL.power", "from: X1T.2, to: WL.power");
    let (_, report) = specimens::report(&always).unwrap();
    assert!(!report.findings.iter().any(|finding| finding.message.contains("of `X1`")), "{:?}", errors(&report));
}

/// A screen on the key and a work light that a switch turns on, behind one plug.
const PLUG: &str = "harness: 1
job: {title: A plug, nominal: 12 V}
places: [dash, tail]
runs: [{between: [dash, tail], length: 2 m}]
supplies:
  battery: {terminal: \"30\", at: dash, volts: [11.8 V, 12.6 V, 14.6 V], capacity: 60 Ah}
  accessory: {terminal: \"75\", at: dash, follows: key, fuse: 20 A}
grounds: {G1: {at: dash}, G2: {at: tail}}
inputs: {key: {positions: [off, run]}, go: {kind: toggle, part: SW1}}
accessories:
  WL: {use: led-worklight, at: tail, works: {when: go}}
parts:
  CAM: {use: camera-cvbs-12v, at: tail, format: cvbs-pal}
  SC: {use: screen-2in-12v, at: dash}
  F1: {use: fuse-blade, rating: 1 A, at: dash}
  F2: {use: fuse-blade, rating: 5 A, at: dash}
  SW1: {use: toggle-spst, at: tail}
connectors:
  X1: {use: connector-4-sealed, at: tail}
  X1T: {use: connector-4-sealed, at: tail, mates: X1}
splices: {SA: {at: dash}}
wires:
  - {id: 1, from: accessory, to: F1.1, gauge: 1.5 mm²}
  - {id: 2, from: F1.2, to: SA}
  - {id: 3, from: SA, to: X1.1}
  - {id: 4, from: battery, to: F2.1, gauge: 2.5 mm²}
  - {id: 5, from: F2.2, to: X1.2}
  - {id: 6, from: X1T.1, to: CAM.power}
  - {id: 7, from: X1T.2, to: SW1.common}
  - {id: 8, from: SW1.on, to: WL.power}
  - {id: 9, from: WL.ground, to: G2}
  - {id: 10, from: CAM.ground, to: X1T.3}
  - {id: 11, from: X1.3, to: G1}
  - {id: 12, from: CAM.video, to: X1T.4, make: coax}
  - {id: 13, from: X1.4, to: SC.cam1, make: coax}
  - {id: 14, from: SA, to: SC.power}
  - {id: 15, from: SC.ground, to: G1}
";
