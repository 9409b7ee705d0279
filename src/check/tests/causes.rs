//! One report per cause: classes of faults in made-up harnesses, and two independent faults at once.

use super::roots::{HEAD, errors, report_of};
use super::*;
use model::{ElementKind, PartKind, PinId};

fn report(spec: &str) -> Report {
    specimens::report(spec).unwrap().1
}

fn words<'f>(findings: impl IntoIterator<Item = &'f Finding>) -> Vec<String> {
    findings.into_iter().map(|finding| format!("{} {}", finding.rule, finding.message)).collect()
}

/// A lamp over a relay: its contact on a supply of its own, its coil on the brake lamps.
fn relay_circuit(kind: &str, name: &str, [p30, p87, p86, p85]: [&str; 4]) -> String {
    format!(
        "  - {{id: {name}1, from: accessory, to: F{name}.1, gauge: 1.5 mm²}}
  - {{id: {name}2, from: F{name}.2, to: K{name}.{p30}, gauge: 1.5 mm²}}
  - {{id: {name}3, from: K{name}.{p87}, to: L{name}.power, gauge: 1.5 mm²}}
  - {{id: {name}4, from: L{name}.ground, to: GND, gauge: 1.5 mm²}}
  - {{id: {name}5, from: brake, to: T{name}.1, gauge: 0.5 mm²}}
  - {{id: {name}6, from: T{name}.2, to: K{name}.{p86}, gauge: 0.5 mm²}}
  - {{id: {name}7, from: K{name}.{p85}, to: GND, gauge: 0.5 mm²}}
# {kind}
"
    )
}

fn relay_parts(kind: &str, name: &str) -> [String; 2] {
    [
        format!(
            "  F{name}: {{use: fuse-blade, rating: 5 A, at: dash}}
  T{name}: {{use: fuse-blade, rating: 1 A, at: dash}}
  K{name}: {{use: {kind}, at: dash}}
"
        ),
        format!("  L{name}: {{use: led-worklight, at: dash, works: brake and key}}\n"),
    ]
}

/// Relay circuits side by side, each with its pins.
fn relays(kind: &str, all: &[(&str, [&str; 4])]) -> String {
    let parts: Vec<[String; 2]> = all.iter().map(|(name, _)| relay_parts(kind, name)).collect();
    let [devices, lamps] = [0, 1].map(|i| parts.iter().map(|part| part[i].as_str()).collect::<String>());
    let wires: String = all.iter().map(|(name, pins)| relay_circuit(kind, name, *pins)).collect();
    format!(
        "{HEAD}inputs: {{key: {{positions: [off, run]}}, brake: {{kind: lamp-feed, at: dash, limit: 1 A, fuse: 10 A, lamps: 42 W}}}}
parts:\n{devices}accessories:\n{lamps}wires:\n{wires}"
    )
}

const RIGHT: [&str; 4] = ["30", "87", "86", "85"];

fn exchanged(a: usize, b: usize) -> [&'static str; 4] {
    let mut pins = RIGHT;
    pins.swap(a, b);
    pins
}

/// Any two wires of a relay exchanged: either it works as well, or the two pins are named, alone.
#[test]
fn any_two_wires_of_a_relay_that_are_exchanged_are_named() {
    let mut named = 0;
    for kind in ["relay-mini-spst-12v", "relay-mini-spst-12v-diode", "relay-mini-spdt-12v", "relay-mini-spdt-12v-diode"]
    {
        let sound = report(&relays(kind, &[("A", RIGHT)]));
        assert!(errors(&sound).is_empty(), "{kind}: {:?}", words(errors(&sound)));
        for (a, b) in [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)] {
            let report = report(&relays(kind, &[("A", exchanged(a, b))]));
            let errors = errors(&report);
            if errors.is_empty() {
                continue;
            }
            let pins = [RIGHT[a], RIGHT[b]].map(|pin| format!("`{pin}`"));
            let is_it =
                errors[0].message.contains(" are swapped") && pins.iter().all(|pin| errors[0].message.contains(pin));
            assert!(is_it && errors.len() == 1, "{kind} {pins:?}: {:?}", words(errors));
            named += 1;
        }
    }
    assert!(named > 16, "{named}");
}

