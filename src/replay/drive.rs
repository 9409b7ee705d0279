//! From a drive script to its timeline.

use super::machine::{Deed, Machine, Till};
use super::promise::{Promise, Verdict, promises};
use super::replay_circuit::ReplayCircuit;
use super::setting::{Pick, Setting};
use super::time::Time;
use super::timeline::Record;
use circuit::{State, Variant};
use model::Drive;
use spec::SupplyStep;
use states::Wiring;

/// The result of a drive.
#[derive(Debug, Clone, PartialEq)]
pub struct Timeline {
    /// The setting it was played at.
    pub setting: Setting,
    /// What happened, with times.
    pub record: Record,
    /// What was promised, in order of time.
    pub promises: Vec<Promise>,
    /// Whether only flashes were still due at the end.
    pub quiet: bool,
    /// The circuit's state at the end.
    pub end: State,
    /// Why it stopped before its end, in words.
    pub stopped: Option<String>,
}

impl Timeline {
    /// Whether every decided promise was kept, and every input change was allowed.
    pub fn kept(&self) -> bool {
        let broken = self.promises.iter().any(|promise| promise.verdict == Verdict::Broken);
        !broken && self.record.refused.is_empty() && self.stopped.is_none()
    }
}

/// Time that a timeline continues after the last step.
const TAIL: Time = Time::milliseconds(2_000);

/// Longest time that it continues after the last step while something is still due.
const LONGEST_TAIL: Time = Time::milliseconds(30_000);

/// Plays a drive, beginning with every input at rest, long after the battery was connected.
pub fn replay(wiring: &Wiring, drive: &Drive, setting: &Setting) -> Timeline {
    play(&mut ReplayCircuit::new(wiring), drive, setting)
}

/// Plays every drive of a harness in turn, each as if it were the only one.
pub fn replay_all(wiring: &Wiring, setting: &Setting) -> Vec<Timeline> {
    let mut replayed = ReplayCircuit::new(wiring);
    wiring.model.drives.iter().map(|drive| play(&mut replayed, drive, setting)).collect()
}

/// The same on an existing replayed.
fn play(replayed: &mut ReplayCircuit, drive: &Drive, setting: &Setting) -> Timeline {
    let mut script = vec![];
    let mut remarks = vec![];
    let mut last = Time::ZERO;
    for step in &drive.steps {
        let at = Time::of(step.at);
        last = last.max(at);
        if !step.expect.is_empty() {
            script.push((at, Deed::Look));
        }
        if let Some((rate, duty)) = step.flash {
            let (rate, duty) = (rate.map_or(setting.rate, Pick::Exactly), duty.map_or(setting.duty, Pick::Exactly));
            let flash = Setting { rate, duty, pattern: None, ..setting.clone() };
            let words = replayed.wiring.model.inputs.iter().find_map(|input| flash.flash_words(input));
            remarks.extend(words.map(|words| (at, format!("flash {words}"))));
            script.push((at, Deed::Flash(flash)));
        }
        match step.supply {
            Some(SupplyStep::Usual) => {
                remarks.push((at, "supply at its usual voltage".into()));
                script.push((at, Deed::Supply(replayed.level(setting.corner))));
            }
            Some(SupplyStep::At(volts)) => {
                remarks.push((at, format!("supply at {volts}")));
                let supplied = Variant::supplied(&replayed.wiring.assembly.circuit, volts);
                script.push((at, Deed::Supply(replayed.level_of(&supplied, setting.corner))));
            }
            None => {}
        }
        if !step.changes.is_empty() {
            script.push((at, Deed::Put(step.changes.clone())));
        }
    }
    let mut machine = Machine::at_rest(replayed, setting);
    machine.begin(replayed);
    machine.play(replayed, &script, last + TAIL, last + LONGEST_TAIL, Till::End);
    machine.record.remarks = remarks;
    Timeline {
        promises: promises(replayed.wiring.model, &machine.record, &drive.steps),
        quiet: machine.quiet(),
        end: machine.rested(replayed),
        stopped: machine.stopped,
        setting: setting.clone(),
        record: machine.record,
    }
}
