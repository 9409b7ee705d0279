//! Figures of the bench test and the service sheets, held to what can be worked out by hand.

use super::*;
use crate::book::chain::{Chain, ChainKind};
use crate::book::service::ServiceSheet;

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

/// R1 has 470 Ω and the trigger input 22 kΩ to ground: it gets 22 000 / 22 470 of what is before R1.
#[test]
fn a_trigger_behind_a_resistor_reads_as_a_divider_does() {
    let (_, chain) = chain(sheet("spread and not look"), "Trigger HU1.AUX");
    let share = volts(chain, "HU1.AUX") / volts(chain, "R1.1");
    assert!((share - 22_000.0 / 22_470.0).abs() < 0.002, "{share}");
}

/// 0.5 mm² has at most 39.0 Ω/km at 20 °C (IEC 60228, class 5): wire 24 is
/// 3.5 m long, wire 17 0.8 m.
#[test]
fn end_to_end_readings_follow_iec_60228() {
    let steps = &spreader().0.bench.groups[0].steps;
    let reading = |wire: &str| {
        let step = steps.iter().find(|step| step.what == format!("wire {wire}")).unwrap();
        (step.expect.as_str(), step.pass.as_str())
    };
    assert_eq!(reading("24"), ("0.14 Ω", "at most 0.7 Ω"));
    assert_eq!(reading("17"), ("0.01 Ω", "at most 0.6 Ω"));
    assert_eq!(reading("18"), ("joined", "centre to centre joined, centre to screen open"));
}

/// The bench supply stands in for the battery, so it is set to the battery's nominal voltage and not to the system's.
#[test]
fn the_bench_supply_is_the_battery() {
    let (book, documents) = spreader();
    assert_eq!(book.bench.supply.map(|v| v.to_string()).as_deref(), Some("12.6 V"));
    assert!(text(documents, "build-book.html").contains("a bench supply set to 12.6 V"));
}
