//! Does each part with a promise come on in time, and does it stay on while turn signals flash?

use super::asker::{Asker, Start, Subject};
use super::within::{Arrival, Late, moved_state};
use crate::Row;
use crate::machine::Machine;
use crate::promise::{Gap, first, gaps};
use crate::setting::Setting;
use crate::time::Time;
use circuit::State;
use model::{WorksId, WorksPromise};

/// How a part keeps its promise in time.
#[derive(Debug, Clone, PartialEq)]
pub struct WorksInTime {
    /// The promise.
    pub id: WorksId,
    /// The time allowed, and the latest that the part came on after a single move; `None` inside if no move makes it be
    /// asked.
    pub within: Option<(Time, Option<Arrival>)>,
    /// The longest gap while it should be steady.
    pub gap: Option<WorksGap>,
}

/// A part that stops working while it should work steadily.
#[derive(Debug, Clone, PartialEq)]
pub struct WorksGap {
    /// The state, in words.
    pub state: String,
    /// The setting that was worst, in words.
    pub setting: String,
    /// The longest gap.
    pub longest: Time,
    /// Number of gaps in the time played.
    pub times: usize,
    /// What happens around the first.
    pub evidence: Vec<Row>,
}

impl WorksInTime {
    /// The arrival that breaks the promise.
    pub fn late(&self) -> Option<(Time, &Arrival)> {
        let (limit, worst) = self.within.as_ref()?;
        let late = worst.as_ref().filter(|worst| worst.took.is_none_or(|took| took > *limit))?;
        Some((*limit, late))
    }
}

pub fn ask(asker: &mut Asker) -> Vec<WorksInTime> {
    let model = asker.solved.model;
    let mut all = vec![];
    for (i, promise) in model.works.iter().enumerate().filter(|(_, p)| p.within.is_some() || p.steady) {
        let subject = asker.works(promise);
        let search = Search { id: WorksId(i), promise, subject };
        let within = promise.within.map(|limit| (Time::of(limit), search.latest(asker, Time::of(limit))));
        let gap = if promise.steady { search.longest_gap(asker) } else { None };
        all.push(WorksInTime { id: WorksId(i), within, gap });
    }
    all
}

struct Search<'m> {
    id: WorksId,
    promise: &'m WorksPromise,
    subject: Subject,
}

/// The longest gap found so far.
struct Worst<'s> {
    longest: Time,
    start: &'s Start,
    setting: Setting,
    gaps: Vec<Gap>,
}

impl Search<'_> {
    fn is_asked(&self, asker: &Asker, state: &State) -> bool {
        state.holds(&asker.replayed.plan.works[self.id.0].asked)
    }

    /// The latest arrival over every single move after which the part should work, at every setting.
    fn latest(&self, asker: &mut Asker, limit: Time) -> Option<Arrival> {
        let mut worst = None;
        let remembers = self.promise.when.names_signals();
        for start in &self.subject.starts {
            if self.is_asked(asker, &start.state) {
                continue;
            }
            for moved in asker.moves(&self.subject.concern, start) {
                let Some(after) = moved_state(asker, remembers, start, moved) else { continue };
                if !self.is_asked(asker, &after) {
                    continue;
                }
                let make = |asker: &Asker, setting: &Setting| asker.case(start, &[moved], setting);
                let flashing = asker.flashes(&self.subject.concern, &after.positions);
                asker.play_all(flashing, &make, &mut |_, case, machine| {
                    let Some((counted, took)) = self.took(&machine, limit) else { return };
                    Late::keep(&mut worst, took, || Late { counted, ..Late::new(took, start, moved, case) });
                });
            }
        }
        worst.map(|late: Late| late.tell(asker))
    }

    /// When the part begins to be asked, and how long it takes from then; `None` if it isn't asked, or not long enough.
    fn took(&self, machine: &Machine, limit: Time) -> Option<(Time, Option<Time>)> {
        let record = &machine.record;
        let (from, to, _) = record.asked[self.id.0].spans(record.to).find(|(_, _, asked)| **asked)?;
        let took = first(&record.works[self.id.0], from, to, |works| *works).map(|at| at - from);
        (took.is_some() || to - from >= limit).then_some((from, took))
    }

    /// The longest gap over every state in which the part should work while something flashes, at every setting.
    fn longest_gap(&self, asker: &mut Asker) -> Option<WorksGap> {
        let mut worst: Option<Worst> = None;
        for start in &self.subject.starts {
            if !self.is_asked(asker, &start.state) || !asker.flashes(&self.subject.concern, &start.positions) {
                continue;
            }
            let make = |asker: &Asker, setting: &Setting| asker.case(start, &[], setting);
            asker.play_all(true, &make, &mut |_, case, machine| {
                let gaps = self.gaps(&machine);
                let Some(longest) = gaps.iter().map(|gap| gap.length()).max() else { return };
                if worst.as_ref().is_none_or(|worst| longest > worst.longest) {
                    worst = Some(Worst { longest, start, setting: case.setting, gaps });
                }
            });
        }
        worst.and_then(|worst| self.tell(asker, worst))
    }

    /// The gaps in its working while it is asked; none if it doesn't work to begin with, which is another fault.
    fn gaps(&self, machine: &Machine) -> Vec<Gap> {
        let record = &machine.record;
        let works = &record.works[self.id.0];
        if !works.points.first().is_some_and(|(_, works)| *works) {
            return vec![];
        }
        let asked = record.asked[self.id.0].spans(record.to).filter(|(_, _, asked)| **asked);
        asked.flat_map(|(from, to, _)| gaps(works, from, to, |works| *works)).collect()
    }

    fn tell(&self, asker: &mut Asker, worst: Worst) -> Option<WorksGap> {
        let Worst { longest, start, setting, gaps } = worst;
        let machine = asker.play(&asker.case(start, &[], &setting));
        Some(WorksGap {
            state: start.name.clone(),
            setting: asker.setting_words(&setting, &start.positions),
            longest,
            times: gaps.len(),
            evidence: asker.evidence(&machine, gaps.first()?.from),
        })
    }
}
