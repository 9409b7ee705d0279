//! Connectors where a run comes apart: each wire that crosses there gets a cavity, a picture a connector that passes its
//! shield, and one cavity stays free.

use crate::distances::Distances;
use crate::earlier::EarlierSpec;
use crate::harness::{NewConnector, NewWire};
use crate::wish::{WishRead, free_name};
use catalogue::Catalogue;
use catalogue::part_form::{Family, PartForm};
use form::Name;
use quantity::Amps;
use spec::Surroundings;
use std::collections::BTreeSet;

/// A run that comes apart at one of its ends.
#[derive(Debug, Clone)]
struct RunBreak {
    /// The places of the run.
    run: [usize; 2],
    /// The one where it comes apart.
    at: usize,
    /// Whether it is outside, so that its connectors are sealed.
    outside: bool,
    /// Titles of the halves.
    titles: [String; 2],
}

/// Two halves that mate.
#[derive(Debug, Clone)]
struct HalfPair {
    /// Index of the break.
    of: usize,
    /// Whether it is for a picture.
    picture: bool,
    /// The half that stays, and the half on the run.
    names: [Name; 2],
    /// Cavities in use.
    used: BTreeSet<u16>,
    /// How many it has: of a kept pair.
    kept: Option<u16>,
}

/// The breaks of a wish, and the pairs that wires go through.
pub struct Breaks<'a> {
    wish: &'a WishRead,
    earlier: Option<&'a EarlierSpec>,
    breaks: Vec<RunBreak>,
    pairs: Vec<HalfPair>,
    /// Least continuous current of a terminal.
    current: Amps,
}

