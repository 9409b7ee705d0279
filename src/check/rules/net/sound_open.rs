use crate::evidence::{end_place, part_place};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::consumers::is_wired;
use facts::outputs::has_sound;
use facts::sound::{SoundFault, sound_faults};
use model::{Domain, ElementKind, PartId, PartKind, PinId, PinRole};

pub const RULE: Rule = Rule {
    name: "net/sound-open",
    severity: Severity::Error,
    explanation: include_str!("sound_open.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    // A feed on such a pin, a swapped amplifier and a loudspeaker the wrong way round have findings of their own.
    let faults = sound_faults(facts.connectivity(), facts.nets());
    let reversed = faults.iter().filter_map(|fault| match fault {
        SoundFault::Reversed { plus, .. } => Some(*plus),
        _ => None,
    });
    let mixed = facts.mixed_kinds().iter().flat_map(|mixed| [mixed.signal, mixed.other]);
    let elsewhere: Vec<PinId> = mixed.chain(reversed).collect();
    let swapped = facts.joined_outputs().iter().filter_map(|joined| joined.swapped_input);
    let swapped: Vec<PartId> = swapped.map(|input| facts.model.pin(input).part).collect();
    let pins = facts.model.pin_ids().filter(|pin| !elsewhere.contains(pin));
    let open = pins.filter_map(|pin| of_pin(facts, pin, &swapped));
    let channels = faults.iter().filter_map(|fault| of_channel(facts, fault, &swapped));
    open.chain(channels).collect()
}

/// A channel of an amplifier with a wire at one end only.
fn of_channel(facts: &Facts, fault: &SoundFault, swapped: &[PartId]) -> Option<Finding> {
    let model = facts.model;
    let name = |pin: PinId| model.pin_name(pin);
    let (open, message, hint) = match *fault {
        SoundFault::Unheard { input, output, shares } => {
            let hint = match shares {
                Some((speaker, other)) => {
                    format!("move `{}` from `{}` to `{}`", name(speaker), name(other), name(output))
                }
                None => format!("wire a loudspeaker to `{}`", name(output)),
            };
            (
                output,
                format!("`{}` has no wire, and sound comes to `{}`: nobody hears it", name(output), name(input)),
                hint,
            )
        }
        SoundFault::Unfed { input, output } => (
            input,
            format!("`{}` has no wire: what is on `{}` is silent", name(input), name(output)),
            format!("wire `{}` to the output of a player", name(input)),
        ),
        SoundFault::NoReturn { minus, speakers: 1 } => (
            minus,
            format!("`{}` leads to no ground and to no amplifier: its loudspeaker is silent", name(minus)),
            format!("run a wire from `{}` to the return that its amplifier is made for", name(minus)),
        ),
        SoundFault::NoReturn { minus, speakers } => (
            minus,
            format!(
                "the common return of {speakers} loudspeakers, `{}` and more, leads to no ground: they are in series \
                 between the outputs",
                name(minus)
            ),
            "run a wire from the common return to ground, or each return to its amplifier".to_string(),
        ),
        SoundFault::Crossed { .. }
        | SoundFault::Reversed { .. }
        | SoundFault::TwoChannels { .. }
        | SoundFault::Grounded { .. } => return None,
    };
    let part = model.pin(open).part;
    let mut finding = RULE
        .finding(part_place(facts, part), message)
        .about(name(open))
        .label(format!("`{}` is open", model.pin(open).name))
        .hint(hint);
    if model.pin(open).role == PinRole::Output {
        finding.severity = Severity::Warning;
    }
    (!swapped.contains(&part)).then_some(finding)
}

/// Most loudspeakers in series that are followed.
const MOST_IN_SERIES: usize = 4;

/// Whether sound comes to a pin, from an output or through a loudspeaker before it in series.
fn hears(facts: &Facts, pin: PinId, most: usize) -> bool {
    let model = facts.model;
    let before = |other: PinId| {
        let elements = model.part(model.pin(other).part).elements.iter();
        elements.into_iter().find_map(|id| match model.element(*id).kind {
            ElementKind::Resistor { between: [plus, minus], .. } if minus == other => Some(plus),
            _ => None,
        })
    };
    let through = || facts.nets().with(pin).iter().filter_map(|other| before(*other));
    has_sound(facts.connectivity(), pin)
        || most > 0 && through().any(|plus| plus != pin && hears(facts, plus, most - 1))
}

fn of_pin(facts: &Facts, pin: PinId, swapped: &[PartId]) -> Option<Finding> {
    let (model, connectivity) = (facts.model, facts.connectivity());
    let (this, part) = (model.pin(pin), model.part(model.pin(pin).part));
    let is_ours = part.kind == PartKind::Device && !part.existing && is_wired(connectivity, this.part);
    if this.domain != Domain::Audio || !is_ours {
        return None;
    }
    let name = model.pin_name(pin);
    if !connectivity.is_joined(pin) {
        let mut finding = RULE
            .finding(
                part_place(facts, this.part),
                format!("`{name}` has no wire: no sound passes through `{}`", part.name),
            )
            .about(name.as_str())
            .label(format!("`{}` is open", this.name))
            .hint(match this.role {
                PinRole::Output => format!("run a wire from `{name}` to a loudspeaker or a sound input"),
                PinRole::Input => format!("run a wire to `{name}` from the output of a player or an amplifier"),
                _ => format!("run a wire to `{name}` from the amplifier that drives `{}`", part.name),
            });
        // An output that nobody listens to does no harm.
        if this.role == PinRole::Output {
            finding.severity = Severity::Warning;
        }
        // The − of an input that is used.
        let is_half =
            this.minus_of.is_some_and(|plus| model.pin(plus).role == PinRole::Input && connectivity.is_joined(plus));
        return (!this.optional || is_half).then_some(finding);
    }
    let on_net = facts.nets().with(pin);
    let is_swapped = on_net.iter().any(|other| swapped.contains(&model.pin(*other).part));
    if this.role != PinRole::Input || is_swapped || hears(facts, pin, MOST_IN_SERIES) {
        return None;
    }
    Some(
        RULE.finding(end_place(facts, pin), format!("no sound output leads to `{name}`"))
            .about(name.as_str())
            .label("no sound comes in here")
            .hint(format!("wire `{name}` to the output of a player or an amplifier")),
    )
}
