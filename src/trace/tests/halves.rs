//! The usual way beside ours: halve the pins of the failed state by voltage, then look at what is left one by one.

use super::*;
use crate::look::Look;

/// Steps on average over some faults, ours and by half-splitting, and the most by half-splitting.
#[derive(Debug, Default)]
pub struct Halves {
    pub ours: f64,
    pub mean: f64,
    pub most: usize,
}

impl Halves {
    /// For faults that last, with the steps that our trace took.
    pub fn of<'a>(tracer: &mut FaultTracer, traced: impl Iterator<Item = (&'a Failure, usize)>) -> Halves {
        let known = tracer.take();
        let mut both: Vec<(usize, usize)> = Vec::new();
        for (fault, ours) in traced.filter(|(fault, _)| !fault.harm.comes_and_goes) {
            let truth = tracer.faults.iter().position(|one| one == fault).unwrap();
            let oracle = Oracle::new(tracer.facts, fault);
            let Some(complaint) = complaint(&oracle) else { continue };
            both.push((ours, steps(&known.dictionary, truth, &complaint)));
        }
        tracer.known = Some(known);
        let mean =
            |of: fn(&(usize, usize)) -> usize| both.iter().map(of).sum::<usize>() as f64 / both.len().max(1) as f64;
        Halves {
            ours: mean(|both| both.0),
            mean: mean(|both| both.1),
            most: both.iter().map(|both| both.1).max().unwrap_or_default(),
        }
    }
}

/// Steps to a fault. A probe is the pin that divides the suspects most evenly by number; when none divides them, they are
/// looked at in their order, and the last needs no look.
fn steps(dictionary: &Dictionary, truth: usize, complaint: &Observation) -> usize {
    let setting = dictionary.settings.iter().position(|one| one.name == complaint.setting.name).unwrap();
    let same = |fault: &usize| match (dictionary.present(*fault, setting), complaint.what) {
        (Some(shown), Answered::Screen(screen, seen)) => shown.screens[screen.0] == seen,
        (Some(shown), Answered::Works(promise, on)) => shown.works[promise] == on,
        _ => false,
    };
    let all = (0..dictionary.harms.len()).filter(|fault| !dictionary.harms[*fault].comes_and_goes);
    let mut left: Vec<usize> = all.filter(same).collect();
    let pins: Vec<usize> =
        (0..dictionary.looks.len()).filter(|at| matches!(dictionary.looks[*at], Look::Meter(_))).collect();
    let mut steps = 0;
    loop {
        let largest = |pin: usize| {
            let mut codes: Vec<u16> = left.iter().map(|fault| dictionary.code(*fault, setting, pin)).collect();
            codes.sort_unstable();
            codes.chunk_by(|a, b| a == b).map(<[u16]>::len).max().unwrap_or_default()
        };
        let Some(best) = pins.iter().copied().min_by_key(|pin| largest(*pin)).filter(|pin| largest(*pin) < left.len())
        else {
            break;
        };
        steps += 1;
        let code = dictionary.code(truth, setting, best);
        left.retain(|fault| dictionary.code(*fault, setting, best) == code);
    }
    let at = left.iter().position(|fault| *fault == truth).unwrap();
    steps + (at + 1).min(left.len().saturating_sub(1))
}
