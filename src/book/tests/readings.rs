//! Figures of the bench test and the service sheets, held to what can be worked out by hand.

use super::*;
use crate::service::ServiceSheet;
use crate::service::chain::{Chain, ChainKind};

fn sheet(when: &str) -> &'static ServiceSheet {
    let found = spreader().0.service.iter().find(|sheet| sheet.when == when);
    found.unwrap_or_else(|| panic!("no view when {when}"))
}

fn chain<'s>(sheet: &'s ServiceSheet, title: &str) -> (usize, &'s Chain) {
    let found = sheet.chains.iter().enumerate().find(|(_, chain)| chain.title.starts_with(title));
    found.unwrap_or_else(|| panic!("no chain {title}"))
}

fn volts(chain: &Chain, pin: &str) -> f64 {
    let link = chain.links.iter().find(|link| link.pin == pin).unwrap_or_else(|| panic!("no pin {pin}"));
    link.volts.unwrap().nominal.number().parse().unwrap()
}

/// The switch starts the hold module, that pulls the relay in, that gives the trigger and the camera's supply: causes
/// come before what they cause.
#[test]
fn causes_come_before_effects() {
    let sheet = sheet("spread and not look");
    let order: Vec<usize> = ["Trigger T1.in", "Coil of K1", "Trigger HU1.AUX", "Supply of DISC", "Picture of DISC"]
        .iter()
        .map(|title| chain(sheet, title).0)
        .collect();
    assert!(order.is_sorted(), "{order:?}");
    let settings: Vec<String> = sheet.inputs.iter().map(|s| format!("{} {}", s.input, s.position)).collect();
    assert_eq!(settings, ["key run", "spread on"]);
    assert_eq!(sheet.trouble, None);
}

/// With a ground wire open a ground pin reads the supply: the rows to ground are separate from those to the part, and
/// the limit there is against zero. By hand: 0.9 A and less over 0.5 m of 0.5 mm² is below 0.02 V; a fifth
/// more and 0.05 V is 0.074 V, so 0.1 V.
#[test]
fn rows_to_ground_have_a_limit_of_their_own() {
    let (_, chain) = chain(sheet("spread and not look"), "Supply of HU1");
    let link = |pin: &str| chain.links.iter().find(|link| link.pin == pin).unwrap();
    assert!(!link("HU1.power").returns && link("HU1.ground").returns && link("HU1.ground").turns);
    assert_eq!(link("HU1.ground").passes, "below 0.1 V");
    assert!(link("G1").returns && !link("G1").turns);
    for chain in spreader().0.service.iter().flat_map(|sheet| &sheet.chains).filter(|c| c.kind == ChainKind::Live) {
        let turns = chain.links.iter().filter(|link| link.turns).count();
        assert!(turns <= 1 && chain.links.iter().skip_while(|link| !link.returns).all(|link| link.returns));
        // Whatever the supply is, a pin may read so much below the first one: what is expected there passes.
        for (i, link) in chain.links.iter().enumerate().filter(|(_, link)| link.passes.ends_with(" below the first")) {
            let may: f64 = link.passes.split(' ').nth(2).unwrap().parse().unwrap();
            let lost = volts(chain, &chain.links[0].pin) - volts(chain, &link.pin);
            assert!(i > 0 && lost <= may && may <= lost * 1.5 + 0.3, "{} {}: {lost}, {may}", chain.title, link.pin);
        }
    }
}

/// Each symptom points to chains, and each chain has one symptom.
#[test]
fn what_is_seen_points_to_chains() {
    let sheet = sheet("spread and not look");
    let all: Vec<(&str, &str)> = sheet.begin.iter().map(|b| (b.seen.as_str(), b.at.as_str())).collect();
    let trigger = chain(sheet, "Trigger HU1.AUX").0 + 1;
    let picture = chain(sheet, "Picture of DISC").0 + 1;
    assert_eq!(all[0], ("Another picture stays, or the screen's own page", format!("chains 1 to {trigger}").as_str()));
    let to = format!("chains {} to {picture}", trigger + 1);
    assert_eq!(all[1], ("The screen changes over, but to black or blue", to.as_str()));
    let (_, picture) = chain(sheet, "Picture of DISC");
    assert!(picture.how.contains("HU1.cam2") && picture.how.contains("DISC.video"), "{}", picture.how);
    assert!(picture.links.iter().any(|link| link.through == "wire 18" && link.look.contains("centre to shield open")));
}

