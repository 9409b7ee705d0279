//! One cause, one root, where many parts show it: a wire left out before relays and modules, a converter with too many loads,
//! a wire too thin, a lamp behind a pin of a standard socket, a relay that follows a flasher.

use super::roots::errors;
use super::*;
use model::{Domain, WireId};

fn roots_without(model: &Model, wire: WireId) -> Vec<Finding> {
    let report = check(&Solved::new(&model::without_wires(model.clone(), &[wire])));
    errors(&report).into_iter().cloned().collect()
}

/// Every wire that feeds or triggers something, left out in turn: at most one error, and where that says which wire is missing,
/// it is this one.
fn assert_one_root_each(demo: &str, step: usize, most_several: usize, least_named: usize) {
    let model = sample::demo(demo);
    let feeds = |id: &WireId| matches!(model.wire(*id).domain, Domain::Power | Domain::Trigger);
    let (mut several, mut named, mut planted) = (Vec::new(), 0, 0);
    for wire in model.wire_ids().filter(feeds).step_by(step) {
        let roots = roots_without(&model, wire);
        let ends = model.wire(wire).ends.map(|end| format!("`{}`", model.pin_name(end)));
        planted += 1;
        named += usize::from(roots.iter().any(|root| ends.iter().all(|end| root.hint.contains(end))));
        if roots.len() > 1 {
            let words: Vec<&String> = roots.iter().map(|root| &root.message).collect();
            several.push(format!("{demo}: wire {} {ends:?}: {words:#?}", model.wire(wire).id));
        }
    }
    assert!(several.len() <= most_several, "{} of {planted}:\n{}", several.len(), several.join("\n"));
    assert!(named >= least_named, "{named} of {planted}");
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_feed_that_is_left_out_is_one_root_in_the_sprayer() {
    assert_one_root_each("orchard-sprayer-pickup", 1, 7, 8);
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_feed_that_is_left_out_is_one_root_in_the_van() {
    assert_one_root_each("wheelchair-van", 2, 5, 3);
}

/// A converter for 5 A with a screen, a camera and three work lights.
const CONVERTER: &str = "harness: 1
job: {title: A converter, nominal: 24 V}
places: [dash]
supplies:
  battery: {terminal: \"30\", at: dash, volts: [23.2 V, 25.2 V, 28.8 V]}
  accessory: {terminal: \"75\", at: dash, follows: key, fuse: 20 A}
grounds: {GND: {at: dash}}
inputs: {key: {positions: [off, run]}}
screens: {dash: {part: SC}}
views: {dash: [{when: key, show: CAM}, {otherwise: black}]}
cameras: {CAM: {use: camera-cvbs-12v, at: dash, format: cvbs-pal}}
accessories:
  W1: {use: led-worklight, at: dash, works: key}
  W2: {use: led-worklight, at: dash, works: key}
  W3: {use: led-worklight, at: dash, works: key}
  BZ: {use: buzzer-12v, at: dash, works: key}
parts:
  F1: {use: fuse-blade, rating: 7.5 A, at: dash}
  CV: {use: converter-24-12-5a, at: dash}
  SC: {use: screen-2in-12v, at: dash}
splices: {S1: {at: dash}, S2: {at: dash}}
wires:
  - {id: 1, from: accessory, to: F1.1, gauge: 1.5 mm²}
  - {id: 2, from: F1.2, to: CV.in, gauge: 1.5 mm²}
  - {id: 3, from: CV.ground, to: GND, gauge: 1.5 mm²}
  - {id: 4, from: CV.out, to: S1, gauge: 1.5 mm²}
  - {id: 5, from: S1, to: S2, gauge: 1.5 mm²}
  - {id: 6, from: S1, to: SC.power}
  - {id: 7, from: S1, to: SC.REV}
  - {id: 8, from: SC.ground, to: GND}
  - {id: 9, from: S2, to: CAM.power}
  - {id: 10, from: CAM.ground, to: GND}
  - {id: 11, from: CAM.video, to: SC.cam1, make: coax}
  - {id: 12, from: S2, to: W1.power}
  - {id: 13, from: S2, to: W2.power}
  - {id: 14, from: S2, to: W3.power}
  - {id: 15, from: W1.ground, to: GND}
  - {id: 16, from: W2.ground, to: GND}
  - {id: 17, from: W3.ground, to: GND}
  - {id: 18, from: S1, to: BZ.power}
  - {id: 19, from: BZ.ground, to: GND}
";

#[test]
fn a_converter_with_too_many_loads_is_one_root() {
    let (_, report) = specimens::report(CONVERTER).unwrap();
    let roots: Vec<&str> = errors(&report).iter().map(|root| root.rule).collect();
    assert_eq!(roots, ["load/output-overloaded"]);
    assert!(report.findings.len() - report.roots().count() > 5, "{}", report.findings.len());
    // With one light it is sound.
    let few: Vec<&str> =
        CONVERTER.lines().filter(|line| !["W2", "W3"].iter().any(|light| line.contains(light))).collect();
    assert!(errors(&specimens::report(&few.join("\n")).unwrap().1).is_empty());
}
