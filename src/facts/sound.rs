//! Paths of sound that are whole and still wrong: a channel without sound or without a loudspeaker, left and right
//! crossed, a loudspeaker the wrong way round.

use super::connectivity::Connectivity;
use super::outputs::has_sound;
use super::speakers::{Channels, TwoChannels};
use graph::Nets;
use model::{Domain, ElementId, ElementKind, Model, PartId, PartKind, PinId, PinRole, is_terminal};

/// A fault in a path of sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SoundFault {
    /// Sound comes to a channel whose output has no wire.
    Unheard {
        /// The input to which sound comes.
        input: PinId,
        /// The open output.
        output: PinId,
        /// A loudspeaker that shares another channel of the part, and that channel's output.
        shares: Option<(PinId, PinId)>,
    },
    /// A channel drives something, and its input has no wire.
    Unfed {
        /// The open input.
        input: PinId,
        /// The output that drives something.
        output: PinId,
    },
    /// The returns of loudspeakers lead to no ground and to no amplifier.
    NoReturn {
        /// The return of the first loudspeaker.
        minus: PinId,
        /// How many loudspeakers share it.
        speakers: usize,
    },
    /// An output of one side is joined to an input of the other.
    Crossed {
        /// The output.
        output: PinId,
        /// The input.
        input: PinId,
    },
    /// `minus` of a loudspeaker is on an output, and `plus` is on the return.
    Reversed {
        /// The loudspeaker.
        speaker: PartId,
        /// Its `plus`.
        plus: PinId,
        /// Its `minus`.
        minus: PinId,
    },
    /// The poles of a loudspeaker are on two channels.
    TwoChannels {
        /// The loudspeaker.
        speaker: TwoChannels,
        /// Another such loudspeaker, and the pins of the two whose wires are exchanged.
        exchanged: Option<(PinId, PinId)>,
    },
    /// A − that never goes to ground is on ground.
    Grounded {
        /// That pin, of the loudspeaker or of the channel.
        minus: PinId,
        /// The channel, by its + pin.
        channel: PinId,
    },
}

/// Every such fault, in the order of the spec.
pub fn sound_faults(connectivity: &Connectivity, nets: &Nets) -> Vec<SoundFault> {
    let search = Search { connectivity, nets };
    [search.channels(), search.returns(), search.between_two(), search.grounded(), search.crossed(), search.reversed()]
        .concat()
}

/// The loudspeakers that are the wrong way round.
pub(super) fn reversed_speakers(connectivity: &Connectivity, nets: &Nets) -> Vec<SoundFault> {
    Search { connectivity, nets }.reversed()
}

struct Search<'f> {
    connectivity: &'f Connectivity<'f>,
    nets: &'f Nets,
}

