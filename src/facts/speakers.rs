//! Loudspeakers on channels whose − never goes to ground: both poles of a loudspeaker belong on one channel.

mod resistors;

use super::connectivity::Connectivity;
use graph::Nets;
use model::{Domain, ElementKind, Model, PartKind, PinId, PinRole, Side};
use quantity::Ohms;
use resistors::Link;

/// The return of an output among the nodes of its loudspeakers; no net has this number.
const RETURN: usize = usize::MAX;

/// A pole of a channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Pole {
    /// The channel, by its + pin.
    pub channel: PinId,
    /// The pole's pin.
    pub pin: PinId,
}

impl Pole {
    fn is_plus(self) -> bool {
        self.channel == self.pin
    }
}

/// A loudspeaker whose two poles are on two channels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct TwoChannels {
    /// Its `plus` and `minus`.
    pub poles: [PinId; 2],
    /// The pins of the channels that they are on.
    pub on: [PinId; 2],
    /// The pin that the second belongs on, if only that is wrong.
    pub meant: PinId,
}

pub(super) struct Channels<'f> {
    pub connectivity: &'f Connectivity<'f>,
    pub nets: &'f Nets,
}

impl Channels<'_> {
    fn model(&self) -> &Model {
        self.connectivity.model()
    }

    /// The − of a channel that never goes to ground.
    fn minus_of(&self, plus: PinId) -> Option<PinId> {
        let model = self.model();
        let mut pins = model.part(model.pin(plus).part).pins.iter().copied();
        pins.find(|pin| is_output(model, plus) && model.pin(*pin).minus_of == Some(plus))
    }

    /// The poles of such channels that are joined to a pin.
    pub fn poles(&self, pin: PinId) -> Vec<Pole> {
        let pole = |pin: PinId| {
            let plus = self.model().pin(pin).minus_of.filter(|plus| is_output(self.model(), *plus));
            let channel = plus.or_else(|| self.minus_of(pin).map(|_| pin))?;
            Some(Pole { channel, pin })
        };
        self.nets.with(pin).iter().copied().filter_map(pole).collect()
    }

    /// `plus` and `minus` of each loudspeaker, and of each input that takes a loudspeaker's place.
    fn speakers(&self) -> Vec<[PinId; 2]> {
        let inputs = self.model().pin_ids().filter_map(|minus| {
            let plus = self.model().pin(minus).minus_of.filter(|plus| !is_output(self.model(), *plus))?;
            Some([plus, minus])
        });
        self.resistances().into_iter().map(|(ends, _)| ends).chain(inputs).collect()
    }

    /// `plus` and `minus` of each loudspeaker, with its resistance.
    fn resistances(&self) -> Vec<([PinId; 2], Ohms)> {
        let model = self.model();
        let of = |element: &model::Element| {
            let ElementKind::Resistor { between, resistance, .. } = element.kind else { return None };
            let is_speaker = between.map(|pin| model.pin(pin).role) == [PinRole::Input, PinRole::Return]
                && between.iter().all(|pin| model.pin(*pin).domain == Domain::Audio);
            is_speaker.then_some((between, resistance))
        };
        model.elements.iter().filter_map(of).collect()
    }

    /// The pole on each end of a loudspeaker, if each is on one.
    fn ends(&self, speaker: [PinId; 2]) -> Option<[Pole; 2]> {
        let one = |pin: PinId| match self.poles(pin)[..] {
            [pole] => Some(pole),
            _ => None,
        };
        Some([one(speaker[0])?, one(speaker[1])?])
    }

    /// What the loudspeakers on each output amount to, where the output has a least load.
    pub fn loads(&self) -> Vec<ChannelLoad> {
        let speakers = self.resistances();
        let of = |output: PinId| {
            let least = self.model().pin(output).least_load?;
            // All returns are one node.
            let node = |pin: PinId| if self.is_return(pin, output) { RETURN } else { self.nets.of(pin) };
            let links = speakers.iter().map(|(ends, ohms)| Link { ends: ends.map(node), ohms: *ohms });
            let links: Vec<Link> = links.collect();
            let (speakers, ohms) = resistors::between(&links, self.nets.of(output), RETURN)?;
            Some(ChannelLoad { output, least, ohms, speakers })
        };
        self.model().pin_ids().filter_map(of).collect()
    }

    /// Whether a pin is on the − of an output, or on ground where the output has none of its own.
    fn is_return(&self, pin: PinId, output: PinId) -> bool {
        match self.minus_of(output) {
            Some(minus) => self.nets.of(minus) == self.nets.of(pin),
            None => self.connectivity.is_grounded(pin),
        }
    }

    /// The loudspeakers between two channels.
    pub fn between_two(&self) -> Vec<TwoChannels> {
        let of = |speaker: [PinId; 2]| {
            let ends = self.ends(speaker).filter(|[plus, minus]| plus.channel != minus.channel)?;
            let meant = if ends[0].is_plus() { self.minus_of(ends[0].channel)? } else { ends[0].channel };
            Some(TwoChannels { poles: speaker, on: ends.map(|pole| pole.pin), meant })
        };
        self.speakers().into_iter().filter_map(of).collect()
    }

    /// For two loudspeakers between channels: the two pins whose wires are exchanged, if that is the whole fault.
    pub fn exchanged(&self, one: &TwoChannels, other: &TwoChannels) -> Option<[PinId; 2]> {
        let ends = [self.ends(one.poles)?, self.ends(other.poles)?];
        let fits = |plus: Pole, minus: Pole, speaker: PinId| {
            let sides = [self.side_of(plus.channel), self.model().pin(speaker).side];
            let is_side = sides.contains(&None) || sides[0] == sides[1];
            plus.is_plus() && !minus.is_plus() && plus.channel == minus.channel && is_side
        };
        // The returns first: crossed `plus` wires change sides as well.
        [(1, 1), (0, 0), (0, 1), (1, 0)].into_iter().find_map(|(a, b)| {
            let mut after = ends;
            (after[0][a], after[1][b]) = (ends[1][b], ends[0][a]);
            let fit = fits(after[0][0], after[0][1], one.poles[0]) && fits(after[1][0], after[1][1], other.poles[0]);
            fit.then(|| [one.poles[a], other.poles[b]])
        })
    }

    /// The − pins of loudspeakers and of channels that lead to ground, each with its channel; one for each net.
    pub fn grounded(&self) -> Vec<[PinId; 2]> {
        let on_ground = |pin: PinId| {
            let is_ground = |pin: &PinId| self.model().part(self.model().pin(*pin).part).kind == PartKind::Ground;
            self.nets.with(pin).iter().any(is_ground)
        };
        let of_speaker = |[plus, minus]: [PinId; 2]| {
            let channel = self.poles(plus).into_iter().find(|pole| pole.is_plus())?;
            Some([minus, channel.channel])
        };
        let of_channel = |pin: PinId| {
            let plus = self.model().pin(pin).minus_of.filter(|plus| is_output(self.model(), *plus))?;
            Some([pin, plus])
        };
        let speakers = self.speakers().into_iter().filter_map(of_speaker);
        let all = speakers.chain(self.model().pin_ids().filter_map(of_channel)).filter(|[minus, _]| on_ground(*minus));
        let mut found: Vec<[PinId; 2]> = Vec::new();
        for [minus, channel] in all {
            if !found.iter().any(|[_, other]| *other == channel) {
                found.push([minus, channel]);
            }
        }
        found
    }

    /// The side of an output: its own, or the side of the sound at its input.
    pub fn side_of(&self, output: PinId) -> Option<Side> {
        let model = self.model();
        let mut output = output;
        // As many parts as there may be between a player and a loudspeaker.
        for _ in 0..8 {
            if model.pin(output).side.is_some() {
                return model.pin(output).side;
            }
            let input =
                model.part(model.pin(output).part).elements.iter().find_map(|id| match model.element(*id).kind {
                    ElementKind::Passes { from, to, .. } if to == output => Some(from),
                    _ => None,
                })?;
            let gives = |pin: &PinId| {
                let this = model.pin(*pin);
                this.domain == Domain::Audio && this.role == PinRole::Output
            };
            output = self.nets.with(input).iter().copied().find(gives)?;
        }
        None
    }
}

fn is_output(model: &Model, pin: PinId) -> bool {
    model.pin(pin).role == PinRole::Output
}

/// The loudspeakers on an output.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChannelLoad {
    /// The output.
    pub output: PinId,
    /// The least resistance that it drives.
    pub least: Ohms,
    /// The resistance of its loudspeakers together.
    pub ohms: Ohms,
    /// How many loudspeakers there are.
    pub speakers: usize,
}

/// The loudspeakers on each output that has a least load, in the order of the model.
pub fn channel_loads(connectivity: &Connectivity, nets: &Nets) -> Vec<ChannelLoad> {
    Channels { connectivity, nets }.loads()
}
