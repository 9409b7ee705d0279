//! What feeds a camera: its screen's supply, a supply that drains nothing at rest, or what its `works` says.

use super::{changed, plan, wish};

const REAR: &str = "REAR:  {use: camera-cvbs-12v, at: tail, title: Reverse camera}";

/// A camera that works in reverse is fed by the reverse wire, which may carry it: no relay, and nothing without reverse.
#[test]
fn a_wire_of_the_vehicle_feeds_a_camera_that_it_may_carry() {
    let powered = REAR.replace("}", ", works: reverse}");
    let outcome = changed("armed-turn-signals", REAR, &powered);
    let spec = outcome.spec.unwrap_or_else(|| panic!("{}", outcome.said));
    assert_eq!(spec.lines().filter(|line| line.contains("use: relay")).count(), 2, "{spec}");
    let feed = spec.lines().find(|line| line.contains("to: REAR.power")).unwrap();
    let tap = spec.lines().find(|line| line.contains("from: reverse,")).unwrap();
    let fuse = tap.split("to: ").nth(1).unwrap().split('.').next().unwrap();
    assert!(feed.contains(&format!("from: {fuse}.2")) || feed.contains("from: S"), "{feed}");
    // With a limit below what the camera draws, a relay on the battery feeds it.
    let text = wish("armed-turn-signals")
        .replace(REAR, &powered)
        .replace("limit: 1 A, fuse: 10 A, lamps: 21 W", "limit: 200 mA, fuse: 10 A, lamps: 21 W");
    let outcome = plan(&text);
    let spec = outcome.spec.unwrap_or_else(|| panic!("{}", outcome.said));
    assert!(spec.lines().any(|line| line.contains(".87, to: REAR.power")), "{spec}");
}

/// What starts with its view can't keep a promise that is shorter than its start-up; what the message says to write is kept.
#[test]
fn a_promise_that_a_cameras_start_breaks_is_a_conflict() {
    let powered = REAR.replace("}", ", works: reverse}");
    let text = wish("armed-turn-signals").replace(REAR, &powered);
    let soon = text.replace("show: REAR, within: 2 s", "show: REAR, within: 700 ms");
    let outcome = plan(&soon);
    assert_eq!(outcome.status, 1, "{}", outcome.said);
    assert!(outcome.said.contains("800 ms to start when its power comes on"), "{}", outcome.said);
    assert!(outcome.said.contains("write `within: 1.8 s`") && outcome.spec.is_none(), "{}", outcome.said);
    let later = plan(&soon.replace("within: 700 ms", "within: 1.8 s"));
    assert_eq!(later.status, 0, "{}", later.said);
    // Awake, it keeps the promise.
    let awake = plan(&soon.replace(", works: reverse", ""));
    assert_eq!(awake.status, 0, "{}", awake.said);
    let dark = plan(&text.replace("works: reverse", "works: left-turn"));
    assert_eq!(dark.status, 1, "{}", dark.said);
    assert!(dark.said.contains("REAR should show, and has no power"), "{}", dark.said);
}

/// A screen that the battery feeds does not keep a camera awake that shows with the key on only.
#[test]
fn a_camera_drains_nothing_at_rest_that_shows_with_the_key_on() {
    let text = wish("armed-turn-signals").replace("    - {when: key = off, show: black}\n", "");
    let outcome = plan(&text);
    let spec = outcome.spec.unwrap_or_else(|| panic!("{}", outcome.said));
    assert!(outcome.said.contains("battery"), "{}", outcome.said);
    let from = |fuse: &str| spec.lines().any(|l| l.contains("from: battery") && l.contains(&format!("to: {fuse}.")));
    let feeds = |pin: &str| {
        let mut at = pin.to_string();
        while let Some(line) = spec.lines().find(|line| line.contains(&format!("to: {at},"))) {
            let source = line.split("from: ").nth(1).unwrap().split(',').next().unwrap();
            match source.strip_suffix(".2").filter(|part| part.starts_with('F')) {
                Some(fuse) => return if from(fuse) { "battery" } else { "switched" },
                None => at = source.to_string(),
            }
        }
        "nothing"
    };
    assert_eq!(feeds("HU1.power"), "battery", "{spec}");
    assert_eq!(feeds("REAR.power"), "switched", "{spec}");
}

/// A lamp that works while neither of two wires is live: one relay of the logic, whose coil both feed through diodes, so that
/// none feeds the other.
#[test]
fn two_wires_share_a_coil() {
    let text = wish("mixed-triggers").replace(
        "parts:\n",
        "accessories:\n  LAMP: {use: led-worklight, at: dash, works: key and not reverse and not look}\nparts:\n",
    );
    let outcome = plan(&text);
    let spec = outcome.spec.unwrap_or_else(|| panic!("{}", outcome.said));
    assert!(outcome.said.contains("1 relay for logic"), "{}{spec}", outcome.said);
    let relay = spec.lines().find(|line| line.contains("use: relay") && line.contains(" or ")).unwrap();
    let coil = format!("to: {}.86", relay.trim().split(':').next().unwrap());
    let feed = spec.lines().find(|line| line.contains(&coil)).unwrap();
    assert!(feed.contains("from: D") && feed.contains(".cathode"), "{feed}");
}

/// As before, with three wires: one relay, whose coil each feeds through a diode of one pack.
#[test]
fn three_wires_share_a_coil() {
    let text = wish("mixed-triggers")
        .replace("inputs:\n", "inputs:\n  bed: {kind: switched-feed, at: dash, limit: 1 A, fuse: 10 A, needs: key}\n");
    let text = text.replace(
        "parts:\n",
        "accessories:\n  LAMP: {use: led-worklight, at: dash, works: key and not reverse and not look and not bed}\nparts:\n",
    );
    let outcome = plan(&text);
    let spec = outcome.spec.unwrap_or_else(|| panic!("{}", outcome.said));
    assert!(outcome.said.contains("1 relay for logic, proved minimal"), "{}{spec}", outcome.said);
    let relay = spec.lines().find(|line| line.contains("use: relay") && line.matches(" or ").count() == 2).unwrap();
    let coil = format!("to: {}.86", relay.trim().split(':').next().unwrap());
    let feed = spec.lines().find(|line| line.contains(&coil)).unwrap();
    let pack = feed.split("from: ").nth(1).unwrap().split('.').next().unwrap();
    let anodes = spec.lines().filter(|line| line.contains(&format!("to: {pack}.a"))).count();
    assert_eq!(anodes, 3, "{spec}");
}

/// An amplifier with a turn-on input needs no relay: the battery feeds it, and the condition is on that input. Its speakers
/// return to its own ground point.
#[test]
fn an_amplifier_is_turned_on_by_its_own_input() {
    let spec = plan(&wish("player-and-amplifier")).spec.unwrap();
    let line = |end: &str| spec.lines().find(|line| line.contains(end)).unwrap_or_else(|| panic!("{end}: {spec}"));
    assert!(!spec.contains("use: relay"), "{spec}");
    let fuse = line("to: AMP.power").split("from: ").nth(1).unwrap().split('.').next().unwrap();
    assert!(line(&format!("to: {fuse}.1")).contains("from: battery,"), "{spec}");
    let ground = line("from: AMP.ground").split("to: ").nth(1).unwrap().split(',').next().unwrap();
    for minus in spec.lines().filter(|line| line.contains(".minus, to: ")) {
        assert!(minus.contains(&format!("to: {ground},")), "{minus}");
    }
}
