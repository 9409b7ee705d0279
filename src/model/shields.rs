//! Where the shields of coaxial cables connect: a picture's return path, and so a second ground of its source and
//! of its screen.

use super::{Domain, ElementKind, Model, PartId, PartKind, PinId, WireId};
use catalogue::part_form::{Family, Shields};
use spec::WireMake;

/// What the shield of a coaxial cable connects to at one end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ShieldEnd {
    /// The ground of a part, or the cavity of a connector that carries the shield with the ground.
    Pin(PinId),
    /// The other shields on this part, and nothing else of it.
    Part(PartId),
    /// What is plugged on there, if its terminals pass shields on; else nothing.
    Alone(PinId),
}

/// Whether a wire is a coaxial cable of a picture.
pub fn has_shield<G>(model: &Model<G>, wire: WireId) -> bool {
    let wire = model.wire(wire);
    let is_video = |domain| domain == Domain::Video;
    let ends = wire.ends.iter().any(|end| is_video(model.pin(*end).domain));
    wire.make == WireMake::Coax && (is_video(wire.domain) || ends)
}

/// Whether the shield of the coaxial cable whose core is on a cavity goes through the connector beside it.
pub fn passes_shield<G>(model: &Model<G>, cavity: PinId) -> bool {
    model.part(model.pin(cavity).part).form.terminal.as_ref().is_some_and(|terminal| terminal.shield.0)
}

impl<G> Model<G> {
    /// What the shield of a coaxial cable connects to at the end whose core is on a pin. In a connector it is on the
    /// cavity of a ground, or goes through by itself where the terminals are made for it, and else ends there; at a part
    /// it is on the ground, where its kind doesn't say otherwise.
    pub fn shield_end(&self, pin: PinId) -> ShieldEnd {
        let id = self.pin(pin).part;
        let part = self.part(id);
        match (part.kind, part.form.shields) {
            (PartKind::Connector, _) => self.shield_cavity(pin).map_or(ShieldEnd::Alone(pin), ShieldEnd::Pin),
            (PartKind::Device, None | Some(Shields::Ground)) => {
                self.ground_of(id).map_or(ShieldEnd::Part(id), ShieldEnd::Pin)
            }
            (PartKind::Device, Some(Shields::Joined)) | (PartKind::Splice, _) => ShieldEnd::Part(id),
            _ => ShieldEnd::Alone(pin),
        }
    }

    /// The cavity of a connector that carries the shield of the coaxial cable whose core is in another: that of the
    /// ground (common practice, no source). Not the ground of a trailer socket, which is that of lamps, and not where
    /// the terminals pass a shield on by themselves.
    pub fn shield_cavity(&self, pin: PinId) -> Option<PinId> {
        let part = self.part(self.pin(pin).part);
        let ground = |other: &PinId| *other != pin && self.pin(*other).domain == Domain::Ground;
        let may = part.kind == PartKind::Connector && part.form.family != Family::TrailerSocket;
        part.pins.iter().copied().filter(|_| may && !passes_shield(self, pin)).find(ground)
    }

    /// Where a part's current goes out: the ground of its first load, else its first pin that is a ground.
    pub(super) fn ground_of(&self, id: PartId) -> Option<PinId> {
        let part = self.part(id);
        let load = part.elements.iter().find_map(|id| match &self.element(*id).kind {
            ElementKind::Load(load) => Some(load.ground),
            _ => None,
        });
        load.or_else(|| part.pins.iter().copied().find(|pin| self.pin(*pin).domain == Domain::Ground))
    }
}