/// Two relays with crossed wires, each on fuses of its own: each is named.
#[test]
fn two_faults_at_once_are_two_roots() {
    let kind = "relay-mini-spst-12v-diode";
    let report = report(&relays(kind, &[("A", exchanged(1, 3)), ("B", exchanged(2, 3))]));
    let errors = errors(&report);
    let about: Vec<&str> = errors.iter().map(|finding| finding.about.as_str()).collect();
    assert_eq!(about, ["KA", "KB"], "{:?}", words(errors));
}

/// A crossed relay beside a lamp without its ground: neither is folded under the other.
#[test]
fn a_crossed_relay_does_not_hide_a_missing_ground() {
    let spec = relays("relay-mini-spst-12v", &[("A", exchanged(1, 3)), ("B", RIGHT)]);
    let spec: String =
        spec.lines().filter(|line| !line.contains("LB.ground")).map(|line| format!("{line}\n")).collect();
    let report = report(&spec);
    let errors = errors(&report);
    let mut about: Vec<&str> = errors.iter().map(|finding| finding.about.as_str()).collect();
    about.sort_unstable();
    assert_eq!(about, ["KA", "LB"], "{:?}", words(errors));
}

/// Coils and loads in series, two and three of them: one report names all.
#[test]
fn consumers_in_series_are_one_report() {
    for kinds in [vec!["relay-mini-spst-12v"; 2], vec!["relay-mini-spst-12v"; 3], vec!["led-worklight", "buzzer-12v"]] {
        let pins = |kind: &str| if kind.starts_with("relay") { ("86", "85") } else { ("power", "ground") };
        let names: Vec<String> = (1..=kinds.len()).map(|i| format!("P{i}")).collect();
        let parts: String =
            names.iter().zip(&kinds).map(|(name, kind)| format!("  {name}: {{use: {kind}, at: dash}}\n")).collect();
        let mut wires = String::new();
        for (i, pair) in names.windows(2).enumerate() {
            let (out, into) = (pins(kinds[i]).1, pins(kinds[i + 1]).0);
            wires += &format!("  - {{id: s{i}, from: {}.{out}, to: {}.{into}}}\n", pair[0], pair[1]);
        }
        let (first, last) = (pins(kinds[0]).0, pins(kinds[kinds.len() - 1]).1);
        let report = report(&format!(
            "{HEAD}inputs: {{key: {{positions: [off, run]}}}}
parts:
  F1: {{use: fuse-blade, rating: 5 A, at: dash}}
{parts}wires:
  - {{id: 1, from: accessory, to: F1.1}}
  - {{id: 2, from: F1.2, to: P1.{first}}}
{wires}  - {{id: 3, from: P{}.{last}, to: GND}}
",
            names.len()
        ));
        let errors = errors(&report);
        let named = errors.first().is_some_and(|first| {
            first.message.contains("in series") && names.iter().all(|name| first.message.contains(name.as_str()))
        });
        assert!(named && errors.len() == 1, "{kinds:?}: {:?}", words(errors));
    }
}

/// A coil between the battery and a supply that the key switches: the advice takes it off the battery.
#[test]
fn a_coil_between_battery_and_accessory_is_fed_from_the_accessory() {
    let report = report(&format!(
        "{HEAD}inputs: {{key: {{positions: [off, run]}}}}
accessories: {{L1: {{use: led-worklight, at: dash}}}}
parts:
  F1: {{use: fuse-blade, rating: 1 A, at: dash}}
  F2: {{use: fuse-blade, rating: 5 A, at: dash}}
  K1: {{use: relay-mini-spst-12v-diode, at: dash}}
wires:
  - {{id: 1, from: battery, to: F1.1}}
  - {{id: 2, from: F1.2, to: K1.86}}
  - {{id: 3, from: K1.85, to: accessory}}
  - {{id: 4, from: battery, to: F2.1}}
  - {{id: 5, from: F2.2, to: K1.30}}
  - {{id: 6, from: K1.87, to: L1.power}}
  - {{id: 7, from: L1.ground, to: GND}}
"
    ));
    let root = report.findings.iter().find(|finding| finding.rule == "net/ground-missing").unwrap();
    assert_eq!(root.hint, "feed `K1.86` from `accessory` instead, and connect `K1.85` to a ground point");
    let drain = report.findings.iter().find(|finding| finding.rule == "load/key-off-drain").unwrap();
    assert!(drain.follows_from.is_some(), "{}", drain.message);
}