impl Search<'_> {
    fn model(&self) -> &Model {
        self.connectivity.model()
    }

    fn is_sound(&self, pin: PinId) -> bool {
        self.model().pin(pin).domain == Domain::Audio
    }

    /// The channels of each part: input and output.
    fn channels(&self) -> Vec<SoundFault> {
        let passes = |part: PartId| self.passes(part);
        self.model().part_ids().flat_map(|part| of_channels(self, &passes(part))).collect()
    }

    fn passes(&self, part: PartId) -> Vec<(PinId, PinId)> {
        let path = |id: &ElementId| match self.model().element(*id).kind {
            ElementKind::Passes { from, to, .. } if self.is_sound(from) && self.is_sound(to) => Some((from, to)),
            _ => None,
        };
        self.model().part(part).elements.iter().filter_map(path).collect()
    }

    /// The loudspeaker that a crowded output should give up: its second input on that net.
    fn second_on(&self, output: PinId) -> Option<PinId> {
        let model = self.model();
        let hears = |pin: &&PinId| self.is_sound(**pin) && model.pin(**pin).role == PinRole::Input;
        self.nets.with(output).iter().filter(hears).nth(1).copied()
    }

    fn outputs_on(&self, pin: PinId) -> Vec<PinId> {
        let gives = |pin: &PinId| self.is_sound(*pin) && self.model().pin(*pin).role == PinRole::Output;
        self.nets.with(pin).iter().copied().filter(gives).collect()
    }

    /// Nets that hold nothing but returns of loudspeakers.
    fn returns(&self) -> Vec<SoundFault> {
        let model = self.model();
        let is_speaker = |part: PartId| {
            let elements = model.part(part).elements.iter().map(|id| &model.element(*id).kind);
            elements.into_iter().all(|kind| matches!(kind, ElementKind::Resistor { .. }))
        };
        let is_return = |pin: PinId| {
            let this = model.pin(pin);
            this.domain == Domain::Audio && this.role == PinRole::Return && is_speaker(this.part)
        };
        let mut found = Vec::new();
        for net in self.nets.iter() {
            let ends: Vec<PinId> = net.iter().copied().filter(|pin| is_terminal(model, *pin)).collect();
            let goes_on = net.iter().any(|pin| {
                !self.connectivity.has_ground(&[*pin]) && self.connectivity.has_inside(*pin) && !is_return(*pin)
            });
            if let Some(&minus) = ends.first().filter(|_| ends.iter().all(|pin| is_return(*pin)) && !goes_on)
                && self.connectivity.is_joined(minus)
                && !self.connectivity.has_ground(net)
            {
                found.push(SoundFault::NoReturn { minus, speakers: ends.len() });
            }
        }
        found
    }

    fn speakers(&self) -> Channels<'_> {
        Channels { connectivity: self.connectivity, nets: self.nets }
    }

    fn between_two(&self) -> Vec<SoundFault> {
        let channels = self.speakers();
        let mut left = channels.between_two();
        let mut found = Vec::new();
        while !left.is_empty() {
            let speaker = left.remove(0);
            let other = left.iter().enumerate().find_map(|(i, other)| Some((i, channels.exchanged(&speaker, other)?)));
            if let Some((i, _)) = other {
                left.remove(i);
            }
            let exchanged = other.map(|(_, [a, b])| (a, b));
            found.push(SoundFault::TwoChannels { speaker, exchanged });
        }
        found
    }

    fn grounded(&self) -> Vec<SoundFault> {
        let all = self.speakers().grounded().into_iter();
        all.map(|[minus, channel]| SoundFault::Grounded { minus, channel }).collect()
    }

    fn crossed(&self) -> Vec<SoundFault> {
        let model = self.model();
        let channels = self.speakers();
        let two = channels.between_two();
        let is_between = |input: PinId| two.iter().any(|speaker| speaker.poles.contains(&input));
        let side = |pin: PinId| match model.pin(pin).role {
            PinRole::Output => channels.side_of(pin),
            _ => model.pin(pin).side,
        };
        let of_role = |role: PinRole| {
            move |pin: &PinId| self.is_sound(*pin) && model.pin(*pin).role == role && side(*pin).is_some()
        };
        let mut found: Vec<SoundFault> = Vec::new();
        for net in self.nets.iter() {
            let outputs: Vec<PinId> = net.iter().copied().filter(of_role(PinRole::Output)).collect();
            let [output] = outputs[..] else { continue };
            let mut inputs = net.iter().copied().filter(of_role(PinRole::Input)).filter(|input| !is_between(*input));
            let input = inputs.find(|input| side(*input) != side(output));
            found.extend(input.map(|input| SoundFault::Crossed { output, input }));
        }
        found
    }

    fn reversed(&self) -> Vec<SoundFault> {
        let model = self.model();
        let two = self.speakers().between_two();
        let has_output = |pin: PinId| !self.outputs_on(pin).is_empty();
        let returns = |pin: PinId| {
            let is_return = |other: &PinId| model.pin(*other).role == PinRole::Return || is_ground(model, *other);
            self.nets.with(pin).iter().any(is_return)
        };
        let of = |element: &model::Element| {
            let ElementKind::Resistor { between: [plus, minus], .. } = element.kind else { return None };
            let is_speaker = self.is_sound(plus)
                && self.is_sound(minus)
                && [plus, minus].map(|pin| model.pin(pin).role) == [PinRole::Input, PinRole::Return];
            let is_between = two.iter().any(|speaker| speaker.poles == [plus, minus]);
            let is_reversed = has_output(minus) && !has_output(plus) && returns(plus) && !is_between;
            (is_speaker && is_reversed).then_some(SoundFault::Reversed { speaker: element.part, plus, minus })
        };
        model.elements.iter().filter_map(of).collect()
    }
}

fn is_ground(model: &Model, pin: PinId) -> bool {
    model.part(model.pin(pin).part).kind == PartKind::Ground
}

fn of_channels(search: &Search, channels: &[(PinId, PinId)]) -> Vec<SoundFault> {
    let (model, connectivity) = (search.model(), search.connectivity);
    let is_open = |pin: PinId| !connectivity.is_joined(pin);
    let is_heard = |input: PinId| channels.iter().any(|(from, to)| *from == input && !is_open(*to));
    let has_way_in = |output: PinId| channels.iter().any(|(from, to)| *to == output && !is_open(*from));
    let mut found: Vec<SoundFault> = Vec::new();
    for &(input, output) in channels {
        if is_open(output) && model.pin(output).optional && !is_heard(input) && has_sound(connectivity, input) {
            let crowded = channels.iter().find_map(|(_, other)| Some((search.second_on(*other)?, *other)));
            found.push(SoundFault::Unheard { input, output, shares: crowded });
        }
        let drives = !is_open(output) && search.outputs_on(output).len() == 1;
        if is_open(input) && model.pin(input).optional && drives && !has_way_in(output) {
            found.push(SoundFault::Unfed { input, output });
        }
    }
    found
}
