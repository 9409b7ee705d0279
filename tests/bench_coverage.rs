//! What the bench test claims to find, against another way to build each fault: the harness itself is changed and
//! assembled again, and wires without power are a graph of petgraph's. The program changes the assembled circuit instead.

mod jobs;
#[path = "made_up/good.rs"]
mod made_up;

use book::bench::judge::{StepResult, judge};
use book::bench::limit::{BenchValue, Compared};
use book::bench::{
    BenchProbe, BenchStep, BenchTest, FoundBuildFault, HarnessEnd, JoinedShield, joined_shields, suspects,
};
use circuit::{Solution, Variant};
use explore::Move;
use facts::bench::{BAD_CONTACT, BuildFault, at_bench};
use job::Job;
use jobs::{demo, job_of_text};
use model::{Domain, Element, ElementId, ElementKind, Model, Part, PartId, PartKind, Pin, PinId, WireId, conductor};
use petgraph::algo::{dijkstra, has_path_connecting};
use petgraph::graphmap::UnGraphMap;
use quantity::{Celsius, Ohms};
use spec::WireMake;
use states::{Picture, Reached, Wiring, read_screen};
use std::collections::BTreeMap;

/// A harness in which a fault is built.
struct Faulty {
    model: Model,
    /// What has a bad contact.
    bad: Option<WireId>,
    /// The shields that lie on cavities without power.
    shields: Vec<JoinedShield>,
    /// The cable whose shield is open.
    open_shield: Option<WireId>,
    /// Cavities whose wires are exchanged.
    exchanged: Option<[PinId; 2]>,
    /// A source that sends nothing.
    dead: Option<PartId>,
    /// A coil that does nothing.
    silent: Option<model::SignalId>,
}

/// Adds a pin of a kind of signal that nothing is joined to.
fn dead_pin(model: &mut Model, domain: Domain) -> PinId {
    let pin = PinId(model.pins.len());
    let part = PartId(model.parts.len());
    let like = model.parts.iter().find(|part| part.kind == PartKind::Ground).unwrap().clone();
    let pin_like = model.pins[like.pins[0].0].clone();
    model.pins.push(Pin { part, domain, ..pin_like });
    model.parts.push(Part { kind: PartKind::Splice, pins: vec![pin], elements: Vec::new(), ..like });
    pin
}

fn join(model: &mut Model, part: PartId, between: [PinId; 2], resistance: Ohms) {
    let id = ElementId(model.elements.len());
    let kind = ElementKind::Resistor { between, resistance, tolerance: quantity::Share::new(0.0), limit: None };
    model.elements.push(Element { part, kind });
    model.parts[part.0].elements.push(id);
}

