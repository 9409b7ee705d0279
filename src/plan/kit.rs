//! The kinds of part that a proposal is built from, found in the catalogue by what is inside them.

use catalogue::Catalogue;
use catalogue::part_form::{Across, Family, Inside, PartForm, PassesForm, Shields, TimerKind, VideoFormat};
use form::values::Draw;
use form::{Expr, Name};
use quantity::{Amps, Seconds, Span, Volts};
use spec::PartEntry;
use std::sync::Arc;

/// A relay with one contact.
#[derive(Debug, Clone)]
pub struct RelayKind {
    /// Its kind of part.
    pub name: String,
    /// Coil, feed side.
    pub feed: Name,
    /// Coil, ground side.
    pub ground: Name,
    /// Common pin.
    pub common: Name,
    /// Pin that is connected when energised.
    pub made: Name,
    /// Pin that is connected at rest.
    pub rest: Option<Name>,
    /// Largest current of the coil at the highest supply voltage.
    pub coil: Amps,
}

/// A module with a trigger and a switched positive output.
#[derive(Debug, Clone)]
pub struct ModuleKind {
    /// Its kind of part.
    pub name: String,
    /// Feed pin.
    pub power: Name,
    /// Ground pin.
    pub ground: Name,
    /// Trigger pin.
    pub input: Name,
    /// Output pin.
    pub output: Name,
    /// Times to which it can be set.
    pub times: Option<Span<Seconds>>,
    /// Share by which its time can be short.
    pub tolerance: f64,
}

/// Joins feeds: current flows from the anodes to the cathode only.
#[derive(Debug, Clone)]
pub struct DiodeKind {
    /// Its kind of part.
    pub name: String,
    /// Anodes.
    pub anodes: Vec<Name>,
    /// The common cathode.
    pub cathode: Name,
}

/// Passes a picture to two places.
#[derive(Debug, Clone)]
pub struct SplitterKind {
    /// Its kind of part.
    pub name: String,
    /// Its voltage, if that is lower than the vehicle's.
    pub lower: Option<Volts>,
    /// Feed pin.
    pub power: Name,
    /// Ground pin.
    pub ground: Name,
    /// Picture input.
    pub input: Name,
    /// Picture outputs.
    pub outputs: [Name; 2],
}

/// A converter between two voltages.
#[derive(Debug, Clone)]
pub struct ConverterKind {
    /// Its kind of part.
    pub name: String,
    /// Input pin.
    pub input: Name,
    /// Output pin.
    pub output: Name,
    /// Ground pin.
    pub ground: Name,
    /// Efficiency, as a share.
    pub efficiency: f64,
}

/// The catalogue, at a system voltage.
pub struct Kit<'c> {
    catalogue: &'c Catalogue,
    /// The vehicle's nominal voltage.
    pub nominal: Volts,
    /// The vehicle's highest voltage.
    pub highest: Volts,
    /// Whether relays are used where a module could be.
    plain: bool,
}

impl<'c> Kit<'c> {
    /// The kinds of part for a vehicle.
    pub fn new(catalogue: &'c Catalogue, nominal: Volts, highest: Volts, plain: bool) -> Kit<'c> {
        Kit { catalogue, nominal, highest, plain }
    }

    fn of(&self, family: Family) -> impl Iterator<Item = (&'c str, &'c Arc<PartForm>)> + '_ {
        self.all_of(family).filter(|(_, kind)| kind.nominal.is_none_or(|nominal| nominal == self.nominal))
    }

