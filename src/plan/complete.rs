//! One candidate: from the choices to every part and net of a harness.

use crate::assemble::Assembler;
use crate::awake;
use crate::choice::{Choice, LARGE};
use crate::conditions::ConditionNets;
use crate::feeds::{feed_pins, turn_on};
use crate::harness::{Assembled, NewFuse, Terminal, WireLook};
use crate::kit::Kit;
use crate::network::NetId;
use crate::pictures::{self, PictureNeed};
use crate::sound;
use crate::targets::ScreenWish;
use crate::wish::{WishRead, entries};
use crate::words::sentence;
use catalogue::part_form::{Domain, PartForm, PinRole};
use form::{Name, Problem};
use quantity::Amps;
use std::collections::{BTreeMap, BTreeSet};

/// The parts and nets of a candidate.
///
/// # Errors
/// What plan can't do yet.
pub fn complete(choice: &Choice) -> Result<Assembled, Vec<Problem>> {
    let Choice { wish, kit, distances, signals, network, .. } = choice;
    let mut assembly = Assembler::new(wish, kit, distances, (choice.hub, choice.logic.clone()));
    assembly.own_grounds = choice.remedies.own_grounds;
    assembly.repeated = choice.remedies.repeated.clone();
    assembly.isolated = choice.remedies.isolated.clone();
    assembly.reserved = if choice.remedies.reserve { choice.ground_of_loads() } else { None };
    assembly.shared = if choice.remedies.one_ground { choice.ground_of_screen() } else { None };
    let conditions = ConditionNets::new(assembly, signals, network, choice.remedies.blocked);
    let (pictures, carried) = (Vec::new(), BTreeMap::new());
    let mut all = Completion { choice, conditions, done: wired(wish), next: 0, pictures, carried };
    for index in 0..choice.screens.len() {
        all.screen(index);
    }
    for index in 0..choice.loads.len() {
        all.switched_load(index);
    }
    sound::wire(&mut all.conditions.assembly, &mut all.done);
    all.others();
    pictures::wire(&mut all.conditions.assembly, &all.pictures, &wired(wish));
    let assembly = all.conditions.assembly;
    if assembly.missing.is_empty() { Ok(assembly.built) } else { Err(assembly.missing) }
}

/// Pins on which the wish's own wires or connectors end.
fn wired(wish: &WishRead) -> BTreeSet<String> {
    let mut all: BTreeSet<String> = BTreeSet::new();
    for wire in &wish.form.wires {
        all.extend([wire.from.value.to_string(), wire.to.value.to_string()]);
    }
    for (_, connector) in wish.form.connectors.iter() {
        if let Some(on) = &connector.on {
            all.extend(connector.carries.iter().map(|(_, pin)| format!("{}.{}", on.value, pin.value)));
        }
    }
    all
}

struct Completion<'a> {
    choice: &'a Choice<'a>,
    conditions: ConditionNets<'a>,
    /// Pins that have their wire.
    done: BTreeSet<String>,
    /// The next target of the network.
    next: usize,
    /// The inputs that show pictures.
    pictures: Vec<PictureNeed>,
    /// What loads take from each vehicle wire, by the index of its signal.
    carried: BTreeMap<usize, Amps>,
}