fn built(model: &Model, fault: BuildFault) -> Faulty {
    let shields = joined_shields(model);
    let mut model = model.clone();
    let domain = match fault {
        BuildFault::NoContact(wire) | BuildFault::BadContact(wire) => model.wire(wire).domain,
        _ => Domain::Power,
    };
    let dead = dead_pin(&mut model, domain);
    let (mut bad, mut silent, mut open_shield, mut exchanged, mut no_picture) = (None, None, None, None, None);
    match fault {
        BuildFault::NoContact(wire) => model.wires[wire.0].ends[1] = dead,
        BuildFault::BadContact(wire) => {
            let end = std::mem::replace(&mut model.wires[wire.0].ends[1], dead);
            let part = model.pins[end.0].part;
            join(&mut model, part, [dead, end], BAD_CONTACT);
            bad = Some(wire);
        }
        BuildFault::Exchanged(one, other) => {
            let ends = model.wires.iter_mut().filter(|wire| !wire.existing).flat_map(|wire| &mut wire.ends);
            exchanged = Some([one, other]);
            ends.for_each(|end| {
                *end = if *end == one {
                    other
                } else if *end == other {
                    one
                } else {
                    *end
                }
            });
        }
        BuildFault::Reversed(id) => {
            let ElementKind::Diode { anode, cathode, .. } = &mut model.elements[id.0].kind else { panic!() };
            std::mem::swap(anode, cathode);
        }
        BuildFault::Missing(id) => match &mut model.elements[id.0].kind {
            ElementKind::Diode { anode: end, .. }
            | ElementKind::Fuse { between: [end, _], .. }
            | ElementKind::Resistor { between: [end, _], .. } => *end = dead,
            other => panic!("{other:?}"),
        },
        BuildFault::Shorted(id) => {
            let ElementKind::Diode { anode, cathode, .. } = model.elements[id.0].kind else { panic!() };
            let part = model.elements[id.0].part;
            join(&mut model, part, [anode, cathode], Ohms::new(1e-6));
        }
        BuildFault::OtherRating(_) => {}
        BuildFault::OpenShield(wire) => open_shield = Some(wire),
        BuildFault::NoPicture(part) => no_picture = Some(part),
        BuildFault::OpenCoil(id) => {
            let ElementKind::Coil(coil) = &mut model.elements[id.0].kind else { panic!() };
            coil.ground = dead;
            silent = Some(coil.relay);
        }
        BuildFault::NeverMakes(id) | BuildFault::StaysMade(id) => {
            let part = model.elements[id.0].part;
            let ElementKind::Contact { common, made, rest, resistance, .. } = &mut model.elements[id.0].kind else {
                panic!()
            };
            let closed = if matches!(fault, BuildFault::NeverMakes(_)) { *rest } else { *made };
            (*made, *rest) = (Some(dead), None);
            let (common, resistance) = (*common, *resistance);
            if let Some(closed) = closed {
                join(&mut model, part, [common, closed], resistance);
            }
        }
        BuildFault::DeadOutput(id) | BuildFault::StaysOn(id) => {
            let part = model.elements[id.0].part;
            let ElementKind::Output { pin, other, resistance, .. } = &mut model.elements[id.0].kind else { panic!() };
            if matches!(fault, BuildFault::DeadOutput(_)) {
                *pin = dead;
            } else {
                let (ends, resistance) = ([*other, *pin], *resistance);
                join(&mut model, part, ends, resistance);
            }
        }
    }
    Faulty { model, bad, shields, open_shield, exchanged, dead: no_picture, silent }
}

/// What an ohmmeter reads between two ends of the harness before anything is fitted.
fn ohms(faulty: &Faulty, [from, to]: [HarnessEnd; 2], alone: Option<WireId>) -> Option<Ohms> {
    let model = &faulty.model;
    let node = |end: HarnessEnd| (end.pin.0, end.loose.map(|wire| wire.0));
    let mut graph = UnGraphMap::<(usize, Option<usize>), f64>::new();
    let wires = model.wire_ids().filter(|id| !model.wire(*id).existing && alone.is_none_or(|only| only == *id));
    for id in wires {
        let wire = model.wire(id);
        let [a, b] = wire.ends.map(|pin| HarnessEnd::of(model, pin, id));
        let mut ohms = conductor::resistance(wire.gauge, wire.length.unwrap_or_default(), Celsius::new(20.0)).value();
        if faulty.bad == Some(id) {
            // The bad contact is between the wire and its terminal.
            let end = HarnessEnd::of(model, original_end(faulty, id), id);
            ohms += BAD_CONTACT.value();
            graph.add_edge(node(a), node(end), ohms);
            continue;
        }
        let least = graph.edge_weight(node(a), node(b)).map_or(ohms, |other| other.min(ohms));
        graph.add_edge(node(a), node(b), least);
    }
    let shields = faulty.shields.iter().filter(|shield| alone.is_none() && !shield.is_beside);
    for shield in shields.filter(|shield| faulty.open_shield != Some(shield.wire)) {
        let [a, b] = shield.ends.map(|pin| match faulty.exchanged {
            Some([one, other]) if pin == one => other,
            Some([one, other]) if pin == other => one,
            _ => pin,
        });
        let ohms = 0.04 * model.wire(shield.wire).length.unwrap_or_default().value();
        let [a, b] = [a, b].map(|pin| node(HarnessEnd { pin, loose: None }));
        let least = graph.edge_weight(a, b).map_or(ohms, |other| other.min(ohms));
        graph.add_edge(a, b, least);
    }
    let (from, to) = (node(from), node(to));
    if !graph.contains_node(from) || !graph.contains_node(to) || !has_path_connecting(&graph, from, to, None) {
        return None;
    }
    dijkstra(&graph, from, Some(to), |(_, _, ohms)| *ohms).get(&to).map(|ohms| Ohms::new(*ohms))
}

