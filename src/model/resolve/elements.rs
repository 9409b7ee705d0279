//! What is inside the parts: the form's elements with pins, signals and inputs looked up.

use super::Resolver;
use super::names::Scope;
use crate::rating::usual_fuse_resistance;
use crate::{
    Coil, ElementKind, Input, InputId, Load, PartId, PartKind, PinId, Signal, SignalId, SignalKind, StateCondition,
};
use catalogue::part_form::{Across, Acts, Domain, Family, Inside, LoadForm, PartForm, PinRole, SwitchForm, TimerForm};
use form::values::Draw;
use form::{Name, Placed, Problem};
use quantity::{Amps, Ohms, Seconds, Share, Volts};
use spec::PartEntry;
use std::sync::Arc;

/// Signals of one part by their local names.
type Signals = Vec<(Name, SignalId)>;

pub(super) fn inside_all(resolver: &mut Resolver) {
    let form = resolver.form;
    for part in resolver.model.part_ids() {
        let this = resolver.model.part(part);
        if matches!(this.kind, PartKind::Supply | PartKind::Feed) {
            continue;
        }
        let (name, kind) = (this.name.clone(), this.form.clone());
        let entry = [&form.cameras, &form.sources, &form.accessories, &form.parts]
            .into_iter()
            .find_map(|entries| entries.get(&name));
        inside(resolver, part, &kind, entry);
    }
}

fn inside(resolver: &mut Resolver, part: PartId, kind: &Arc<PartForm>, entry: Option<&PartEntry>) {
    let signals = signals(resolver, part, kind, entry);
    sound_pins(resolver, part, kind, entry);
    for inside in &kind.inside {
        // A pin that isn't there has been reported; the element is left out.
        let _ = element(resolver, part, kind, entry, inside, &signals);
    }
    for (_, id) in &signals {
        timer_conditions(resolver, *id, kind, &signals);
    }
}

/// The + of each − of a loudspeaker channel, and the side on which the entry's inputs of sound should sound.
fn sound_pins(resolver: &mut Resolver, part: PartId, kind: &Arc<PartForm>, entry: Option<&PartEntry>) {
    for (name, form) in kind.pins.iter() {
        let pin = resolver.pin_of(part, name);
        let plus = form.minus_of.as_ref().and_then(|plus| resolver.pin_of(part, plus));
        let Some(pin) = pin.map(|pin| &mut resolver.model.pins[pin.0]) else { continue };
        pin.minus_of = plus;
        let takes_side = form.domain == Domain::Audio && pin.role == PinRole::Input;
        pin.side = pin.side.or_else(|| entry.and_then(|entry| entry.side).filter(|_| takes_side));
    }
}

/// The part's signals, named; timers get their conditions afterwards, since they may refer to each other.
fn signals(resolver: &mut Resolver, part: PartId, kind: &Arc<PartForm>, entry: Option<&PartEntry>) -> Signals {
    let mut signals: Signals = Vec::new();
    for inside in &kind.inside {
        let (name, what) = match inside {
            Inside::Coil(coil) if signals.iter().any(|(n, _)| *n == coil.relay.value) => continue,
            Inside::Coil(coil) => {
                let latching = kind.inside.iter().any(|i| {
                    matches!(i, Inside::Coil(c) if c.relay.value == coil.relay.value
                        && c.acts.is_some_and(|a| a != Acts::Holds))
                });
                (coil.relay.value.clone(), SignalKind::Relay { coils: Vec::new(), latching })
            }
            Inside::Sense(sense) => {
                let (Some(pin), Some(ground)) =
                    (resolver.pin_of(part, &sense.pin), resolver.pin_of(part, &sense.ground))
                else {
                    continue;
                };
                let (on_above, off_below) = (sense.on_above, sense.off_below);
                (sense.name.value.clone(), SignalKind::Sense { pin, ground, on_above, off_below })
            }
            Inside::Load(load) => {
                let (Some(feed), Some(ground)) =
                    (resolver.pin_of(part, &load.feed), resolver.pin_of(part, &load.ground))
                else {
                    continue;
                };
                let least = entry.and_then(|e| e.least).or(load.least).unwrap_or(Volts::new(0.0));
                let name = load.name.as_ref().map_or_else(|| Name::new("working"), |n| n.value.clone());
                (name, SignalKind::Working { feed, ground, least })
            }
            Inside::Converter(c) => {
                let (Some(feed), Some(ground)) = (resolver.pin_of(part, &c.input), resolver.pin_of(part, &c.ground))
                else {
                    continue;
                };
                (Name::new("working"), SignalKind::Working { feed, ground, least: c.least })
            }
            Inside::Timer(timer) => (timer.name.value.clone(), timer_signal(resolver, timer, entry)),
            _ => continue,
        };
        if !signals.iter().any(|(n, _)| *n == name) {
            signals.push((name.clone(), add_signal(resolver, part, name, what)));
        }
    }
    name_signals(resolver, part, &signals);
    signals
}

