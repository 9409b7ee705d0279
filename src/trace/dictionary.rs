//! The dictionary of faults: what each shows in each setting, solved once and kept for every question.

use super::cable::cable;
use super::fault::{Failure, Harm};
use super::look::Look;
use super::measure::{BANDS, Measure, Meter, MeterValue};
use super::seen::ScreenSeen;
use super::setting::SetState;
use super::shown::{ShownFault, shown_in, with_blown_fuses};
use facts::Facts;
use model::{PartId, PlaceId};
use quantity::Volts;

/// The code of a circuit that does not settle.
pub(crate) const UNSETTLED: u16 = u16::MAX;

/// What each fault shows in each setting.
pub(crate) struct Dictionary {
    /// The settings: those that steps are chosen from, then those of observations elsewhere.
    pub settings: Vec<SetState>,
    /// What can be looked at.
    pub looks: Vec<Look>,
    /// Each fault with the fuses that it blows, in the vehicle as it is.
    pub harms: Vec<Harm>,
    /// How the vehicle differs from the spec.
    pub as_built: Harm,
    /// By fault, then by setting, while the fault is there.
    shown: Vec<Vec<Option<ShownFault>>>,
    /// A harness without a fault, by setting.
    whole: Vec<Option<ShownFault>>,
    /// By fault, then by setting and look: what is seen, as far as it can be distinguished.
    codes: Vec<Vec<u16>>,
    /// What meters show with each fault, for what was measured so far.
    measured: Vec<(String, Measure, Vec<Option<MeterValue>>)>,
}

impl Dictionary {
    pub fn new(
        facts: &Facts,
        faults: &[Failure],
        settings: Vec<SetState>,
        looks: Vec<Look>,
        as_built: Harm,
    ) -> Dictionary {
        let harms = threads::each(faults, |fault| with_blown_fuses(facts, &as_built.and(&fault.harm), &settings));
        let mut dictionary = Dictionary {
            settings: Vec::new(),
            looks,
            shown: vec![Vec::new(); harms.len()],
            whole: Vec::new(),
            codes: vec![Vec::new(); harms.len()],
            measured: Vec::new(),
            harms,
            as_built,
        };
        dictionary.add(facts, settings);
        dictionary
    }

    /// The place of a setting; one that is not known is solved.
    pub fn place(&mut self, facts: &Facts, setting: &SetState) -> usize {
        let known = |dictionary: &Dictionary| dictionary.settings.iter().position(|one| one.name == setting.name);
        known(self).unwrap_or_else(|| {
            self.add(facts, vec![setting.clone()]);
            self.settings.len() - 1
        })
    }

    fn add(&mut self, facts: &Facts, settings: Vec<SetState>) {
        let distinct: Vec<usize> = (0..self.harms.len()).filter(|at| self.first_alike(*at) == *at).collect();
        let solved = threads::each(&distinct, |at| shown_in(facts, &settings, &self.harms[*at]));
        let mut of = vec![None; self.harms.len()];
        for (at, shown) in distinct.into_iter().zip(solved) {
            of[at] = Some(shown);
        }
        self.whole.extend(shown_in(facts, &settings, &self.as_built));
        let first = self.settings.len();
        self.settings.extend(settings);
        for fault in 0..self.harms.len() {
            let new = of[self.first_alike(fault)].clone().unwrap_or_default();
            self.shown[fault].extend(new);
            for setting in first..self.settings.len() {
                let codes: Vec<u16> =
                    self.looks.iter().map(|look| self.code_of(facts, fault, setting, *look)).collect();
                self.codes[fault].extend(codes);
            }
        }
    }

    /// The first fault that does the same while it is there: one that comes and goes does what a lasting one does.
    fn first_alike(&self, fault: usize) -> usize {
        let harm = &self.harms[fault];
        if !harm.comes_and_goes {
            return fault;
        }
        let same = |other: &Harm| other.variant == harm.variant && other.pictures == harm.pictures;
        (0..fault).find(|at| same(&self.harms[*at])).unwrap_or(fault)
    }

