//! What fits in the place of another: no exchange of wires or plugs ends at a good part as found or almost certain.

use super::*;
use circuit::{Change, Variant};
use model::{PartKind, WireId};

/// Every exchange of pictures and plugs, and every fifth exchange of wires, is found.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn no_exchange_is_taken_for_another_fault() {
    let mut all = Exchanges::default();
    for name in ["first-harness", "orchard-sprayer-pickup", "boat-tow-pickup", "wheelchair-van"] {
        all.trace(name, &sample::demo(name), 5);
    }
    for seed in [81, 82, 83] {
        let name = format!("good {seed}");
        all.trace(&name, &sample::of_text(&name, &good::spec(seed)).unwrap(), 9);
    }
    let Exchanges { pictures, wires, wrong } = all;
    assert!(pictures > 4 && wires > 40 && wrong.is_empty(), "{pictures} of pictures, {wires} of wires: {wrong:#?}");
}

#[derive(Default)]
struct Exchanges {
    pictures: usize,
    wires: usize,
    wrong: Vec<String>,
}

impl Exchanges {
    fn trace(&mut self, name: &str, model: &Model, every: usize) {
        let solved = Solved::new(model);
        let facts = Facts::new(&solved);
        let mut tracer = FaultTracer::new(&facts, &Rates::typical());
        let printed = Printed::new(&facts);
        let of = |kinds: &[&str], every: usize| -> Vec<Failure> {
            let faults = fault::faults(&facts, &Rates::typical()).into_iter();
            faults.filter(|fault| kinds.contains(&fault.kind)).step_by(every).collect()
        };
        let pictures = of(&["picture-exchanged", "plug-exchanged"], 1);
        for fault in pictures.iter().chain(&of(&["wrong-cavity", "wrong-terminal"], every)) {
            let Some(traced) = traced(&mut tracer, fault, None, false, Usual::Ours, &printed) else { continue };
            let count = if fault.kind.starts_with("wrong") { &mut self.wires } else { &mut self.pictures };
            *count += 1;
            if !traced.found || traced.falsely_sure {
                self.wrong.push(format!("{name}: {}: {:?} {}", fault.words, traced.verdict, traced.first));
            }
        }
    }
}

/// Exchanges that are traced in each demonstration, and steps of each.
const MOST: usize = 12;
const STEPS: usize = 12;

/// Wires that change places between two parts of different kinds are in no fault model: the verdict is withheld, or names one
/// of the two wires. At most one in ten of them acts like another fault so well that this one is named; its repair then shows
/// that it is not.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn an_exchange_that_is_no_suspect_is_seldom_taken_for_another_fault() {
    let (mut seen, mut wrong) = (0, Vec::new());
    for name in ["first-harness", "orchard-sprayer-pickup"] {
        let model = sample::demo(name);
        let solved = Solved::new(&model);
        let facts = Facts::new(&solved);
        let mut tracer = FaultTracer::new(&facts, &Rates::typical());
        let all = between_parts(&facts, tracer.faults());
        for fault in all.iter().step_by(all.len().div_ceil(MOST)) {
            let Some(named) = named_as_sure(&mut tracer, fault) else { continue };
            seen += 1;
            let of_one = |words: &String| {
                let words = words.replace("wires ", "wire ").replace(" and ", " and wire ");
                fault.harm.wires.iter().any(|wire| words.contains(&format!("wire {} ", model.wire(*wire).id)))
            };
            wrong.extend(
                named.into_iter().filter(|words| !of_one(words)).map(|words| format!("{}: {words}", fault.words)),
            );
        }
    }
    assert!(seen > 6 && wrong.len() * 10 <= seen, "{seen} {wrong:#?}");
}

/// What is named as found or almost certain in the first steps of a trace; `None` where nobody notices the fault.
fn named_as_sure(tracer: &mut FaultTracer, fault: &Failure) -> Option<Vec<String>> {
    let (facts, oracle) = (tracer.facts, Oracle::new(tracer.facts, fault));
    let meter = Meter::new(facts);
    let (mut observed, mut skipped, mut named) = (vec![complaint(&oracle)?], Skipped::default(), Vec::new());
    for _ in 0..STEPS {
        let diagnosis = tracer.diagnose(&observed, &skipped);
        if matches!(diagnosis.verdict, TraceVerdict::Found | TraceVerdict::AlmostCertain) {
            named.push(diagnosis.suspects[0].faults[0].clone());
        }
        let Some(next) = diagnosis.next else { break };
        match oracle.answer(&meter, &next) {
            Some(answer) => observed.push(answer),
            None => tracer.skip(&mut skipped, &next.ask, &next.state).unwrap(),
        }
    }
    Some(named)
}

