//! Traces as a service tech sees them, for whoever reads the words.

use super::*;
use crate::{question, suspects_text};

/// Prints a trace of each fault that FAULTS names (the beginnings of their words, separated by `;`, two faults at once joined
/// by `+`) in the spec that SPEC names; ngspice answers where it is there.
#[test]
#[ignore = "prints transcripts"]
#[expect(clippy::disallowed_methods, reason = "whoever runs the test chooses what is printed")]
fn transcripts() {
    let (Ok(spec), Ok(faults)) = (std::env::var("SPEC"), std::env::var("FAULTS")) else { return };
    let model = sample::of_text("transcripts", &std::fs::read_to_string(&spec).unwrap()).unwrap();
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let mut tracer = FaultTracer::new(&facts, &Rates::typical());
    for names in faults.split(';') {
        let named = |name: &str| {
            let begins = |fault: &&Failure| fault.words.starts_with(name.trim());
            tracer.faults().iter().find(begins).unwrap_or_else(|| panic!("no fault begins with `{name}`")).clone()
        };
        let all: Vec<Failure> = names.split('+').map(named).collect();
        let mut fault = all[0].clone();
        for other in &all[1..] {
            fault.harm = fault.harm.and(&other.harm);
            fault.words = format!("{} AND {}", fault.words, other.words);
        }
        transcript(&mut tracer, &fault);
    }
}

#[expect(clippy::disallowed_macros, reason = "a transcript for whoever runs the test")]
fn transcript(tracer: &mut FaultTracer, fault: &Failure) {
    let facts = tracer.facts;
    let oracle = Oracle { spice: spice::is_there(), ..Oracle::new(facts, fault) };
    let meter = Meter::new(facts);
    println!("\n## {}\n", fault.words);
    let Some(first) = complaint(&oracle) else {
        println!("Nobody notices it.");
        return;
    };
    let mut observed = vec![words(facts, &first)];
    println!("> {}\n", observed[0]);
    let (mut observations, mut skipped, mut steps, mut minutes) = (vec![first], Skipped::default(), 0, 0.0);
    loop {
        let diagnosis = tracer.diagnose(&observations, &skipped);
        println!("{}", suspects_text(&diagnosis, &observed));
        let goes_on = diagnosis.verdict != TraceVerdict::Mended && steps < 25;
        let Some(next) = diagnosis.next.filter(|_| goes_on) else { break };
        println!("{}", question(&next));
        (steps, minutes) = (steps + 1, minutes + next.minutes);
        match oracle.answer(&meter, &next) {
            Some(answer) => {
                observed.push(words(facts, &answer));
                println!("> {}\n", observed[observed.len() - 1]);
                observations.push(answer);
            }
            None => {
                println!("> ?\n");
                tracer.skip(&mut skipped, &next.ask, &next.state).unwrap();
            }
        }
    }
    println!("{steps} steps, {minutes:.1} minutes");
}

/// An observation as a tech writes it.
fn words(facts: &Facts, one: &Observation) -> String {
    let model = facts.model;
    let names = probe::Words { model, drain_limit: shown::drain_limit(facts) };
    let shows = match one.what {
        Answered::Screen(_, seen) => seen.words(model),
        Answered::Works(_, seen) => seen.words().to_string(),
        Answered::Fuse(_, blown) => if blown { "blown" } else { "whole" }.to_string(),
        Answered::NewFuse(_, blows) => if blows { "blows" } else { "holds" }.to_string(),
        Answered::Input(_, shows) => if shows { "shows" } else { "nothing" }.to_string(),
        Answered::Plug(_, exchanged) => if exchanged { "exchanged" } else { "right" }.to_string(),
        Answered::Flat => "flat".to_string(),
        Answered::Drain(high) => if high { "9 A" } else { "0 A" }.to_string(),
        Answered::Cable(_, seen) => seen.words().to_string(),
        Answered::Mended(_, works) => if works { "works" } else { "still" }.to_string(),
        Answered::Wiggle(_, changes) => if changes { "changes" } else { "nothing" }.to_string(),
        Answered::Meter(_, value) => value.words(),
    };
    format!("{} {shows} when {}", names.ask(one.what.look()), one.setting.name)
}

/// Prints the diagnosis of the observations that SEEN names (`dash black when reverse; F2.2 0 V when reverse`) in the spec
/// that SPEC names.
#[test]
#[ignore = "prints a diagnosis"]
#[expect(clippy::disallowed_methods, reason = "whoever runs the test chooses what is printed")]
#[expect(clippy::disallowed_macros, reason = "a diagnosis for whoever runs the test")]
fn diagnosis() {
    let (Ok(spec), Ok(seen)) = (std::env::var("SPEC"), std::env::var("SEEN")) else { return };
    let model = sample::of_text("transcripts", &std::fs::read_to_string(&spec).unwrap()).unwrap();
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let mut tracer = FaultTracer::new(&facts, &Rates::typical());
    for seen in seen.split("//") {
        let all: Vec<&str> = seen.split(';').map(str::trim).collect();
        let observation = |text: &&str| {
            let (what, when) = text.split_once(" when ").unwrap_or((text, ""));
            let row = facts.table().rows.iter().find(|row| row.name == when);
            let setting = row.and_then(|row| SetState::of(&facts, &row.name, &row.solution.state));
            let setting = setting.unwrap_or_else(|| tracer.at_rest());
            let one = Observation::seen(&facts, what, setting.clone())
                .or_else(|_| Observation::read(&facts, what, setting))
                .unwrap();
            if when.is_empty() { one.without_state() } else { one }
        };
        let observations: Vec<Observation> = all.iter().map(observation).collect();
        let diagnosis = tracer.diagnose(&observations, &Skipped::default());
        let words: Vec<String> = all.iter().map(|text| text.to_string()).collect();
        println!("## {seen}\n{:?}\n{}", diagnosis.verdict, crate::text(&diagnosis, &words));
    }
    println!("{} faults", tracer.faults().len());
}