    /// What a fault shows while it is there; `None` where the circuit does not settle.
    pub fn present(&self, fault: usize, setting: usize) -> Option<&ShownFault> {
        self.shown[fault][setting].as_ref()
    }

    /// What is shown while a fault that comes and goes is not there.
    pub fn whole(&self, setting: usize) -> Option<&ShownFault> {
        self.whole[setting].as_ref()
    }

    /// What a fault shows now: nothing wrong for one that comes and goes.
    pub fn now(&self, fault: usize, setting: usize) -> Option<&ShownFault> {
        if self.harms[fault].comes_and_goes { self.whole(setting) } else { self.present(fault, setting) }
    }

    /// What is seen at a place in the list of looks.
    pub fn code(&self, fault: usize, setting: usize, look: usize) -> u16 {
        self.codes[fault][setting * self.looks.len() + look]
    }

    fn code_of(&self, facts: &Facts, fault: usize, setting: usize, look: Look) -> u16 {
        let harm = &self.harms[fault];
        match look {
            Look::Wiggle(place) => return u16::from(moves(facts, harm, place)),
            Look::Cable(wire) => return cable(harm, wire) as u16,
            Look::Fuse(fuse) => return u16::from(harm.blown.contains(&fuse) && !harm.comes_and_goes),
            _ => {}
        }
        let Some(shown) = self.now(fault, setting) else { return UNSETTLED };
        match look {
            Look::Screen(screen) => code_of_picture(shown.screens[screen.0]),
            Look::Works(promise) => u16::from(shown.works[promise]),
            Look::Meter(Measure::Volts(pin)) => band(shown.volts[pin.0], facts.model.job.nominal),
            _ => 0,
        }
    }

    /// What a meter shows with each fault, and last without one, in a setting: solved at the first question. `None` where
    /// it can't be solved.
    pub fn measured(&mut self, meter: &Meter, setting: usize, measure: Measure) -> &[Option<MeterValue>] {
        let name = self.settings[setting].name.clone();
        let known = self.measured.iter().position(|(state, what, _)| *what == measure && *state == name);
        let at = known.unwrap_or_else(|| {
            let faults: Vec<usize> = (0..self.harms.len()).collect();
            let read = |fault: &usize| {
                let state = &self.present(*fault, setting)?.state;
                meter.value(&self.harms[*fault], state, measure)
            };
            let mut values = threads::each(&faults, read);
            let whole = self.whole(setting).map(|shown| &shown.state);
            values.push(whole.and_then(|state| meter.value(&self.as_built, state, measure)));
            self.measured.push((name, measure, values));
            self.measured.len() - 1
        });
        &self.measured[at].2
    }
}

/// Whether something changes as a tech moves the wires at a place.
pub(crate) fn moves(facts: &Facts, harm: &Harm, place: PlaceId) -> bool {
    let model = facts.model;
    let ends = harm.wires.iter().flat_map(|wire| model.wire(*wire).ends);
    harm.comes_and_goes && ends.map(|pin| model.part(model.pin(pin).part).at).any(|at| at == Some(place))
}

fn band(volts: Volts, nominal: Volts) -> u16 {
    let share = volts.value().abs() / nominal.value();
    BANDS.iter().filter(|limit| share >= **limit).count() as u16
}

/// The code of a picture.
pub(crate) fn code_of_picture(seen: ScreenSeen) -> u16 {
    match seen {
        ScreenSeen::Nothing => 0,
        ScreenSeen::Home => 1,
        ScreenSeen::Disturbed => 2,
        ScreenSeen::Picture(part) => 3 + 2 * part.0 as u16,
        ScreenSeen::Still(part) => 4 + 2 * part.0 as u16,
    }
}

/// The picture of a code.
pub(crate) fn picture_of_code(code: u16) -> ScreenSeen {
    match code {
        0 => ScreenSeen::Nothing,
        1 => ScreenSeen::Home,
        2 => ScreenSeen::Disturbed,
        odd if odd % 2 == 1 => ScreenSeen::Picture(PartId(usize::from(odd - 3) / 2)),
        even => ScreenSeen::Still(PartId(usize::from(even - 4) / 2)),
    }
}
