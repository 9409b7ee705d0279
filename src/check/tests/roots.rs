//! One report per cause: a fault planted at every place of the demonstrations where it can be made has its own report as the
//! first, and what follows from it is folded under it.

use super::*;
use crate::Repair;
use catalogue::part_form::{Across, Acts};
use model::{ElementKind, PartKind, PinId};

/// A fault, and the words of its report.
struct Planted {
    fault: Repair,
    words: String,
}

/// Exchanges of pins that harm in any harness.
fn exchanges(model: &Model) -> Vec<Planted> {
    let mut all = Vec::new();
    let mut add = |[a, b]: [PinId; 2], words: String| all.push(Planted { fault: Repair::Exchange(a, b), words });
    for element in &model.elements {
        let part = model.part(element.part);
        let (name, pin) = (&part.name, |pin: PinId| &model.pin(pin).name);
        if part.existing || part.kind != PartKind::Device {
            continue;
        }
        match &element.kind {
            ElementKind::Coil(coil) if coil.across == Across::Diode && coil.acts == Acts::Holds => {
                let words = format!("`{}` and `{}` of `{name}` are swapped", pin(coil.ground), pin(coil.feed));
                add([coil.feed, coil.ground], words);
            }
            ElementKind::Converter { input, output, .. } => {
                add([*input, *output], format!("`{}` and `{}` of `{name}` are swapped", pin(*input), pin(*output)));
            }
            ElementKind::Load(load) if !part.formats.is_empty() && part.elements.len() < 3 => {
                let words = format!("`{}` and `{}` of `{name}` are swapped", pin(load.feed), pin(load.ground));
                add([load.feed, load.ground], words);
            }
            _ => {}
        }
    }
    all
}

pub(super) fn report_of(model: &Model) -> Report {
    check(&Solved::new(model))
}

/// The errors that follow from no other.
pub(super) fn errors(report: &Report) -> Vec<&Finding> {
    report.roots().filter(|finding| finding.severity == Severity::Error).collect()
}

fn assert_named(demo: &str, planted: &Planted, report: &Report) -> Option<String> {
    let errors = errors(report);
    let named = errors.first().is_some_and(|first| first.message.contains(&planted.words));
    let others: Vec<&str> = errors.iter().skip(1).map(|finding| finding.message.as_str()).collect();
    (!named || !others.is_empty())
        .then(|| format!("{demo}: {}: {:?}", planted.words, errors.iter().map(|f| &f.message).collect::<Vec<_>>()))
}

/// The most that is planted in one demonstration: each is checked with every repair that is tried.
const MOST: usize = 2;

/// Plants every exchange in a demonstration, one at a time; where there are many, the first of each kind of part.
fn assert_each_is_named(demo: &str, at_least: usize) {
    let model = sample::demo(demo);
    let all = exchanges(&model);
    let planted: Vec<&Planted> = match all.len() {
        0..=MOST => all.iter().collect(),
        _ => first_of_each_kind(&model, &all).into_iter().take(MOST).collect(),
    };
    let faults: Vec<String> = planted
        .iter()
        .filter_map(|planted| assert_named(demo, planted, &report_of(&planted.fault.repaired(&model))))
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(planted.len() >= at_least, "{}", planted.len());
}

fn first_of_each_kind<'p>(model: &Model, all: &'p [Planted]) -> Vec<&'p Planted> {
    let mut seen: Vec<&str> = Vec::new();
    let kind = |planted: &Planted| match planted.fault {
        Repair::Exchange(pin, _) => model.part(model.pin(pin).part).use_name.as_str(),
        _ => "",
    };
    let first = all.iter().filter(|planted| {
        let kind = kind(planted);
        let is_new = !seen.contains(&kind);
        seen.push(kind);
        is_new
    });
    first.collect()
}

