//! The dictionary of faults: what each shows in each setting, solved once and kept for every question.

use super::fault::{Failure, Harm, PictureHarm};
use super::look::Look;
use super::measure::{Measure, Meter, MeterValue};
use super::resistance::{BySize, SizedFaults, SomeSize, sizes, with_size};
use super::seen::ScreenSeen;
use super::setting::SetState;
use super::shown::{ShownFault, drain_limit, drains, shown_in, with_blown_fuses};
use facts::Facts;
use model::{PartId, PlaceId};
use quantity::{Amps, Volts};
use std::collections::BTreeMap;

/// The code of a circuit that does not settle.
pub(crate) const UNSETTLED: u16 = u16::MAX;

/// Added to the code of a voltage that comes and goes with a flasher.
const FLASHES: u16 = 1000;

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
    /// By fault, whether it is a resistance of unknown size.
    is_sized: Vec<bool>,
    /// What those show with other sizes.
    sized: SizedFaults,
    /// By fault, whether it drains a battery with everything at rest.
    drains: Vec<bool>,
    /// What the batteries may supply then.
    pub drain_limit: Amps,
    /// By fault, then by setting, while the fault is there.
    shown: Vec<Vec<Option<ShownFault>>>,
    /// A harness without a fault, by setting.
    whole: Vec<Option<ShownFault>>,
    /// What is seen, as a code for each answer that a tech distinguishes: by fault, then by setting and look.
    codes: Vec<Vec<u16>>,
    /// What meters show with each fault, for what was measured so far.
    measured: Vec<(String, Measure, Vec<Option<MeterValue>>)>,
    /// By setting and look, what separates readings.
    limits: Vec<Vec<f64>>,
    /// By resistance, the size that the readings show, where it is not the usual one: its place among the sizes.
    chosen: BTreeMap<usize, usize>,
    /// What resistances show with such sizes.
    resized: BTreeMap<(usize, usize), Resized>,
}

