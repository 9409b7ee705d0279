//! Findings in reports, where a rule's own two specs are not enough.

use super::*;

mod accepted;
mod advice;
mod causes;
mod cavities;
mod counter_examples;
mod dark_screens;
mod dead_supplies;
mod endless;
mod figures;
mod guesses;
mod limits;
mod loads;
mod lost_grounds;
mod loudspeakers;
mod mixed;
mod no_false_cause;
mod one_root;
mod other_systems;
mod pulsed;
mod relay_pins;
mod roots;
mod shared_causes;
mod sockets;
mod sound;
mod supplies;
mod taps;
mod wrong_pins;

/// The findings of a rule on a spec.
fn found(rule: &str, spec: &str) -> Vec<Finding> {
    let (_, report) = specimens::report(spec).unwrap();
    report.findings.into_iter().filter(|finding| finding.rule == rule).collect()
}

/// The messages of a rule about a spec.
fn messages(rule: &str, spec: &str) -> Vec<String> {
    found(rule, spec).into_iter().map(|finding| finding.message).collect()
}

/// The head of a spec: one battery and one ground at the dash.
fn head(title: &str) -> String {
    format!(
        "harness: 1\njob: {{title: {title}, nominal: 12 V}}\nplaces: [dash]\n\
         supplies: {{battery: {{terminal: \"30\", at: dash, volts: [11.8 V, 12.6 V, 14.6 V], resistance: 15 mΩ}}}}\n\
         grounds: {{GND: {{at: dash}}}}\n"
    )
}

/// No circuit is known that the solver can't solve, so its report is tested by itself.
#[test]
fn a_state_left_out_is_reported_and_does_not_pass() {
    let report =
        Report { unsolved: vec!["reverse on (nominal supply, cold copper): no end".into()], ..Report::default() };
    assert!(!report.passes() && Report::default().passes());
    let text = "harness: 1\njob: {title: Bench, nominal: 12 V}\nplaces: [dash]\n\
                supplies: {battery: {terminal: \"30\", at: dash, volts: 12 V}}\n";
    let (model, _) = specimens::report(text).unwrap();
    let text = super::text(&model, &report, diagnostic::Style::PLAIN);
    assert_eq!(
        text,
        "not solved, so not checked: reverse on (nominal supply, cold copper): no end\n\n\
         no findings, 1 state not solved\n"
    );
    let log: serde_json::Value = serde_json::from_str(&log([results(&model, &report)])).unwrap();
    assert_eq!(log["runs"][0]["invocations"][0]["executionSuccessful"], false);
}

/// A relay that holds itself is in or out with the same inputs: evidence says which, in the state table's words.
#[test]
fn states_that_differ_in_what_holds_itself_read_differently() {
    let held = include_str!("../../book/tests/held.yaml").replacen(
        "reverse and K5, show: TAIL",
        "reverse and K5, show: REAR",
        1,
    );
    let (_, report) = specimens::report(&held).unwrap();
    let differs = report.findings.iter().find(|finding| finding.rule == "logic/view-differs").unwrap();
    assert_eq!(differs.evidence.state.as_deref(), Some("key run, reverse; K5 in"));
    assert!(differs.message.contains("in state key run, reverse; K5 in"), "{}", differs.message);
    let (model, _) = specimens::report(&held).unwrap();
    let names: Vec<String> = Solved::new(&model).table().rows.into_iter().map(|row| row.name).collect();
    assert!(names.contains(&"key run, reverse; K5 in".to_string()), "{names:?}");
}

/// A drive that puts an input where it can't go, and one with a weak battery of its own, in which a picture doesn't
/// come that otherwise does.
#[test]
fn drives_are_played() {
    let spec = include_str!("../../../harness-specs/first-harness.yaml");
    let drives = "drives:\n  odd: [{at: 1 s, reverse: on}]\n  \
                  weak: [{at: 0 s, key: run}, {at: 3 s, supply: 6 V}, {at: 4 s, reverse: on}, {at: 9 s, reverse: off}]\n";
    let (_, report) = specimens::report(&format!("{spec}{drives}")).unwrap();
    let mut found = report.findings.iter().filter(|finding| finding.rule == "time/drive-broken");
    let promise = found.next().unwrap();
    assert_eq!(promise.message, "drive weak fails: dash: REAR asked for at 4.000 s, doesn't come, limit 2 s");
    assert!(promise.evidence.timeline.iter().any(|row| row.happens.contains("supply at 6 V")));
    let refused = found.next().unwrap();
    assert_eq!((refused.about.as_str(), refused.place.line), ("drive odd", spec.lines().count() + 2));
    assert_eq!(refused.message, "drive odd moves reverse to on at 1.000 s, which is impossible");
    assert!(found.next().is_none() && !report.passes());
}