impl<'a> Breaks<'a> {
    /// The breaks, with the pairs that an earlier plan has there. Terminals carry at least `current`.
    pub fn new(wish: &'a WishRead, earlier: Option<&'a EarlierSpec>, current: Amps) -> Breaks<'a> {
        let mut breaks = Vec::new();
        for run in &wish.form.runs {
            let (Some(at), [a, b]) = (&run.breaks_at, &run.between[..]) else { continue };
            let other = if at.value == a.value { b } else { a };
            breaks.push(RunBreak {
                run: [wish.place(&a.value), wish.place(&b.value)],
                at: wish.place(&at.value),
                outside: run.inside == Some(Surroundings::Outside),
                titles: [
                    format!("To {}, at {}", other.value, at.value),
                    format!("From {}, at {}", other.value, at.value),
                ],
            });
        }
        let mut all = Breaks { wish, earlier, breaks, pairs: Vec::new(), current };
        all.pairs = earlier.map(|earlier| all.kept(earlier)).unwrap_or_default();
        all
    }

    fn kept(&self, earlier: &EarlierSpec) -> Vec<HalfPair> {
        let ends = |name: &Name| {
            let ends = earlier.form.wires.iter().flat_map(|wire| [&wire.from.value, &wire.to.value]);
            let own = ends.filter(|end| end.part == *name);
            own.filter_map(|end| end.pin.as_ref()?.parse().ok()).collect::<BTreeSet<u16>>()
        };
        let pair = |(name, half): (&form::Placed<Name>, &spec::ConnectorEntry)| {
            let mate = &half.mates.as_ref()?.value;
            let kind = self.wish.catalogue.get(&half.use_.value)?;
            let of = self.breaks.iter().position(|one| one.at == self.wish.place(&half.at.value))?;
            let own = self.wish.form.connectors.get(&name.value).is_some();
            (!own).then(|| HalfPair {
                of,
                picture: is_for_pictures(kind),
                names: [mate.clone(), name.value.clone()],
                used: ends(mate).union(&ends(&name.value)).copied().collect(),
                kept: kind.cavities,
            })
        };
        earlier.form.connectors.iter().filter_map(pair).collect()
    }

    /// The cavities that a wire from place to place goes through, as pairs: where it arrives, and where it goes on.
    /// `before` are the earlier wires of its net: where one of them begins or ends on the same pin, it keeps its cavity.
    pub fn through(
        &mut self,
        (from, a): (&str, usize),
        (to, b): (&str, usize),
        picture: bool,
        (distances, before, taken): (&Distances, &[NewWire], &mut Vec<String>),
    ) -> Vec<[String; 2]> {
        let path = distances.path(a, b);
        let mut crossed = Vec::new();
        for hop in path.windows(2) {
            let crosses = |one: &RunBreak| one.run == [hop[0], hop[1]] || one.run == [hop[1], hop[0]];
            if let Some(of) = self.breaks.iter().position(crosses) {
                // The half that stays comes first on the way into the run.
                crossed.push((of, self.breaks[of].at == hop[0]));
            }
        }
        let mut cavities = Vec::new();
        for (of, into) in crossed {
            let known = self.known(of, &[from, to], before);
            let (pair, cavity) = known.unwrap_or_else(|| self.free(of, picture, taken));
            self.pairs[pair].used.insert(cavity);
            let [stays, runs] = self.pairs[pair].names.clone().map(|name| format!("{name}.{cavity}"));
            cavities.push(if into { [stays, runs] } else { [runs, stays] });
        }
        cavities
    }

    /// The cavity through which an earlier wire on one of these pins goes.
    fn known(&self, of: usize, ends: &[&str], before: &[NewWire]) -> Option<(usize, u16)> {
        let other = |wire: &NewWire| {
            let (from, to) = (wire.from.clone(), wire.to.clone());
            if ends.contains(&from.as_str()) { Some(to) } else { ends.contains(&to.as_str()).then_some(from) }
        };
        before.iter().filter_map(other).find_map(|end| {
            let (part, cavity) = end.split_once('.')?;
            let has = |pair: &HalfPair| pair.of == of && pair.names.iter().any(|name| name.as_str() == part);
            Some((self.pairs.iter().position(has)?, cavity.parse().ok()?))
        })
    }

    /// A free cavity: of a pair that there is, or of a new one.
    fn free(&mut self, of: usize, picture: bool, taken: &mut Vec<String>) -> (usize, u16) {
        let most = if picture { 1 } else { self.largest(of).saturating_sub(1).max(1) };
        for (index, pair) in self.pairs.iter().enumerate() {
            let room = pair.kept.unwrap_or(most);
            let cavity = (1..=room).find(|cavity| !pair.used.contains(cavity));
            if let (true, true, Some(cavity)) = (pair.of == of, pair.picture == picture, cavity) {
                return (index, cavity);
            }
        }
        let stays = free_name("X", taken);
        let runs = Name::new(format!("{stays}R"));
        taken.push(runs.to_string());
        self.pairs.push(HalfPair { of, picture, names: [stays, runs], used: BTreeSet::new(), kept: None });
        (self.pairs.len() - 1, 1)
    }

    /// Connectors of an earlier plan on which wires end, though no run comes apart there.
    fn elsewhere(&self, wires: &[NewWire]) -> Vec<NewConnector> {
        let Some(earlier) = self.earlier else { return Vec::new() };
        let ends: BTreeSet<&str> =
            wires.iter().flat_map(|wire| [&wire.from, &wire.to]).map(|end| part_of(end)).collect();
        let all = earlier.form.connectors.iter().map(|(name, half)| (&name.value, half));
        let at_breaks = |name: &Name| self.pairs.iter().any(|pair| pair.names.contains(name));
        let mated = |name: &Name, half: &spec::ConnectorEntry| {
            let mate = half.mates.as_ref().is_some_and(|mate| ends.contains(mate.as_str()));
            let mates = |other: &spec::ConnectorEntry| other.mates.as_ref().is_some_and(|mate| mate.value == *name);
            let mut others = earlier.form.connectors.iter();
            ends.contains(name.as_str()) || mate || others.any(|(o, h)| mates(h) && ends.contains(o.as_str()))
        };
        let own = |name: &Name| self.wish.form.connectors.get(name).is_some();
        let kept = all.filter(|(name, half)| !own(name) && !at_breaks(name) && mated(name, half));
        let half = |(name, half): (&Name, &spec::ConnectorEntry)| NewConnector {
            name: name.clone(),
            kind: half.use_.value.to_string(),
            at: self.wish.place(&half.at.value),
            mates: half.mates.as_ref().map(|mate| mate.value.clone()),
            title: String::new(),
            kept: earlier.entry("connectors", name).map(|entry| entry.lines.clone()),
        };
        kept.map(half).collect()
    }

    /// Kinds for wires at a break, with their cavities, smallest first.
    fn kinds(&self, of: usize) -> Vec<(&str, u16)> {
        let sealed = self.breaks[of].outside;
        let mut all: Vec<(Amps, u16, &str)> = Vec::new();
        for (name, kind) in self.wish.catalogue.iter() {
            let Some((terminal, cavities)) = kind.terminal.as_ref().zip(kind.cavities) else { continue };
            let current = terminal.current.unwrap_or(self.current);
            let fits = terminal.sealed.0 == sealed && !terminal.shield.0 && current.value() >= self.current.value();
            if kind.family == Family::Connector && fits && sizes(&self.wish.catalogue, kind) > 2 {
                all.push((current, cavities, name));
            }
        }
        all.sort_by(|a, b| {
            (a.1, a.0.value(), a.2).partial_cmp(&(b.1, b.0.value(), b.2)).unwrap_or(std::cmp::Ordering::Equal)
        });
        all.into_iter().map(|(_, cavities, name)| (name, cavities)).collect()
    }

    fn largest(&self, of: usize) -> u16 {
        self.kinds(of).last().map_or(1, |(_, cavities)| *cavities)
    }

    /// The halves on which these wires end, each with the smallest kind that leaves a cavity free. Nothing if the catalogue
    /// has no kind for one.
    pub fn halves(&self, wires: &[NewWire]) -> Option<Vec<NewConnector>> {
        let mut all = self.elsewhere(wires);
        let ends: BTreeSet<&str> =
            wires.iter().flat_map(|wire| [&wire.from, &wire.to]).map(|end| part_of(end)).collect();
        for pair in self.pairs.iter().filter(|pair| pair.names.iter().any(|name| ends.contains(name.as_str()))) {
            let one = &self.breaks[pair.of];
            let needed = pair.used.iter().max().copied().unwrap_or(0) + 1;
            let kind = match (pair.kept, pair.picture) {
                (Some(_), _) => "",
                (None, true) => self.wish.catalogue.iter().find(|(_, kind)| is_for_pictures(kind))?.0,
                (None, false) => self.kinds(pair.of).into_iter().find(|(_, cavities)| *cavities >= needed)?.0,
            };
            let mates = [None, Some(pair.names[0].clone())];
            for ((name, mates), title) in pair.names.iter().zip(mates).zip(&one.titles) {
                let written = self.earlier.and_then(|earlier| earlier.entry("connectors", name));
                let (kind, title) = (kind.to_string(), title.clone());
                let kept = written.map(|entry| entry.lines.clone());
                all.push(NewConnector { name: name.clone(), kind, at: one.at, mates, title, kept });
            }
        }
        Some(all)
    }
}

fn part_of(end: &str) -> &str {
    end.split('.').next().unwrap_or_default()
}

fn is_for_pictures(kind: &PartForm) -> bool {
    let shield = kind.terminal.as_ref().is_some_and(|terminal| terminal.shield.0);
    kind.family == Family::Connector && shield && kind.cavities == Some(1)
}

/// In how many sizes connectors with the same terminal come: those for one use alone come in one or two.
fn sizes(catalogue: &Catalogue, kind: &PartForm) -> usize {
    let title = |kind: &PartForm| kind.terminal.as_ref().map(|terminal| terminal.title.0.clone());
    let same = |other: &PartForm| other.family == Family::Connector && title(other) == title(kind);
    catalogue.iter().filter(|(_, other)| same(other)).count()
}
