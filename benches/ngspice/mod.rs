//! The same circuits in ngspice, a general-purpose circuit simulator.

use circuit::{ActorId, ActorRule, Circuit, Law, Logic};
use std::fmt::Write;
use std::process::Command;
use std::time::{Duration, Instant};

/// The circuit for ngspice with everything that moves in it: inputs as switches that read a bit of one swept source,
/// relays as switches with hysteresis, diodes as its own.
fn deck(circuit: &Circuit, control: &str) -> String {
    let mut out = String::from("* every state\nvstate state 0 0\nrstate state 0 1k\n");
    for i in 0..circuit.inputs.len() {
        let (low, high) = (1u64 << i, 2u64 << i);
        let _ = writeln!(out, "bbit{i} bit{i} 0 v = floor((v(state)+0.1)/{low}) - 2*floor((v(state)+0.1)/{high})");
    }
    out.push_str(".model bit sw(vt=0.5 vh=0 ron=0.008 roff=1e9)\n");
    for (i, actor) in circuit.actors.iter().enumerate() {
        if let ActorRule::Threshold { on, off, .. } = &actor.rule {
            let (middle, half) = ((on.value() + off.value()) / 2.0, (on.value() - off.value()) / 2.0);
            let _ = writeln!(out, ".model relay{i} sw(vt={middle} vh={half} ron=0.008 roff=1e9)");
        }
    }
    // Conducts 0.35 A at the 0.67 V of ours.
    out.push_str(".model diode d(is=1e-9 n=1.3 rs=0.05)\n");
    for (k, branch) in circuit.branches.iter().enumerate() {
        let (a, b) = (branch.from.0, branch.to.0);
        let _ = match (&branch.law, &branch.when) {
            (Law::Conductor { ohms, .. }, Logic::Always) => writeln!(out, "r{k} {a} {b} {}", ohms.value()),
            (Law::Conductor { .. }, Logic::At(input, _)) => writeln!(out, "s{k} {a} {b} bit{} 0 bit", input.0),
            (Law::Conductor { .. }, Logic::On(ActorId(i))) => {
                let ActorRule::Threshold { plus, minus, .. } = &circuit.actors[*i as usize].rule else {
                    unreachable!()
                };
                writeln!(out, "s{k} {a} {b} {} {} relay{i}", plus.0, minus.0)
            }
            (Law::Source { volts, ohms }, _) => {
                writeln!(out, "v{k} src{k} {a} {}\nr{k} src{k} {b} {}", volts[1].value(), ohms.value())
            }
            (Law::Diode { .. }, _) => writeln!(out, "d{k} {a} {b} diode"),
            other => unreachable!("{other:?}"),
        };
    }
    let _ = write!(out, ".options gmin=1e-12\n.control\n{control}\n.endc\n.end\n");
    out
}

fn run(deck: &str) -> Option<Duration> {
    let file = std::env::temp_dir().join(format!("every-state-{}.cir", std::process::id()));
    std::fs::write(&file, deck).ok()?;
    let start = Instant::now();
    let output = Command::new("ngspice").arg("-b").arg(&file).output().ok()?;
    let took = start.elapsed();
    let text = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
    if text.contains("aborted") || text.contains("Error") {
        eprintln!("{text}");
        return None;
    }
    Some(took)
}

/// The least of several runs, without what a run of a single state takes.
fn least(goes: usize, deck: &str, start_up: &str) -> Option<Duration> {
    let best = |deck: &str| (0..goes).filter_map(|_| run(deck)).min();
    Some(best(deck)?.saturating_sub(best(start_up)?))
}

/// One DC sweep over all states.
pub fn sweep(circuit: &Circuit) -> Option<Duration> {
    let last = (1u64 << circuit.inputs.len()) - 1;
    let over = |last: u64| deck(circuit, &format!("dc vstate 0 {last} 1"));
    least(5, &over(last), &over(0))
}

/// A loop that alters the input word and solves an operating point, state by state.
pub fn alter(circuit: &Circuit) -> Option<Duration> {
    let last = (1u64 << circuit.inputs.len()) - 1;
    let over = |last: u64| {
        let body = "alter vstate dc = $&const.word\nop\ndestroy\nlet const.word = const.word + 1";
        let looped = format!("let word = 0\nwhile const.word le {last}\n{body}\nend");
        deck(circuit, &looped)
    };
    least(1, &over(last), &over(0))
}
