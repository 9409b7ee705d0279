//! The usual ways to look for a fault, beside ours. They share the suspects, the answers, the minutes and the rule that
//! ends a trace; only the choice of the next step differs.

use super::*;
use crate::observable::Observable;
use crate::step::{Chosen, Steps};
use book::service::chain::Chain;
use book::service::{ServiceSheet, service_sheets};
use states::shown_words;

/// How the next step is chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Usual {
    /// By this room.
    Ours,
    /// Halve the printed path, then test the suspects one by one.
    HalvesOfPath,
    /// Halve the suspects by number with voltages in the failed state, then test them one by one.
    HalvesOfSuspects,
    /// Walk along the printed service sheets from the first pin on, then test the suspects one by one.
    Sheets,
}

pub const ALL: [Usual; 4] = [Usual::Ours, Usual::HalvesOfPath, Usual::HalvesOfSuspects, Usual::Sheets];

/// What the usual ways need of a harness.
pub struct Printed<'t, 'm> {
    facts: &'t Facts<'m>,
    sheets: Vec<ServiceSheet>,
}

/// A path's places to look at, from the cause to the effect; first those that the symptom points to.
type Spots = Vec<Vec<Observable>>;

impl<'t, 'm> Printed<'t, 'm> {
    pub fn new(facts: &'t Facts<'m>) -> Self {
        Printed { facts, sheets: service_sheets(facts) }
    }

    /// The places along the path of what failed.
    pub fn spots(&self, complaint: &Observation) -> Spots {
        match complaint.what {
            Answered::Screen(screen, seen) => self.of_screen(complaint, screen, seen),
            Answered::Works(promise, _) => vec![self.of_part(complaint, promise)],
            _ => Vec::new(),
        }
    }

    fn of_part(&self, complaint: &Observation, promise: usize) -> Vec<Observable> {
        let solved = self.facts.solved;
        let at = states::Reached::new(solved.solvers(), circuit::Variant::NONE).at_last(&complaint.setting.moves);
        let part = self.facts.model.works[promise].part;
        let path = at.map(|at| self.facts.paths().of_part(&at, part)).unwrap_or_default();
        let pins = path.steps.iter().filter_map(|step| step.to.pin());
        pins.filter(|pin| solved.assembly.pin(*pin).is_some())
            .map(|pin| Observable::Meter(Measure::Volts(pin)))
            .collect()
    }

    fn of_screen(&self, complaint: &Observation, screen: ScreenId, seen: ScreenSeen) -> Spots {
        let model = self.facts.model;
        let of_screen = || self.sheets.iter().filter(|one| one.screen == model.screens[screen.0].name.as_str());
        let state = &complaint.setting.name;
        let Some(sheet) = of_screen().find(|one| one.state == *state).or_else(|| of_screen().next()) else {
            return Vec::new();
        };
        let wants_picture = !["home", "black"].contains(&sheet.shows.as_str())
            && sheet.shows != shown_words(model, model::Shown::Black);
        let symptom = match seen {
            ScreenSeen::Nothing | ScreenSeen::Disturbed | ScreenSeen::Still(_) if wants_picture => {
                "The screen changes over, but to black or blue"
            }
            ScreenSeen::Nothing => "The screen is dark",
            _ if wants_picture => "Another picture stays, or the screen's own page",
            _ => "Something shows that should not",
        };
        let named = sheet.begin.iter().find(|begin| begin.seen == symptom).map(|begin| begin.at.as_str());
        let numbers: Vec<usize> =
            named.unwrap_or("").split(|c: char| !c.is_ascii_digit()).flat_map(str::parse).collect();
        let first = match numbers[..] {
            [one] => one - 1..one,
            [from, to] => from - 1..to,
            _ => 0..0,
        };
        let (mut pointed, mut others) = (Vec::new(), Vec::new());
        for (at, chain) in sheet.chains.iter().enumerate() {
            match first.contains(&at) {
                true => pointed.extend(self.of_chain(chain)),
                false => others.push(self.of_chain(chain)),
            }
        }
        std::iter::once(pointed).chain(others).filter(|spots| !spots.is_empty()).collect()
    }

    fn of_chain(&self, chain: &Chain) -> Vec<Observable> {
        let model = self.facts.model;
        let look = |link: &book::service::chain::ChainLink| {
            let wire =
                link.wire.as_ref().and_then(|wire| model.wire_ids().find(|id| model.wire(*id).id.as_str() == wire.id));
            let is_live = |pin: &PinId| self.facts.solved.assembly.pin(*pin).is_some();
            match link.id.filter(is_live) {
                Some(pin) => Some(Observable::Meter(Measure::Volts(pin))),
                None => wire.map(Observable::Cable),
            }
        };
        chain.links.iter().filter_map(look).collect()
    }
}

