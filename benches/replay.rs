//! How fast drives are replayed and standing questions answered: `cargo bench --bench replay`.
//!
//! On the largest demonstration vehicle, an hour of flashing with something moved every ten seconds. The hour is played as
//! a user's replay is: everything set up again.

#[path = "../tests/jobs/mod.rs"]
mod jobs;

use form::Name;
use model::{Drive, InputId, Model, Step};
use quantity::Seconds;
use replay::standing::standing;
use replay::{Setting, Timeline, replay};
use states::Wiring;
use std::time::{Duration, Instant};

/// Seconds of the drive.
const HOUR: u32 = 3600;

/// Seconds between two moves.
const EVERY: u32 = 10;

/// Key on, then one signal, the other, both, none, and other inputs in between, round and round.
fn an_hour(model: &Model) -> Drive {
    let input = |name: &str| InputId(model.inputs.iter().position(|i| i.name.as_str() == name).expect(name));
    let round: [&[(&str, usize)]; 12] = [
        &[("left-turn", 1)],
        &[("nose-view", 1)],
        &[("right-turn", 1)],
        &[("pto", 1)],
        &[("left-turn", 0)],
        &[("bin-lift", 1)],
        &[("hopper", 1)],
        &[("left-turn", 1)],
        &[("pto", 0), ("hopper", 0)],
        &[("reverse", 1)],
        &[("reverse", 0), ("nose-view", 0)],
        &[("left-turn", 0), ("right-turn", 0)],
    ];
    let mut steps = vec![];
    let mut step = |at: u32, moves: &[(&str, usize)]| {
        steps.push(Step {
            at: Seconds::new(f64::from(at)),
            changes: moves.iter().map(|(name, to)| (input(name), *to)).collect(),
            flash: None,
            supply: None,
            expect: vec![],
            place: model.job.place,
        });
    };
    step(0, &[("key", 1)]);
    for (n, at) in (EVERY..HOUR).step_by(EVERY as usize).enumerate() {
        step(at, round[n % round.len()]);
    }
    Drive { name: Name::new("an-hour"), steps, place: model.job.place }
}

/// The least of several goes.
fn least<T>(goes: usize, mut once: impl FnMut() -> T) -> (Duration, T) {
    let mut best: Option<(Duration, T)> = None;
    for _ in 0..goes {
        let start = Instant::now();
        let made = once();
        let took = start.elapsed();
        if best.as_ref().is_none_or(|(least, _)| took < *least) {
            best = Some((took, made));
        }
    }
    best.expect("at least one go")
}

/// Changes of all lanes together.
fn changes(timeline: &Timeline) -> usize {
    let record = &timeline.record;
    let inputs = record.levers.iter().chain(&record.inputs).map(|lane| lane.points.len());
    let actors = record.actors.iter().map(|lane| lane.points.len());
    inputs.chain(actors).chain(record.screens.iter().map(|lane| lane.points.len())).sum()
}

fn main() {
    let job = jobs::demo("refuse-truck");
    let model = job.model().expect("nothing interrupts it");
    let drive = an_hour(model);
    let (took, timeline) = least(5, || replay(&Wiring::new(model), &drive, &Setting::default()));
    assert!(timeline.stopped.is_none() && timeline.record.refused.is_empty());
    println!("Refuse truck, an hour of drive, {} steps, flashers at 90 a minute", drive.steps.len());
    println!("  {} changes of lanes, {:.0} ms wall", changes(&timeline), took.as_secs_f64() * 1e3);
    let solved = job.solved().expect("nothing interrupts it");
    let (took, answers) = least(3, || standing(solved));
    let tried: usize = answers.steady.iter().map(|s| s.tried).chain(answers.within.iter().map(|w| w.tried)).sum();
    println!(
        "Standing questions, {tried} tries of steady and within among them: {:.0} ms wall",
        took.as_secs_f64() * 1e3
    );
}
