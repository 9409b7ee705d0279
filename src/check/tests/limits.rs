//! Values beside their limits, recommended sizes, and inrush at the supply that makes it worst.

use super::*;
use crate::explain::Explanation;

/// The first spec of a rule's explanation.
fn specimen(rule: &str) -> String {
    let rule = rules().find(|one| one.name == rule).unwrap();
    Explanation::of(rule.explanation).spec("Fires").to_string()
}

/// 365 mV of 12 V are 3.042 %: above 3.03 %, but at 3.04 % value and limit print the same, and only rounding is between them.
#[test]
fn a_value_that_prints_as_its_limit_is_not_above_it() {
    let spec = |drop: &str| specimen("load/drop").replace("places:", &format!("limits: {{drop: {drop}}}\nplaces:"));
    assert_eq!(found("load/drop", &spec("3.03 %")).len(), 1);
    assert_eq!(found("load/drop", &spec("3.04 %")), []);
}

/// In every explanation's specs: no finding stands on a value that prints as its limit.
#[test]
fn no_finding_is_at_its_limit() {
    let mut limits = 0;
    for rule in rules() {
        for heading in ["Fires", "Stays quiet"] {
            let spec = Explanation::of(rule.explanation).spec(heading);
            let Ok((_, report)) = specimens::report(spec) else { continue };
            for finding in &report.findings {
                assert!(!finding.is_at_its_limit(), "{}: {}", rule.name, finding.message);
                limits += finding.evidence.figures.iter().filter(|figure| figure.limit.is_some()).count();
            }
        }
    }
    assert!(limits > 80, "{limits}");
}

/// A recommended size fits the terminals at both ends, or the advice says what to do instead.
#[test]
fn a_size_is_recommended_only_if_the_terminals_take_it() {
    // At 1 % it takes 6 mm², which neither a blade fuse holder nor the light's lead takes.
    let spec = specimen("load/drop").replace("places:", "limits: {drop: 1 %}\nplaces:");
    let hint = found("load/drop", &spec)[0].hint.clone();
    assert!(hint.contains("which its terminals don't take") && !hint.contains("use 6 mm²"), "{hint}");
    let fits = found("load/drop", &specimen("load/drop"))[0].hint.clone();
    assert_eq!(fits, "for wire 2 use 1 mm²");
}

/// A cold filament's inrush rises with the voltage: 14.5 V of 12 V are 21 % more than the catalogue's figure.
#[test]
fn inrush_is_that_of_the_highest_supply() {
    let finding = found("load/fuse-inrush", &specimen("load/fuse-inrush"))[0].clone();
    assert_eq!(finding.evidence.corner.as_deref(), Some("highest supply, cold copper"));
    let rush = &finding.evidence.figures[0];
    let amps: f64 = rush.value.trim_end_matches(" A").parse().unwrap();
    assert!((amps / 17.5 - 14.5 / 12.0).abs() < 0.02, "{rush:?}");
}

/// What a late picture waits for decides the advice: a module that delays, or power.
#[test]
fn the_advice_for_a_late_picture_names_the_timer_that_it_waits_for() {
    let delayed = specimen("time/rear-late").replace("show: REAR}", "show: REAR, within: 2 s}");
    let hint = found("time/late", &delayed)[0].hint.clone();
    assert!(hint.starts_with("it waits for `M1") && hint.contains("delays by 2 s"), "{hint}");
    let starting = found("time/late", &specimen("time/late"))[0].hint.clone();
    assert!(starting.contains("power camera and modules"), "{starting}");
}

/// A relay that stays set is not 'everything at rest'.
#[test]
fn a_drain_with_a_relay_held_in_says_so() {
    let held = specimen("logic/depends-on-history");
    let messages: Vec<String> = found("load/key-off-drain", &held).into_iter().map(|finding| finding.message).collect();
    assert!(messages[0].contains("with every input at rest and K1 in, limit"), "{messages:?}");
}

/// A note that nearly every sound harness has takes a line in the report for people, and is there in full if asked for.
#[test]
fn a_usual_note_takes_a_line() {
    let (model, report) = specimens::report(&specimen("time/engine-start")).unwrap();
    let [note] = report.findings.iter().filter(|finding| finding.usual).collect::<Vec<_>>()[..] else { panic!("one") };
    assert_eq!((note.rule, note.severity), ("time/engine-start", Severity::Note));
    let short = text(&model, &report, diagnostic::Style::PLAIN);
    let line = format!("\n  {}: {}\n", note.rule, note.message);
    assert!(short.contains(&line) && !short.contains(&note.hint) && short.ends_with("1 note\n"), "{short}");
    let full = text_in_full(&model, &report, diagnostic::Style::PLAIN);
    assert!(!full.contains(&line) && full.contains(&note.message) && full.contains(&note.hint), "{full}");
}

/// 0.2 mA of leakage over the trigger input's 22 kΩ are 4.4 V: the message says where they come from.
#[test]
fn a_trigger_held_up_by_leakage_names_it() {
    let through_resistor = specimen("logic/trigger-undecided");
    let spec = through_resistor
        .replace("{kind: lamp-feed, at: dash,", "{kind: module-output, leakage: 0.2 mA, at: dash,")
        .replace("resistance: 33 kΩ", "resistance: 10 Ω")
        .replace("  - {id: 6, from: reverse, to: REAR.power}\n", "  - {id: 6, from: F1.2, to: REAR.power}\n");
    let undecided = found("logic/trigger-undecided", &spec);
    assert!(undecided[0].message.ends_with("it gets 4.4 V from the leakage of `reverse` at rest"), "{undecided:?}");
    let hint =
        "`reverse` lets up to 200 µA through while off: put a resistor of 6.8 kΩ (250 mW) from `reverse` to ground";
    assert!(undecided[0].hint.starts_with(hint), "{}", undecided[0].hint);
    let divided = found("logic/trigger-undecided", &through_resistor);
    assert!(!divided[0].message.contains("leakage"), "{}", divided[0].message);
}