#[test]
fn swapped_pins_are_named_first_and_alone_in_the_first_harness() {
    assert_each_is_named("first-harness", 1);
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn swapped_pins_are_named_first_and_alone_in_the_sprayer() {
    assert_each_is_named("orchard-sprayer-pickup", 1);
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn swapped_pins_are_named_first_and_alone_in_the_boat_tow() {
    assert_each_is_named("boat-tow-pickup", 1);
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn swapped_pins_are_named_first_and_alone_in_the_van() {
    assert_each_is_named("wheelchair-van", 1);
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn swapped_pins_are_named_first_and_alone_in_the_truck() {
    assert_each_is_named("refuse-truck", 1);
}

/// The only error of a report that follows from no other, and how many findings follow.
fn only_error(spec: &str) -> (String, usize) {
    let (_, report) = specimens::report(spec).unwrap();
    let errors: Vec<&Finding> = errors(&report);
    assert_eq!(errors.len(), 1, "{:?}", errors.iter().map(|finding| &finding.message).collect::<Vec<_>>());
    (errors[0].message.clone(), report.findings.len() - report.roots().count())
}

pub(super) const HEAD: &str = "harness: 1
job: {title: Roots, nominal: 12 V}
places: [dash]
supplies:
  battery: {terminal: \"30\", at: dash, volts: [11.8 V, 12.6 V, 14.6 V]}
  accessory: {terminal: \"75\", at: dash, follows: key, limit: 10 A, fuse: 10 A}
grounds: {GND: {at: dash}}
";

/// A buzzer whose ground wire ends on a lamp's feed sounds through that lamp, day and night; so does a relay's coil.
#[test]
fn what_runs_between_a_feed_and_a_lamp_runs_when_nobody_asks() {
    for kind in ["buzzer-12v", "led-worklight"] {
        let (message, _) = only_error(&format!(
            "{HEAD}inputs: {{key: {{positions: [off, run]}}, reverse: {{kind: lamp-feed, at: dash, lamps: 21 W, fuse: 10 A}}}}
parts: {{F1: {{use: fuse-blade, rating: 5 A, at: dash}}, BZ: {{use: {kind}, at: dash}}}}
wires:
  - {{id: 1, from: battery, to: F1.1}}
  - {{id: 2, from: F1.2, to: BZ.power}}
  - {{id: 3, from: BZ.ground, to: reverse}}
"
        ));
        assert!(message.contains("connected to the feed `reverse`"), "{message}");
        // A work light takes more than the lamp lets through.
        let does = if kind == "buzzer-12v" { "runs all the same" } else { "but it gets " };
        assert!(
            message.contains(does) && message.contains("through the vehicle's own lamps on `reverse`"),
            "{message}"
        );
    }
}

/// A relay made for twice the voltage is named, whatever its kind; the same kind for the vehicle's voltage passes.
#[test]
fn a_relay_for_another_voltage_is_named() {
    let spec = |kind: &str| {
        format!(
            "{HEAD}inputs: {{key: {{positions: [off, run]}}, go: {{kind: toggle, part: SW1}}}}
parts:
  F1: {{use: fuse-blade, rating: 5 A, at: dash}}
  SW1: {{use: toggle-spst, at: dash}}
  K1: {{use: {kind}, at: dash}}
  BZ: {{use: buzzer-12v, at: dash}}
wires:
  - {{id: 1, from: battery, to: F1.1}}
  - {{id: 2, from: F1.2, to: K1.30}}
  - {{id: 3, from: K1.87, to: BZ.power}}
  - {{id: 4, from: BZ.ground, to: GND}}
  - {{id: 5, from: F1.2, to: SW1.common}}
  - {{id: 6, from: SW1.on, to: K1.86}}
  - {{id: 7, from: K1.85, to: GND}}
"
        )
    };
    let mut count = 0;
    for kind in ["relay-mini-spst", "relay-mini-spdt", "relay-micro-spdt"] {
        for diode in ["", "-diode"] {
            let of = |volts: &str| spec(&format!("{kind}-{volts}v{diode}"));
            let Ok((_, report)) = specimens::report(&of("12")) else { continue };
            if specimens::report(&of("24")).is_err() {
                continue;
            }
            assert!(errors(&report).is_empty());
            let (message, _) = only_error(&of("24"));
            assert!(message.starts_with("`K1` is a 24 V relay in a 12 V vehicle: it needs "), "{message}");
            count += 1;
        }
    }
    assert!(count > 1, "{count}");
}

/// A converter between two batteries is a charger: no fight, no overload. A wire between the two is a fight.
#[test]
fn a_charger_between_two_batteries_is_no_fault() {
    let spec = |between: &str| {
        format!(
            "harness: 1
job: {{title: Charger, nominal: 12 V}}
places: [dash]
supplies:
  battery: {{terminal: \"30\", at: dash, volts: [11.8 V, 12.6 V, 14.6 V]}}
  leisure: {{terminal: \"30\", at: dash, volts: [11.8 V, 12.5 V, 14.4 V]}}
grounds: {{GND: {{at: dash, use: ground-stud}}}}
inputs: {{go: {{kind: toggle, part: SW1}}}}
own-parts:
  charger:
    title: Charger
    family: converter
    nominal: 12 V
    pins: {{in: {{domain: power, is: feed}}, out: {{domain: power, is: output}}, ground: {{domain: ground, is: return}}}}
    inside: [{{converter: {{input: in, output: out, ground: ground, volts: 14.4 V, least: 12 V, efficiency: 90 %, limit: 10 A, idle: 5 mA}}}}]
parts:
  F1: {{use: fuse-blade, rating: 20 A, at: dash}}
  F2: {{use: fuse-blade, rating: 20 A, at: dash}}
  U1: {{use: charger, at: dash}}
  SW1: {{use: toggle-spst, at: dash}}
wires:
  - {{id: 1, from: battery, to: F1.1}}
  - {{id: 2, from: F1.2, to: U1.in}}
{between}  - {{id: 4, from: F2.2, to: leisure}}
  - {{id: 5, from: U1.ground, to: GND}}
"
        )
    };
    let (_, report) = specimens::report(&spec("  - {id: 3, from: U1.out, to: F2.1}\n")).unwrap();
    let errors: Vec<&str> = errors(&report).iter().map(|finding| finding.rule).collect();
    assert_eq!(errors, [""; 0]);
    // Joined beside the charger as well, one drives the other wherever their voltages differ.
    let (_, report) =
        specimens::report(&spec("  - {id: 3, from: U1.out, to: F2.1}\n  - {id: 6, from: F1.2, to: F2.1}\n")).unwrap();
    assert!(report.findings.iter().any(|finding| finding.rule == "net/supplies-fight"));
}

/// A latching relay's windings exchanged: named where a view depends on the button.
#[test]
fn swapped_windings_are_named() {
    let spec = |set: &str, reset: &str| {
        format!(
            "{HEAD}inputs:
  key: {{positions: [off, run]}}
  look: {{kind: push, part: SW1, excludes: [away]}}
  away: {{kind: push, part: SW2}}
cameras: {{CABIN: {{use: camera-cvbs-12v, at: dash, format: cvbs-pal}}}}
parts:
  F1: {{use: fuse-blade, rating: 3 A, at: dash}}
  HU1: {{use: screen-2in-12v, at: dash}}
  SW1: {{use: push-spst, at: dash}}
  SW2: {{use: push-spst, at: dash}}
  K1: {{use: relay-latching-12v, at: dash}}
splices: {{S1: {{at: dash}}}}
screens: {{dash: {{part: HU1, shows: [{{when: REV, input: cam1}}]}}}}
views:
  dash:
    - {{when: not key, show: black}}
    - {{when: look, show: CABIN}}
    - {{when: away, show: home}}
    - {{otherwise: any}}
wires:
  - {{id: 1, from: accessory, to: F1.1}}
  - {{id: 2, from: F1.2, to: S1}}
  - {{id: 3, from: S1, to: HU1.power}}
  - {{id: 4, from: S1, to: CABIN.power}}
  - {{id: 6, from: S1, to: SW1.common}}
  - {{id: 7, from: S1, to: SW2.common}}
  - {{id: 8, from: SW1.on, to: K1.{set}}}
  - {{id: 9, from: SW2.on, to: K1.{reset}}}
  - {{id: 10, from: K1.85, to: GND}}
  - {{id: 11, from: S1, to: K1.30}}
  - {{id: 12, from: K1.87, to: HU1.REV}}
  - {{id: 13, from: HU1.ground, to: GND}}
  - {{id: 14, from: CABIN.ground, to: GND}}
  - {{id: 15, from: CABIN.video, to: HU1.cam1, make: coax}}
"
        )
    };
    let swapped = specimens::report(&spec("86b", "86a")).unwrap().1;
    let first = errors(&swapped).first().map(|finding| finding.message.clone());
    assert!(
        first.as_deref().is_some_and(|message| message.contains("`86a` and `86b` of `K1` are swapped")),
        "{first:?}"
    );
    let right = specimens::report(&spec("86a", "86b")).unwrap().1;
    assert!(!right.findings.iter().any(|finding| finding.rule == "net/swapped"));
}

/// A converter whose inlet and outlet are exchanged, on a wire so thin that its load would not start: the first is named.
#[test]
fn a_converter_the_wrong_way_round_is_named_on_a_thin_wire_too() {
    let spec = |inlet: &str, outlet: &str| {
        format!(
            "{HEAD}inputs: {{key: {{positions: [off, run]}}}}
parts:
  F1: {{use: fuse-blade, rating: 5 A, at: dash}}
  U1: {{use: converter-12-12, at: dash}}
  L1: {{use: led-worklight, at: dash}}
wires:
  - {{id: 1, from: accessory, to: F1.1}}
  - {{id: 2, from: F1.2, to: U1.{inlet}, gauge: 0.75 mm², length: 5 m}}
  - {{id: 3, from: U1.{outlet}, to: L1.power}}
  - {{id: 4, from: L1.ground, to: GND}}
  - {{id: 5, from: U1.ground, to: GND}}
"
        )
    };
    let (_, report) = specimens::report(&spec("out", "in")).unwrap();
    let first = errors(&report).first().map(|finding| finding.message.clone());
    assert_eq!(first.as_deref(), Some("`in` and `out` of `U1` are swapped"));
    let (_, report) = specimens::report(&spec("in", "out")).unwrap();
    assert!(!report.findings.iter().any(|finding| finding.rule == "net/swapped"));
}

/// Where the screen's own order lets another trigger beat reverse, the check reports what the law says about the rear view,
/// as a replay does; it follows from the wrong picture.
#[test]
fn a_rear_view_that_another_trigger_beats_is_late_and_follows_from_that() {
    let (_, report) = specimens::report(include_str!("beaten.yaml")).unwrap();
    let late = report.findings.iter().find(|finding| finding.rule == "time/rear-late").unwrap();
    let root = &report.findings[late.follows_from.unwrap()];
    assert_eq!(root.rule, "logic/view-differs", "{}", root.message);
}
