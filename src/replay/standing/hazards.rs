//! Hazards: all turn signals at once, from rest or while one of them is already on. Does the screen blink?

use super::asker::{Asker, Case, Put, Start};
use crate::Row;
use crate::machine::{Machine, Till};
use crate::promise::{Gap, gaps};
use crate::setting::Setting;
use crate::time::Time;
use model::{InputId, ScreenId, Shown};

/// What hazards do to a screen.
#[derive(Debug, Clone, PartialEq)]
pub struct Hazards {
    /// The screen.
    pub screen: ScreenId,
    /// What it should show with them.
    pub shown: Shown,
    /// The state before, in words.
    pub state: String,
    /// The setting, in words.
    pub setting: String,
    /// How often it shows something else in the time played.
    pub times: usize,
    /// Longest time.
    pub longest: Time,
    /// What it shows then, in words.
    pub instead: Vec<String>,
    /// What happens around the first time.
    pub evidence: Vec<Row>,
}

pub fn ask(asker: &mut Asker) -> Vec<Hazards> {
    let model = asker.solved.model;
    let flashers: Vec<InputId> =
        (0..model.inputs.len()).map(InputId).filter(|id| model.inputs[id.0].flash.is_some()).collect();
    let mut all = vec![];
    if flashers.len() < 2 {
        return all;
    }
    for id in (0..model.screens.len()).map(ScreenId) {
        let subject = asker.screen(id);
        let mut worst: Vec<Found> = vec![];
        for start in subject.starts.iter().filter(|_| flashers.iter().any(|f| subject.concern.inputs[f.0])) {
            let off = flashers.iter().filter(|f| start.positions.0[f.0] == 0);
            let on: Vec<Put> = off.map(|f| (*f, 1)).collect();
            if on.is_empty() || !agrees_at_rest(asker, id, start, &flashers, &on) {
                continue;
            }
            let make =
                |asker: &Asker, setting: &Setting| Case { till: Till::Repeats, ..asker.case(start, &on, setting) };
            asker.play_all(true, &make, &mut |asker, case, machine| {
                let Some((shown, blinks)) = blinks(asker, id, &machine) else { return };
                let found = Found { shown, state: start.name.clone(), case, blinks };
                match worst.iter_mut().find(|other| other.shown == shown) {
                    Some(other) if other.key() >= found.key() => {}
                    Some(other) => *other = found,
                    None => worst.push(found),
                }
            });
        }
        for found in worst {
            let answer = found.tell(asker, id);
            all.push(answer);
        }
    }
    all
}

/// The worst for one picture.
struct Found {
    shown: Shown,
    state: String,
    case: Case,
    blinks: Vec<Gap>,
}

impl Found {
    fn key(&self) -> (usize, Time) {
        (self.blinks.len(), self.longest())
    }

    fn longest(&self) -> Time {
        self.blinks.iter().map(|gap| gap.length()).max().unwrap_or(Time::ZERO)
    }

    fn tell(self, asker: &mut Asker, screen: ScreenId) -> Hazards {
        let machine = asker.play(&self.case);
        let mut instead: Vec<String> = vec![];
        for (from, to, display) in machine.record.screens[screen.0].spans(machine.record.to) {
            let words = display.words(asker.solved.model);
            let overlaps = |gap: &Gap| from < gap.to.max(gap.from + Time::nanoseconds(1)) && to > gap.from;
            if self.blinks.iter().any(overlaps) && !display.agrees(self.shown) && !instead.contains(&words) {
                instead.push(words);
            }
        }
        Hazards {
            screen,
            shown: self.shown,
            times: self.blinks.len(),
            longest: self.longest(),
            setting: asker.setting_words(&self.case.setting, &machine.lever),
            evidence: asker.evidence(&machine, self.blinks.first().map_or(Time::ZERO, |gap| gap.from)),
            state: self.state,
            instead,
        }
    }
}

/// Whether the screen shows what it should with the flashers staying on, and as well with them staying dark. Where it
/// doesn't, the picture comes and goes with the flash, which the rules about states and steady views report.
fn agrees_at_rest(asker: &mut Asker, screen: ScreenId, start: &Start, flashers: &[InputId], on: &[Put]) -> bool {
    let mut machine = asker.lead_in(&Setting::default(), &start.way);
    machine.put(&mut asker.replayed, on);
    let Some((_, shown)) = asker.wanted(screen, &machine.state) else { return false };
    let lit = machine.display(screen).agrees(shown);
    let off: Vec<Put> = flashers.iter().map(|flasher| (*flasher, 0)).collect();
    machine.put(&mut asker.replayed, &off);
    lit && machine.display(screen).agrees(shown)
}

/// What the screen should show with the flashers put on together, with every time that it shows something else
/// once it has shown that. `None` where nothing disturbs it.
fn blinks(asker: &Asker, screen: ScreenId, machine: &Machine) -> Option<(Shown, Vec<Gap>)> {
    let record = &machine.record;
    let view = record.wanted[screen.0].at(record.to).copied().flatten()?;
    let shown = asker.solved.model.screens[screen.0].views[view].show;
    let lane = &record.screens[screen.0];
    let there = lane.points.iter().find(|(_, display)| display.agrees(shown)).map(|(at, _)| *at)?;
    let blinks = gaps(lane, there, record.to, |display| display.agrees(shown));
    (!blinks.is_empty() && record.refused.is_empty()).then_some((shown, blinks))
}