impl Completion<'_> {
    /// A terminal of a part of the wish, if nothing is on it yet.
    fn open(&mut self, part: &Name, pin: &Name) -> Option<Terminal> {
        let terminal = self.conditions.assembly.given(part, pin);
        self.done.insert(terminal.end.clone()).then_some(terminal)
    }

    fn screen(&mut self, index: usize) {
        let (screen, slots, arranged) = &self.choice.screens[index];
        self.fed(&screen.part, &screen.supply);
        for picture in &screen.pictures {
            // One with `works` is fed as that says.
            if self.choice.loads.iter().all(|load| load.part != picture.value) {
                let supply = self.supply_of(&picture.value);
                self.fed(&picture.value, &supply);
            }
        }
        let mut selectors: BTreeMap<usize, Option<usize>> = BTreeMap::new();
        for slot in slots.iter().filter(|slot| slot.input.is_some()) {
            selectors.entry(slot.line).or_insert_with(|| self.selector(screen, slot.line));
        }
        for (slot, picture) in slots.iter().zip(&arranged.order) {
            let Some(picture) = picture else { continue };
            let picture = &screen.pictures[*picture].value;
            let line = &screen.lines[slot.line];
            let (trigger, input) =
                match (slot.input, selectors.get(&slot.line).copied().flatten(), self.choice.selector) {
                    (Some(input), Some(part), Some(kind)) => {
                        let (trigger, pin) = &kind.inputs[input];
                        (
                            Some(self.conditions.assembly.built.pin(part, trigger)),
                            Some(self.conditions.assembly.built.pin(part, pin)),
                        )
                    }
                    _ => (self.open(&screen.part, &line.trigger), self.open(&screen.part, &line.input)),
                };
            let nets = self.choice.network.leaves[self.next].clone();
            self.next += 1;
            if let Some(trigger) = trigger {
                let group = format!("{picture} on {}", screen.name);
                let waits =
                    self.choice.remedies.delayed && nets.iter().any(|net| self.choice.network.waits_for_a_relay(*net));
                let net = match waits {
                    true => self.conditions.delayed(&nets, &group, &screen.supply),
                    false => self.conditions.any_of(&nets, &group),
                };
                if let Some(net) = net {
                    self.conditions.assembly.built.join(net, trigger);
                }
            }
            if let Some(input) = input {
                let (source, supply) = (picture.clone(), screen.supply.clone());
                self.pictures.push(PictureNeed { source, input, supply });
            }
        }
    }

    /// Feeds a camera or a screen, by a fuse of its own if the proposal has one for each.
    fn fed(&mut self, part: &Name, supply: &Name) {
        let title = self.choice.wish.part(part).and_then(|(entry, _)| entry.title.as_ref());
        let branch = title.map_or_else(|| part.to_string(), |title| title.0.clone());
        self.powered(part, supply, if self.choice.apart { &branch } else { "" });
    }

    /// What feeds a camera or source that a screen shows.
    fn supply_of(&self, picture: &Name) -> Name {
        let shows = |other: &&ScreenWish| other.pictures.iter().any(|p| p.value == *picture);
        let screens: Vec<&ScreenWish> = self.choice.screens.iter().map(|(other, ..)| other).filter(shows).collect();
        let supplies: Vec<Name> = screens.iter().map(|other| other.supply.clone()).collect();
        let of_screens = pictures::supply(self.choice.wish, &supplies).unwrap_or_else(|| self.choice.logic.clone());
        match self.choice.remedies.awake {
            true => of_screens,
            false => awake::supply(self.choice.wish, &screens, picture, of_screens),
        }
    }

    /// A selector on a line of a screen.
    fn selector(&mut self, screen: &ScreenWish, line: usize) -> Option<usize> {
        let kind = self.choice.selector?;
        let line = screen.lines.get(line)?;
        if self.done.contains(&format!("{}.{}", screen.part, line.input)) {
            return None;
        }
        let at = self.conditions.assembly.given(&screen.part, &line.input).at;
        let group = format!("selector of {} {}", screen.name, line.input);
        let part = self.conditions.assembly.built.part("SEL", &kind.name, at, sentence(&group));
        let net = self.conditions.assembly.supply(&screen.supply, "");
        let power = self.conditions.assembly.built.pin(part, &kind.power);
        self.conditions.assembly.built.join(net, power);
        self.conditions.assembly.load(net, Amps::new(0.1));
        let ground = self.conditions.assembly.built.pin(part, &kind.ground);
        self.conditions.assembly.ground(&group, ground);
        let (active, out) = (
            self.conditions.assembly.built.pin(part, &kind.active),
            self.conditions.assembly.built.pin(part, &kind.output),
        );
        if let Some(trigger) = self.open(&screen.part, &line.trigger) {
            self.conditions.assembly.built.signal_net(&group, vec![active, trigger]);
        }
        if let Some(input) = self.open(&screen.part, &line.input) {
            let net = self.conditions.assembly.built.net("pictures", WireLook::Picture, vec![out, input]);
            self.conditions.assembly.built.nets[net].signal = format!("picture of {} {}", screen.name, line.input);
        }
        Some(part)
    }

    /// Feeds and grounds every feed pin of a part from a supply.
    fn powered(&mut self, part: &Name, supply: &Name, branch: &str) {
        let Some((entry, kind)) = self.choice.wish.part(part) else { return };
        let (entry, kind) = (entry.clone(), kind.clone());
        for pin in feed_pins(&kind) {
            let amps = Kit::draws(&entry, &kind, &pin, kind.nominal.unwrap_or(self.choice.kit.nominal));
            if let Some(terminal) = self.open(part, &pin) {
                let net = self.conditions.assembly.supply(supply, branch);
                self.feed(part, terminal, net, amps);
            }
        }
        self.grounded(part, &kind, false);
    }

    /// Joins a feed pin to a net; through a converter if the part is for a lower voltage.
    fn feed(&mut self, part: &Name, terminal: Terminal, net: usize, amps: Amps) {
        let lower = self.conditions.assembly.lower(part);
        self.conditions.assembly.feed((part, lower), terminal, net, amps);
    }

    fn grounded(&mut self, part: &Name, kind: &PartForm, apart: bool) {
        for (pin, form) in kind.pins.iter() {
            let returns = form.domain == Domain::Ground && form.is == Some(PinRole::Return);
            let terminal = if returns { self.open(part, &pin.value) } else { None };
            match (terminal, apart) {
                (Some(terminal), true) => self.conditions.assembly.ground_apart("grounds", terminal),
                (Some(terminal), false) => self.conditions.assembly.ground("grounds", terminal),
                (None, _) => {}
            }
        }
    }

    /// A load that works when a condition holds: from a supply if that is the condition, else through a relay.
    fn switched_load(&mut self, index: usize) {
        let load = &self.choice.loads[index];
        let nets = self.choice.network.leaves[self.next].clone();
        self.next += 1;
        let Some((entry, kind)) = self.choice.wish.part(&load.part) else { return };
        let (entry, kind) = (entry.clone(), kind.clone());
        let amps = Kit::draws(&entry, &kind, &load.pin, kind.nominal.unwrap_or(self.choice.kit.nominal));
        self.grounded(&load.part, &kind, amps.value() > LARGE);
        let Some(terminal) = self.open(&load.part, &load.pin) else { return };
        let group = entry.title.as_ref().map_or_else(|| load.part.to_string(), |title| title.0.clone());
        if amps.value() > LARGE
            && let (Some(pin), Some(battery)) = (turn_on(&kind, &load.pin), self.battery())
            && let Some(trigger) = self.open(&load.part, &pin)
        {
            // It switches itself on: only its trigger has to be switched.
            let feed = self.conditions.assembly.supply(&battery, &group);
            self.feed(&load.part, terminal, feed, amps);
            if let Some(net) = self.conditions.any_of(&nets, &format!("{group} on")) {
                self.conditions.assembly.built.join(net, trigger);
            }
            return;
        }
        if let Some(supply) = self.supply_alone(&nets) {
            let net = self.conditions.assembly.supply(&supply, &group);
            self.feed(&load.part, terminal, net, amps);
            self.triggered(&load.part, net);
            return;
        }
        if let Some(net) = self.carried(&nets, amps) {
            self.feed(&load.part, terminal, net, amps);
            self.triggered(&load.part, net);
            return;
        }
        let (Some(relay), Some(battery)) = (self.choice.kit.load_relay(), self.battery()) else { return };
        let Some(net) = self.conditions.any_of(&nets, &format!("{group} on")) else { return };
        let at = self.on_the_way(&battery, terminal.at);
        let part = self.conditions.assembly.built.part("K", &relay.name, at, group.clone());
        let (coil, ground) = (
            self.conditions.assembly.built.pin(part, &relay.feed),
            self.conditions.assembly.built.pin(part, &relay.ground),
        );
        self.conditions.assembly.built.join(net, coil);
        self.conditions.assembly.load(net, relay.coil);
        self.conditions.assembly.ground(&group, ground);
        let feed = self.conditions.assembly.supply(&battery, &group);
        let (common, made) = (
            self.conditions.assembly.built.pin(part, &relay.common),
            self.conditions.assembly.built.pin(part, &relay.made),
        );
        self.conditions.assembly.built.join(feed, common);
        self.conditions.assembly.load(feed, amps);
        let look = self.conditions.assembly.built.nets[feed].look;
        let switched = self.conditions.assembly.built.net(&group, look, vec![made]);
        self.feed(&load.part, terminal, switched, amps);
        self.triggered(&load.part, switched);
    }

    /// The place with the shortest way from a supply to a load through it: the nearest such to the other relays.
    fn on_the_way(&self, supply: &Name, load: usize) -> usize {
        let (wish, distances, hub) = (self.choice.wish, self.choice.distances, self.choice.hub);
        let from = wish.form.supplies.get(supply).map_or(hub, |form| wish.place(&form.at.value));
        // Whole millimetres, so that ways of the same length are the same.
        let millimetres = |metres: f64| (metres * 1000.0).round() as u64;
        let way = |place: usize| millimetres(distances.between(from, place) + distances.between(place, load));
        let from_hub = |place: usize| millimetres(distances.between(hub, place));
        (0..wish.form.places.len()).min_by_key(|place| (way(*place), from_hub(*place))).unwrap_or(hub)
    }

    /// The net of a vehicle wire that alone is the condition of a load and may carry it, beside the coils on it.
    fn carried(&mut self, nets: &[NetId], amps: Amps) -> Option<usize> {
        let [NetId::Signal(signal)] = nets else { return None };
        let spare = self.conditions.spare(*signal).filter(|_| !self.choice.remedies.relayed)?;
        let carried = self.carried.entry(*signal).or_insert(Amps::new(0.0));
        if *carried + amps > spare {
            return None;
        }
        *carried = *carried + amps;
        Some(self.conditions.net(NetId::Signal(*signal)))
    }

    /// Joins the trigger inputs that a part needs to what feeds it.
    fn triggered(&mut self, part: &Name, net: usize) {
        let Some((_, kind)) = self.choice.wish.part(part) else { return };
        for (pin, form) in kind.clone().pins.iter() {
            let trigger = form.domain == Domain::Trigger && form.is == Some(PinRole::Input) && !form.optional.0;
            if let (true, Some(terminal)) = (trigger, trigger.then(|| self.open(part, &pin.value)).flatten()) {
                self.conditions.assembly.built.join(net, terminal);
            }
        }
    }

    /// The supply whose net alone makes a target live.
    fn supply_alone(&self, nets: &[NetId]) -> Option<Name> {
        match nets {
            [NetId::Supply(index)] => self.choice.wish.form.supplies.names().nth(*index).map(|name| name.value.clone()),
            [NetId::Signal(signal)] => {
                let name = &self.choice.signals[*signal].name;
                self.choice.wish.form.supplies.get(name).map(|_| name.clone())
            }
            _ => None,
        }
    }

    /// The supply that is always live.
    fn battery(&self) -> Option<Name> {
        let supplies = &self.choice.wish.form.supplies;
        supplies.iter().find(|(_, form)| form.follows.is_none()).map(|(name, _)| name.value.clone())
    }

    /// Accessories and pictures without a promise: fed from the supply of the logic, each accessory with its own fuse.
    fn others(&mut self) {
        let promised: Vec<&Name> = self.choice.loads.iter().map(|load| &load.part).collect();
        let form = &self.choice.wish.form;
        let logic = self.choice.logic.clone();
        for (name, entry) in form.accessories.iter().chain(form.sources.iter()).chain(form.cameras.iter()) {
            if promised.contains(&&name.value) {
                continue;
            }
            let title = entry.title.as_ref().map_or_else(|| name.to_string(), |title| title.0.clone());
            self.powered(&name.value, &logic, &title);
        }
        let screens: BTreeSet<&Name> = self.choice.screens.iter().map(|(screen, ..)| &screen.part).collect();
        for (name, entry) in entries(form) {
            let Some((_, kind)) = self.choice.wish.part(&name.value) else { continue };
            let needed = kind
                .pins
                .iter()
                .filter(|(_, pin)| !pin.optional.0 && matches!(pin.domain, Domain::Audio | Domain::Data));
            for (pin, domain) in needed.map(|(pin, form)| (pin, form.domain)) {
                if !screens.contains(&name.value) && !self.done.contains(&format!("{}.{}", name.value, pin.value)) {
                    let end = format!("{}.{}", name.value, pin.value);
                    let (message, hint) = match domain {
                        Domain::Audio => (
                            format!("no sound goes to or from `{end}`"),
                            format!(
                                "add `plays` with the part whose sound `{0}` plays, or a loudspeaker with `plays: {0}`; or write the \
                                 wire by hand",
                                name.value
                            ),
                        ),
                        _ => (format!("`{end}` has no data line"), "write its wire by hand".to_string()),
                    };
                    let problem = Problem::at(entry.use_.place, message).hint(hint);
                    self.conditions.assembly.missing.push(problem);
                    break;
                }
            }
        }
    }
}

/// The rating of each fuse: the smallest that carries the current with margin, and `up` steps above; or the one that an
/// earlier plan gave it, if that is not smaller.
pub fn ratings(kit: &Kit, fuses: &[NewFuse], up: &[usize], kept: &[Option<Amps>]) -> Vec<Amps> {
    let all = kit.fuse().map(|(_, _, ratings)| ratings).unwrap_or_default();
    let rating = |((fuse, up), kept): ((&NewFuse, &usize), &Option<Amps>)| {
        let fits = all
            .iter()
            .position(|rating| rating.value() * 0.7 >= fuse.amps.value())
            .unwrap_or(all.len().saturating_sub(1));
        let least = all.get((fits + up).min(all.len().saturating_sub(1))).copied().unwrap_or(Amps::new(1.0));
        kept.filter(|kept| kept.value() >= least.value()).unwrap_or(least)
    };
    fuses.iter().zip(up).zip(kept).map(rating).collect()
}
