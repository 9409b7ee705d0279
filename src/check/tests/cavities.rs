//! Two cavities of a plug with each other's wires, planted at every plug of the demonstrations: one root, which names the
//! cavities or, where both lead to one part alone, its pins.

use super::roots::{errors, report_of};
use super::*;
use crate::Repair;
use model::{PartKind, PinId};

/// The demonstrations; the first alone in a build without optimisation.
const DEMOS: [&str; 5] =
    ["first-harness", "orchard-sprayer-pickup", "boat-tow-pickup", "wheelchair-van", "refuse-truck"];

/// The most that is planted in one demonstration.
const MOST: usize = 6;

/// The rules that name crossed wires.
const NAMES: [&str; 5] =
    ["net/swapped", "net/part-unpowered", "net/mixed-kinds", "net/coil-polarity", "logic/standard-pin"];

/// Every two cavities of a plug that carry different kinds, of one half of each plug.
fn crossings(model: &Model) -> Vec<[PinId; 2]> {
    let nets = model::joined_pins(model);
    let net = |pin: PinId| nets.iter().position(|net| net.contains(&pin));
    let mut all = Vec::new();
    for part in model.parts.iter().filter(|part| part.kind == PartKind::Connector) {
        let wired: Vec<PinId> = part.pins.iter().copied().filter(|pin| model.wires_on(*pin).next().is_some()).collect();
        for (i, &a) in wired.iter().enumerate() {
            let differs = |b: &PinId| net(a) != net(*b) && model.pin(a).domain != model.pin(*b).domain;
            all.extend(wired[i + 1..].iter().copied().filter(differs).map(|b| [a, b]));
        }
    }
    all
}

#[test]
fn two_crossed_cavities_are_one_root() {
    let demos = if cfg!(debug_assertions) { &DEMOS[..1] } else { &DEMOS[..] };
    let (mut planted, mut wrong) = (0, Vec::new());
    for demo in demos {
        let model = sample::demo(demo);
        let all = crossings(&model);
        for [a, b] in all.iter().copied().step_by(all.len().div_ceil(MOST).max(1)) {
            let report = report_of(&Repair::Exchange(a, b).repaired(&model));
            let roots = errors(&report);
            if roots.is_empty() {
                continue;
            }
            planted += 1;
            if roots.len() > 1 || !NAMES.contains(&roots[0].rule) {
                let words: Vec<&String> = roots.iter().map(|root| &root.message).collect();
                let [a, b] = [a, b].map(|pin| model.pin_name(pin));
                wrong.push(format!("{demo}: {a} and {b}: {words:#?}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{} of {planted}:\n{}", wrong.len(), wrong.join("\n"));
    assert!(cfg!(debug_assertions) || planted > 15, "{planted}");
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
