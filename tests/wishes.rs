//! Wishes made at random. Each ends with a spec that `check` passes without errors and warnings that the wish did not
//! cause, with lines whose conflict a test by every combination confirms, or with what the planner can't do, at its place.
//! None panics, and none takes a minute.

#[path = "wishes/brute.rs"]
mod brute;
#[path = "wishes/contacts.rs"]
mod contacts;
#[path = "wishes/made.rs"]
mod made;

use catalogue::Catalogue;
use form::{Problem, TextMap};
use plan::{Proposal, Refusal, Unplanned};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

/// Each wish is planned and judged within this.
const LONGEST: Duration = Duration::from_secs(60);

enum End {
    Planned(Box<Proposal>),
    Conflict(Vec<Problem>),
    /// What the planner can't do, and the best spec that it found.
    Unplanned(Vec<Problem>, String),
}

fn end(text: &str, catalogue: &Catalogue) -> End {
    match plan::plan(&TextMap::new([("wish.yaml", text)]), Path::new("wish.yaml"), catalogue, false) {
        Ok(proposal) => End::Planned(Box::new(proposal)),
        Err(Unplanned::Unreadable(why) | Unplanned::Earlier(why)) => panic!("{:?}\n{text}", why.problems),
        Err(Unplanned::Refused(_, Refusal::Conflict(problems))) => End::Conflict(problems),
        Err(Unplanned::Refused(_, Refusal::Beyond(problems))) => End::Unplanned(problems, String::new()),
        Err(Unplanned::Refused(_, Refusal::Unproved { problems, spec })) => End::Unplanned(problems, spec),
        Err(Unplanned::Refused(_, Refusal::Interrupted)) => panic!("interrupted"),
    }
}

/// Proposals with relays for which every smaller network was tried by the generator of this test.
static PROVED: AtomicUsize = AtomicUsize::new(0);

/// Judges how a wish ended, and gives it a word.
fn judged(seed: u64, wish: &made::Wish, end: &End) -> &'static str {
    match end {
        End::Planned(proposal) => {
            assert!(!brute::has_unreached(wish), "wish {seed}: a view that never applies was planned\n{}", wish.text);
            assert!(proposal.text.contains("wires:"), "wish {seed}");
            if let Some(logic) = proposal.logic.filter(|logic| logic.relays > 0 && logic.least == logic.relays) {
                let none_smaller = contacts::none_smaller(wish, logic.relays, logic.most_on_a_coil);
                assert_ne!(none_smaller, Some(false), "wish {seed}: fewer than {} relays\n{}", logic.relays, wish.text);
                PROVED.fetch_add(usize::from(none_smaller == Some(true)), Ordering::Relaxed);
            }
            if proposal.warnings.is_empty() { "planned, clean" } else { "planned, with warnings of the wish" }
        }
        End::Conflict(problems) => {
            for problem in problems {
                let line = problem.place.map_or(0, |place| place.line);
                let also: Vec<usize> = problem.also.iter().map(|(place, _)| place.line).collect();
                let hint = problem.hint.as_deref().unwrap_or_default();
                let holds = brute::confirms(wish, &problem.message, line, &also, hint);
                assert!(holds, "wish {seed}, line {line}, {also:?}: {}; {hint}\n{}", problem.message, wish.text);
            }
            "conflict"
        }
        End::Unplanned(problems, _) => {
            assert!(problems.iter().all(|problem| problem.place.is_some()), "wish {seed}: {problems:?}");
            "can't be planned"
        }
    }
}

/// What a hint says to write, written into the line that it marks: that line no longer conflicts, nor does another one with
/// the same message.
fn resolved(seed: u64, wish: &str, problem: &Problem, catalogue: &Catalogue) {
    let hint = problem.hint.as_deref().unwrap_or_default();
    let Some(write) = hint.strip_prefix("write `").and_then(|rest| rest.split('`').next()) else { return };
    let (key, _) = write.split_once(": ").unwrap();
    let at = problem.place.unwrap().line - 1;
    let line = |(i, line): (usize, &str)| {
        let Some((before, after)) = line.split_once(&format!("{key}: ")).filter(|_| i == at) else {
            return format!("{line}\n");
        };
        let end = after.find([',', '}']).unwrap_or(after.len());
        format!("{before}{write}{}\n", &after[end..])
    };
    let changed: String = wish.lines().enumerate().map(line).collect();
    assert_ne!(changed.trim_end(), wish.trim_end(), "wish {seed}: {hint}");
    let (End::Conflict(problems) | End::Unplanned(problems, _)) = end(&changed, catalogue) else { return };
    let same = |other: &&Problem| other.place.is_some_and(|place| place.line == at + 1) && other.hint == problem.hint;
    assert_eq!(problems.iter().find(same), None, "wish {seed}: {hint}");
}