    fn all_of(&self, family: Family) -> impl Iterator<Item = (&'c str, &'c Arc<PartForm>)> + use<'c> {
        self.catalogue.iter().filter(move |(_, kind)| kind.family == family)
    }

    /// A relay with a diode across its coil, which keeps the coil's spike from modules and screens.
    pub fn relay(&self, change_over: bool) -> Option<RelayKind> {
        self.of(Family::Relay)
            .filter_map(|(name, kind)| self.relay_of(name, kind))
            .find(|r| !change_over || r.rest.is_some())
    }

    /// A relay with only a make contact, or a change-over contact if there is none.
    pub fn load_relay(&self) -> Option<RelayKind> {
        let make_only =
            self.of(Family::Relay).filter_map(|(name, kind)| self.relay_of(name, kind)).find(|r| r.rest.is_none());
        make_only.or_else(|| self.relay(true))
    }

    fn relay_of(&self, name: &str, kind: &PartForm) -> Option<RelayKind> {
        let [Inside::Coil(coil), Inside::Contact(contact)] = &kind.inside[..] else { return None };
        if coil.acts.is_some_and(|acts| acts != catalogue::part_form::Acts::Holds) || coil.across != Some(Across::Diode)
        {
            return None;
        }
        let least = coil.resistance.value() * (1.0 - coil.tolerance.map_or(0.0, |t| t.value()));
        Some(RelayKind {
            name: name.to_string(),
            feed: coil.feed.value.clone(),
            ground: coil.ground.value.clone(),
            common: contact.common.value.clone(),
            made: contact.made.as_ref()?.value.clone(),
            rest: contact.rest.as_ref().map(|rest| rest.value.clone()),
            coil: Amps::new(self.highest.value() / least),
        })
    }

    /// A module that keeps its output on for a time after its one trigger.
    pub fn hold(&self) -> Option<ModuleKind> {
        self.timer(TimerKind::Hold)
    }

    /// A module that turns its output on some time after its one trigger.
    pub fn delay(&self) -> Option<ModuleKind> {
        self.timer(TimerKind::Delay)
    }

    fn timer(&self, wanted: TimerKind) -> Option<ModuleKind> {
        self.of(Family::Module).find_map(|(name, kind)| {
            let mut module = module_of(name, kind)?;
            let [timer] = &timers(kind)[..] else { return None };
            if timer.kind != wanted {
                return None;
            }
            module.times = timer.times.map(|times| times.0);
            module.tolerance = timer.tolerance.map_or(0.0, |t| t.value());
            Some(module)
        })
    }

    /// A module with a positive output while its trigger is at ground.
    pub fn inverter(&self) -> Option<ModuleKind> {
        if self.plain {
            return None;
        }
        self.of(Family::Module).find_map(|(name, kind)| {
            let pulled_up = kind.inside.iter().any(|i| matches!(i, Inside::Sense(sense) if sense.pull_up.is_some()));
            if pulled_up && timers(kind).is_empty() { module_of(name, kind) } else { None }
        })
    }

    /// A semiconductor switch that a small current controls.
    pub fn high_side(&self) -> Option<ModuleKind> {
        if self.plain {
            return None;
        }
        self.of(Family::SolidState).find_map(|(name, kind)| module_of(name, kind))
    }

    /// The smallest diode pack with at least `anodes` anodes; if there is none, the largest.
    pub fn diodes(&self, anodes: usize) -> Option<DiodeKind> {
        let packs = || self.of(Family::Diode).filter_map(|(name, kind)| diodes_of(name, kind));
        let enough = packs().filter(|pack| pack.anodes.len() >= anodes).min_by_key(|pack| pack.anodes.len());
        enough.or_else(|| packs().max_by_key(|pack| pack.anodes.len()))
    }

    /// What passes a picture of one of these formats and keeps the shields of its cables apart: its pins.
    pub fn isolator(&self, formats: &[VideoFormat]) -> Option<(&'c str, [&'c Name; 2])> {
        self.of(Family::Selector).find_map(|(name, kind)| {
            let [Inside::Passes(pass)] = &kind.inside[..] else { return None };
            let passes = pass.when.is_none() && formats.iter().any(|format| kind.formats.contains(format));
            (passes && kind.shields == Some(Shields::Apart)).then_some((name, [&pass.from.value, &pass.to.value]))
        })
    }

    /// A splitter that passes one of these formats; if there is none for this voltage, one for a lower voltage.
    pub fn splitter(&self, formats: &[VideoFormat]) -> Option<SplitterKind> {
        let lower = self
            .all_of(Family::Selector)
            .filter(|(_, kind)| kind.nominal.is_some_and(|nominal| nominal.value() < self.nominal.value()));
        self.of(Family::Selector).chain(lower).find_map(|(name, kind)| {
            let [Inside::Load(load), Inside::Passes(one), Inside::Passes(two)] = &kind.inside[..] else { return None };
            let always = |pass: &PassesForm| {
                pass.when
                    .as_ref()
                    .is_none_or(|when| matches!(&when.expr, Expr::Name(word, _) if word.as_str() == "working"))
            };
            let splits = one.from.value == two.from.value && one.to.value != two.to.value && always(one) && always(two);
            let passes = formats.iter().any(|format| kind.formats.contains(format));
            (splits && passes).then(|| SplitterKind {
                name: name.to_string(),
                lower: kind.nominal.filter(|nominal| nominal.value() < self.nominal.value()),
                power: load.feed.value.clone(),
                ground: load.ground.value.clone(),
                input: one.from.value.clone(),
                outputs: [one.to.value.clone(), two.to.value.clone()],
            })
        })
    }

    /// A kind of fuse, and the ratings that it comes in.
    pub fn fuse(&self) -> Option<(&'c str, [Name; 2], &'c [Amps])> {
        self.of(Family::Fuse).find_map(|(name, kind)| {
            let pins: Vec<Name> = kind.pins.names().map(|pin| pin.value.clone()).collect();
            let pins: [Name; 2] = pins.try_into().ok()?;
            (!kind.ratings.is_empty()).then_some((name, pins, kind.ratings.as_slice()))
        })
    }

    /// A converter to about this voltage for this current.
    pub fn converter(&self, volts: Volts, amps: Amps) -> Option<ConverterKind> {
        self.of(Family::Converter).find_map(|(name, kind)| {
            let [Inside::Converter(converter)] = &kind.inside[..] else { return None };
            let near = (converter.volts.value() / volts.value() - 1.0).abs() < 0.2;
            (near && converter.limit.value() >= amps.value() * 1.1).then(|| ConverterKind {
                name: name.to_string(),
                input: converter.input.value.clone(),
                output: converter.output.value.clone(),
                ground: converter.ground.value.clone(),
                efficiency: converter.efficiency.value(),
            })
        })
    }

    /// Current of a part's loads on one feed pin, at the vehicle's voltage or at the part's own.
    pub fn draws(entry: &PartEntry, kind: &PartForm, pin: &str, volts: Volts) -> Amps {
        let loads = kind.inside.iter().filter_map(|inside| match inside {
            Inside::Load(load) if load.feed.as_str() == pin => Some(entry.draws.unwrap_or(load.draws)),
            _ => None,
        });
        loads.fold(Amps::new(0.0), |sum, draw| {
            let amps = match draw {
                Draw::Current(amps) => amps.value(),
                Draw::Power(watts) => watts.value() / volts.value(),
            };
            Amps::new(sum.value() + amps)
        })
    }
}

