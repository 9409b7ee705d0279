//! The table of kinds, the readings and their loads.

use super::*;
use std::collections::BTreeSet;

/// Each kind of failure has a rate, each rate a kind, and the demonstrations show nearly every kind.
#[test]
fn every_kind_of_failure_has_a_rate_and_occurs() {
    let kinds: BTreeSet<&str> = fault::words().collect();
    let rates: BTreeSet<&str> =
        include_str!("../rates.csv").lines().skip(1).filter_map(|line| Some(line.split_once(',')?.0)).collect();
    assert_eq!(kinds, rates);
    let mut found: BTreeSet<&str> = BTreeSet::new();
    for name in ["first-harness", "wheelchair-van", "boat-tow-pickup", "refuse-truck"] {
        let model = sample::demo(name);
        let solved = Solved::new(&model);
        let facts = Facts::new(&solved);
        found.extend(fault::faults(&facts, &Rates::typical()).iter().map(|fault| fault.kind));
    }
    let missing: Vec<&&str> = kinds.difference(&found).collect();
    assert!(missing.is_empty(), "{missing:?}");
}

/// A harness with a feed, a fuse and a lamp.
fn first(work: impl FnOnce(&Facts)) {
    let model = sample::demo("first-harness");
    let solved = Solved::new(&model);
    work(&Facts::new(&solved));
}

/// A corroded crimp leaves a meter its full voltage where nothing draws current; a test lamp burns weakly there.
#[test]
fn a_test_lamp_reveals_a_resistance_that_a_meter_misses() {
    first(|facts| {
        let meter = Meter::new(facts);
        let settings = setting::settings(facts);
        let faults = fault::faults(facts, &Rates::typical());
        let nominal = facts.model.job.nominal;
        let mut revealed = 0;
        for fault in faults.iter().filter(|fault| fault.kind == "wire-resistance") {
            let wire = fault.harm.wires[0];
            for setting in &settings {
                let Some(shown) = shown_in(facts, std::slice::from_ref(setting), &fault.harm).remove(0) else {
                    continue;
                };
                for pin in facts.model.wire(wire).ends {
                    let value = |measure| meter.value(&fault.harm, &shown.state, measure);
                    let Some(MeterValue::Volts(volts)) = value(Measure::Volts(pin)) else { continue };
                    let lamp = value(Measure::Lamp(pin));
                    if volts > nominal * 0.9 && lamp == Some(MeterValue::Lamp(LampSeen::Dim)) {
                        revealed += 1;
                    }
                }
            }
        }
        assert!(revealed > 0);
    });
}

/// Ohms along a wire: its own copper when whole, an open line when broken (if nothing else joins its ends), 47 Ω more with
/// a bad crimp. By hand: a whole wire of a demonstration has less than an ohm.
#[test]
fn ohms_are_those_between_the_leads() {
    first(|facts| {
        let meter = Meter::new(facts);
        let rest = circuit::State::at_rest(&facts.solved.assembly.circuit);
        let faults = fault::faults(facts, &Rates::typical());
        let of = |kind: &str| faults.iter().filter(|fault| fault.kind == kind).collect::<Vec<_>>();
        let ohms = |harm: &Harm, wire| {
            let [from, to] = facts.model.wire(wire).ends;
            match meter.value(harm, &rest, Measure::Ohms(from, to)) {
                Some(MeterValue::Ohms(ohms)) => ohms.value(),
                other => panic!("{other:?}"),
            }
        };
        let mut opened = 0;
        for (open, bad) in of("wire-open").into_iter().zip(of("wire-resistance")) {
            let wire = open.harm.wires[0];
            assert_eq!(bad.harm.wires[0], wire);
            let whole = ohms(&Harm::default(), wire);
            assert!(whole < 1.0, "{}: {whole}", open.words);
            let apart = ohms(&open.harm, wire);
            let corroded = ohms(&bad.harm, wire);
            // A path beside the wire is in parallel with it.
            let expected = 1.0 / (1.0 / (whole + 47.0) + 1.0 / apart);
            assert!((corroded / expected - 1.0).abs() < 0.05, "{}: {corroded}, by hand {expected}", bad.words);
            opened += usize::from(apart.is_infinite());
        }
        assert!(opened > 3, "{opened}");
    });
}