/// The pin behind the bad contact of a wire.
fn original_end(faulty: &Faulty, wire: WireId) -> PinId {
    let dead = faulty.model.wire(wire).ends[1];
    let beyond = faulty.model.elements.iter().find_map(|element| match element.kind {
        ElementKind::Resistor { between: [a, b], .. } if a == dead => Some(b),
        _ => None,
    });
    beyond.unwrap()
}

/// Whether a step without power fails.
fn fails_without_power(good: &Model, faulty: &Faulty, fault: BuildFault, step: &BenchStep) -> bool {
    let value = match &step.probe {
        BenchProbe::Wires(tips) => BenchValue::Ohms(ohms(faulty, *tips, None)),
        BenchProbe::WireAlone(wire) => {
            let tips = good.wire(*wire).ends.map(|pin| HarnessEnd::of(good, pin, *wire));
            BenchValue::Ohms(ohms(faulty, tips, Some(*wire)))
        }
        BenchProbe::Coax(wire) => {
            let is_whole = faulty.model.wire(*wire).ends == good.wire(*wire).ends;
            return !is_whole || faulty.open_shield == Some(*wire);
        }
        BenchProbe::Apart(pins) => {
            let whole = Faulty {
                model: good.clone(),
                bad: None,
                shields: faulty.shields.clone(),
                open_shield: None,
                exchanged: None,
                dead: None,
                silent: None,
            };
            let ends: Vec<HarnessEnd> = pins.iter().map(|pin| HarnessEnd { pin: *pin, loose: None }).collect();
            let joined = |of: &Faulty, a, b| ohms(of, [a, b], None).is_some();
            return ends
                .iter()
                .enumerate()
                .any(|(i, a)| ends[i + 1..].iter().any(|b| joined(faulty, *a, *b) && !joined(&whole, *a, *b)));
        }
        BenchProbe::Part(shows) => return shows.contains(&fault),
        _ => return false,
    };
    step.limit.compare_value(&value) != Compared::Passed
}

/// The steps with power, with the moves that lead to each state.
fn powered<'t>(job: &'t Job<'t>, test: &'t BenchTest) -> Vec<(String, Vec<Move>, &'t BenchStep)> {
    let facts = job.facts().unwrap();
    let moves: BTreeMap<String, Vec<Move>> = facts
        .table()
        .rows
        .iter()
        .map(|row| (format!("With power: {}", row.name), facts.solved.exploration.way_to(&row.solution.state)))
        .map(|(title, way)| (title, way.unwrap_or_default()))
        .collect();
    let mut all = Vec::new();
    for (g, group) in test.groups.iter().enumerate() {
        if let Some(way) = moves.get(&group.title) {
            let steps = group.steps.iter().enumerate();
            all.extend(steps.map(|(s, step)| (format!("{}.{}", g + 1, s + 1), way.clone(), step)));
        }
    }
    all
}

/// A harness at the bench and what it does after moves.
fn after(wiring: &Wiring, moves: &[Move]) -> Option<Solution> {
    Reached::new(wiring.solvers(), Variant::NONE).after(moves)
}

