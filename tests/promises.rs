//! What parts should do, and what standard pins are for: every demonstration keeps its promises, crossing any two of them
//! is found and named, and so is any permutation of the wires at a trailer socket.

mod jobs;

use form::TextMap;
use job::Job;
use jobs::{root, specs_in};
use model::Model;
use proptest::prelude::*;
use std::path::Path;

/// The messages of a spec's findings by one rule. It may include the demonstrations' own parts.
fn messages(text: &str, rule: &str) -> Vec<String> {
    let shop = std::fs::read_to_string(root().join("harness-specs/shop/parts.yaml")).unwrap();
    let texts = TextMap::new([("spec.yaml", text), ("shop/parts.yaml", shop.as_str())]);
    let job = Job::read(&texts, Path::new("spec.yaml")).unwrap();
    let report = job.report().unwrap();
    report.findings.iter().filter(|finding| finding.rule == rule).map(|finding| finding.message.clone()).collect()
}

/// The text with the conditions of two `works` exchanged.
fn exchanged(text: &str, model: &Model, one: usize, other: usize) -> String {
    let mut places = [model.works[one].place, model.works[other].place];
    places.sort_by_key(|place| place.start);
    let [a, b] = places.map(|place| place.start..place.end);
    format!("{}{}{}{}{}", &text[..a.start], &text[b.clone()], &text[a.end..b.start], &text[a], &text[b.end..])
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn crossing_two_promises_of_a_demonstration_is_found_and_names_both() {
    const RULE: &str = "logic/works-differs";
    let mut crossed = 0;
    for path in specs_in(&["harness-specs"]) {
        let text = std::fs::read_to_string(&path).unwrap();
        let model = jobs::model_of(&path);
        assert_eq!(messages(&text, RULE), Vec::<String>::new(), "{}", path.display());
        let mut seen = Vec::new();
        let pairs = (0..model.works.len()).flat_map(|one| (one + 1..model.works.len()).map(move |other| (one, other)));
        for (one, other) in pairs {
            let conditions = [one, other].map(|i| model.works[i].text.as_str());
            if conditions[0] == conditions[1] || seen.contains(&conditions) {
                continue;
            }
            seen.push(conditions);
            let found = messages(&exchanged(&text, &model, one, other), RULE);
            let name = |i: usize| model.part(model.works[i].part).name.as_str();
            let names_both = |message: &&String| message.contains(name(one)) && message.contains(name(other));
            assert!(found.iter().any(|message| names_both(&message)), "{}: {found:#?}", path.display());
            assert_eq!(found.len(), 1, "one cause, one finding: {found:#?}");
            crossed += 1;
        }
    }
    assert!(crossed >= 6, "only {crossed} pairs were crossed");
}

/// Pins of an ISO 1724 socket, and the input that each is for.
const PINS: [(&str, &str); 5] =
    [("1", "left-turn"), ("4", "right-turn"), ("5", "tail-lamps"), ("6", "brake"), ("2", "rear-fog")];

/// A socket whose pins are wired to these inputs, by place in [`PINS`].
fn socket(wired: &[usize]) -> String {
    let input = |(_, means): &(&str, &str)| {
        let kind = if means.ends_with("turn") { "flasher-feed" } else { "lamp-feed" };
        format!("  {means}: {{kind: {kind}, at: tail, fuse: 5 A, means: {means}}}\n")
    };
    let inputs: String = PINS.iter().map(input).collect();
    let wire = |(pin, from): (usize, &usize)| {
        format!("  - {{id: W{pin}, from: {}, to: X1.{}, gauge: 1.5 mm²}}\n", PINS[*from].1, PINS[pin].0)
    };
    let wires: String = wired.iter().enumerate().map(wire).collect();
    format!(
        "harness: 1\njob: {{title: Socket, nominal: 12 V}}\nplaces: [tail]\n\
         supplies: {{battery: {{terminal: \"30\", at: tail, volts: [11.8 V, 12.6 V, 14.6 V]}}}}\n\
         grounds: {{GND: {{at: tail}}}}\ninputs:\n{inputs}\
         connectors: {{X1: {{use: trailer-socket-7, at: tail}}}}\n\
         wires:\n{wires}  - {{id: G, from: X1.3, to: GND, gauge: 2.5 mm²}}\n"
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// Exactly the pins that are not wired to their own input are named.
    #[test]
    fn every_wrong_pin_of_a_socket_is_named_and_no_right_one(wired in Just([0, 1, 2, 3, 4]).prop_shuffle()) {
        let found = messages(&socket(&wired), "logic/standard-pin");
        for (pin, from) in wired.iter().enumerate() {
            let name = format!("X1.{} ", PINS[pin].0);
            let is_named = found.iter().any(|message| message.contains(&name));
            prop_assert_eq!(is_named, pin != *from, "pin {} on {}: {:#?}", PINS[pin].0, PINS[*from].1, found);
        }
    }
}
