//! The dictionary of faults: what each shows in each setting, solved once and kept for every question.

use super::fault::{Failure, Harm, PictureHarm};
use super::measure::{Measure, Meter, MeterValue};
use super::observable::Observable;
use super::renewed::mends;
use super::resistance::{BySize, SizedFaults, SomeSize, sizes, with_size};
use super::seen::ScreenSeen;
use super::setting::SetState;
use super::shown::{ShownFault, SolvedFault, drain_limit, shown_in, solved_alike};
use facts::Facts;
use model::{ElementId, PartId, PlaceId};
use quantity::{Amps, Volts};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The code of a circuit that does not settle.
pub(crate) const UNSETTLED: u16 = u16::MAX;

/// Added to the code of a voltage that comes and goes with a flasher.
const FLASHES: u16 = 1000;

/// What each fault shows in each setting.
pub(crate) struct Dictionary {
    /// The settings: those that steps are chosen from, then those of observations elsewhere.
    pub settings: Vec<SetState>,
    /// What can be looked at.
    pub looks: Vec<Observable>,
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
    /// By fault, whether a new fuse has mended it.
    is_renewed: Vec<bool>,
    /// The codes of a harness without a fault.
    whole_codes: Vec<u16>,
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
        looks: Vec<Observable>,
        as_built: Harm,
    ) -> Dictionary {
        let drain_limit = drain_limit(facts);
        let is_sized: Vec<bool> = faults.iter().map(|fault| fault.harm.some_resistance).collect();
        let harms: Vec<Harm> = faults.iter().map(|fault| as_built.and(&fault.harm)).collect();
        let solved = solved_faults(facts, &harms, &settings);
        let harms: Vec<Harm> = solved.iter().map(|one| one.harm.clone()).collect();
        let mut dictionary = Dictionary {
            sized: SizedFaults::new(&harms, &is_sized),
            is_sized,
            drains: solved.iter().map(|one| one.drained.is_some_and(|amps| amps > drain_limit)).collect(),
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
            is_renewed: vec![false; harms.len()],
            whole_codes: Vec::new(),
            harms,
            as_built,
        };
        dictionary.add(facts, settings, solved.into_iter().map(|one| one.shown).collect());
        dictionary
    }

    /// The index of a setting among `settings`. A new setting is solved and added.
    pub fn place(&mut self, facts: &Facts, setting: &SetState) -> usize {
        let known = |dictionary: &Dictionary| dictionary.settings.iter().position(|one| one.name == setting.name);
        known(self).unwrap_or_else(|| {
            let settings = vec![setting.clone()];
            // Which fuses are blown is known by now.
            let blown = |harm: &Harm| Harm { shorts: false, ..harm.clone() };
            let harms: Vec<Harm> = self.harms.iter().map(blown).collect();
            let solved = solved_faults(facts, &harms, &settings);
            self.add(facts, settings, solved.into_iter().map(|one| one.shown).collect());
            self.settings.len() - 1
        })
    }

    /// Adds settings with what each fault shows there.
    fn add(&mut self, facts: &Facts, settings: Vec<SetState>, solved: Vec<Vec<Option<ShownFault>>>) {
        self.whole.extend(shown_in(facts, &settings, &self.as_built));
        let first = self.settings.len();
        self.settings.extend(settings);
        self.shown.iter_mut().zip(solved).for_each(|(shown, new)| shown.extend(new));
        let new: Vec<usize> = (first..self.settings.len()).collect();
        let limits = threads::each(&new, |setting| {
            self.looks.iter().map(|look| self.limits(facts, *setting, *look)).collect::<Vec<Vec<f64>>>()
        });
        self.limits.extend(limits.into_iter().flatten());
        let faults: Vec<usize> = (0..self.harms.len()).collect();
        let codes = threads::each(&faults, |fault| {
            let of = |setting: &usize| {
                let (harm, drains) = (&self.harms[*fault], self.drains(*fault));
                self.codes_of(facts, harm, drains, *setting, self.usual(*fault, *setting))
            };
            new.iter().flat_map(of).collect::<Vec<u16>>()
        });
        self.codes.iter_mut().zip(codes).for_each(|(codes, new)| codes.extend(new));
        let whole = |at: &usize| self.codes_of(facts, &self.as_built, false, *at, self.whole(*at));
        let whole: Vec<u16> = new.iter().flat_map(whole).collect();
        self.whole_codes.extend(whole);
    }

    /// From now on these fuses are new ones that hold: what only a blown fuse was is no fault any more.
    pub fn renew(&mut self, fuses: &[ElementId]) {
        self.is_renewed = self.harms.iter().map(|harm| mends(harm, fuses)).collect();
    }

    /// The codes of every look in a setting, with a fault.
    fn codes_of(
        &self,
        facts: &Facts,
        harm: &Harm,
        drains: bool,
        setting: usize,
        shown: Option<&ShownFault>,
    ) -> Vec<u16> {
        let limits = &self.limits[setting * self.looks.len()..];
        let looks = self.looks.iter().zip(limits);
        looks.map(|(look, limits)| self.code_of(facts, harm, drains, shown, *look, limits)).collect()
    }

    /// Shares of the nominal voltage that separate what a meter reads at a pin with the faults; empty for other looks.
    fn limits(&self, facts: &Facts, setting: usize, look: Observable) -> Vec<f64> {
        let Observable::Meter(Measure::Volts(pin)) = look else { return Vec::new() };
        let all = (0..self.harms.len()).filter_map(|fault| self.usual(fault, setting));
        let nominal = facts.model.job.nominal;
        limits_between(all.map(|shown| share(shown.volts[pin.0], nominal)))
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
            _ if self.is_renewed[fault] => self.whole(setting),
            Some(resized) => resized.shown[setting].as_ref(),
            None => self.usual(fault, setting),
        }
    }

    /// What a fault changes at a step, a resistance with its most probable size.
    pub fn harm_now(&self, fault: usize) -> &Harm {
        match self.resized(fault) {
            Some(resized) => &resized.harm,
            None if self.harms[fault].comes_and_goes || self.is_renewed[fault] => &self.as_built,
            None => &self.harms[fault],
        }
    }

    /// A resistance with its most probable size if it is the only fault; `None` where that is the usual one.
    pub fn alone(&self, fault: usize) -> Option<&Harm> {
        self.resized(fault).map(|resized| &resized.harm)
    }

    /// The code of a fault at a look, by its index in `looks`; of a resistance with its most probable size.
    pub fn code(&self, fault: usize, setting: usize, look: usize) -> u16 {
        self.codes(fault)[setting * self.looks.len() + look]
    }

    /// The codes of a fault at every look, setting by setting; of a resistance with its most probable size.
    pub fn codes(&self, fault: usize) -> &[u16] {
        match self.resized(fault) {
            _ if self.is_renewed[fault] => &self.whole_codes,
            Some(resized) => &resized.codes,
            None => &self.codes[fault],
        }
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
            Some(shown) => shown.as_deref().cloned(),
            None => shown_in(facts, std::slice::from_ref(setting), &harm).pop().flatten(),
        };
        let shown: Vec<Option<ShownFault>> = self.settings.iter().enumerate().map(one).collect();
        let codes = (0..shown.len())
            .flat_map(|setting| {
                self.codes_of(facts, &self.harms[fault], self.drains(fault), setting, shown[setting].as_ref())
            })
            .collect();
        Resized { harm, shown, codes }
    }

    fn code_of(
        &self,
        facts: &Facts,
        harm: &Harm,
        drains: bool,
        shown: Option<&ShownFault>,
        look: Observable,
        limits: &[f64],
    ) -> u16 {
        match look {
            Observable::Wiggle(place) => return u16::from(moves(facts, harm, place)),
            Observable::Cable(wire) => return harm.cable_seen(wire) as u16,
            Observable::Fuse(fuse) => return u16::from(harm.blown.contains(&fuse) && !harm.comes_and_goes),
            Observable::NewFuse(fuse) => return harm.blows_when(fuse).map_or(0, |at| 1 + at as u16),
            Observable::Input(pin) => return u16::from(!harm.pictures.contains(&PictureHarm::DeadInput(pin))),
            Observable::Plug(part) => return u16::from(harm.exchanged == Some(part)),
            Observable::Drain => return u16::from(drains),
            _ => {}
        }
        let Some(shown) = shown else { return UNSETTLED };
        match look {
            Observable::Screen(screen) if shown.disturbed[screen.0] => code_of_picture(ScreenSeen::Disturbed),
            Observable::Screen(screen) => code_of_picture(shown.screens[screen.0]),
            Observable::Works(promise) => shown.works[promise] as u16,
            Observable::Meter(Measure::Volts(pin)) => {
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
    pub fn sized(&self, fault: usize, setting: usize) -> &[Option<Arc<ShownFault>>] {
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
            let read =
                |harm: &Harm, shown: &ShownFault| meter.read(harm, &shown.state, measure, |pin| shown.voltage(pin));
            let of = |fault: &usize| read(&self.harms[*fault], self.present(*fault, setting)?);
            let mut values = threads::each(&faults, of);
            values.push(self.whole(setting).and_then(|shown| read(&self.as_built, shown)));
            self.measured.push((name, measure, values));
            self.measured.len() - 1
        });
        &self.measured[at].2
    }
}