/// A resistance with another size than the usual one, in every setting.
struct Resized {
    harm: Harm,
    shown: Vec<Option<ShownFault>>,
    codes: Vec<u16>,
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
        let drain_limit = drain_limit(facts);
        let is_sized: Vec<bool> = faults.iter().map(|fault| fault.harm.some_resistance).collect();
        let mut dictionary = Dictionary {
            sized: SizedFaults::new(&harms, &is_sized),
            is_sized,
            drains: threads::each(&harms, |harm| drains(facts, harm, drain_limit)),
            drain_limit,
            settings: Vec::new(),
            looks,
            shown: vec![Vec::new(); harms.len()],
            whole: Vec::new(),
            codes: vec![Vec::new(); harms.len()],
            measured: Vec::new(),
            limits: Vec::new(),
            chosen: BTreeMap::new(),
            resized: BTreeMap::new(),
            harms,
            as_built,
        };
        dictionary.add(facts, settings);
        dictionary
    }

    /// The index of a setting among `settings`. A new setting is solved and added.
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
        }
        for setting in first..self.settings.len() {
            let limits: Vec<Vec<f64>> = self.looks.iter().map(|look| self.limits(facts, setting, *look)).collect();
            for fault in 0..self.harms.len() {
                let looks = self.looks.iter().zip(&limits);
                let shown = self.usual(fault, setting);
                let codes: Vec<u16> =
                    looks.map(|(look, limits)| self.code_of(facts, fault, shown, *look, limits)).collect();
                self.codes[fault].extend(codes);
            }
            self.limits.extend(limits);
        }
    }

    /// Shares of the nominal voltage that separate what a meter reads at a pin with the faults; empty for other looks.
    fn limits(&self, facts: &Facts, setting: usize, look: Look) -> Vec<f64> {
        let Look::Meter(Measure::Volts(pin)) = look else { return Vec::new() };
        let all = (0..self.harms.len()).filter_map(|fault| self.usual(fault, setting));
        let nominal = facts.model.job.nominal;
        let mut shares: Vec<f64> = all.map(|shown| share(shown.volts[pin.0], nominal)).collect();
        shares.sort_by(f64::total_cmp);
        shares.dedup();
        limits_between(&shares)
    }

    /// The first fault with the same changes. An intermittent fault shares the solution of the lasting one.
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

    /// What a fault shows at a step, a resistance with its usual size. An intermittent fault is not there then.
    fn usual(&self, fault: usize, setting: usize) -> Option<&ShownFault> {
        if self.harms[fault].comes_and_goes { self.whole(setting) } else { self.present(fault, setting) }
    }

    /// A resistance with the size that the readings show; `None` where it is the usual one.
    fn resized(&self, fault: usize) -> Option<&Resized> {
        self.resized.get(&(fault, *self.chosen.get(&fault)?))
    }

    /// What a fault shows at a step, a resistance with its most probable size.
    pub fn now(&self, fault: usize, setting: usize) -> Option<&ShownFault> {
        match self.resized(fault) {
            Some(resized) => resized.shown[setting].as_ref(),
            None => self.usual(fault, setting),
        }
    }

    /// What a fault changes at a step, a resistance with its most probable size.
    pub fn harm_now(&self, fault: usize) -> &Harm {
        match self.resized(fault) {
            Some(resized) => &resized.harm,
            None if self.harms[fault].comes_and_goes => &self.as_built,
            None => &self.harms[fault],
        }
    }

    /// A resistance with its most probable size if it is the only fault; `None` where that is the usual one.
    pub fn alone(&self, fault: usize) -> Option<&Harm> {
        self.resized(fault).map(|resized| &resized.harm)
    }

    /// The code of a fault at a look, by its index in `looks`; of a resistance with its most probable size.
    pub fn code(&self, fault: usize, setting: usize, look: usize) -> u16 {
        let codes = self.resized(fault).map_or(&self.codes[fault], |resized| &resized.codes);
        codes[setting * self.looks.len() + look]
    }

    /// Steps are chosen with these sizes from now on, each a fault and a place among the sizes; all others have the usual one.
    pub fn choose_sizes(&mut self, facts: &Facts, chosen: &[(usize, usize)]) {
        self.chosen = chosen.iter().copied().collect();
        let is_known = |pair: &(usize, usize)| {
            self.resized.get(pair).is_some_and(|resized| resized.shown.len() == self.settings.len())
        };
        let new: Vec<(usize, usize)> = chosen.iter().copied().filter(|pair| !is_known(pair)).collect();
        let sizes = sizes();
        let solved = threads::each(&new, |(fault, size)| self.solve_size(facts, *fault, *size, &sizes));
        self.resized.extend(new.into_iter().zip(solved));
    }

    fn solve_size(&self, facts: &Facts, fault: usize, size: usize, sizes: &[SomeSize]) -> Resized {
        let harm = with_size(&self.harms[fault], sizes[size].ohms);
        let one = |(at, setting): (usize, &SetState)| match self.sized(fault, at).get(size) {
            Some(shown) => shown.clone(),
            None => shown_in(facts, std::slice::from_ref(setting), &harm).pop().flatten(),
        };
        let shown: Vec<Option<ShownFault>> = self.settings.iter().enumerate().map(one).collect();
        let code = |setting: usize, look: usize| {
            let limits = &self.limits[setting * self.looks.len() + look];
            self.code_of(facts, fault, shown[setting].as_ref(), self.looks[look], limits)
        };
        let looks = 0..self.looks.len();
        let codes = (0..shown.len()).flat_map(|at| looks.clone().map(move |look| (at, look)));
        let codes = codes.map(|(setting, look)| code(setting, look)).collect();
        Resized { harm, shown, codes }
    }

    fn code_of(&self, facts: &Facts, fault: usize, shown: Option<&ShownFault>, look: Look, limits: &[f64]) -> u16 {
        let harm = &self.harms[fault];
        match look {
            Look::Wiggle(place) => return u16::from(moves(facts, harm, place)),
            Look::Cable(wire) => return harm.cable_seen(wire) as u16,
            Look::Fuse(fuse) => return u16::from(harm.blown.contains(&fuse) && !harm.comes_and_goes),
            Look::NewFuse(fuse) => return harm.blows_when(fuse).map_or(0, |at| 1 + at as u16),
            Look::Input(pin) => return u16::from(!harm.pictures.contains(&PictureHarm::DeadInput(pin))),
            Look::Plug(part) => return u16::from(harm.exchanged == Some(part)),
            Look::Drain => return u16::from(self.drains(fault)),
            _ => {}
        }
        let Some(shown) = shown else { return UNSETTLED };
        match look {
            Look::Screen(screen) => code_of_picture(shown.screens[screen.0]),
            Look::Works(promise) => shown.works[promise] as u16,
            Look::Meter(Measure::Volts(pin)) => {
                let share = share(shown.volts[pin.0], facts.model.job.nominal);
                let band = limits.iter().filter(|limit| share >= **limit).count() as u16;
                if shown.flashing.iter().any(|(one, _)| *one == pin) { FLASHES + band } else { band }
            }
            _ => 0,
        }
    }

    /// Whether a fault is a resistance of unknown size.
    pub fn is_sized(&self, fault: usize) -> bool {
        self.is_sized[fault]
    }

    /// What a resistance shows with each size in the setting of an observation.
    pub fn sized(&self, fault: usize, setting: usize) -> &[Option<ShownFault>] {
        self.sized.shown(fault, setting)
    }

    /// Whether a fault drains a battery with everything at rest.
    pub fn drains(&self, fault: usize) -> bool {
        self.drains[fault]
    }

    /// Solves every resistance with each size in a setting. A meter shows with each what this returns.
    pub fn solve_sizes(
        &mut self,
        facts: &Facts,
        meter: &Meter,
        setting: usize,
        measure: Option<Measure>,
    ) -> BySize<MeterValue> {
        self.sized.place(facts, setting, &self.settings[setting]);
        measure.map(|measure| self.sized.measured(meter, setting, measure).clone()).unwrap_or_default()
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

fn share(volts: Volts, nominal: Volts) -> f64 {
    volts.value().abs() / nominal.value()
}

/// Readings, as shares of the nominal voltage, that are this far apart are always distinguished.
const FAR: f64 = 0.15;

/// A group of readings is not wider than this if there is a gap of the other width in it.
const WIDE: f64 = 0.25;
const GAP: f64 = 0.04;

/// Limits between groups of sorted shares, in the middle of gaps.
fn limits_between(shares: &[f64]) -> Vec<f64> {
    let mut limits = Vec::new();
    let mut first = shares.first().copied().unwrap_or_default();
    for pair in shares.windows(2) {
        let gap = pair[1] - pair[0];
        if gap > FAR || (gap > GAP && pair[1] - first > WIDE) {
            limits.push((pair[0] + pair[1]) / 2.0);
            first = pair[1];
        }
    }
    limits
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
