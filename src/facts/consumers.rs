//! The consumers in a part: each needs a supply and a ground in every state.

use super::Connectivity;
use super::walk::Towards;
use model::{Coil, ElementId, ElementKind, PartId, PinId};

/// Something in a part that needs a supply and a ground.
#[derive(Debug, Clone, Copy)]
pub struct Consumer {
    /// Where current goes in; `None` if it only needs a ground.
    pub feed: Option<PinId>,
    /// Where it comes out; `None` if it only needs a supply.
    pub ground: Option<PinId>,
    /// Whether it works either way round: a coil.
    pub either_way: bool,
}

impl Consumer {
    /// The consumers of a part. An output or a trigger input counts only if something is joined to it.
    pub fn of_part(connectivity: &Connectivity, part: PartId) -> Vec<Consumer> {
        let (model, is_joined) = (connectivity.model(), |pin| connectivity.is_joined(pin));
        let of = |id: &ElementId| {
            let (feed, ground, either_way) = match &model.element(*id).kind {
                ElementKind::Load(load) => (Some(load.feed), Some(load.ground), false),
                // Either way round: net/coil-polarity asks about the diode across it.
                ElementKind::Coil(coil) => (Some(coil.feed), Some(coil.ground), true),
                ElementKind::Converter { input, ground, .. } => (Some(*input), Some(*ground), false),
                ElementKind::Output { pin, other, high_side: true, .. } if is_joined(*pin) => {
                    (Some(*other), None, false)
                }
                ElementKind::Output { pin, other, .. } if is_joined(*pin) => (None, Some(*other), false),
                ElementKind::Sense { pin, ground, .. } if is_joined(*pin) => (None, Some(*ground), false),
                _ => return None,
            };
            Some(Consumer { feed, ground, either_way })
        };
        model.part(part).elements.iter().filter_map(of).collect()
    }

    /// Whether the supply comes in where the ground belongs, and the ground where the supply does.
    pub fn is_exchanged(&self, connectivity: &Connectivity) -> bool {
        let (Some(feed), Some(ground)) = (self.feed, self.ground) else { return false };
        let as_meant = connectivity.is_fed(feed) || connectivity.is_grounded(ground);
        !self.either_way && !as_meant && connectivity.is_fed(ground) && connectivity.is_grounded(feed)
    }
}

/// Whether current comes in at a coil's ground side and leaves at its feed side.
pub fn is_coil_crossed(connectivity: &Connectivity, coil: &Coil) -> bool {
    let as_meant = connectivity.is_fed(coil.feed) && connectivity.is_grounded(coil.ground);
    !as_meant && connectivity.is_fed(coil.ground) && connectivity.is_grounded(coil.feed)
}

/// Whether the part works with a pin left open.
pub fn is_spare(connectivity: &Connectivity, pin: PinId) -> bool {
    connectivity.model().pin(pin).optional && !connectivity.is_joined(pin)
}

/// Whether anything is joined to any pin of a part.
pub fn is_wired(connectivity: &Connectivity, part: PartId) -> bool {
    connectivity.model().part(part).pins.iter().any(|&pin| connectivity.is_joined(pin))
}

/// Consumers in series: the first has a feed, the last a ground, and the current of each goes on through the next. By their
/// parts, at least two.
pub fn in_series(connectivity: &Connectivity) -> Vec<Vec<(PartId, Consumer)>> {
    let model = connectivity.model();
    let whole = |(_, consumer): &(PartId, Consumer)| consumer.feed.is_some() && consumer.ground.is_some();
    let all: Vec<(PartId, Consumer)> = model
        .part_ids()
        .flat_map(|part| Consumer::of_part(connectivity, part).into_iter().map(move |consumer| (part, consumer)))
        .filter(whole)
        .collect();
    let fed = |pin: Option<PinId>| pin.is_some_and(|pin| connectivity.is_fed(pin));
    let grounded = |pin: Option<PinId>| pin.is_some_and(|pin| connectivity.is_grounded(pin));
    let begins = |one: &&(PartId, Consumer)| fed(one.1.feed) && !grounded(one.1.ground) && !fed(one.1.ground);
    all.iter().filter(begins).filter_map(|first| chain(connectivity, &all, *first)).collect()
}

/// The consumers that the current of the first goes on through, up to one with a ground.
fn chain(
    connectivity: &Connectivity,
    all: &[(PartId, Consumer)],
    first: (PartId, Consumer),
) -> Option<Vec<(PartId, Consumer)>> {
    let mut chain = vec![first];
    while let Some((_, Consumer { ground: Some(ground), .. })) = chain.last() {
        if connectivity.is_grounded(*ground) {
            return (chain.len() > 1).then_some(chain);
        }
        let reached = connectivity.reached(*ground, Towards::Ground);
        // Where more than two meet, a ground that they share is missing.
        let meet = |(_, one): &&(PartId, Consumer)| {
            [one.feed, one.ground].into_iter().flatten().any(|pin| reached.contains(&pin))
        };
        if all.iter().filter(meet).count() > 2 {
            return None;
        }
        let has = |pin: Option<PinId>| pin.is_some_and(|pin| reached.contains(&pin));
        let next = all.iter().find_map(|(part, consumer)| {
            let turned = Consumer { feed: consumer.ground, ground: consumer.feed, ..*consumer };
            let is_new = !chain.iter().any(|(_, one)| one.feed == consumer.feed || one.ground == consumer.feed);
            match is_new {
                true if has(consumer.feed) => Some((*part, *consumer)),
                true if consumer.either_way && has(consumer.ground) => Some((*part, turned)),
                _ => None,
            }
        })?;
        chain.push(next);
    }
    None
}