/// A turn signal is on half of the time: what it feeds flashes, the rest is steady, and a meter's answer
/// may say so.
#[test]
fn what_a_flasher_feeds_is_expected_to_flash() {
    let model = sample::demo("boat-tow-pickup");
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let meter = Meter::new(&facts);
    let tracer = FaultTracer::new(&facts, &Rates::typical());
    let left = tracer.setting("left-turn").unwrap().clone();
    let shown = shown_in(&facts, std::slice::from_ref(&left), &Harm::default()).remove(0).unwrap();
    let value = |name: &str| {
        let measure = Measure::Volts(pin_named(&facts, name).unwrap());
        meter.value(&Harm::default(), &shown.state, measure).unwrap()
    };
    let (lamp, battery) = (value("L1.power"), value("F1.2"));
    assert!(matches!(lamp, MeterValue::Flashing(volts) if volts.value() > 11.0), "{lamp:?}");
    assert!(matches!(battery, MeterValue::Volts(volts) if volts.value() > 11.0), "{battery:?}");
    let nominal = model.job.nominal;
    let read = |text: &str| match Observation::read(&facts, text, left.clone()).unwrap().what {
        Answered::Meter(_, value) => value.fit(lamp, nominal),
        other => panic!("{other:?}"),
    };
    let said = [read(&format!("L1.power {}", lamp.words())), read("L1.power 12.5 V"), read("L1.power 0 V")];
    assert!(said[0] > 0.99 && said[1] < 0.5 && said[2] < 0.01, "{said:?}");
    assert!(Observation::read(&facts, "L1.power flashing", left.clone()).is_ok());
    assert!(Observation::seen(&facts, "L1 flashes", left).is_ok());
}

/// Two faults that no single one explains are named together, each as itself or as one that shows the same there.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn two_faults_at_once_are_named() {
    let model = sample::demo("wheelchair-van");
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let mut tracer = FaultTracer::new(&facts, &Rates::typical());
    let kinds = ["wire-open", "camera-dead", "screen-input-dead", "coil-open"];
    let singles: Vec<Failure> =
        tracer.faults().iter().filter(|fault| kinds.contains(&fault.kind)).step_by(4).cloned().collect();
    let (mut tried, mut named) = (0, Vec::new());
    for (at, one) in singles.iter().enumerate() {
        let other = &singles[(at + singles.len() / 2) % singles.len()];
        let diagnosis = tracer.diagnose(&everything(&facts, &one.harm.and(&other.harm)), &Skipped::default());
        if diagnosis.verdict != TraceVerdict::NothingFits {
            // One hides the other, or too little speaks against a single one.
            continue;
        }
        tried += 1;
        let holds = |pair: &SuspectedFault| [one, other].iter().any(|fault| pair.faults.contains(&fault.words));
        if diagnosis.pairs.iter().any(holds) {
            named.push(format!("{} + {}", one.words, other.words));
        }
    }
    assert!(tried > 1 && named.len() * 10 >= tried * 8, "{named:#?} of {tried}");
}

/// Every screen in every setting, and the ends of the wires that a fault is in.
fn everything(facts: &Facts, harm: &Harm) -> Vec<Observation> {
    let meter = Meter::new(facts);
    let settings = setting::settings(facts);
    let mut observations = Vec::new();
    for (setting, shown) in settings.iter().zip(shown_in(facts, &settings, harm)) {
        let Some(shown) = shown else { continue };
        let mut take = |what| observations.push(Observation::new(setting.clone(), what));
        for (screen, seen) in shown.screens.iter().enumerate() {
            take(Answered::Screen(ScreenId(screen), *seen));
        }
        for pin in harm.wires.iter().flat_map(|wire| facts.model.wire(*wire).ends) {
            let measure = Measure::Volts(pin);
            if let Some(value) = meter.value(harm, &shown.state, measure) {
                take(Answered::Meter(measure, value));
            }
        }
    }
    observations
}