/// A converter that starves on a thin wire starts and stops without end: that follows from the voltage.
#[test]
fn a_converter_that_starves_on_a_thin_wire_is_one_report() {
    let spec = |length: &str| {
        format!(
            "harness: 1
job: {{title: Roots, nominal: 24 V}}
places: [dash]
supplies: {{battery: {{terminal: \"30\", at: dash, volts: [20 V, 25.2 V, 28.8 V]}}, accessory: {{terminal: \"75\", at: dash, follows: key, limit: 15 A, fuse: 15 A}}}}
grounds: {{GND: {{at: dash}}}}
inputs: {{key: {{positions: [off, run]}}}}
accessories: {{L1: {{use: led-worklight, at: dash}}, L2: {{use: led-worklight, at: dash}}}}
parts: {{F1: {{use: fuse-blade, rating: 5 A, at: dash}}, F2: {{use: fuse-blade, rating: 7.5 A, at: dash}}, U1: {{use: converter-24-12-5a, at: dash}}}}
wires:
  - {{id: 1, from: accessory, to: F1.1, gauge: 1.5 mm²}}
  - {{id: 2, from: F1.2, to: U1.in, gauge: 0.75 mm², length: {length}}}
  - {{id: 3, from: U1.ground, to: GND, gauge: 1.5 mm²}}
  - {{id: 4, from: U1.out, to: F2.1, gauge: 1.5 mm²}}
  - {{id: 6, from: F2.2, to: L1.power, gauge: 1 mm²}}
  - {{id: 7, from: F2.2, to: L2.power, gauge: 1 mm²}}
  - {{id: 9, from: L1.ground, to: GND, gauge: 1 mm²}}
  - {{id: 10, from: L2.ground, to: GND, gauge: 1 mm²}}
"
        )
    };
    let report = report(&spec("45 m"));
    assert!(report.findings.iter().any(|finding| finding.rule == "logic/chatter"), "{:?}", words(&report.findings));
    let roots: Vec<&str> = errors(&report).iter().map(|finding| finding.rule).collect();
    assert_eq!(roots, ["load/starved"], "{:?}", words(errors(&report)));
}

/// A lamp's wire on the wrong feed of the vehicle, directly or over a relay.
#[test]
fn a_wire_on_another_feed_is_named() {
    let spec = |from: &str, over_relay: bool| {
        let (feed, relay) = match over_relay {
            true => (
                "K1.86",
                "  - {id: 5, from: battery, to: F2.1}\n  - {id: 6, from: F2.2, to: K1.30}\n  - {id: 7, from: K1.87, to: L1.power}
  - {id: 8, from: K1.85, to: GND}\n",
            ),
            false => ("L1.power", ""),
        };
        let relay_parts =
            "  F2: {use: fuse-blade, rating: 5 A, at: dash}\n  K1: {use: relay-mini-spst-12v-diode, at: dash}\n";
        let parts = if over_relay { relay_parts } else { "" };
        format!(
            "{HEAD}inputs:
  key: {{positions: [off, run]}}
  brake: {{kind: lamp-feed, at: dash, fuse: 10 A, lamps: 42 W}}
  tail-lamps: {{kind: lamp-feed, at: dash, fuse: 10 A, lamps: 20 W}}
accessories:
  L1: {{use: lamp-5w, at: dash, works: brake}}
  L2: {{use: lamp-5w, at: dash, works: tail-lamps}}
parts:
  F1: {{use: fuse-blade, rating: 1 A, at: dash}}
{parts}wires:
  - {{id: 1, from: {from}, to: F1.1}}
  - {{id: 2, from: F1.2, to: {feed}}}
  - {{id: 3, from: L1.ground, to: GND}}
  - {{id: 4, from: tail-lamps, to: L2.power}}
  - {{id: 9, from: L2.ground, to: GND}}
{relay}"
        )
    };
    for over_relay in [false, true] {
        let sound = report(&spec("brake", over_relay));
        assert!(errors(&sound).is_empty(), "{:?}", words(errors(&sound)));
        for from in ["battery", "accessory", "tail-lamps"] {
            let report = report(&spec(from, over_relay));
            let errors = errors(&report);
            assert!(
                errors.len() == 1 && errors[0].message == format!("wire 1 is on `{from}` instead of `brake`"),
                "{from}: {:?}",
                words(errors)
            );
        }
    }
}

/// A latching relay's windings: named where `works` distinguishes set and reset; otherwise the report says that nothing does.
#[test]
fn windings_are_named_or_reported_as_unchecked() {
    let spec = |works: &str, [set, reset]: [&str; 2]| {
        format!(
            "{HEAD}inputs: {{key: {{positions: [off, run]}}, on-b: {{kind: push, part: SW1, excludes: [off-b]}}, off-b: {{kind: push, part: SW2}}}}
accessories: {{L1: {{use: led-worklight, at: dash, works: {works}}}}}
parts:
  F1: {{use: fuse-blade, rating: 5 A, at: dash}}
  F2: {{use: fuse-blade, rating: 2 A, at: dash}}
  SW1: {{use: push-spst, at: dash}}
  SW2: {{use: push-spst, at: dash}}
  K1: {{use: relay-latching-12v, at: dash}}
splices: {{SA: {{at: dash}}}}
wires:
  - {{id: 1, from: battery, to: F1.1}}
  - {{id: 2, from: F1.2, to: K1.30}}
  - {{id: 3, from: K1.87, to: L1.power}}
  - {{id: 4, from: L1.ground, to: GND}}
  - {{id: 5, from: accessory, to: F2.1}}
  - {{id: 6, from: F2.2, to: SA}}
  - {{id: 7, from: SA, to: SW1.common}}
  - {{id: 8, from: SA, to: SW2.common}}
  - {{id: 9, from: SW1.on, to: K1.{set}}}
  - {{id: 10, from: SW2.on, to: K1.{reset}}}
  - {{id: 11, from: K1.85, to: GND}}
"
        )
    };
    let (right, wrong) = (["86a", "86b"], ["86b", "86a"]);
    for works in ["(on-b and key) or K1", "K1 and not (off-b and key)"] {
        let sound = report(&spec(works, right));
        assert!(errors(&sound).is_empty() && sound.proof.unchecked.is_empty(), "{:?}", words(errors(&sound)));
        let report = report(&spec(works, wrong));
        let named: Vec<&str> = errors(&report).iter().map(|finding| finding.message.as_str()).collect();
        assert_eq!(named, ["`86a` and `86b` of `K1` are swapped"], "{works}");
    }
    for pins in [right, wrong] {
        let report = report(&spec("K1", pins));
        assert_eq!(report.proof.unchecked.len(), 1);
        assert!(report.proof.unchecked[0].starts_with("whether `86a` and `86b` of `K1` are swapped"));
    }
}

/// The wires of each pack of diodes, joined on its cathode as by a splice.
fn without_diodes(model: &Model) -> Vec<Model> {
    let packs = model.part_ids().filter_map(|id| {
        let part = model.part(id);
        let diodes: Vec<[PinId; 2]> = part
            .elements
            .iter()
            .filter_map(|id| match model.element(*id).kind {
                ElementKind::Diode { anode, cathode, .. } => Some([anode, cathode]),
                _ => None,
            })
            .collect();
        let [[a, cathode], [b, other]] = diodes[..] else { return None };
        (part.kind == PartKind::Device && cathode == other).then_some(([a, b], cathode))
    });
    let joined = |(anodes, cathode): ([PinId; 2], PinId)| {
        let mut model = model.clone();
        for wire in &mut model.wires {
            wire.ends = wire.ends.map(|end| if anodes.contains(&end) { cathode } else { end });
        }
        model
    };
    packs.map(joined).collect()
}

fn assert_diodes_are_missed(demo: &str) -> usize {
    let all = without_diodes(&sample::demo(demo));
    for model in &all {
        let report = report_of(model);
        let roots: Vec<&Finding> = errors(&report);
        assert!(
            roots.len() == 1 && roots[0].rule == "logic/diode-missing" && roots[0].message.contains("meet at"),
            "{demo}: {:?}",
            words(roots)
        );
    }
    all.len()
}

/// In every demonstration, each pack of diodes that joins two wires is replaced by a splice.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn diodes_replaced_by_a_splice_are_missed_in_every_demonstration() {
    let demos = ["first-harness", "orchard-sprayer-pickup", "boat-tow-pickup", "wheelchair-van", "refuse-truck"];
    let planted: usize = demos.iter().map(|demo| assert_diodes_are_missed(demo)).sum();
    assert!(planted > 1, "{planted}");
}

/// Trials end when the watch breaks, as solving does.
#[test]
fn a_watch_ends_the_trials() {
    use std::ops::ControlFlow;
    let spec = relays("relay-mini-spst-12v-diode", &[("A", exchanged(1, 3))]);
    let model = sample::of_text("spec", &spec).unwrap();
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    facts.explored();
    assert_eq!(check_facts(&facts, &|_| ControlFlow::Break(())), Err(Interrupted));
}
