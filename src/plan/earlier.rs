//! A spec that was planned before: its parts, the pins that its wires join, and each entry as it was written.

use crate::sections::{SectionEntry, entries as section_entries};
use crate::texts::Instead;
use crate::wish::{WishRead, entries};
use form::{Name, Problem, Texts};
use model::Unreadable;
use spec::{PartEntry, SpecForm, WireForm};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Sections that plan adds to.
pub const PLANNED: [&str; 4] = ["parts", "connectors", "splices", "wires"];

/// Sections that say nothing about wiring, and that a plan keeps with those of the wish.
pub const CARRIED: [&str; 2] = ["drives", "accept"];

/// The earlier spec.
pub struct EarlierSpec {
    /// Its form.
    pub form: SpecForm,
    /// For each of [`PLANNED`], its entries as written.
    written: BTreeMap<&'static str, Vec<SectionEntry>>,
    /// What its wires join.
    pub nets: Vec<EarlierNet>,
}

/// Pins that wires join. A supply and a ground end a net: what meets there only is not joined.
#[derive(Debug, Clone, Default)]
pub struct EarlierNet {
    /// The pins, inputs, supplies and grounds; no splices, no cavities.
    pub ends: BTreeSet<String>,
    /// Its splices.
    pub splices: Vec<Name>,
    /// Its wires, by index.
    pub wires: Vec<usize>,
}

impl EarlierSpec {
    /// Reads a spec that stands where the wish stands, so that its includes are found.
    ///
    /// # Errors
    /// Every problem of the text.
    pub fn read(texts: &dyn Texts, path: &Path, text: &str) -> Result<EarlierSpec, Box<Unreadable>> {
        let mut read = spec::read(&Instead { texts, path, text }, path);
        let Some(form) = read.form.take().filter(|_| read.problems.is_empty()) else {
            if read.problems.is_empty() {
                read.problems.push(Problem::whole("this is no spec"));
            }
            return Err(Box::new(Unreadable { sources: read.sources, problems: read.problems }));
        };
        let written =
            PLANNED.iter().chain(&CARRIED).map(|section| (*section, section_entries(text, section))).collect();
        let nets = nets(&form);
        Ok(EarlierSpec { form, written, nets })
    }

    /// The entries of a section as written.
    pub fn written(&self, section: &str) -> &[SectionEntry] {
        self.written.get(section).map(Vec::as_slice).unwrap_or_default()
    }

    /// An entry as written.
    pub fn entry(&self, section: &str, name: &str) -> Option<&SectionEntry> {
        self.written(section).iter().find(|entry| entry.name == name)
    }

    /// The lines of each of [`CARRIED`] that a wish does not have itself, and the drives that it can't have: they move an
    /// input or look at a screen that it no longer has.
    pub fn carried(&self, wish: &WishRead) -> (Vec<(&'static str, Vec<String>)>, Vec<&SectionEntry>) {
        let mut gone = Vec::new();
        let mut all = Vec::new();
        for section in CARRIED {
            let own = section_entries(&wish.text, section);
            let new = |entry: &&SectionEntry| !own.iter().any(|known| known.same_as(entry));
            let (kept, lost): (Vec<_>, Vec<_>) = self
                .written(section)
                .iter()
                .filter(new)
                .partition(|entry| section != "drives" || self.can_be_driven(&entry.name, &wish.form));
            gone.extend(lost);
            let lines = kept.into_iter().flat_map(|entry| entry.above.iter().chain(&entry.lines)).cloned();
            all.push((section, lines.collect()));
        }
        (all, gone)
    }

    fn can_be_driven(&self, drive: &str, wish: &SpecForm) -> bool {
        let steps = self.form.drives.get(drive).map(Vec::as_slice).unwrap_or_default();
        steps.iter().all(|step| {
            let moves = step.changes.iter().all(|(input, _)| wish.inputs.get(&input.value).is_some());
            let shows = |what: &Name| {
                matches!(what.as_str(), "home" | "black" | "any") || entries(wish).any(|(name, _)| name.value == *what)
            };
            moves
                && step
                    .expect
                    .iter()
                    .all(|(screen, what)| wish.screens.get(&screen.value).is_some() && shows(&what.value))
        })
    }

    /// The parts that a wish does not name itself.
    pub fn added(&self, wish: &SpecForm) -> Vec<(&Name, &PartEntry)> {
        let own: BTreeSet<&Name> = entries(wish).map(|(name, _)| &name.value).collect();
        let added = self.form.parts.iter().map(|(name, entry)| (&name.value, entry));
        added.filter(|(name, _)| !own.contains(name)).collect()
    }

    /// The net of a pin.
    pub fn net_of(&self, end: &str) -> Option<&EarlierNet> {
        self.nets.iter().find(|net| net.ends.contains(end))
    }

    /// Every name that it uses, and the numbers of its wires.
    pub fn names(&self) -> Vec<String> {
        crate::wish::names(&self.form)
    }

    /// A wire.
    pub fn wire(&self, index: usize) -> &WireForm {
        &self.form.wires[index]
    }
}

/// What each wire and each pair of mated cavities joins.
fn nets(form: &SpecForm) -> Vec<EarlierNet> {
    let ends_net = |end: &str| form.supplies.get(end).is_some() || form.grounds.get(end).is_some();
    let is_connector = |part: &str| form.connectors.get(part).is_some();
    let mut joined: Vec<(BTreeSet<String>, Vec<usize>)> = Vec::new();
    let mut join = |ends: BTreeSet<String>, wire: Option<usize>| {
        let meets = |known: &BTreeSet<String>| known.intersection(&ends).any(|end| !ends_net(end));
        let (touched, rest) = std::mem::take(&mut joined).into_iter().partition(|(known, _)| meets(known));
        joined = rest;
        let touched: Vec<(BTreeSet<String>, Vec<usize>)> = touched;
        let mut all = (ends, Vec::new());
        for (known, wires) in touched {
            all.0.extend(known);
            all.1.extend(wires);
        }
        all.1.extend(wire);
        joined.push(all);
    };
    for (index, wire) in form.wires.iter().enumerate() {
        join([wire.from.value.to_string(), wire.to.value.to_string()].into(), Some(index));
    }
    for (name, connector) in form.connectors.iter().map(|(name, connector)| (&name.value, connector)) {
        for (cavity, pin) in &connector.carries {
            if let Some(on) = &connector.on {
                join([format!("{name}.{}", cavity.value), format!("{}.{}", on.value, pin.value)].into(), None);
            }
        }
        let Some(mate) = &connector.mates else { continue };
        let ends = form.wires.iter().flat_map(|wire| [&wire.from.value, &wire.to.value]);
        let cavities: BTreeSet<&Name> = ends.filter(|end| end.part == *name).flat_map(|end| &end.pin).collect();
        for cavity in cavities {
            join([format!("{name}.{cavity}"), format!("{}.{cavity}", mate.value)].into(), None);
        }
    }
    let net = |(ends, mut wires): (BTreeSet<String>, Vec<usize>)| {
        wires.sort_unstable();
        let splices = ends.iter().filter(|end| form.splices.get(end).is_some()).map(|end| Name::new(end.as_str()));
        let splices: Vec<Name> = splices.collect();
        let own = |end: &String| {
            let part = end.split('.').next().unwrap_or_default();
            form.splices.get(end).is_none() && !is_connector(part)
        };
        EarlierNet { ends: ends.iter().filter(|end| own(end)).cloned().collect(), splices, wires }
    };
    joined.into_iter().map(net).filter(|net| !net.wires.is_empty()).collect()
}
