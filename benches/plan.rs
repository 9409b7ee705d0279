//! How long `plan` takes, from the wish to the proposal that `check` passes, proof included, and how much memory, while the
//! wish grows: `cargo bench --bench plan`. Curves over inputs and over cameras, the ready wishes, and the sizes that the
//! project aims for: 3 cameras and 5 inputs under 0.3 s, 8 cameras, 10 inputs and 2 screens under 5 s, under 300 MB.

use catalogue::Catalogue;
use form::{TextMap, Texts};
use std::fmt::Write;
use std::path::Path;
use std::time::{Duration, Instant};

/// Kinds of vehicle wire, in turn.
const KINDS: [&str; 4] = [
    "kind: switched-feed, at: fuse-panel, limit: 1 A, fuse: 10 A, needs: key",
    "kind: flasher-feed, at: fuse-panel, limit: 500 mA, fuse: 10 A, lamps: 42 W",
    "kind: push, acts: toggles, at: dash",
    "kind: module-output, at: fuse-panel, limit: 250 mA, fuse: 5 A, needs: key",
];

fn main() {
    let Ok(catalogue) = Catalogue::builtin() else { return };
    println!("quickest of three                              time  relays for logic");
    for inputs in 4..=10 {
        row(&format!("3 cameras, {inputs} inputs"), &wish(3, inputs, 1), &catalogue);
    }
    for cameras in 2..=8 {
        row(&format!("{cameras} cameras, 10 inputs, 2 screens"), &wish(cameras, 10, 2), &catalogue);
    }
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("harness-specs/wishes");
    let mut ready: Vec<_> = std::fs::read_dir(folder).into_iter().flatten().filter_map(Result::ok).collect();
    ready.sort_by_key(std::fs::DirEntry::path);
    for entry in ready {
        let Ok(text) = std::fs::read_to_string(entry.path()) else { continue };
        row(&entry.file_name().to_string_lossy(), &text, &catalogue);
    }
    println!("most memory of this process: {} MB", memory().unwrap_or_default() / 1000);
}

fn row(name: &str, text: &str, catalogue: &Catalogue) {
    let texts = TextMap::new([("wish.yaml", text)]);
    let mut quickest: Option<(Duration, String)> = None;
    for _ in 0..3 {
        let start = Instant::now();
        let said = planned(&texts, catalogue);
        let took = start.elapsed();
        if quickest.as_ref().is_none_or(|(best, _)| took < *best) {
            quickest = Some((took, said));
        }
    }
    if let Some((took, said)) = quickest {
        println!("{name:<40} {:>8.0} ms  {said}", took.as_secs_f64() * 1e3);
    }
}

fn planned(texts: &dyn Texts, catalogue: &Catalogue) -> String {
    match plan::plan(texts, Path::new("wish.yaml"), catalogue, true) {
        Ok(proposal) => proposal.logic.map_or_else(String::new, |logic| logic.words()),
        Err(plan::Unplanned::Refused(
            _,
            plan::Refusal::Unproved { problems, .. }
            | plan::Refusal::Beyond(problems)
            | plan::Refusal::Conflict(problems),
        )) => {
            format!("not planned: {}", problems.first().map_or("", |problem| &problem.message))
        }
        Err(_) => "not planned".to_string(),
    }
}

/// A wish of this size: each camera shows with the first of its inputs, while its others are off.
fn wish(cameras: usize, inputs: usize, screens: usize) -> String {
    let mut text = String::from(
        "harness: 1\njob: {title: Growing wish, nominal: 12 V}\nplaces: [fuse-panel, dash, crew, tail]\nruns:\n  - {between: [fuse-panel, dash], length: 1 m}\n  - {between: [dash, crew], length: 1.5 m}\n  - {between: [crew, tail], length: 3 m}\nsupplies:\n  battery: {terminal: \"30\", at: fuse-panel, volts: [11.8 V, 12.6 V, 14.6 V]}\n  accessory: {terminal: \"75\", at: fuse-panel, follows: key, limit: 20 A, fuse: 20 A}\ngrounds: {G1: {at: dash}, G2: {at: crew}, G3: {at: tail}}\ninputs:\n  key: {positions: [off, run]}\n",
    );
    // OK because writing into a string does not fail.
    for i in 1..inputs {
        _ = writeln!(text, "  i{i}: {{{}}}", KINDS[(i - 1) % KINDS.len()]);
    }
    text.push_str("cameras:\n");
    for c in 0..cameras {
        _ = writeln!(text, "  C{c}: {{use: camera-cvbs-12v, at: {}}}", ["tail", "crew", "dash"][c % 3]);
    }
    text.push_str("parts:\n  HU1: {use: screen-4in, at: dash}\n");
    if screens > 1 {
        text.push_str("  HU2: {use: screen-4in, at: crew}\n");
    }
    text.push_str("screens:\n  s1: {part: HU1}\n");
    if screens > 1 {
        text.push_str("  s2: {part: HU2}\n");
    }
    text.push_str("views:\n");
    for s in 0..screens {
        _ = writeln!(text, "  s{}:\n    - {{when: not key, show: black}}", s + 1);
        for c in (0..cameras).filter(|c| c % screens == s) {
            let own: Vec<String> = (1..inputs).filter(|i| (i - 1) % cameras == c).map(|i| format!("i{i}")).collect();
            let when = match &own[..] {
                [] => format!("i{} and i{}", 1 + c % (inputs - 1), 1 + (c + 1) % (inputs - 1)),
                [one] => one.clone(),
                [one, others @ ..] => format!("{one} and not ({})", others.join(" or ")),
            };
            _ = writeln!(text, "    - {{when: {when}, show: C{c}}}");
        }
        text.push_str("    - {otherwise: home}\n");
    }
    text
}

/// Peak memory of this process in kB, where the system says so.
fn memory() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}