fn add_signal(resolver: &mut Resolver, part: PartId, local: Name, kind: SignalKind) -> SignalId {
    resolver.model.signals.push(Signal { name: String::new(), local, part, kind });
    SignalId(resolver.model.signals.len() - 1)
}

/// A relay alone in its part goes by the part's name.
fn name_signals(resolver: &mut Resolver, part: PartId, signals: &Signals) {
    let part_name = resolver.model.part(part).name.clone();
    let relays =
        signals.iter().filter(|(_, s)| matches!(resolver.model.signals[s.0].kind, SignalKind::Relay { .. })).count();
    for (name, id) in signals {
        let alone = relays == 1 && matches!(resolver.model.signals[id.0].kind, SignalKind::Relay { .. });
        resolver.model.signals[id.0].name = if alone { part_name.to_string() } else { format!("{part_name}.{name}") };
    }
}

fn timer_signal(resolver: &mut Resolver, timer: &TimerForm, entry: Option<&PartEntry>) -> SignalKind {
    let set = entry.and_then(|e| e.time.as_ref());
    if let (Some(set), Some(times)) = (set, &timer.times)
        && (set.value < times.0.low || set.value > times.0.high)
    {
        resolver.report(
            Problem::at(set.place, format!("{} is outside the range of this part's setting", set.value))
                .hint(format!("its range is {}", times.0)),
        );
    }
    let time = set.map(|t| t.value).or(timer.time).unwrap_or(Seconds::new(0.0));
    let tolerance = timer.tolerance.unwrap_or(Share::new(0.0));
    let debounce = timer.debounce.unwrap_or(Seconds::new(0.0));
    SignalKind::Timer { kind: timer.kind, from: StateCondition::Always(false), reset: None, time, tolerance, debounce }
}

fn timer_conditions(resolver: &mut Resolver, id: SignalId, kind: &Arc<PartForm>, signals: &Signals) {
    let Some(name) = signals.iter().find(|(_, s)| *s == id).map(|(n, _)| n) else { return };
    let form = kind.inside.iter().find_map(|i| match i {
        Inside::Timer(t) if t.name.value == *name => Some(t),
        _ => None,
    });
    let Some(form) = form else { return };
    let scope = Scope::Part(signals);
    let start = resolver.logic(&form.from, &scope);
    let clear = form.reset.as_ref().and_then(|r| resolver.logic(r, &scope));
    if let SignalKind::Timer { from, reset, .. } = &mut resolver.model.signals[id.0].kind {
        *from = start.unwrap_or(StateCondition::Always(false));
        *reset = clear;
    }
}

fn signal(resolver: &mut Resolver, name: &Placed<Name>, signals: &Signals) -> Option<SignalId> {
    let found = signals.iter().find(|(n, _)| *n == name.value).map(|(_, s)| *s);
    let reported = |problem: &Problem| problem.place == Some(name.place);
    if found.is_none() && !resolver.unread.holds(name) && !resolver.problems.iter().any(reported) {
        resolver.report(
            Problem::at(name.place, format!("`{}` is not a relay of this part", name.value))
                .hint("a contact's `of` names the `relay` of one of its coils"),
        );
    }
    found
}

fn pair(resolver: &mut Resolver, part: PartId, between: &[Placed<Name>]) -> Option<[PinId; 2]> {
    match between {
        [a, b] => Some([resolver.pin_of(part, a)?, resolver.pin_of(part, b)?]),
        _ if resolver.model.part(part).form.incomplete => None,
        _ => {
            let place = between.first().map_or(resolver.model.part(part).place, |p| p.place);
            resolver.report(Problem::at(place, "exactly two pins are needed").hint("between: [\"1\", \"2\"]"));
            None
        }
    }
}

/// A condition of an element: the part's signals; none means always.
fn when(resolver: &mut Resolver, condition: Option<&form::Condition>, signals: &Signals) -> Option<StateCondition> {
    condition.map_or(Some(StateCondition::Always(true)), |c| resolver.logic(c, &Scope::Part(signals)))
}

