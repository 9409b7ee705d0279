//! Readings that take more than a meter at one pin: a test lamp, a drop along a wire, ohms, a plug pulled. They are
//! solved for the few suspects that are left when voltages no longer separate them well.

use super::dictionary::{Dictionary, UNSETTLED};
use super::measure::{Measure, Meter, MeterValue};
use circuit::Change;
use facts::Facts;
use model::{PartId, PartKind, PinId, WireId};
use std::collections::BTreeSet;

/// Most suspects for which such readings are solved.
pub(crate) const MOST_SUSPECTS: usize = 24;

/// The same for shorts behind a blown fuse.
pub(crate) const MOST_SHORTS: usize = 48;

/// Most wires at which they are tried, those of the most probable suspects.
const MOST_WIRES: usize = 8;

/// A reading in a setting, with what each of some faults shows.
pub(crate) struct Extra {
    pub measure: Measure,
    pub setting: usize,
    /// By fault.
    shows: Vec<(usize, Option<MeterValue>, u16)>,
}

impl Extra {
    /// What a fault shows, as a tech distinguishes it.
    pub fn code(&self, fault: usize) -> u16 {
        self.shows.iter().find(|(one, ..)| *one == fault).map_or(UNSETTLED, |(_, _, code)| *code)
    }

    /// What the meter shows with a fault.
    pub fn value(&self, fault: usize) -> Option<MeterValue> {
        self.shows.iter().find(|(one, ..)| *one == fault).and_then(|(_, value, _)| *value)
    }
}

/// Most pins at which an open connector is tried.
const MOST_PINS: usize = 24;

/// What separates shorts behind a blown fuse without another fuse: ohms to ground at the fuse, and at each connector between
/// it and the suspected wires, opened.
pub(crate) fn behind_fuses(facts: &Facts, dictionary: &Dictionary, suspects: &[usize]) -> Vec<Measure> {
    let model = facts.model;
    let shorts = || suspects.iter().map(|fault| &dictionary.harms[*fault]).filter(|harm| !harm.blown.is_empty());
    let ends = |wire: &WireId| model.wire(*wire).ends.map(|pin| facts.nets().of(pin));
    let nets: BTreeSet<usize> = shorts().flat_map(|harm| harm.wires.iter().flat_map(ends)).collect();
    let has_circuit = |pin: &PinId| facts.solved.assembly.pin(*pin).is_some() && nets.contains(&facts.nets().of(*pin));
    let fuses: BTreeSet<PartId> =
        shorts().flat_map(|harm| harm.blown.iter().map(|fuse| model.element(*fuse).part)).collect();
    let at_fuses = fuses.iter().flat_map(|part| model.part(*part).pins.iter().copied()).filter(has_circuit);
    let is_mated = |pin: &PinId| model.joints.iter().any(|joint| joint.pins.contains(pin));
    let is_apart = |pin: &PinId| has_circuit(pin) && is_mated(pin) && model.wires_on(*pin).next().is_some();
    let apart = model.pin_ids().filter(is_apart).take(MOST_PINS);
    at_fuses.map(Measure::ToGround).chain(apart.map(Measure::Apart)).collect()
}

/// What readings show with some suspects, in a setting.
pub(crate) fn solved(
    facts: &Facts,
    meter: &Meter,
    dictionary: &Dictionary,
    suspects: &[usize],
    setting: usize,
    measures: &[Measure],
) -> Vec<Extra> {
    let nominal = facts.model.job.nominal;
    threads::each(measures, |measure| {
        // What a wire shows alone follows from the fault, of all faults.
        let of_all: Vec<usize> = (0..dictionary.harms.len()).collect();
        let of = if matches!(measure, Measure::Alone(_)) { &of_all[..] } else { suspects };
        let joined = measure.is_without_power().then(|| meter.joined(*measure));
        let mut known: Vec<(Vec<Change>, Option<MeterValue>)> = Vec::new();
        let mut shows = Vec::new();
        for fault in of {
            let harm = dictionary.harm_now(*fault);
            let same = joined.as_ref().and_then(|joined| joined.same_shorts(&harm.variant));
            let before = same.as_ref().and_then(|same| known.iter().find(|(one, _)| one == same));
            let value = match (measure, before) {
                (Measure::Alone(wire), _) => Some(MeterValue::Wire(harm.alone(*wire))),
                (_, Some((_, value))) => *value,
                _ => dictionary.now(*fault, setting).and_then(|now| meter.value(harm, &now.state, *measure)),
            };
            if let (Some(same), None) = (same, before) {
                known.push((same, value));
            }
            shows.push((*fault, value, value.map_or(UNSETTLED, |value| value.band(nominal))));
        }
        Extra { measure: *measure, setting, shows }
    })
}

/// The readings at the wires of the suspects, the most probable suspect first.
pub(crate) fn at_wires(facts: &Facts, dictionary: &Dictionary, suspects: &[usize]) -> Vec<Measure> {
    let mut wires: Vec<WireId> = Vec::new();
    for wire in suspects.iter().flat_map(|fault| dictionary.harms[*fault].wires.iter()) {
        if !wires.contains(wire) && facts.solved.assembly.wire(*wire).is_some() {
            wires.push(*wire);
        }
    }
    wires.truncate(MOST_WIRES);
    let mut measures: Vec<Measure> = wires.iter().flat_map(|wire| at_wire(facts, *wire)).collect();
    measures.sort_unstable();
    measures.dedup();
    measures
}

/// The readings at a wire and its ends.
pub(crate) fn at_wire(facts: &Facts, wire: WireId) -> Vec<Measure> {
    let model = facts.model;
    let ends = model.wire(wire).ends;
    if facts.solved.assembly.wire(wire).is_none() {
        return Vec::new();
    }
    let mut all = vec![
        Measure::Drop(ends[0], ends[1]),
        Measure::Ohms(ends[0], ends[1]),
        Measure::Amps(wire),
        Measure::Alone(wire),
    ];
    for pin in ends {
        let kind = model.part(model.pin(pin).part).kind;
        if kind != PartKind::Splice {
            all.push(Measure::Lamp(pin));
            all.push(Measure::Unplugged(pin));
        }
    }
    all
}
