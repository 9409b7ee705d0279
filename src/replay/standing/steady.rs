//! Is each `steady` view steady at every allowed flash rate and on-time share?

use super::asker::{Asker, Case, Start};
use crate::Row;
use crate::machine::{Machine, Till};
use crate::promise::{Gap, gaps};
use crate::setting::{Pick, Setting};
use crate::time::Time;
use catalogue::part_form::TimerKind;
use model::{ScreenId, Shown, SignalId, SignalKind};

/// Whether a `steady` view is steady.
#[derive(Debug, Clone, PartialEq)]
pub struct Steady {
    /// The screen.
    pub screen: ScreenId,
    /// The line of its intent.
    pub view: usize,
    /// What it asks for.
    pub shown: Shown,
    /// Number of states and settings tried with a flasher on; 0 means that no flasher can disturb it.
    pub tried: usize,
    /// The worst disturbance; `None` if it is steady.
    pub blink: Option<Blink>,
}

/// A picture that blinks.
#[derive(Debug, Clone, PartialEq)]
pub struct Blink {
    /// The state, in words.
    pub state: String,
    /// The setting that was worst, in words.
    pub setting: String,
    /// Longest gap; `None` if it doesn't come back.
    pub away: Option<Time>,
    /// Number of gaps in the time played.
    pub times: usize,
    /// Longest dark part of a flash in it, at the slowest rate and the smallest on-time share.
    pub dark: Time,
    /// What would cure it.
    pub cure: Option<Cure>,
    /// What happens around the first time.
    pub evidence: Vec<Row>,
}

/// What would make a view steady; tried.
#[derive(Debug, Clone, PartialEq)]
pub enum Cure {
    /// These timers, set to this time.
    Set(Vec<SignalId>, Time),
    /// No timer here can bridge it: it takes a hold of at least this time, tolerance deducted, between flasher and
    /// trigger.
    Add(Time),
}

/// Times are given and tried in these steps.
const STEP: Time = Time::milliseconds(50);

/// Number of steps tried beyond the dark part of a flash.
const STEPS: i64 = 40;

pub fn ask(asker: &mut Asker) -> Vec<Steady> {
    let model = asker.solved.model;
    let mut all = vec![];
    for (i, screen) in model.screens.iter().enumerate() {
        let id = ScreenId(i);
        if !screen.views.iter().any(|view| view.steady) {
            continue;
        }
        let subject = asker.screen(id);
        for (v, view) in screen.views.iter().enumerate().filter(|(_, view)| view.steady) {
            let mine = |start: &&Start| {
                asker.flashes(&subject.concern, &start.positions)
                    && asker.wanted(id, &start.state).is_some_and(|(wanted, _)| wanted == v)
            };
            let mine: Vec<&Start> = subject.starts.iter().filter(mine).collect();
            all.push(Search { screen: id, view: v, shown: view.show, starts: mine }.ask(asker));
        }
    }
    all
}

/// A picture that is away for longer than this at the end of the time played doesn't come back: three of the slowest
/// flashes.
const LOST: Time = Time::milliseconds(3_000);

/// One view, and the states in which it counts while something flashes.
struct Search<'s> {
    screen: ScreenId,
    view: usize,
    shown: Shown,
    starts: Vec<&'s Start>,
}

/// The worst that was found so far.
struct Worst<'s> {
    lost: bool,
    longest: Time,
    start: &'s Start,
    setting: Setting,
    gaps: Vec<Gap>,
}

impl<'s> Search<'s> {
    fn ask(&self, asker: &mut Asker) -> Steady {
        let mut answer = Steady { screen: self.screen, view: self.view, shown: self.shown, tried: 0, blink: None };
        let mut worst: Option<Worst> = None;
        for start in &self.starts {
            let mut there = true;
            let tried = asker.play_all(true, &|asker, setting| case(asker, start, setting), &mut |_, case, machine| {
                let Some(gaps) = self.gaps(start, &machine) else {
                    there = false;
                    return;
                };
                let Some(longest) = gaps.iter().map(|gap| gap.length()).max() else { return };
                let lost = gaps.last().is_some_and(|gap| gap.to == machine.record.to && gap.length() > LOST);
                if worst.as_ref().is_none_or(|worst| (lost, longest) > (worst.lost, worst.longest)) {
                    worst = Some(Worst { lost, longest, start, setting: case.setting, gaps });
                }
            });
            answer.tried += if there { tried } else { 0 };
        }
        answer.blink = worst.and_then(|worst| self.blink(asker, worst));
        answer
    }