/// A module that never settles has its own words.
#[test]
fn what_starves_itself_starts_and_stops() {
    let (_, report) = specimens::report(include_str!("starves.yaml")).unwrap();
    let found = report.findings.iter().find(|finding| finding.rule == "logic/chatter").unwrap();
    assert_eq!(found.message, "`M1` starts and stops without end in state go");
    assert_eq!(found.about, "M1");
}

/// The specs that `contact-life` and `ground-lost` carry, made to say more.
fn fires(rule: &str, change: impl Fn(&str) -> String) -> Vec<Finding> {
    let spec = Explanation::of(super::rule(rule).unwrap().explanation).spec("Fires");
    let (_, report) = specimens::report(&change(spec)).unwrap();
    report.findings.into_iter().filter(|finding| finding.rule == rule).collect()
}

/// The finding names the side that carries the load, not the throw of a change-over contact that nothing is wired to;
/// and a contact with nothing on either side is none of this rule's business.
#[test]
fn contact_life_is_about_what_carries_current() {
    let found = fires("load/contact-life", |spec| spec.replace("relay-mini-spst", "relay-mini-spdt"));
    assert!(
        found.len() == 1 && found[0].message.starts_with("the contact of `K1` from `30` to `87` wears out early"),
        "{found:?}"
    );
    let idle =
        fires("load/contact-life", |spec| spec.replace("  - {id: 6, from: L1.ground, to: GND, gauge: 1 mm²}\n", ""));
    assert!(idle.is_empty(), "{idle:?}");
}

/// A harness of more than 4096 combinations is tried part by part, and a ground that matters says so.
#[test]
fn ground_lost_says_when_parts_were_tried_by_themselves() {
    let tried = |found: &[Finding]| found[0].evidence.figures.iter().any(|f| f.value.contains("the other zones"));
    assert!(!tried(&fires("safety/ground-lost", str::to_string)));
    let many = |spec: &str| {
        let each = |make: fn(usize) -> String| (0..13).map(make).collect::<String>();
        let inputs = each(|i| format!("  in{i}: {{kind: toggle, part: SW{i}}}\n"));
        let parts = each(|i| {
            format!(
                "  SW{i}: {{use: toggle-spst, at: dash}}\n  F1{i}: {{use: fuse-blade, rating: 3 A, at: dash}}\n  \
                 L1{i}: {{use: lamp-5w, at: dash}}\n"
            )
        });
        let grounds = each(|i| format!("  G1{i}: {{at: dash}}\n"));
        let wires = each(|i| {
            format!(
                "  - {{id: {i}a, from: battery, to: F1{i}.1}}\n  - {{id: {i}b, from: F1{i}.2, to: SW{i}.common}}\n  \
                 - {{id: {i}c, from: SW{i}.on, to: L1{i}.power}}\n  - {{id: {i}d, from: L1{i}.ground, to: G1{i}}}\n"
            )
        });
        let spec = spec.replacen("inputs:\n", &format!("inputs:\n{inputs}"), 1);
        let spec = spec.replacen("parts:\n", &format!("parts:\n{parts}"), 1);
        let spec = spec.replacen("grounds:\n", &format!("grounds:\n{grounds}"), 1);
        spec.replacen("wires:\n", &format!("wires:\n{wires}"), 1)
    };
    let found = fires("safety/ground-lost", many);
    assert!(found[0].message.contains("ground point `GND`") && tried(&found), "{found:?}");
}

/// The supply feeds the cabin light, which goes to ground through the door's wire: with one door open the harness
/// lights the light of the other, and no coil gets anything through it.
#[test]
fn lamps_on_a_wire_that_goes_to_ground_are_lit_by_another_such_wire() {
    let found = |rule: &str| {
        let spec = Explanation::of(super::rule("logic/sneak-ground").unwrap().explanation).spec("Fires");
        let lit = spec.replacen("door-right: {kind: ground-switch", "door-right: {kind: ground-switch, lamps: 10 W", 1);
        let (_, report) = specimens::report(&lit).unwrap();
        let found = report.findings.into_iter().filter(|finding| finding.rule == rule);
        found.map(|finding| finding.message).collect::<Vec<String>>()
    };
    let lamps = found("logic/lamp-glows");
    assert!(lamps.len() == 1 && lamps[0].starts_with("the vehicle's lamps on `door-right` light up"), "{lamps:?}");
    assert!(lamps[0].contains("in state door-left"), "{lamps:?}");
    assert_eq!(
        found("logic/sneak-ground"),
        ["`door-left` is off in state door-right but connected to ground through the harness"]
    );
    assert_eq!(found("logic/sneak-coil"), [""; 0]);
}
