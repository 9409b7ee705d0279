//! Reports that were wrong once: each on a small spec, by title, subject, excerpt and advice; and what no report may ever say,
//! on every rule's own spec and on the demonstrations with faults.

use super::*;

/// Specs with findings: every rule's own, and the demonstrations, each also with one figure made worse.
fn reports() -> Vec<(String, model::Model, Report)> {
    let specimens =
        rules().map(|rule| (rule.name.to_string(), Explanation::of(rule.explanation).spec("Fires").to_string()));
    let worse = [
        ("gauge: 1.5 mm²", "gauge: 0.35 mm²"),
        ("gauge: 0.75 mm²", "gauge: 0.35 mm²"),
        ("time: 1.2 s", "time: 8 s"),
        ("within: 2 s", "within: 200 ms"),
        ("rating: 3 A", "rating: 30 A"),
    ];
    let demos = [
        ("first-harness", include_str!("../../../harness-specs/first-harness.yaml")),
        ("orchard-sprayer-pickup", include_str!("../../../harness-specs/orchard-sprayer-pickup.yaml")),
        ("wheelchair-van", include_str!("../../../harness-specs/wheelchair-van.yaml")),
        ("refuse-truck", include_str!("../../../harness-specs/refuse-truck.yaml")),
    ];
    let demos = demos.into_iter().flat_map(move |(name, text)| {
        let changed = worse
            .into_iter()
            .filter(|(from, _)| text.contains(from))
            .map(|(from, to)| (format!("{name}: {to}"), text.replace(from, to)));
        changed.collect::<Vec<_>>()
    });
    let all = specimens.chain(demos);
    all.filter_map(|(name, text)| {
        let (model, report) = specimens::report(&text).ok()?;
        Some((name, model, report))
    })
    .collect()
}

/// Seconds that a text begins with: `9.12 s after`, `300 ms`.
fn seconds(text: &str) -> Option<f64> {
    let mut words = text.split_whitespace();
    let number: f64 = words.next()?.parse().ok()?;
    match words.next()?.trim_end_matches([',', ';', ':']) {
        "s" => Some(number),
        "ms" => Some(number / 1e3),
        "µs" => Some(number / 1e6),
        "min" => Some(number * 60.0),
        _ => None,
    }
}

/// An excerpt covers its event: it begins before the event and ends after it. A picture that comes late is there in the last
/// row. A picture that is away for a time is away for that long within the rows.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn every_excerpt_covers_its_event() {
    let (mut checked, mut wrong) = (0, Vec::new());
    for (name, _, report) in reports() {
        for finding in report.findings.iter().filter(|finding| !finding.evidence.timeline.is_empty()) {
            let rows = &finding.evidence.timeline;
            let [first, last] = [rows.first(), rows.last()].map(|row| seconds(&row.unwrap().at).unwrap());
            let lasts = ["comes ", "gone for up to ", "for up to ", "works only ", "loses ", "may stay for "];
            let said = lasts.iter().find_map(|word| seconds(finding.message.split_once(word)?.1));
            let Some(said) = said else { continue };
            checked += 1;
            // The figure has three digits.
            if last - first < said * 0.995 - 0.001 {
                wrong.push(format!("{name}: {}: rows from {first} to {last} s", finding.message));
            }
        }
    }
    assert!(wrong.is_empty() && checked > 5, "{checked} checked\n{}", wrong.join("\n"));
}

/// Words between backquotes that look like a part or a pin: `K1`, `K1.87a`.
fn names(text: &str) -> impl Iterator<Item = &str> {
    let quoted = text.split('`').skip(1).step_by(2);
    quoted.filter(|word| word.starts_with(|first: char| first.is_ascii_uppercase()) && !word.contains(' '))
}

