//! States that are reached and never settle.

use super::*;

/// A camera on a relay that opens its own coil's feed while `look` is on; `feed` is where the camera has its power.
fn buzzing(feed: &str) -> Report {
    let spec = head("A relay that opens its own feed")
        + "inputs: {look: {kind: toggle, part: SW1}}
screens: {dash: {part: HU1}}
views: {dash: [{when: look, show: FRONT}, {otherwise: home}]}
cameras: {FRONT: {use: camera-cvbs-12v, at: dash}}
parts:
  F1: {use: fuse-blade, rating: 3 A, at: dash}
  F2: {use: fuse-blade, rating: 2 A, at: dash}
  SW1: {use: toggle-spst, at: dash}
  K1: {use: relay-mini-spdt-12v-diode, at: dash}
  HU1: {use: screen-2in-12v, at: dash}
splices: {S1: {at: dash}, S2: {at: dash}, S3: {at: dash}, S4: {at: dash}}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: battery, to: F2.1}
  - {id: 3, from: F2.2, to: S2}
  - {id: 4, from: S2, to: SW1.common}
  - {id: 5, from: SW1.on, to: S3}
  - {id: 6, from: S3, to: K1.30}
  - {id: 7, from: K1.87a, to: S4}
  - {id: 8, from: S4, to: K1.86}
  - {id: 9, from: K1.85, to: GND}
  - {id: 10, from: F1.2, to: S1}
  - {id: 11, from: S1, to: HU1.power}
  - {id: 12, from: HU1.ground, to: GND}
  - {id: 13, from: S3, to: HU1.REV}
  - {id: 14, from: FRONT.ground, to: GND}
  - {id: 15, from: FRONT.video, to: HU1.cam1, make: coax}
  - {id: 16, from: FEED, to: FRONT.power, gauge: 0.75 mm²}
"
        .replace("FEED", feed)
        .as_str();
    specimens::report(&spec).unwrap().1
}

fn errors(report: &Report) -> Vec<(&'static str, &str)> {
    let errors = report.findings.iter().filter(|finding| finding.severity == Severity::Error);
    errors.map(|finding| (finding.rule, finding.about.as_str())).collect()
}

/// A view that applies only where the relay chatters is reached, and its camera on another fuse shows.
#[test]
fn what_takes_no_part_is_judged_as_usual() {
    let report = buzzing("S1");
    assert_eq!(errors(&report), [("logic/chatter", "K1")]);
    assert!(report.proof.text().contains("1 state and 1 that never settles"), "{}", report.proof.text());
}

/// What takes part is shown with what it alternates between.
#[test]
fn a_picture_that_the_relay_switches_alternates() {
    let report = buzzing("S4");
    assert_eq!(errors(&report), [("logic/chatter", "K1")]);
    let chatter = report.findings.iter().find(|finding| finding.rule == "logic/chatter").unwrap();
    let screen = chatter.evidence.figures.iter().find(|figure| figure.name == "screen dash").unwrap();
    assert_eq!(screen.value, "alternates between FRONT and no picture on cam1");
}

/// A spec with one relay more, which opens its own feed behind its own fuse: no state settles.
fn with_chatter(spec: &str) -> Option<String> {
    let (model, _) = specimens::report(spec).ok()?;
    let is = |part: &&model::Part, kind: fn(&model::ElementKind) -> bool| {
        part.elements.iter().any(|id| kind(&model.element(*id).kind))
    };
    let battery = |kind: &model::ElementKind| matches!(kind, model::ElementKind::Battery { .. });
    let battery = model.parts.iter().find(|part| is(part, battery))?;
    let ground = model.parts.iter().find(|part| part.kind == model::PartKind::Ground)?;
    let volts = if model.job.nominal.value() > 18.0 { 24 } else { 12 };
    let at = model.place_name(battery.at);
    let parts = format!(
        "\nparts:\n  PF1: {{use: fuse-blade, rating: 3 A, at: {at}}}\n  \
         PK1: {{use: relay-mini-spdt-{volts}v-diode, at: {at}}}\n"
    );
    let wire = |id: &str, from: &str, to: &str| {
        format!("  - {{id: {id}, from: {from}, to: {to}, gauge: 1 mm², length: 0.3 m, colour: PK/BK}}\n")
    };
    let wires = [
        "\nwires:\n".to_string(),
        wire("p1", &battery.name, "PF1.1"),
        wire("p2", "PF1.2", "PK1.30"),
        wire("p3", "PK1.87a", "PK1.86"),
        wire("p4", "PK1.85", &ground.name),
    ];
    let has_both = spec.contains("\nparts:\n") && spec.contains("\nwires:\n");
    has_both.then(|| spec.replacen("\nparts:\n", &parts, 1).replacen("\nwires:\n", &wires.concat(), 1))
}

/// Every rule still finds its own fault beside a relay that chatters in every state; a rule that can't ask says so.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn chatter_hides_no_other_fault() {
    let mut tried = 0;
    let mut silent = Vec::new();
    for rule in rules().filter(|rule| matches!(rule.finds, Finds::InHarness(_))) {
        let spec = Explanation::of(rule.explanation).spec("Fires");
        let Some((_, report)) = with_chatter(spec).and_then(|spec| specimens::report(&spec).ok()) else { continue };
        if !report.findings.iter().any(|finding| finding.rule == "logic/chatter") {
            continue;
        }
        tried += 1;
        let own = if rule.name.starts_with("time/") { "`time/…`" } else { rule.name };
        let is_said = report.proof.unchecked.iter().any(|line| line.contains(own));
        if !report.findings.iter().any(|finding| finding.rule == rule.name) && !is_said {
            silent.push(rule.name);
        }
    }
    assert!(silent.is_empty() && tried > 50, "{tried} tried, silent: {silent:?}");
}