/// Pairs of wires at two parts of different kinds at one place, exchanged.
fn between_parts(facts: &Facts, faults: &[Failure]) -> Vec<Failure> {
    let model = facts.model;
    let wire = |pin: PinId| model.wires_on(pin).find(|wire| facts.solved.assembly.wire(*wire).is_some());
    let is_there = |pin: &PinId| {
        let kind = model.part(model.pin(*pin).part).kind;
        matches!(kind, PartKind::Device | PartKind::Connector | PartKind::Feed) && wire(*pin).is_some()
    };
    let pins: Vec<PinId> = model.pin_ids().filter(is_there).collect();
    let mut all = Vec::new();
    for (at, first) in pins.iter().enumerate() {
        for second in &pins[at + 1..] {
            let [a, b] = [*first, *second].map(|pin| model.part(model.pin(pin).part));
            let (Some(left), Some(right)) = (wire(*first), wire(*second)) else { continue };
            let apart = facts.nets().of(*first) != facts.nets().of(*second);
            if a.at == b.at && a.use_name != b.use_name && left != right && apart {
                all.extend(exchanged(facts, faults, [*first, *second], [left, right]));
            }
        }
    }
    all
}

fn exchanged(facts: &Facts, faults: &[Failure], pins: [PinId; 2], wires: [WireId; 2]) -> Option<Failure> {
    let (model, assembly) = (facts.model, &facts.solved.assembly);
    let far = |at: usize| model.wire(wires[at]).ends.into_iter().find(|end| *end != pins[at]);
    let touching =
        |from: PinId, to: PinId| Some(Change::Between(assembly.pin(from)?, assembly.pin(to)?, fault::TOUCHING));
    let changes: Variant = [
        Change::Open(assembly.wire(wires[0])?),
        Change::Open(assembly.wire(wires[1])?),
        touching(far(0)?, pins[1])?,
        touching(far(1)?, pins[0])?,
    ]
    .into_iter()
    .collect();
    let harm = Harm { variant: changes, wires: wires.to_vec(), shorts: true, ..Harm::default() };
    let words = format!("{} and {} exchanged", model.pin_name(pins[0]), model.pin_name(pins[1]));
    Some(Failure { words, harm, repair: fault::Mending::Wires("exchanged", wires[0], wires[1]), ..faults[0].clone() })
}

/// `almost-certain` is one suspect from 95 % on with only its repair left to try; what then works ends the trace, and what does
/// not goes on with the others.
#[test]
fn almost_certain_is_confirmed_by_the_repair() {
    let model = sample::demo("first-harness");
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let mut tracer = FaultTracer::new(&facts, &Rates::typical());
    let (mut almost, mut tried) = (0, 0);
    for fault in tracer.faults().to_vec().iter().filter(|fault| !fault.harm.comes_and_goes) {
        let oracle = Oracle::new(&facts, fault);
        let meter = Meter::new(&facts);
        let Some(complaint) = complaint(&oracle) else { continue };
        let mut observed = vec![complaint];
        let mut skipped = Skipped::default();
        for _ in 0..40 {
            let diagnosis = tracer.diagnose(&observed, &skipped);
            let Some(next) = diagnosis.next.clone() else { break };
            let is_repair = matches!(next.probe, Probe::Mend { .. });
            if diagnosis.verdict == TraceVerdict::AlmostCertain {
                almost += 1;
                let first = &diagnosis.suspects[0];
                assert!(
                    is_repair && first.probability >= 0.95 && first.faults.contains(&fault.words),
                    "{diagnosis:#?}"
                );
            }
            if is_repair {
                tried += 1;
                let setting = tracer.at_rest();
                let after =
                    |text: &str| Observation::seen(&facts, &format!("{} {text}", next.ask), setting.clone()).unwrap();
                let with = |tracer: &mut FaultTracer, one: Observation| {
                    tracer.diagnose(&[&observed[..], &[one]].concat(), &skipped)
                };
                assert_eq!(with(&mut tracer, after("works")).verdict, TraceVerdict::Mended, "{}", fault.words);
                let still = with(&mut tracer, after("still"));
                let is_same = still.suspects[0].faults[0] == diagnosis.suspects[0].faults[0];
                assert!(!is_same || still.suspects[0].probability < diagnosis.suspects[0].probability, "{still:#?}");
                let is_sure = matches!(still.verdict, TraceVerdict::Found | TraceVerdict::AlmostCertain);
                assert!(still.verdict != TraceVerdict::Mended && !(is_same && is_sure), "{still:#?}");
                break;
            }
            match oracle.answer(&meter, &next) {
                Some(answer) => observed.push(answer),
                None => tracer.skip(&mut skipped, &next.ask, &next.state).unwrap(),
            }
        }
    }
    assert!(tried > 15 && almost > 3, "{tried} {almost}");
}