/// A module that a button toggles: with the button released its input is dead, so the chain into it is printed with the
/// button held.
#[test]
fn a_latch_module_is_reported_with_the_press_that_sets_it() {
    let text = SPREADER
        .replace("T1: {use: hold-module-12v, at: dash, time: 3 s}", "T1: {use: latch-module-12v, at: dash}")
        .replace("SW2.on, to: AMP.remote", "SW2.on, to: T1.in")
        .replace("SW1.on, to: T1.in", "SW1.on, to: AMP.remote")
        .replace("spread and not look, show: DISC, steady: yes", "T1, show: DISC");
    let (book, _) = written(&model(&text));
    let sheet = book.service.iter().find(|sheet| sheet.when == "T1").unwrap();
    let (_, chain) = chain(sheet, "Trigger T1.in, with SW2 held pressed");
    assert!(volts(chain, "T1.in") > 12.0);
    let way: Vec<&str> = chain.links.iter().map(|link| link.through.as_str()).collect();
    assert!(way.contains(&"inside SW2") && way.contains(&"wire 33"), "{way:?}");
}

/// Along the way of a current no pin reads more than the one before it.
#[test]
fn voltages_fall_along_a_chain() {
    for chain in spreader().0.service.iter().flat_map(|sheet| &sheet.chains).filter(|c| c.kind == ChainKind::Live) {
        let readings: Vec<f64> =
            chain.links.iter().map(|l| l.volts.unwrap().nominal.number().parse().unwrap()).collect();
        assert!(readings.windows(2).all(|pair| pair[1] <= pair[0]), "{}: {readings:?}", chain.title);
        for link in &chain.links {
            let volts = link.volts.unwrap();
            assert!(volts.least <= volts.nominal && volts.nominal <= volts.most, "{} {}", chain.title, link.pin);
        }
    }
}

/// R1 has 470 Ω and the trigger input 22 kΩ to ground: it gets 22 000 / 22 470 of the voltage before R1.
#[test]
fn a_trigger_behind_a_resistor_reads_as_a_divider_does() {
    let (_, chain) = chain(sheet("spread and not look"), "Trigger HU1.AUX");
    let share = volts(chain, "HU1.AUX") / volts(chain, "R1.1");
    assert!((share - 22_000.0 / 22_470.0).abs() < 0.002, "{share}");
}

/// 0.5 mm² has at most 39.0 Ω/km at 20 °C (IEC 60228, class 5): wire 24 is 3.5 m long.
#[test]
fn end_to_end_readings_follow_iec_60228() {
    let steps = &spreader().0.bench.groups[0].steps;
    let reading = |wire: &str| {
        let step = steps.iter().find(|step| step.what == format!("wire {wire}")).unwrap();
        (step.expect.as_str(), step.pass.as_str())
    };
    // By hand: 3.5 m · 39.0 mΩ/m = 0.1365 Ω; a fifth more and 0.1 Ω are 0.2638 Ω.
    assert_eq!(reading("24"), ("0.14 Ω", "at most 0.27 Ω"));
    let (expect, pass) = reading("18");
    assert_eq!(expect, "joined");
    assert_eq!(
        pass,
        "centre to centre joined; shield to shield (X1.2 to shell at HU1.cam2) joined; centre to shield open"
    );
}

/// The bench supply stands in for the battery, so it is set to the battery's nominal voltage and not to the system's.
#[test]
fn the_bench_supply_is_the_battery() {
    let (book, documents) = spreader();
    assert_eq!(book.bench.supply.map(|v| v.to_string()).as_deref(), Some("12.6 V"));
    assert!(text(documents, "build-book.html").contains("a bench supply set to 12.6 V"));
}

/// The state of the bench test with this name.
fn group<'b>(book: &'b Book, name: &str) -> &'b crate::bench::BenchGroup {
    let titles: Vec<&str> = book.bench.groups.iter().map(|group| group.title.as_str()).collect();
    let found = book.bench.groups.iter().find(|group| group.title == format!("With power: {name}"));
    found.unwrap_or_else(|| panic!("no {name} in {titles:?}"))
}

/// Where the bench supply's plus goes for them, by the spec.
const ACCESSORY: &str = "plus on end of wire 1 (accessory)";
const REVERSE: &str = "plus on end of wire 10 (reverse)";

/// A relay that holds itself: the button pulls it in, its own contact keeps it.
const HELD: &str = include_str!("held.yaml");