fn element(
    resolver: &mut Resolver,
    part: PartId,
    kind: &Arc<PartForm>,
    entry: Option<&PartEntry>,
    inside: &Inside,
    signals: &Signals,
) -> Option<()> {
    let element = match inside {
        Inside::Resistor(r) => ElementKind::Resistor {
            between: pair(resolver, part, &r.between)?,
            resistance: entry.and_then(|e| e.resistance).unwrap_or(r.resistance),
            tolerance: r.tolerance.unwrap_or_default(),
            limit: r.limit,
        },
        Inside::Fuse(f) => {
            let rating = resolver.model.part(part).rating?;
            ElementKind::Fuse {
                between: pair(resolver, part, &f.between)?,
                rating,
                resistance: f.resistance.unwrap_or_else(|| usual_fuse_resistance(rating)),
                tolerance: f.tolerance.unwrap_or_default(),
            }
        }
        Inside::Coil(_) => return coil(resolver, part, inside, signals),
        Inside::Contact(c) => ElementKind::Contact {
            relay: signal(resolver, &c.of, signals)?,
            common: resolver.pin_of(part, &c.common)?,
            made: c.made.as_ref().and_then(|p| resolver.pin_of(part, p)),
            rest: c.rest.as_ref().and_then(|p| resolver.pin_of(part, p)),
            resistance: c.resistance.unwrap_or(Ohms::new(0.01)),
            rating: c.rating.clone(),
            transfer: c.transfer.unwrap_or_default(),
            mechanical_life: c.mechanical_life.map(|k| u64::from(k) * 1000),
            electrical_life: c.electrical_life.map(|k| u64::from(k) * 1000),
        },
        Inside::Diode(d) => ElementKind::Diode {
            anode: resolver.pin_of(part, &d.anode)?,
            cathode: resolver.pin_of(part, &d.cathode)?,
            knee: d.drop,
            resistance: d.resistance.unwrap_or(Ohms::new(0.05)),
            blocks: d.blocks,
            limit: d.limit,
        },
        Inside::Load(l) => load(resolver, part, kind, entry, l, signals)?,
        Inside::Sense(s) => {
            let feed = match (&s.feed, s.pull_up) {
                (Some(feed), Some(ohms)) => Some((resolver.pin_of(part, feed)?, ohms)),
                _ => None,
            };
            ElementKind::Sense {
                signal: signal(resolver, &s.name, signals)?,
                pin: resolver.pin_of(part, &s.pin)?,
                ground: resolver.pin_of(part, &s.ground)?,
                // 100 kΩ where the kind says nothing: typical of a trigger input.
                resistance: s.resistance.unwrap_or(Ohms::new(100_000.0)),
                pull_up: feed,
            }
        }
        Inside::Switch(s) => return throws(resolver, part, s),
        Inside::Output(o) => {
            let Some(other) = o.feed.as_ref().or(o.ground.as_ref()) else {
                if !o.incomplete {
                    let message = "an output needs `feed` (high side) or `ground` (low side)";
                    resolver.report(Problem::at(o.pin.place, message));
                }
                return None;
            };
            ElementKind::Output {
                pin: resolver.pin_of(part, &o.pin)?,
                other: resolver.pin_of(part, other)?,
                high_side: o.feed.is_some(),
                when: when(resolver, Some(&o.when), signals)?,
                resistance: o.resistance.unwrap_or(Ohms::new(0.1)),
                limit: o.limit,
                leakage: o.leakage.unwrap_or(Amps::new(0.0)),
            }
        }
        Inside::Timer(_) => return None,
        Inside::Converter(c) => ElementKind::Converter {
            input: resolver.pin_of(part, &c.input)?,
            output: resolver.pin_of(part, &c.output)?,
            ground: resolver.pin_of(part, &c.ground)?,
            volts: c.volts,
            least: c.least,
            efficiency: c.efficiency,
            limit: c.limit,
            idle: c.idle.unwrap_or(Amps::new(0.0)),
            resistance: c.resistance.unwrap_or(Ohms::new(0.02)),
            tolerance: c.tolerance.unwrap_or_default(),
            working: signals.iter().find(|(n, _)| n.as_str() == "working")?.1,
            when: when(resolver, c.when.as_ref(), signals)?,
        },
        Inside::Passes(p) => ElementKind::Passes {
            from: resolver.pin_of(part, &p.from)?,
            to: resolver.pin_of(part, &p.to)?,
            when: when(resolver, p.when.as_ref(), signals)?,
        },
        Inside::Source(s) => {
            let working =
                signals.iter().find(|(n, _)| n.as_str() == "working").map(|(_, s)| StateCondition::Signal(*s));
            let when = match &s.when {
                Some(condition) => when(resolver, Some(condition), signals)?,
                None => working.unwrap_or(StateCondition::Always(true)),
            };
            ElementKind::Source { pin: resolver.pin_of(part, &s.pin)?, when }
        }
    };
    resolver.add_element(part, element);
    Some(())
}