/// Advice and titles name only what the spec has.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn nothing_is_named_that_is_not_there() {
    let mut wrong = Vec::new();
    for (name, model, report) in reports() {
        let pins = model.pin_ids().map(|pin| model.pin_name(pin));
        let parts = model.parts.iter().map(|part| part.name.to_string());
        let signals = model.signals.iter().map(|signal| signal.name.to_string());
        // A screen's `shows` names its own pins without the screen.
        let own = model.pin_ids().map(|pin| model.pin(pin).name.to_string());
        let known: std::collections::BTreeSet<String> = pins.chain(parts).chain(signals).chain(own).collect();
        // A spec may name what it does not have: that is then what is reported.
        let is_said = |word: &str| known.contains(word);
        for finding in report.findings.iter().filter(|finding| finding.rule != "net/pin-unknown") {
            let texts = [finding.hint.as_str(), finding.message.as_str()];
            let unknown = texts.into_iter().flat_map(names).filter(|word| !is_said(word));
            wrong.extend(unknown.map(|word| format!("{name}: {}: {word}", finding.rule)));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Significant digits of a number, those of a whole number without the noughts at its end.
fn digits(number: &str) -> usize {
    let plain: String = number.chars().filter(char::is_ascii_digit).collect();
    let plain = plain.trim_start_matches('0');
    if number.contains('.') { plain.len() } else { plain.trim_end_matches('0').len() }
}

/// A computed figure has at most three digits, in titles, values and paths.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn no_figure_has_more_than_three_digits() {
    let units = ["V", "mV", "A", "mA", "µA", "Ω", "mΩ", "kΩ", "W", "mW", "s", "ms", "%"];
    let mut wrong = Vec::new();
    for (name, _, report) in reports() {
        // Moments of a drive are printed as in the timeline below them, to the millisecond.
        for finding in report.findings.iter().filter(|finding| finding.rule != "time/drive-broken") {
            let values = finding.evidence.figures.iter().map(|figure| figure.words());
            for text in [finding.message.clone(), finding.hint.clone()].into_iter().chain(values) {
                let words: Vec<&str> = text.split([' ', '(', ')', ',', ';']).collect();
                let over = words.windows(2).filter(|pair| {
                    let number = pair[0].trim_start_matches(['-', '−']);
                    let is_number = !number.is_empty() && number.chars().all(|c| c.is_ascii_digit() || c == '.');
                    is_number && units.contains(&pair[1].trim_end_matches(':')) && digits(number) > 3
                });
                wrong.extend(over.map(|pair| format!("{name}: {}: {} {} in {text}", finding.rule, pair[0], pair[1])));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// 'At rest' is said only while nothing is set: otherwise the state names what is.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn what_is_set_is_never_at_rest() {
    for (name, _, report) in reports() {
        for finding in &report.findings {
            let Some(state) = finding.evidence.state.as_deref() else { continue };
            let Some((_, memory)) = state.split_once("at rest; ") else { continue };
            let says_rest = finding.message.contains("at rest");
            let part = memory.split([' ', '.']).next().unwrap_or(memory);
            let names_it = finding.message.contains(part) || !says_rest;
            assert!(names_it, "{name}: {}: state {state}", finding.message);
            assert!(!finding.message.contains("everything at rest"), "{name}: {}", finding.message);
        }
    }
}

/// A boom picture that waits for a hold of 8 s: the timer is named, and nobody is sent to the camera's power.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_picture_that_waits_for_a_timer_names_it() {
    let spec = include_str!("../../../harness-specs/orchard-sprayer-pickup.yaml");
    let line = spec.lines().find(|line| line.trim_start().starts_with("HOLD-L:")).unwrap();
    let spec = spec.replacen(line, &line.replace("time: 1.2 s", "time: 8 s"), 1);
    assert!(spec.contains("time: 8 s"));
    let late = found("time/late", &spec).into_iter().find(|finding| finding.message.contains("left-turn off")).unwrap();
    assert!(late.about.contains("BOOM-RIGHT") && late.message.contains("comes 9.1"), "{}", late.message);
    assert!(late.hint.contains("`HOLD-L.held`") && late.hint.contains("8 s"), "{}", late.hint);
    assert!(!late.hint.contains("power") && !late.hint.contains("camera"), "{}", late.hint);
    let last = late.evidence.timeline.last().unwrap();
    assert!(
        seconds(&last.at).unwrap() > 9.0 && last.screens.iter().any(|screen| screen.contains("BOOM-RIGHT")),
        "{last:?}"
    );
}

/// Three loads behind a converter on 30 m of thin wire: the converter is the subject, with its volts.
#[test]
fn a_brown_out_names_the_starved_converter_first() {
    let spec = "harness: 1
job: {title: A converter on a long wire, nominal: 24 V}
places: [panel, tail]
runs: [{between: [panel, tail], length: 30 m}]
supplies:
  battery: {terminal: \"30\", at: panel, volts: [20 V, 25.2 V, 28.8 V]}
  accessory: {terminal: \"75\", at: panel, follows: key, limit: 15 A, fuse: 15 A}
grounds: {G2: {at: tail}}
inputs: {key: {positions: [off, run]}}
accessories: {L1: {use: led-worklight, at: tail}, L2: {use: led-worklight, at: tail}, L3: {use: buzzer-12v, at: tail}}
parts:
  F1: {use: fuse-blade, rating: 5 A, at: panel}
  F2: {use: fuse-blade, rating: 7.5 A, at: tail}
  U1: {use: converter-24-12-5a, at: tail}
splices: {S: {at: tail}}
wires:
  - {id: 1, from: accessory, to: F1.1, gauge: 1.5 mm²}
  - {id: 2, from: F1.2, to: U1.in, gauge: 0.75 mm²}
  - {id: 3, from: U1.ground, to: G2, gauge: 1.5 mm²}
  - {id: 4, from: U1.out, to: F2.1, gauge: 1.5 mm²}
  - {id: 5, from: F2.2, to: S, gauge: 1.5 mm²}
  - {id: 6, from: S, to: L1.power, gauge: 1 mm²}
  - {id: 7, from: S, to: L2.power, gauge: 1 mm²}
  - {id: 8, from: S, to: L3.power, gauge: 0.5 mm²}
  - {id: 9, from: L1.ground, to: G2, gauge: 1 mm²}
  - {id: 10, from: L2.ground, to: G2, gauge: 1 mm²}
  - {id: 11, from: L3.ground, to: G2, gauge: 0.5 mm²}
";
    let (_, report) = specimens::report(spec).unwrap();
    let first = report.roots().next().unwrap();
    assert!(first.about == "U1" && first.message.starts_with("`U1` "), "{}", first.message);
    assert!(first.message.contains("16.6 V") && first.message.contains("needs 18 V"), "{}", first.message);
}

/// A wire beyond what it may carry by itself: no other route helps.
#[test]
fn a_wire_beyond_its_own_rating_is_not_sent_elsewhere() {
    let spec = head("A heater on a thin wire")
        + "accessories: {L1: {use: led-worklight, at: dash, draws: 240 W}}
parts: {F1: {use: fuse-blade, rating: 30 A, at: dash}}
wires:
  - {id: 1, from: battery, to: F1.1, gauge: 4 mm², length: 1 m}
  - {id: 2, from: F1.2, to: L1.power, gauge: 1.5 mm², length: 4 m}
  - {id: 3, from: L1.ground, to: GND, gauge: 1.5 mm², length: 4 m}
";
    let over = found("load/wire-ampacity", &spec);
    assert!(!over.is_empty());
    for finding in over {
        assert!(finding.hint.starts_with("use 2.5 mm²") || finding.hint.starts_with("use 4 mm²"), "{}", finding.hint);
        assert!(!finding.hint.contains("outside this bundle"), "{}", finding.hint);
    }
}

/// A buzzer, an LED and a trigger input behind an output that leaks, from 10 µA to 20 mA: whatever is reported while the output
/// is off says 'leakage', once for each subject, and gives a resistor or a contact.
#[test]
fn leakage_is_said() {
    let mut said = 0;
    let loads = ["led-marker-12v", "buzzer-12v", "led-worklight"];
    for (load, milliamps) in
        loads.iter().flat_map(|load| [0.01, 0.1, 0.3, 1.0, 3.0, 5.0, 20.0].map(|amps| (load, amps)))
    {
        let spec = head("A load behind an output that leaks")
            + &format!(
                "inputs: {{key: {{positions: [off, run]}}, mo: {{kind: module-output, at: dash, limit: 2 A, fuse: 5 A, leakage: {milliamps} mA}}}}
screens: {{d: {{part: HU1}}}}
cameras: {{REAR: {{use: camera-cvbs-12v, at: dash}}}}
views: {{d: [{{when: mo, show: REAR}}, {{otherwise: home}}]}}
accessories: {{L1: {{use: {load}, at: dash, works: mo}}}}
parts: {{F1: {{use: fuse-blade, rating: 3 A, at: dash}}, HU1: {{use: screen-2in-12v, at: dash}}}}
splices: {{S: {{at: dash}}}}
wires:
  - {{id: 1, from: mo, to: L1.power}}
  - {{id: 2, from: L1.ground, to: GND}}
  - {{id: 3, from: battery, to: F1.1}}
  - {{id: 4, from: F1.2, to: S}}
  - {{id: 5, from: S, to: HU1.power}}
  - {{id: 6, from: S, to: REAR.power}}
  - {{id: 7, from: HU1.ground, to: GND}}
  - {{id: 8, from: REAR.ground, to: GND}}
  - {{id: 9, from: REAR.video, to: HU1.cam1, make: coax}}
  - {{id: 10, from: mo, to: HU1.REV}}
"
            );
        // The load and the trigger share the wire; without the load, leakage has only the trigger.
        let alone = spec.replace("  - {id: 1, from: mo, to: L1.power}\n  - {id: 2, from: L1.ground, to: GND}\n", "");
        let alone = alone.lines().filter(|line| !line.starts_with("accessories")).collect::<Vec<_>>().join("\n");
        for spec in [spec, alone] {
            let (_, report) = specimens::report(&spec).unwrap();
            let mut subjects = std::collections::BTreeSet::new();
            let is_off = |finding: &&Finding| finding.evidence.state.as_deref() == Some("at rest");
            let faults = report.roots().filter(is_off).filter(|finding| finding.rule.starts_with("logic/"));
            for finding in faults.chain(report.roots().filter(|finding| finding.rule == "load/start-dip")) {
                assert!(finding.message.contains("leakage"), "{load}, {milliamps} mA: {}", finding.message);
                assert!(finding.hint.contains("relay"), "{}", finding.hint);
                assert!(subjects.insert(finding.about.clone()), "{load}, {milliamps} mA: twice: {}", finding.message);
                said += 1;
            }
        }
    }
    assert!(said > 10, "{said}");
}