fn fails_with_power(good: &Wiring, bench: &Wiring, faulty: &Faulty, moves: &[Move], step: &BenchStep) -> bool {
    let Some(now) = after(bench, moves) else { return false };
    let value = match &step.probe {
        BenchProbe::Volts { red, black, heard } => {
            let reading =
                |wiring: &Wiring, at: &Solution| heard.map(|id| wiring.assembly.reading(wiring.model, at, id));
            let before = after(good, moves).unwrap();
            if heard.is_some() && (heard == &faulty.silent || reading(bench, &now) != reading(good, &before)) {
                return true;
            }
            BenchValue::Volts(bench.assembly.mean(&now, *red) - bench.assembly.mean(&now, *black))
        }
        BenchProbe::Drawn => {
            let batteries = bench.model.elements.iter().enumerate();
            let batteries = batteries.filter(|(_, element)| matches!(element.kind, ElementKind::Battery { .. }));
            BenchValue::Amps(batteries.map(|(i, _)| bench.assembly.amps(&now, ElementId(i)).abs()).sum())
        }
        BenchProbe::Fuse(id) => BenchValue::Amps(bench.assembly.amps(&now, *id).abs()),
        BenchProbe::Screen(screen) => {
            let reading = read_screen(bench, &now, *screen);
            // A picture that comes from a dead source is none; how that shows, the screen's input says.
            if let (Some(dead), Picture::Source(shown)) = (faulty.dead, &reading.picture)
                && *shown == dead
            {
                return true;
            }
            BenchValue::Picture(reading.picture.words(bench.model).to_lowercase())
        }
        _ => return false,
    };
    step.limit.compare_value(&value) != Compared::Passed
}

/// Holds each claim of a job's bench test; `each` says how many faults make one sample. Returns how many were looked at.
fn hold<'j>(name: &str, job: &'j Job<'j>, each: usize) -> usize {
    let facts = job.facts().unwrap();
    let (model, test) = (facts.model, &job.book().unwrap().bench);
    let good_model = at_bench(model);
    let good = Wiring::new(&good_model);
    let steps = powered(job, test);
    let step_of = |number: &str| {
        let (group, step) = number.split_once('.').unwrap();
        &test.groups[group.parse::<usize>().unwrap() - 1].steps[step.parse::<usize>().unwrap() - 1]
    };
    let sample: Vec<&FoundBuildFault> = test.coverage.faults.iter().step_by(each).collect();
    for found in &sample {
        let faulty = built(model, found.fault);
        let says = format!("{name}: {} {found:?}", found.what);
        if let Some(number) = &found.without_power {
            assert!(fails_without_power(model, &faulty, found.fault, step_of(number)), "{says}");
        } else {
            let fails = |step: &&BenchStep| fails_without_power(model, &faulty, found.fault, step);
            let by = test.groups.iter().flat_map(|group| &group.steps).find(fails);
            assert!(by.is_none(), "{says}: but {by:?} shows it");
        }
        if !found.fault.arises_late() {
            continue;
        }
        let at_bench = at_bench(&faulty.model);
        let bench = Wiring::new(&at_bench);
        let by = steps.iter().find(|(number, moves, step)| {
            found.with_power.as_ref().is_none_or(|claimed| claimed == number)
                && fails_with_power(&good, &bench, &faulty, moves, step)
        });
        assert_eq!(by.is_some(), found.with_power.is_some(), "{says}: {by:?}");
    }
    sample.len()
}