    fn blink(&self, asker: &mut Asker, worst: Worst<'s>) -> Option<Blink> {
        let Worst { lost, longest, start, setting, gaps } = worst;
        let (machine, _) = self.flashed(asker, &setting, start)?;
        Some(Blink {
            state: start.name.clone(),
            setting: asker.setting_words(&setting, &start.positions),
            away: (!lost).then_some(longest),
            times: gaps.len(),
            dark: dark(asker, start),
            cure: self.cure(asker, &machine, &setting),
            evidence: asker.evidence(&machine, gaps.first()?.from),
        })
    }

    /// Flashes from a start, and every gap in the view's picture; `None` if the picture wasn't there to begin
    /// with, which is another fault.
    fn flashed(&self, asker: &mut Asker, setting: &Setting, start: &Start) -> Option<(Machine, Vec<Gap>)> {
        let machine = asker.play(&case(asker, start, setting));
        let gaps = self.gaps(start, &machine)?;
        Some((machine, gaps))
    }

    fn gaps(&self, start: &Start, machine: &Machine) -> Option<Vec<Gap>> {
        let record = &machine.record;
        let display = &record.screens[self.screen.0];
        let before = display.points.first().is_some_and(|(_, display)| display.agrees(self.shown));
        if !before || machine.lever != start.positions {
            return None;
        }
        let spans = record.wanted[self.screen.0].spans(record.to).filter(|(_, _, wanted)| **wanted == Some(self.view));
        Some(spans.flat_map(|(from, to, _)| gaps(display, from, to, |display| display.agrees(self.shown))).collect())
    }

    /// Looks for a time of the timers that took part with which the view is steady, and tries it everywhere.
    fn cure(&self, asker: &mut Asker, blinking: &Machine, worst: &Setting) -> Option<Cure> {
        let model = asker.solved.model;
        let took_part = |signal: &SignalId| {
            let actor = asker.solved.assembly.actor(*signal);
            bridges(&model.signals[signal.0].kind)
                && actor.is_some_and(|a| blinking.record.actors[a.index()].points.len() > 1)
        };
        let timers: Vec<SignalId> = (0..model.signals.len()).map(SignalId).filter(took_part).collect();
        let dark = self.starts.iter().map(|start| dark(asker, start)).max()?;
        if timers.is_empty() {
            return Some(Cure::Add((dark + Time::nanoseconds(1)).up_to_next(STEP)));
        }
        // The worst setting shows first whether a time is too short.
        let mut settings = asker.settings(true);
        settings.sort_by_key(|setting| setting != worst);
        for step in 0..STEPS {
            let time = dark.up_to_next(STEP) + STEP * step;
            let steady = settings.iter().all(|setting| {
                let times = timers.iter().map(|signal| (*signal, time)).collect();
                let setting = Setting { times, ..setting.clone() };
                self.starts.iter().all(|start| {
                    let gone = self.flashed(asker, &setting, start);
                    gone.is_none_or(|(_, gaps)| gaps.is_empty())
                })
            });
            if steady {
                return Some(Cure::Set(timers, time));
            }
        }
        None
    }
}

/// Flashing from a start, nothing else happening.
fn case(asker: &Asker, start: &Start, setting: &Setting) -> Case {
    Case { till: Till::Repeats, ..asker.case(start, &[], setting) }
}

/// Whether a signal is a hold or a pulse, which can bridge the dark part of a flash.
fn bridges(kind: &SignalKind) -> bool {
    matches!(kind, SignalKind::Timer { kind: TimerKind::Hold | TimerKind::Pulse, .. })
}

/// The longest time for which the flashers of a start are dark.
fn dark(asker: &Asker, start: &Start) -> Time {
    let slowest = Setting { rate: Pick::Least, duty: Pick::Least, ..Setting::default() };
    let on = asker.solved.model.inputs.iter().zip(&start.positions.0).filter(|(_, at)| **at != 0);
    let dark = on.filter_map(|(input, _)| slowest.pattern(input)).map(|pattern| pattern.longest_off());
    dark.max().unwrap_or(Time::ZERO)
}
