//! A bad crimp of any size, anywhere, and a switch that stays made: the engine answers with the fault in place.

use super::*;
use crate::resistance::with_size;
use quantity::Ohms;

/// The least and the largest size of a bad contact that is tried.
const LEAST: Ohms = Ohms::new(0.3);
const MOST: Ohms = Ohms::new(1000.0);

/// Sizes that are tried at each contact.
const EACH: usize = 3;

/// Sizes between the least and the largest, each as likely as another of the same order, the same in each run: one of each
/// third of the range, at a place of its own for each contact.
fn sizes(contact: usize) -> impl Iterator<Item = Ohms> {
    (0..EACH).map(move |third| {
        let mixed = ((contact * EACH + third) as u64 + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        let mixed = (mixed ^ (mixed >> 29)).wrapping_mul(0xbf58_476d_1ce4_e5b9) >> 11;
        let share = (third as f64 + mixed as f64 / 2_f64.powi(53)) / EACH as f64;
        LEAST * (MOST / LEAST).powf(share)
    })
}

/// A reading counts where it is this much off, in volts.
const OFF: f64 = 1.0;

/// Demonstrations, and the distance between two wires that are tried, in their order.
const DEMOS: [(&str, usize); 4] =
    [("first-harness", 1), ("refuse-truck", 9), ("boat-tow-pickup", 4), ("wheelchair-van", 4)];

/// A suspect that is less probable counts as excluded.
const EXCLUDED: f64 = 0.005;

/// A suspect with a size of its own explains what it shows at least this well.
const EXPLAINED: f64 = 0.3;

/// Readings of one pin after the other, each made three times: a meter that stands behind a bad crimp
/// shows the same wherever upstream the crimp is.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn no_bad_crimp_is_excluded_by_what_it_shows() {
    let (mut tried, mut wrong) = (0, Vec::new());
    for (name, every) in DEMOS {
        let model = sample::demo(name);
        let solved = Solved::new(&model);
        let facts = Facts::new(&solved);
        let mut tracer = FaultTracer::new(&facts, &Rates::typical());
        let bad: Vec<Failure> = tracer.faults().iter().filter(|one| one.kind == "wire-resistance").cloned().collect();
        for (at, fault) in bad.iter().enumerate().step_by(every) {
            for ohms in sizes(at) {
                let fault = Failure { harm: with_size(&fault.harm, ohms), ..fault.clone() };
                let oracle = Oracle::new(&facts, &fault);
                let Some(complaint) = complaint(&oracle) else { continue };
                for reading in off(&oracle, &complaint.setting, at).into_iter().take(2) {
                    let observed = [complaint.clone(), reading.clone(), reading.clone(), reading];
                    let diagnosis = tracer.diagnose(&observed, &Skipped::default());
                    tried += 1;
                    let of_fault = diagnosis.suspects.iter().find(|one| one.faults.contains(&fault.words));
                    let is_left = of_fault.is_some_and(|one| one.probability >= EXCLUDED);
                    if !is_left || least_fit(&mut tracer, &fault, &observed) < EXPLAINED {
                        let first = &diagnosis.suspects[0];
                        wrong
                            .push(format!("{name}: {} of {ohms}: {first:?} after {:?}", fault.words, observed[1].what));
                    }
                }
            }
        }
    }
    assert!(tried > 50 && wrong.is_empty(), "{} of {tried} {wrong:#?}", wrong.len());
}

/// How well the kind of a fault, whatever its size, explains the observation that it explains worst.
fn least_fit(tracer: &mut FaultTracer, fault: &Failure, observed: &[Observation]) -> f64 {
    let mut known = tracer.take();
    let evidence = known.evidence(tracer.facts, observed);
    let belief = Belief::of(&tracer.faults, &known.dictionary, &evidence, tracer.facts);
    let at = tracer.faults.iter().position(|one| one.words == fault.words).unwrap();
    let least = belief.fits(at).iter().copied().fold(1.0, f64::min);
    tracer.known = Some(known);
    least
}

/// What a meter shows at pins whose voltage is off, from some pin on.
fn off(oracle: &Oracle, setting: &SetState, from: usize) -> Vec<Observation> {
    let Some(whole) = oracle.shown(setting, &Harm::default()) else { return Vec::new() };
    let model = oracle.facts.model;
    let pins: Vec<PinId> = model.pin_ids().filter(|pin| oracle.facts.solved.assembly.pin(*pin).is_some()).collect();
    let read = |pin: PinId| match oracle.volts(setting, pin)? {
        MeterValue::Volts(volts) if (volts - whole.volts[pin.0]).value().abs() > OFF => {
            let what = Answered::Meter(Measure::Volts(pin), MeterValue::Volts(volts));
            Some(Observation::new(setting.clone(), what))
        }
        _ => None,
    };
    let from = from * 7 % pins.len();
    pins[from..].iter().chain(&pins[..from]).filter_map(|pin| read(*pin)).collect()
}

/// Traced to the end, a bad crimp of any size never ends at another fault as found, and mostly at its own wire.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn bad_crimps_of_any_size_are_traced() {
    let (mut seen, mut lost, mut falsely) = (0, Vec::new(), Vec::new());
    for (name, every) in DEMOS {
        let model = sample::demo(name);
        let solved = Solved::new(&model);
        let facts = Facts::new(&solved);
        let mut tracer = FaultTracer::new(&facts, &Rates::typical());
        let printed = Printed::new(&facts);
        let bad: Vec<Failure> = tracer.faults().iter().filter(|one| one.kind == "wire-resistance").cloned().collect();
        for (at, fault) in bad.iter().enumerate().step_by(every) {
            for ohms in sizes(at) {
                let fault = Failure { harm: with_size(&fault.harm, ohms), ..fault.clone() };
                let Some(traced) = traced(&mut tracer, &fault, None, false, Usual::Ours, &printed) else { continue };
                seen += 1;
                let line = format!("{name}: {} of {ohms}: {:?} {}", fault.words, traced.verdict, traced.first);
                if traced.falsely_sure {
                    falsely.push(line);
                } else if !traced.found {
                    lost.push(line);
                }
            }
        }
    }
    assert!(
        seen > 40 && falsely.is_empty() && lost.len() * 10 <= seen,
        "of {seen} falsely {falsely:#?}, lost {lost:#?}"
    );
}

/// A switch that stays made is a suspect for what is on at rest, and no repeated look makes a rare short certain.
#[test]
fn a_switch_that_stays_made_is_a_suspect() {
    let mut seen = 0;
    for name in ["first-harness", "boat-tow-pickup", "wheelchair-van"] {
        let model = sample::demo(name);
        let solved = Solved::new(&model);
        let facts = Facts::new(&solved);
        let mut tracer = FaultTracer::new(&facts, &Rates::typical());
        let stuck: Vec<Failure> = tracer.faults().iter().filter(|one| one.kind == "switch-stuck").cloned().collect();
        for fault in &stuck {
            let Some(complaint) = complaint(&Oracle::new(&facts, fault)) else { continue };
            tracer.complaint(&complaint).unwrap();
            let observed = [complaint.clone(), complaint.clone(), complaint];
            let diagnosis = tracer.diagnose(&observed, &Skipped::default());
            let named = diagnosis.suspects.iter().any(|suspect| suspect.faults.contains(&fault.words));
            assert!(named, "{name}: {}: {diagnosis:#?}", fault.words);
            seen += 1;
        }
    }
    assert!(seen > 0);
}