/// Planned again, a wish gives the same text but for what each thing is for. Without one of its views, whatever wire joins
/// the same pins as before is the same wire, and every difference is listed.
fn again(seed: u64, wish: &str, planned: &str, catalogue: &Catalogue) {
    let texts = |text: &str| TextMap::new([("wish.yaml", text)]);
    let path = Path::new("wish.yaml");
    let bare = |line: &str| line.split("  # ").next().unwrap().trim_end().to_string();
    let lines = |text: &str| text.lines().map(bare).collect::<Vec<String>>();
    let same =
        plan::plan_again(&texts(wish), path, catalogue, planned, None).unwrap_or_else(|w| panic!("{seed}: {w:?}"));
    assert_eq!(lines(&same.proposal.text), lines(planned), "wish {seed}");
    assert_eq!(same.changes, [], "wish {seed}");
    let views: Vec<usize> = wish.lines().enumerate().filter(|(_, l)| l.contains("show: C")).map(|(i, _)| i).collect();
    let Some(gone) = views.get(seed as usize / 4 % views.len().max(1)) else { return };
    let fewer: String = wish.lines().enumerate().filter(|(i, _)| i != gone).map(|(_, l)| format!("{l}\n")).collect();
    let Ok(less) = plan::plan_again(&texts(&fewer), path, catalogue, planned, None) else { return };
    let listed: String = less.changes.iter().map(|change| format!("{}\n", change.what)).collect();
    let (before, after) = (lines(planned), lines(&less.proposal.text));
    let ends = |line: &str| {
        Some(
            line.split_once("from: ")?.1.split_once(", ")?.0.to_string()
                + line.split_once("to: ")?.1.split(',').next()?,
        )
    };
    for line in before.iter().filter(|line| line.contains("{id: ")) {
        if let Some(other) = after.iter().find(|other| ends(other).is_some_and(|e| Some(e) == ends(line))) {
            let id = |line: &str| line.split("{id: ").nth(1).map(|rest| rest.split(',').next().unwrap().to_string());
            assert_eq!(id(line), id(other), "wish {seed}");
        }
    }
    let differ =
        before.iter().filter(|line| !after.contains(line)).chain(after.iter().filter(|line| !before.contains(line)));
    for line in differ.filter(|line| line.contains("{id: ") || line.contains("{use: ") && !line.contains("camera")) {
        let entry = line.trim().trim_start_matches("- ");
        assert!(listed.contains(entry), "wish {seed}: {line} is not listed:\n{listed}");
    }
}

/// Plans these wishes, prints the shares and the times. With a folder in `WISHES`, keeps wishes and answers there; with
/// numbers in `SEEDS` (`3,5` or `1000..2000`), the long test plans these alone.
fn every(seeds: Vec<u64>) {
    let catalogue = Catalogue::builtin().unwrap();
    let ends: Mutex<BTreeMap<&str, usize>> = Mutex::new(BTreeMap::new());
    let times = Mutex::new(Vec::new());
    let next = Mutex::new(seeds.into_iter());
    let folder = std::env::var("WISHES").ok();
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                loop {
                    let Some(seed) = next.lock().unwrap().next() else { break };
                    let wish = made::wish(seed);
                    let start = Instant::now();
                    let end = end(&wish.text, &catalogue);
                    let took = start.elapsed();
                    if let Some(folder) = &folder {
                        keep(folder, seed, &wish.text, &end, took);
                    }
                    let word = judged(seed, &wish, &end);
                    // Small wishes are planned some more times.
                    let quick = took < Duration::from_millis(150) && wish.inputs.len() <= 6;
                    if let (End::Conflict(problems) | End::Unplanned(problems, _), true) = (&end, quick) {
                        problems.iter().take(2).for_each(|problem| resolved(seed, &wish.text, problem, &catalogue));
                    }
                    if let (End::Planned(proposal), 0, true) = (&end, seed % 4, quick) {
                        again(seed, &wish.text, &proposal.text, &catalogue);
                    }
                    *ends.lock().unwrap().entry(word).or_default() += 1;
                    times.lock().unwrap().push((took, seed));
                }
            });
        }
    });
    let mut times = times.into_inner().unwrap();
    times.sort_unstable();
    let slowest = times.last().unwrap();
    println!("{:?}", ends.into_inner().unwrap());
    println!("{} proofs of the fewest relays confirmed", PROVED.load(Ordering::Relaxed));
    println!("median {:?}, slowest {:?} (wish {})", times[times.len() / 2].0, slowest.0, slowest.1);
    assert!(slowest.0 < LONGEST, "{slowest:?}");
}

fn keep(folder: &str, seed: u64, wish: &str, end: &End, took: Duration) {
    let said = |problems: &[Problem]| {
        let line = |p: &Problem| format!("{}: {}\n", p.place.map_or(0, |place| place.line), p.message);
        problems.iter().map(line).collect::<String>()
    };
    let (word, said) = match end {
        End::Planned(proposal) => ("planned", format!("{:?}\n{}", proposal.warnings, proposal.text)),
        End::Conflict(problems) => ("conflict", said(problems)),
        End::Unplanned(problems, spec) => ("unplanned", said(problems) + spec),
    };
    std::fs::write(format!("{folder}/{seed}.yaml"), wish).unwrap();
    std::fs::write(format!("{folder}/{seed}.{word}"), format!("{took:?}\n{said}")).unwrap();
}

#[test]
fn some_wishes_end_well() {
    every((0..if cfg!(debug_assertions) { 5 } else { 100 }).collect());
}

/// Wishes whose first wiring does not pass, and the part that helps: a trigger that waits until every relay has moved, so that
/// hazards show no wrong picture, and isolators where a shield would carry a lamp's current when a ground comes off.
#[test]
#[cfg(not(debug_assertions))]
fn hard_wishes_get_the_part_that_helps() {
    let catalogue = Catalogue::builtin().unwrap();
    for (seed, helps) in [(332, "use: delay-module-12v"), (910, "use: video-isolator")] {
        let wish = made::wish(seed);
        let End::Planned(proposal) = end(&wish.text, &catalogue) else { panic!("wish {seed}") };
        assert!(proposal.text.contains(helps), "wish {seed}\n{}", proposal.text);
    }
}

#[test]
#[ignore = "an hour without optimisation, some minutes with it"]
fn a_thousand_wishes_end_well() {
    let seeds = std::env::var("SEEDS").unwrap_or_else(|_| "0..1000".to_string());
    every(match seeds.split_once("..") {
        Some((first, last)) => (first.parse().unwrap()..last.parse().unwrap()).collect(),
        None => seeds.split(',').map(|seed| seed.parse().unwrap()).collect(),
    });
}