/// Solves faults in settings. Those that change the circuit alike, such as a wire that is open and one that opens now and
/// then, share a solution.
fn solved_faults(facts: &Facts, harms: &[Harm], settings: &[SetState]) -> Vec<SolvedFault> {
    let mut alike: Vec<Vec<usize>> = Vec::new();
    for (at, harm) in harms.iter().enumerate() {
        let is_same =
            |other: &Harm| other.variant == harm.variant && other.shorts == harm.shorts && other.blown == harm.blown;
        match alike.iter_mut().find(|one| is_same(&harms[one[0]])) {
            Some(known) => known.push(at),
            None => alike.push(vec![at]),
        }
    }
    let solved = threads::each(&alike, |some| {
        let harms: Vec<Harm> = some.iter().map(|at| harms[*at].clone()).collect();
        solved_alike(facts, &harms, settings)
    });
    let mut all: Vec<(usize, SolvedFault)> =
        alike.into_iter().zip(solved).flat_map(|(some, solved)| some.into_iter().zip(solved)).collect();
    all.sort_by_key(|(at, _)| *at);
    all.into_iter().map(|(_, solved)| solved).collect()
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

/// Limits between groups of shares, in the middle of gaps. Shares within one step of half the least gap have no gap between
/// them, so that only the least and the most of each step are compared.
fn limits_between(shares: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut steps: BTreeMap<u64, [f64; 2]> = BTreeMap::new();
    for share in shares {
        let [least, most] = steps.entry((share / (GAP / 2.0)) as u64).or_insert([share; 2]);
        (*least, *most) = (least.min(share), most.max(share));
    }
    let mut limits = Vec::new();
    let mut all = steps.into_values();
    let Some([mut first, mut last]) = all.next() else { return limits };
    for [least, most] in all {
        let gap = least - last;
        if gap > FAR || (gap > GAP && least - first > WIDE) {
            limits.push((last + least) / 2.0);
            first = least;
        }
        last = most;
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
