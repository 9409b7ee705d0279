//! What the loss of a ground does, where the rule's own two specs are not enough.

use super::*;

const LOST: &str = "safety/ground-lost";

/// Two lamps on one ground wire, on feeds with lamps of the vehicle.
const LAMPS: &str = "
harness: 1
job: {title: Two lamps on one ground wire, nominal: 12 V}
places: [tail]
supplies: {battery: {terminal: \"30\", at: tail, volts: [11.8 V, 12.6 V, 14.6 V], resistance: 15 mΩ}}
grounds: {GND: {at: tail}}
inputs: {stop: {kind: lamp-feed, at: tail, lamps: 21 W}, turn: {kind: lamp-feed, at: tail, lamps: 21 W}}
parts: {L1: {use: lamp-21w, at: tail}, L2: {use: lamp-21w, at: tail}}
splices: {S: {at: tail}}
wires:
  - {id: 1, from: stop, to: L1.power, gauge: 1 mm²}
  - {id: 3, from: turn, to: L2.power, gauge: 1 mm²}
  - {id: 7, from: L1.ground, to: S, gauge: 1 mm²}
  - {id: 8, from: L2.ground, to: S, gauge: 1 mm²}
  - {id: 10, from: S, to: GND, gauge: 1 mm²}
";

/// Three equal filaments in series share 12.4 V: L2, L1 and the vehicle's own lamp on the other wire. That a filament
/// takes milliamps backwards at millivolts with its ground whole makes no difference.
#[test]
fn lamps_light_each_other_through_their_lost_ground() {
    let reported = found(LOST, LAMPS);
    assert_eq!(reported.len(), 1);
    assert_eq!(
        reported[0].message,
        "if ground point `GND` comes off, `L1` is fed backwards in state turn; also `L2` is fed backwards"
    );
    let at = |pin: &str| reported[0].evidence.path.iter().find(|point| point.pin == pin).unwrap().volts.value();
    let each = at("L2.power") / 3.0;
    assert!((at("L1.power") - each).abs() < 0.05 && (at("L1.ground") - 2.0 * each).abs() < 0.1, "{:?}", reported[0]);
    let own = LAMPS.replace("{id: 8, from: L2.ground, to: S,", "{id: 8, from: L2.ground, to: G2,");
    let own = own.replace("grounds: {GND: {at: tail}}", "grounds: {GND: {at: tail}, G2: {at: tail}}");
    assert!(found(LOST, &own).is_empty());
}

/// A converter without ground is off, whatever leakage does to its voltages.
#[test]
fn what_only_leaks_does_not_chatter() {
    let spec = &(head("A converter and its load on one ground")
        + "parts:
  F1: {use: fuse-blade, rating: 5 A, at: dash}
  C1: {use: converter-12-12, at: dash}
  M: {use: heater-lens-12v, at: dash}
wires:
  - {id: 1, from: battery, to: F1.1, gauge: 1 mm²}
  - {id: 2, from: F1.2, to: C1.in, gauge: 0.75 mm²}
  - {id: 4, from: C1.ground, to: GND, gauge: 0.75 mm²}
  - {id: 5, from: C1.out, to: M.power, gauge: 0.75 mm²}
  - {id: 6, from: M.ground, to: GND, gauge: 0.75 mm²}
");
    assert!(found(LOST, spec).is_empty(), "{:?}", found(LOST, spec));
}

/// A relay that drops out because its ground is lost closes its rest contact as usual: no way back. A relay that shares its
/// ground with a load that is always fed is a different case.
#[test]
fn what_a_rest_contact_makes_is_no_way_back() {
    let spec = &(head("A relay with a load on each side")
        + "inputs: {reverse: {kind: lamp-feed, at: dash, lamps: 21 W}}
parts:
  F1: {use: fuse-blade, rating: 3 A, at: dash}
  K1: {use: relay-mini-spdt-12v, at: dash}
  K2: {use: relay-mini-spst-12v, at: dash}
  L1: {use: lamp-5w, at: dash}
splices: {S-G: {at: dash}}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: F1.2, to: K1.30}
  - {id: 3, from: reverse, to: K1.86}
  - {id: 4, from: K1.85, to: S-G}
  - {id: 5, from: S-G, to: GND}
  - {id: 6, from: K1.87a, to: K2.86}
  - {id: 7, from: K2.85, to: GND}
  - {id: 8, from: F1.2, to: L1.power}
  - {id: 9, from: L1.ground, to: GND}
");
    let reported = found(LOST, spec);
    assert!(reported.iter().all(|finding| finding.about != "wire 5"), "{reported:?}");
    let shared = spec.replace("from: L1.ground, to: GND", "from: L1.ground, to: S-G");
    let reported = found(LOST, &shared);
    assert!(reported.iter().any(|f| f.about == "wire 5" && f.message.contains("`K1` pulls in")), "{reported:?}");
}

/// A screen that takes 2.4 Ω, a camera with a ground of its own, 5 m of coax between them: 0.2 Ω of braid.
fn screen_and_camera() -> String {
    "
harness: 1
job: {title: A screen and a camera, nominal: 12 V}
places: [dash, tail]
runs: [{between: [dash, tail], length: 5 m}]
supplies: {battery: {terminal: \"30\", at: dash, volts: [11.8 V, 12.6 V, 14.6 V], resistance: 15 mΩ}}
grounds: {G1: {at: dash}, G2: {at: tail}}
inputs: {reverse: {kind: lamp-feed, at: tail, lamps: 21 W}}
own-parts:
  great-screen:
    title: Great screen
    family: screen
    pins: {power: {domain: power}, ground: {domain: ground}, cam: {domain: video}}
    inside: [{load: {feed: power, ground: ground, kind: resistive, draws: 5 A}}]
    formats: [cvbs-pal]
    start-up: 1 s
    switch-over: 300 ms
    on-loss: blue
    shows: [{when: yes, input: cam}]
    body: [200 mm, 100 mm]
    sources: {all: typical}
cameras: {REAR: {use: camera-cvbs-12v, at: tail}}
parts:
  F1: {use: fuse-blade, rating: 10 A, at: dash}
  HU1: {use: great-screen, at: dash}
wires:
  - {id: 1, from: battery, to: F1.1, gauge: 2.5 mm²}
  - {id: 2, from: F1.2, to: HU1.power, gauge: 2.5 mm²}
  - {id: 3, from: HU1.ground, to: G1, gauge: 2.5 mm²}
  - {id: 4, from: reverse, to: REAR.power, gauge: 2.5 mm²}
  - {id: 5, from: REAR.ground, to: G2, gauge: 2.5 mm²}
  - {id: 7, from: REAR.video, to: HU1.cam, make: coax}
"
    .into()
}

fn reported(spec: &str) -> Vec<(String, String)> {
    found(LOST, spec).into_iter().map(|finding| (finding.about, finding.message)).collect()
}

/// 14.6 V over 2.4 Ω, 0.2 Ω of braid and 0.06 Ω of battery, fuse, wires and stud: 5.49 A. The camera's 120 mA are
/// another matter: they only hide that its ground is gone.
#[test]
fn the_current_of_a_screen_without_ground_goes_over_the_cable() {
    let reported = found(LOST, &screen_and_camera());
    assert_eq!(
        reported.iter().map(|f| (f.about.as_str(), f.severity.word())).collect::<Vec<_>>(),
        [("G1", "warning"), ("G2", "note")]
    );
    assert!(
        reported[0].message.starts_with("if ground point `G1` comes off, the shield of wire 7 carries 5."),
        "{reported:?}"
    );
    let path = &reported[0].evidence.path;
    let over = path.iter().position(|point| point.through.as_deref() == Some("the shield of wire 7")).unwrap();
    assert_eq!((path[over - 1].pin.as_str(), path[over].pin.as_str()), ("HU1.ground", "REAR.ground"));
    let amps = path[over].amps.unwrap().value();
    assert!((amps / 5.49 - 1.0).abs() < 0.01, "{amps}");
    let across = path[over - 1].volts.value() - path[over].volts.value();
    // With every ground whole, the ground point carries most where the shield beside it is hot.
    assert_eq!(reported[0].evidence.corner.as_deref(), Some("highest supply, hot copper"));
    let hot = 1.0 + 0.00393 * 40.0;
    assert!((across / amps - 0.2 * hot).abs() < 1e-3, "{across} V");
    assert_eq!(path.last().unwrap().pin, "the battery's negative");
    let hidden = "if ground point `G2` comes off, its loads keep working through the shield of wire 7 (";
    let message = &reported[1].message;
    assert!(message.starts_with(hidden) && message.ends_with(" mA, limit 2 A) in state reverse"), "{message}");
}

/// On one ground point both lose it together, and only a wire of its own lost leaves the other's; a transformer
/// separates the shields.
#[test]
fn a_shield_that_joins_nothing_else_carries_nothing() {
    let spec = screen_and_camera();
    let shared = spec.replace("to: G2", "to: G1").replace(", G2: {at: tail}", "");
    assert_eq!(reported(&shared).iter().map(|(about, _)| about.as_str()).collect::<Vec<_>>(), ["wire 3"]);
    let apart = spec.replace("    on-loss: blue\n", "    on-loss: blue\n    shields: apart\n");
    assert_eq!(reported(&apart), []);
    // The key's earlier name is refused with the new one.
    let earlier = sample::of_text("harness.yaml", &apart.replace("shields: apart", "screens: apart")).unwrap_err();
    assert!(
        earlier.contains("`screens` is not a key of a part") && earlier.contains("did you mean `shields`?"),
        "{earlier}"
    );
}

/// Through connectors: in one with a ground the shield is on the ground's cavity, in a phono plug it goes through by
/// itself, and in others without a ground it ends.
#[test]
fn a_shield_goes_through_connectors() {
    let plugged = |ground: &str| {
        let spec = screen_and_camera().replace(
            "wires:",
            "connectors:
  X1A: {use: connector-4-sealed, at: tail, mates: X1B}
  X1B: {use: connector-4-sealed, at: tail}
wires:
  - {id: 8, from: X1B.1, to: HU1.cam, make: coax}",
        );
        spec.replace("from: REAR.video, to: HU1.cam", "from: REAR.video, to: X1A.1")
            .replace("  - {id: 5, from: REAR.ground, to: G2, gauge: 2.5 mm²}\n", ground)
    };
    let beside = reported(&plugged("  - {id: 5, from: REAR.ground, to: G2, gauge: 2.5 mm²}\n"));
    assert_eq!(beside, []);
    let phono = plugged("  - {id: 5, from: REAR.ground, to: G2, gauge: 2.5 mm²}\n")
        .replace("connector-4-sealed", "connector-phono");
    let beside = reported(&phono);
    assert!(
        beside.iter().any(|(about, reported)| about == "G1" && reported.contains("the shield of wire 8 carries 5.")),
        "{beside:?}"
    );
    // With the camera's ground in cavity 2 the shield of wire 8 ends there, and wire 7's is beside wire 5.
    let with = reported(&plugged(
        "  - {id: 5, from: REAR.ground, to: X1A.2, gauge: 2.5 mm²}\n  - {id: 6, from: X1B.2, to: G2, gauge: 2.5 mm²}\n",
    ));
    assert!(
        with.iter().any(|(about, reported)| about == "G1" && reported.contains("the shield of wire 8 carries 5.")),
        "{with:?}"
    );
}

/// A picture relay passes the screens on and has them on no ground: the current goes through both cables in a row.
#[test]
fn a_screen_goes_through_what_joins_screens() {
    let spec =
        screen_and_camera().replace("  HU1: {use", "  VR: {use: video-relay-12v, at: dash}\n  HU1: {use").replace(
            "from: REAR.video, to: HU1.cam, make: coax}",
            "from: REAR.video, to: VR.in1, make: coax}\n  \
            - {id: 8, from: VR.out, to: HU1.cam, make: coax}",
        );
    let reported = found(LOST, &spec);
    assert!(reported[0].message.contains("the shield of wire 7 carries 5."), "{reported:?}");
    let way: Vec<&str> = reported[0].evidence.path.iter().filter_map(|point| point.through.as_deref()).collect();
    let over = way.iter().position(|through| *through == "the shield of wire 8").unwrap();
    assert_eq!(way[over + 1], "the shield of wire 7");
}

/// The wire between two ground splices is a ground as well: with it lost the filaments light each other, as with their
/// point lost, although both points of the other splice are whole.
#[test]
fn a_wire_between_splices_is_lost_too() {
    let between = LAMPS
        .replace("grounds: {GND: {at: tail}}", "grounds: {GND: {at: tail}, G2: {at: tail}}")
        .replace("splices: {", "splices: {T: {at: tail}, ")
        .replace(
            "  - {id: 10, from: S, to: GND, gauge: 1 mm²}\n",
            "  - {id: 10, from: S, to: T, gauge: 1 mm²}\n  - {id: 11, from: T, to: GND, gauge: 1 mm²}\n  \
             - {id: 12, from: T, to: G2, gauge: 1 mm²}\n",
        );
    let reported: Vec<String> = found(LOST, &between).into_iter().map(|finding| finding.message).collect();
    assert_eq!(reported, ["if wire 10 comes off, `L1` is fed backwards in state turn; also `L2` is fed backwards"]);
}

/// Two coils without diodes in a row from one wire of the vehicle to the lamps of another. At nominal supply each has
/// 6.3 V and needs 7.2 V; at 14.6 V each has 7.3 V, less some drop, and a strong one pulls in at 90 % of 7.2 V, 6.48 V.
#[test]
fn a_relay_that_comes_in_at_the_greatest_supply_alone_is_reported() {
    let spec = head("Two coils on one ground wire")
        + "inputs: {stop: {kind: lamp-feed, at: dash, lamps: 42 W}, turn: {kind: lamp-feed, at: dash, lamps: 42 W}}
parts: {K1: {use: relay-mini-spst-12v, at: dash}, K2: {use: relay-mini-spst-12v, at: dash}}
splices: {S: {at: dash}}
wires:
  - {id: 1, from: stop, to: K1.86}
  - {id: 2, from: turn, to: K2.86}
  - {id: 3, from: K1.85, to: S}
  - {id: 4, from: K2.85, to: S}
  - {id: 5, from: S, to: GND}
";
    let reported = found(LOST, &spec);
    assert_eq!(reported.len(), 1, "{reported:?}");
    assert!(
        reported[0].severity == Severity::Warning && reported[0].message.contains("pulls in in state"),
        "{}",
        reported[0].message
    );
    assert_eq!(reported[0].evidence.corner.as_deref(), Some("highest supply, cold copper"));
    let volts = reported[0].evidence.figures.iter().find(|figure| figure.name == "at its coil").unwrap();
    assert!(volts.value.starts_with("7.2") || volts.value.starts_with("7.1"), "{volts:?}");
}

/// A camera and a screen, each with a ground of its own; `without` names the part whose ground wire is left out.
fn ground_left_out(without: &str) -> Vec<(&'static str, Severity, String)> {
    let spec = screen_and_camera();
    let spec = spec.lines().filter(|line| !line.contains(&format!("from: {without}.ground")));
    let report = specimens::report(&spec.map(|line| format!("{line}\n")).collect::<String>()).unwrap().1;
    let is_fault = |finding: &Finding| finding.severity == Severity::Error && !finding.rule.starts_with("build/");
    let faults = report.findings.into_iter().filter(is_fault);
    faults.map(|finding| (finding.rule, finding.severity, finding.message)).collect()
}

/// A camera without its ground wire works through the shield: one finding, and it says so.
#[test]
fn a_camera_without_its_ground_wire_works_through_the_shield() {
    let errors = ground_left_out("REAR");
    assert_eq!(errors.len(), 1, "{errors:?}");
    let (rule, _, message) = &errors[0];
    assert_eq!(*rule, "net/ground-missing");
    assert!(message.starts_with("`REAR` has no ground of its own: the shield of wire 7 carries its 12"), "{message}");
}

/// A converter without its ground wire is off: its loads have no voltage, and nothing has more than the supply.
#[test]
fn a_converter_without_its_ground_wire_is_off() {
    let spec = &(head("A converter without its ground")
        + "parts:
  F1: {use: fuse-blade, rating: 5 A, at: dash}
  C1: {use: converter-12-12, at: dash}
  M: {use: heater-lens-12v, at: dash}
wires:
  - {id: 1, from: battery, to: F1.1, gauge: 1 mm²}
  - {id: 2, from: F1.2, to: C1.in, gauge: 0.75 mm²}
  - {id: 5, from: C1.out, to: M.power, gauge: 0.75 mm²}
  - {id: 6, from: M.ground, to: GND, gauge: 0.75 mm²}
");
    let model = sample::of_text("converter.yaml", spec).unwrap();
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    for exploration in facts.explored().all() {
        exploration.visit(&solved.assembly.circuit, &mut |solution| {
            for pin in model.pin_ids() {
                let volts = solved.assembly.volts(solution, pin).value();
                assert!((-0.01..=14.7).contains(&volts), "{} at {volts} V", model.pin_name(pin));
            }
            let heater = model.pin_ids().find(|pin| model.pin_name(*pin) == "M.power").unwrap();
            assert!(solved.assembly.volts(solution, heater).value() < 0.01);
        });
    }
}