/// Two states with the same inputs get two names, and the sequence to each is printed: without the press the relay is
/// out.
#[test]
fn a_relay_that_holds_itself_is_reported_with_the_press_that_pulls_it_in() {
    let (book, _) = written(&model(HELD));
    let (held, free) = (group(&book, "key run, reverse; K5 in"), group(&book, "key run, reverse; K5 out"));
    assert_eq!(held.set, ["from rest: plus on nothing", ACCESSORY, REVERSE, "press SW1 (Look) and let go"]);
    assert_eq!(free.set, ["from rest: plus on nothing", ACCESSORY, REVERSE]);
    let picture = |group: &crate::bench::BenchGroup| group.steps.last().unwrap().expect.clone();
    assert_eq!((picture(held), picture(free)), ("TAIL".to_string(), "REAR".to_string()));
    let sheet = book.service.iter().find(|sheet| sheet.when == "reverse and K5").unwrap();
    assert_eq!(sheet.way, ["key run", "reverse on", "press Look (SW1) and let go"]);
    let (at, pulled) = chain(sheet, "Coil of K5, pulled in with SW1 held pressed");
    let (then, _) = chain(sheet, "Coil of K5, which then holds itself");
    assert!(at < then);
    let way: Vec<&str> = pulled.links.iter().map(|link| link.through.as_str()).collect();
    assert!(way.contains(&"wire 18") && way.contains(&"wire 19"), "{way:?}");
    let names: Vec<&String> = book.states.rows.iter().map(|row| &row.name).collect();
    let mut once = names.clone();
    once.sort();
    once.dedup();
    assert_eq!(names.len(), once.len(), "two states with one name");
}

/// The lamps of the vehicle draw 42 W through 50 mΩ and pull the feed down by 0.17 V; on the bench a supply's clip is
/// in their place, and the trigger reads what the supply is set to, less what all loads together lose over 5 mΩ.
#[test]
fn bench_readings_are_those_of_the_bench() {
    let held = model(HELD);
    let solved = Solved::new(&held);
    let facts = Facts::new(&solved);
    let row = facts.table().rows.iter().find(|row| row.name == "key run, reverse; K5 out").unwrap();
    let bench_model = facts::bench::at_bench(&held);
    let bench = facts::bench::Bench::new(&bench_model);
    let there = bench.state(&solved, &row.solution.state).unwrap();
    let at = |name: &str| {
        let pin = held.pin_ids().find(|pin| held.pin_name(*pin) == name).unwrap();
        bench.wiring.assembly.mean(&there.solution, pin).value()
    };
    // Screen and cameras draw some 0.9 A: 4.5 mV.
    let trigger = at("HU1.REV") - at("HU1.ground");
    assert!((12.585..12.595).contains(&trigger), "{trigger} V");
    let (book, _) = written(&held);
    let sheet = book.service.iter().find(|sheet| sheet.when == "reverse").unwrap();
    assert!(volts(chain(sheet, "Trigger HU1.REV").1, "HU1.REV") < 12.45);
}

/// A button that turns a relay over: each group starts from rest, so the first that sets it says how it is reset.
#[test]
fn an_impulse_relay_is_reset_before_the_next_group() {
    let toggled = HELD
        .replace("relay-mini-spdt-12v-diode", "relay-latching-toggle-12v")
        .replace("S-LOOK, to: K5.86", "SW1.on, to: K5.86")
        .replace("SW1.on, to: S-LOOK", "S-LOOK, to: S-SPARE");
    let (book, _) = written(&model(&toggled));
    let set: Vec<_> = book.bench.groups.iter().filter(|group| group.title.contains("K5 set")).collect();
    assert!(!set.is_empty());
    for group in set {
        let back = group.steps.last().unwrap();
        assert_eq!(back.what, "Back to rest, K5 reset");
        assert!(back.expect.contains("press SW1 (Look) and let go"), "{}", back.expect);
    }
    let alone = book.bench.groups.iter().find(|group| group.title == "Each part by itself").unwrap();
    assert!(alone.steps.iter().any(|step| step.pass.contains("if it came set, reset it: 12 V on 86, ground on 85")));
}

/// Taking any one wire away opens at least one reading: none hides behind another that lies beside it.
#[test]
fn no_wire_stands_in_for_another() {
    let text = HELD.replace("accept:", "  - {id: 90, from: S-LOOK, to: HU1.AUX, colour: BU}\naccept:");
    let (book, _) = written(&model(&text));
    let steps = &book.bench.groups[0].steps;
    for ring in ["G1, ring of wire 52", "G1, ring of wire 53"] {
        assert!(steps.iter().any(|step| step.red == ring || step.black == ring), "{ring}");
    }
    let alone = steps.iter().find(|step| step.what.contains(" alone")).unwrap();
    assert_eq!(alone.what, "wire 90 alone, before its second end is crimped: others are in parallel with it");
    assert_eq!((alone.red.as_str(), alone.black.as_str()), ("S-LOOK", "HU1.AUX"));
}