impl Usual {
    /// The next step.
    pub fn choose(self, steps: &Steps, groups: &[SuspectGroup], spots: &Spots) -> Option<Chosen> {
        if groups.len() < 2 {
            return None;
        }
        let first = steps.observations.first()?;
        let at = steps.dictionary.settings.iter().position(|one| one.name == first.setting.name)?;
        let open: Vec<(usize, Observable)> = steps.open().map(|(at, look, _)| (at, look)).collect();
        let found = match self {
            Usual::Ours => return steps.choose(groups),
            Usual::HalvesOfPath => along(steps, spots, at, &open, true),
            Usual::Sheets => along(steps, spots, at, &open, false),
            Usual::HalvesOfSuspects => by_number(steps, at, &open),
        };
        match found {
            Some(look) => Some(steps.chosen(groups, at, look)),
            None => one_by_one(steps, groups, &open),
        }
    }
}

/// What was read so far at the places of a path: right or wrong; nothing where it was not read.
fn read(steps: &Steps, at: usize, look: Observable) -> Option<bool> {
    let nominal = steps.facts.model.job.nominal;
    let setting = &steps.dictionary.settings[at];
    let whole = steps.dictionary.whole(at)?;
    steps.observations.iter().skip(1).find_map(|one| match (one.what, look) {
        (Answered::Meter(measure, value), Observable::Meter(asked))
            if measure == asked && one.setting.name == setting.name =>
        {
            let Measure::Volts(pin) = measure else { return None };
            Some(value.fit(whole.voltage(pin), nominal) > 0.3)
        }
        (Answered::Cable(wire, seen), Observable::Cable(asked)) if wire == asked => Some(seen == CableSeen::Whole),
        _ => None,
    })
}

/// The next place along the path. A place that reads right excludes what lies before it, one that reads wrong what lies
/// after it.
fn along(steps: &Steps, spots: &Spots, at: usize, open: &[(usize, Observable)], halves: bool) -> Option<Observable> {
    let can_be_read = |look: &Observable| open.iter().any(|(setting, one)| *setting == at && one == look);
    for (number, list) in spots.iter().enumerate() {
        let (mut from, mut to) = (0, list.len());
        for (i, look) in list.iter().enumerate() {
            match read(steps, at, *look) {
                Some(true) => from = from.max(i + 1),
                Some(false) => to = to.min(i),
                None => {}
            }
        }
        let left: Vec<Observable> = if from < to { list[from..to].to_vec() } else { Vec::new() };
        let left: Vec<Observable> = left.into_iter().filter(can_be_read).collect();
        let next = match halves {
            // Of a chain that the symptom does not point to, the end is read first.
            true if number > 0 && to == list.len() => left.last(),
            true => left.get(left.len() / 2),
            false => left.first(),
        };
        match next {
            Some(look) => return Some(*look),
            None if to < list.len() => return None,
            None => {}
        }
    }
    None
}

/// The pin that divides the suspects that the readings leave most evenly by number.
fn by_number(steps: &Steps, at: usize, open: &[(usize, Observable)]) -> Option<Observable> {
    let most = steps.likely.iter().map(|fault| steps.belief.of_fault(*fault)).fold(0.0, f64::max);
    let left: Vec<usize> =
        steps.likely.iter().copied().filter(|fault| steps.belief.of_fault(*fault) > most / 10.0).collect();
    let largest = |look: Observable| {
        let mut codes: Vec<u16> = left.iter().map(|fault| steps.code(*fault, at, look)).collect();
        codes.sort_unstable();
        codes.chunk_by(|a, b| a == b).map(<[u16]>::len).max().unwrap_or_default()
    };
    let pins =
        open.iter().filter(|(setting, look)| *setting == at && matches!(look, Observable::Meter(Measure::Volts(_))));
    let best = pins.map(|(_, look)| (largest(*look), *look)).min_by_key(|(most, _)| *most)?;
    (best.0 < left.len()).then_some(best.1)
}

/// A test of the most probable suspect: what separates it from most others for its minutes.
fn one_by_one(steps: &Steps, groups: &[SuspectGroup], open: &[(usize, Observable)]) -> Option<Chosen> {
    let score = |(at, look): &(usize, Observable)| {
        let shows = steps.code(groups[0].alike[0].example(), *at, *look);
        let apart: f64 = groups[1..]
            .iter()
            .filter(|group| steps.code(group.alike[0].example(), *at, *look) != shows)
            .map(|group| group.probability)
            .sum();
        let chosen = steps.chosen(groups, *at, *look);
        (apart / chosen.minutes, chosen)
    };
    let best = open.iter().map(score).max_by(|a, b| a.0.total_cmp(&b.0))?;
    (best.0 > 1e-6).then_some(best.1)
}