fn coil(resolver: &mut Resolver, part: PartId, inside: &Inside, signals: &Signals) -> Option<()> {
    let Inside::Coil(c) = inside else { return None };
    let relay = signal(resolver, &c.relay, signals)?;
    let coil = Coil {
        relay,
        feed: resolver.pin_of(part, &c.feed)?,
        ground: resolver.pin_of(part, &c.ground)?,
        resistance: c.resistance,
        tolerance: c.tolerance.unwrap_or_default(),
        pull_in: c.pull_in,
        drop_out: c.drop_out,
        operate: c.operate.unwrap_or(Seconds::new(0.01)),
        release: c.release.unwrap_or(Seconds::new(0.01)),
        across: c.across.unwrap_or(Across::Nothing),
        across_resistance: c.across_resistance,
        acts: c.acts.unwrap_or(Acts::Holds),
    };
    let id = resolver.add_element(part, ElementKind::Coil(coil));
    if let SignalKind::Relay { coils, .. } = &mut resolver.model.signals[relay.0].kind {
        coils.push(id);
    }
    Some(())
}

fn load(
    resolver: &mut Resolver,
    part: PartId,
    kind: &Arc<PartForm>,
    entry: Option<&PartEntry>,
    l: &LoadForm,
    signals: &Signals,
) -> Option<ElementKind> {
    let nominal = kind.nominal.unwrap_or(resolver.model.job.nominal);
    let amps = |draw: Draw| match draw {
        Draw::Current(amps) => amps,
        Draw::Power(watts) => watts / nominal,
    };
    // The entry's own figure is meant for the first load of a part.
    let first = kind.inside.iter().find_map(|i| if let Inside::Load(l) = i { Some(l) } else { None });
    let is_first = first.is_some_and(|f| std::ptr::eq(f, l));
    let draws = amps(entry.and_then(|e| e.draws).filter(|_| is_first).unwrap_or(l.draws));
    let name = l.name.as_ref().map(|n| n.value.clone());
    let signal_name = name.clone().unwrap_or_else(|| Name::new("working"));
    Some(ElementKind::Load(Load {
        feed: resolver.pin_of(part, &l.feed)?,
        ground: resolver.pin_of(part, &l.ground)?,
        kind: l.kind,
        nominal,
        least: entry.and_then(|e| e.least).or(l.least).unwrap_or(Volts::new(0.0)),
        inrush: l.inrush.unwrap_or(draws).max(draws),
        when: when(resolver, l.when.as_ref(), signals)?,
        standby: l.standby.unwrap_or(Amps::new(0.0)),
        working: signals.iter().find(|(n, _)| *n == signal_name)?.1,
        draws,
        name,
    }))
}

fn throws(resolver: &mut Resolver, part: PartId, s: &SwitchForm) -> Option<()> {
    let input: Option<(InputId, &Input)> = resolver
        .model
        .inputs
        .iter()
        .enumerate()
        .find(|(_, i)| i.switch == Some(part))
        .map(|(i, input)| (InputId(i), input));
    let positions = input.map(|(id, input)| (id, input.positions.clone()));
    let common = resolver.pin_of(part, &s.common)?;
    for (position, pin) in &s.throws {
        let throw = resolver.pin_of(part, pin)?;
        let at = positions.as_ref().and_then(|(id, all)| {
            all.iter().position(|p| *p == position.value).map(|index| StateCondition::InputIs(*id, index))
        });
        resolver.add_element(
            part,
            ElementKind::Throw {
                input: positions.as_ref().map(|(id, _)| *id),
                when: at.unwrap_or(StateCondition::Always(false)),
                common,
                throw,
                resistance: s.resistance.unwrap_or(Ohms::new(0.02)),
                rating: s.rating,
                bounce: s.bounce.unwrap_or(Seconds::new(0.005)),
            },
        );
    }
    Some(())
}

/// The positions of a switch part, the one at rest first.
pub(super) fn switch_positions(kind: &PartForm) -> Option<(Vec<Name>, bool)> {
    let switch = kind.inside.iter().find_map(|i| if let Inside::Switch(s) = i { Some(s) } else { None });
    let switch = switch.filter(|_| matches!(kind.family, Family::Switch) || !kind.inside.is_empty())?;
    let positions = if switch.positions.is_empty() {
        let throws = switch.throws.iter().map(|(p, _)| p.value.clone());
        std::iter::once(Name::new("off")).chain(throws).collect()
    } else {
        switch.positions.iter().map(|p| p.value.clone()).collect()
    };
    Some((positions, switch.momentary.0))
}