/// A clip goes on a wire's end that there is, never on a supply that no wire of the harness comes from.
#[test]
fn clips_go_on_ends_of_wires() {
    let (book, _) = spreader();
    for line in book.bench.groups.iter().flat_map(|group| &group.set).filter(|line| line.starts_with("plus o")) {
        for piece in line.split("end of wire ").skip(1) {
            let (wire, point) = piece.split_once(" (").unwrap();
            let row = book.wires.iter().find(|row| row.id == wire).unwrap();
            let point = point.split(')').next().unwrap();
            assert!(!row.existing && [&row.from.pin, &row.to.pin].contains(&&point.to_string()), "{line}");
        }
    }
    // Wire 25 is already in the vehicle.
    assert!(book.bench.groups.iter().all(|group| group.set.iter().all(|line| !line.contains("25"))));
}

/// What is in the way of the readings without power goes in after them, fuses last, and before the power comes on.
#[test]
fn parts_go_in_between_the_tests_without_and_with_power() {
    let groups = &spreader().0.bench.groups;
    let titles: Vec<&str> = groups.iter().map(|group| group.title.as_str()).collect();
    let at = titles.iter().position(|title| *title == "Put it together").unwrap();
    assert!(titles[..at].iter().all(|title| !title.starts_with("With")));
    assert!(titles[at + 1..].iter().all(|title| title.starts_with("With power") || title.starts_with("Timing")));
    let steps: Vec<(&str, &str)> = groups[at].steps.iter().map(|s| (s.what.as_str(), s.expect.as_str())).collect();
    assert_eq!(steps.first(), Some(&("Crimp or solder in", "D1")));
    assert_eq!(steps.last(), Some(&("Put in last", "F1, F2")));
    assert!(groups[0].how.contains("Not fitted yet: D1, R1.") && groups[1].how.contains("Not fitted yet: D1, R1."));
}

/// The hold module is set to 3 s, and by its data a tenth off; the little that its output leaks stays on it.
#[test]
fn a_hold_time_is_taken_with_a_watch() {
    let groups = &spreader().0.bench.groups;
    let group = groups.iter().find(|group| group.title.starts_with("Timing: hold time of T1")).unwrap();
    let [step] = &group.steps[..] else { panic!("{group:?}") };
    assert_eq!(
        group.set,
        [
            "from rest: plus on end of wire 1 (battery) only",
            "plus on end of wire 4 (accessory)",
            "SW1 (Spreading) to on"
        ]
    );
    assert_eq!(step.pass, "after 2.7 s to 3.3 s");
    assert!(step.what.starts_with("SW1 (Spreading) to off; then the time until the reading changes: 3 s"), "{step:?}");
    assert_eq!((step.red.as_str(), step.black.as_str()), ("T1.out", "T1.ground"));
    assert!(step.expect.starts_with("12.4") && step.expect.contains(", then 0."), "{step:?}");
}

/// A latch module is pressed a second time, and what it showed is gone.
#[test]
fn a_latch_is_pressed_twice() {
    let text = SPREADER
        .replace("T1: {use: hold-module-12v, at: dash, time: 3 s}", "T1: {use: latch-module-12v, at: dash}")
        .replace("SW2.on, to: AMP.remote", "SW2.on, to: T1.in")
        .replace("SW1.on, to: T1.in", "SW1.on, to: AMP.remote")
        .replace("spread and not look, show: DISC, steady: yes", "T1, show: DISC");
    let (book, _) = written(&model(&text));
    let mut steps = book.bench.groups.iter().flat_map(|group| &group.steps);
    let second = steps.find(|step| step.what.starts_with("Second time: press SW2 (Look button) and let go")).unwrap();
    assert_eq!(second.expect, "home");
}

/// The load limits the supply current, not the 10 A fuse.
#[test]
fn the_bench_supply_is_limited_by_what_is_drawn() {
    let (book, _) = spreader();
    let step = book.bench.before.steps.iter().find(|step| step.what.starts_with("Its current limit")).unwrap();
    let amps: f64 = step.expect.strip_suffix(" A").unwrap().parse().unwrap();
    assert!((0.5..10.0).contains(&amps), "{amps}");
    let currents =
        book.bench.groups.iter().flat_map(|group| &group.steps).filter(|s| s.what.starts_with("Current through"));
    for step in currents {
        assert!(step.what.ends_with("fuse out, ammeter in its place") && step.pass.contains(", below "), "{step:?}");
    }
}

/// Two lines of the intent at once are tried: which of them is shown is what relays and diodes are there for.
#[test]
fn two_lines_of_the_intent_at_once_are_tried() {
    let (book, _) = spreader();
    assert!(book.bench.groups.iter().any(|g| g.title == "With power: key run, reverse, spread; T1.held on"));
}