/// What a harness with a fault shows in every step, judged: the fault is among those that explain every result.
fn is_suspected<'j>(name: &str, job: &'j Job<'j>, each: usize) -> usize {
    let (facts, test) = (job.facts().unwrap(), &job.book().unwrap().bench);
    let model = facts.model;
    let good_model = at_bench(model);
    let good = Wiring::new(&good_model);
    let steps = powered(job, test);
    let shown = test.coverage.faults.iter().filter(|found| !found.is_hidden()).step_by(each);
    let mut looked_at = 0;
    for found in shown {
        let faulty = built(model, found.fault);
        let at_bench = at_bench(&faulty.model);
        let bench = Wiring::new(&at_bench);
        let without = test.groups.iter().enumerate().flat_map(|(g, group)| {
            group.steps.iter().enumerate().map(move |(s, step)| (format!("{}.{}", g + 1, s + 1), step))
        });
        let mut failed: Vec<String> = without
            .filter(|(_, step)| fails_without_power(model, &faulty, found.fault, step))
            .map(|(number, _)| number)
            .collect();
        // What an exchange does to pictures is not simulated: its steps with power stay open.
        let is_simulated = found.fault.arises_late() || found.fault.variant(model, &good.assembly).is_some();
        if is_simulated {
            let with = steps.iter().filter(|(_, moves, step)| fails_with_power(&good, &bench, &faulty, moves, step));
            failed.extend(with.map(|(number, ..)| number.clone()));
        }
        let result = |number: &str| {
            if !is_simulated && steps.iter().any(|(of_step, ..)| of_step == number) {
                return StepResult::default();
            }
            let read = if failed.iter().any(|failed| failed == number) { "no" } else { "ok" };
            StepResult { read: read.to_string(), ticked: false }
        };
        let judgement = judge(test, result);
        let suspects = suspects(facts, test, &judgement);
        let says = format!("{name}: {} {failed:?} {suspects:#?}", found.what);
        assert!(suspects.iter().all(|suspect| suspect.leaves.is_empty() && suspect.contradicts.is_empty()), "{says}");
        assert!(suspects.iter().any(|suspect| suspect.fault == found.what), "{says}");
        looked_at += 1;
    }
    looked_at
}

#[test]
fn a_fault_is_among_those_that_explain_its_results() {
    for (name, each) in [("first-harness", 1), ("wheelchair-van", 40)] {
        assert!(is_suspected(name, &demo(name), each) > 4, "{name}");
    }
}

#[test]
fn what_a_demonstration_claims_is_so() {
    for (name, each) in [("first-harness", 1), ("wheelchair-van", 7)] {
        assert!(hold(name, &demo(name), each) > 15, "{name}");
    }
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn what_every_demonstration_claims_is_so() {
    for name in ["first-harness", "orchard-sprayer-pickup", "wheelchair-van", "boat-tow-pickup", "refuse-truck"] {
        assert!(hold(name, &demo(name), 1) > 15, "{name}");
    }
}

/// Of a sample of generated harnesses.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn what_fifty_generated_harnesses_claim_is_so() {
    for seed in 0..50 {
        let text = made_up::spec(seed);
        hold(&format!("seed {seed}"), &job_of_text(&text), 3);
    }
}

/// Every wire that is open, every exchange, every reversed or missing diode, every wrong fuse and every stuck relay
/// shows in a step, but for those named here, which no meter reading can show.
#[test]
fn every_fault_of_the_build_is_found_or_known() {
    // A solid-state relay leaks: without a load, its output reads the full voltage whether it is on or off.
    let known = ["the output K1.87 never switches off", "the output K2.87 never switches off"];
    for name in ["first-harness", "orchard-sprayer-pickup", "wheelchair-van", "boat-tow-pickup"] {
        let job = demo(name);
        let test = &job.book().unwrap().bench;
        let hidden: Vec<&str> =
            test.coverage.faults.iter().filter(|found| found.is_hidden()).map(|found| found.what.as_str()).collect();
        let known = if name == "boat-tow-pickup" { known.to_vec() } else { Vec::new() };
        assert_eq!(hidden, known, "{name}");
        let has_coax = job.facts().unwrap().model.wires.iter().any(|wire| wire.make == WireMake::Coax);
        assert!(has_coax && test.coverage.faults.len() > 20);
    }
}