fn timers(kind: &PartForm) -> Vec<&catalogue::part_form::TimerForm> {
    let inside = kind.inside.iter();
    inside.filter_map(|inside| if let Inside::Timer(timer) = inside { Some(timer) } else { None }).collect()
}

/// A part with one load, one trigger input and one high-side output from the same feed.
fn module_of(name: &str, kind: &PartForm) -> Option<ModuleKind> {
    let (mut loads, mut senses, mut outputs) = (Vec::new(), Vec::new(), Vec::new());
    for inside in &kind.inside {
        match inside {
            Inside::Load(load) => loads.push(load),
            Inside::Sense(sense) => senses.push(sense),
            Inside::Output(output) => outputs.push(output),
            Inside::Timer(_) => {}
            _ => return None,
        }
    }
    let ([load], [sense], [output]) = (&loads[..], &senses[..], &outputs[..]) else { return None };
    let feed = output.feed.as_ref()?;
    (feed.value == load.feed.value && sense.pin.value != load.feed.value).then(|| ModuleKind {
        name: name.to_string(),
        power: load.feed.value.clone(),
        ground: load.ground.value.clone(),
        input: sense.pin.value.clone(),
        output: output.pin.value.clone(),
        times: None,
        tolerance: 0.0,
    })
}

fn diodes_of(name: &str, kind: &PartForm) -> Option<DiodeKind> {
    let mut anodes = Vec::new();
    let mut cathode: Option<Name> = None;
    for inside in &kind.inside {
        let Inside::Diode(diode) = inside else { return None };
        if diode.blocks.is_some() || cathode.as_ref().is_some_and(|c| *c != diode.cathode.value) {
            return None;
        }
        cathode = Some(diode.cathode.value.clone());
        anodes.push(diode.anode.value.clone());
    }
    Some(DiodeKind { name: name.to_string(), anodes, cathode: cathode? })
}
