//! What can make a net live: the vehicle's wires, the supplies that the key switches, the throws of switches.

use crate::combos::Set;
use crate::network::Nature;
use crate::targets::live;
use crate::wish::WishRead;
use catalogue::part_form::Domain;
use form::Name;
use spec::InputKind;

/// Where a signal comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SignalOrigin {
    /// A supply that follows a condition.
    Supply,
    /// A vehicle wire that is live when on.
    Feed,
    /// A vehicle wire that flashes or pulses: a module holds it.
    Flasher,
    /// A wire that goes to ground when on: a vehicle wire, or a switch on ground at this pin.
    Low(Option<Name>),
    /// A throw of a switch: its pin.
    Throw(Name),
    /// Signals, by index, which diodes join on a coil and keep from each other.
    Joined(Vec<usize>),
}

/// A signal that contacts can be driven by.
#[derive(Debug, Clone)]
pub struct OfferedSignal {
    /// The supply or the input.
    pub name: Name,
    /// Where it comes from.
    pub origin: SignalOrigin,
    /// The combinations in which it is live, as the vehicle and the driver make it.
    pub set: Set,
    /// How the network may use it.
    pub nature: Nature,
}

impl OfferedSignal {
    /// Cost of a literal that must be on, and of one that must be off.
    pub fn costs(&self) -> (u32, u32) {
        match self.origin {
            SignalOrigin::Supply => (1, 5),
            SignalOrigin::Feed => (1, 4),
            SignalOrigin::Throw(_) => (2, 5),
            SignalOrigin::Low(_) => (3, 6),
            SignalOrigin::Flasher => (3, 6),
            // No term is made of it.
            SignalOrigin::Joined(_) => (u32::MAX, u32::MAX),
        }
    }
}

/// With more signals than this, none are joined: the sets would be too many.
const JOINED: usize = 8;
/// Most signals on one coil: as many as the largest diode pack has anodes.
pub const MOST_ON_A_COIL: usize = 4;

/// The signals, and behind them each set of them that a coil can share: the pairs first, the largest sets last.
pub fn with_joined(signals: &[OfferedSignal]) -> Vec<OfferedSignal> {
    let mut all = signals.to_vec();
    if signals.len() > JOINED {
        return all;
    }
    for size in 2..=MOST_ON_A_COIL {
        for bits in (0..1u32 << signals.len()).filter(|bits| bits.count_ones() as usize == size) {
            let members: Vec<usize> = (0..signals.len()).filter(|s| bits >> s & 1 == 1).collect();
            if can_join(signals, &members) {
                let number = all.len();
                all.push(joined(signals, members, number));
            }
        }
    }
    all
}

/// Whether these are no supplies, and each of another switch.
fn can_join(signals: &[OfferedSignal], members: &[usize]) -> bool {
    let group = |s: &usize| signals[*s].nature.group;
    let alone = |(i, s): (usize, &usize)| {
        signals[*s].origin != SignalOrigin::Supply && !members[..i].iter().any(|other| group(other) == group(s))
    };
    members.iter().enumerate().all(alone)
}

fn joined(signals: &[OfferedSignal], members: Vec<usize>, number: usize) -> OfferedSignal {
    let set = (0..signals[0].set.len()).map(|combo| members.iter().any(|s| signals[*s].set[combo])).collect();
    let nature = Nature { rank: u8::MAX, gated: false, group: number };
    OfferedSignal { name: signals[members[0]].name.clone(), origin: SignalOrigin::Joined(members), set, nature }
}

/// The supply of the logic, or the battery if a signal can be on without it: what a switch that repeats the signal is fed
/// from.
pub fn live_with(wish: &WishRead, logic: &Name, signal: &OfferedSignal) -> Name {
    let supplies = &wish.form.supplies;
    let follows = supplies.get(logic).and_then(|form| form.follows.as_ref());
    let covers = live(&wish.combos, follows).iter().zip(&signal.set).all(|(live, on)| *live || !on);
    let battery = supplies.iter().find(|(_, form)| form.follows.is_none() && !covers);
    battery.map_or_else(|| logic.clone(), |(name, _)| name.value.clone())
}

/// Every signal of a wish.
pub fn signals(wish: &WishRead) -> Vec<OfferedSignal> {
    let mut all = Vec::new();
    for (name, supply) in wish.form.supplies.iter() {
        if let Some(follows) = &supply.follows {
            let nature = Nature { rank: 0, gated: false, group: all.len() };
            all.push(OfferedSignal {
                name: name.value.clone(),
                origin: SignalOrigin::Supply,
                set: wish.combos.set(&follows.expr),
                nature,
            });
        }
    }
    for (name, input) in wish.form.inputs.iter() {
        let Some(kind) = &input.kind else { continue };
        let group = all.len();
        let mut add = |origin: SignalOrigin, set: Set, rank: u8, gated: bool| {
            all.push(OfferedSignal { name: name.value.clone(), origin, set, nature: Nature { rank, gated, group } });
        };
        let on = wish.combos.on(name);
        match kind.value {
            InputKind::FlasherFeed | InputKind::PulsedFeed => add(SignalOrigin::Flasher, on, 4, true),
            kind if kind.is_low() => add(SignalOrigin::Low(None), on, 3, true),
            kind if kind.has_wire() => add(SignalOrigin::Feed, on, 1, false),
            _ => {
                let Some(switch) = wish.switch(input) else { continue };
                let kind = input.part.as_ref().and_then(|part| wish.part(&part.value)).map(|(_, kind)| kind);
                let grounded = kind
                    .and_then(|kind| kind.pins.get(&switch.common.value))
                    .is_some_and(|pin| pin.domain == Domain::Ground);
                for (position, pin) in &switch.throws {
                    let index = switch.positions.iter().position(|p| p.value == position.value);
                    let set = wish.combos.at(name, index.unwrap_or(1));
                    match grounded {
                        true => add(SignalOrigin::Low(Some(pin.value.clone())), set, 3, true),
                        false => add(SignalOrigin::Throw(pin.value.clone()), set, 2, true),
                    }
                }
            }
        }
    }
    all
}
