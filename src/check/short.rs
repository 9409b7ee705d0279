//! Shorts: how much current flows when a wire's far end touches ground, and how soon a fuse on the way opens.

use super::walk::{Neighbours, Way};
use catalogue::part_form::{Family, OpeningForm};
use graph::Link;
use model::{ElementId, ElementKind, Model, PartKind, PinId, WireId, conductor};
use quantity::{Amps, Ohms, Seconds, Volts};

/// The way of least resistance from a supply to each pin, with hot copper.
#[derive(Debug)]
pub struct Shorts {
    pins: Vec<Option<Reached>>,
    /// Chassis, from the farthest ground point to the battery's negative.
    back: Ohms,
}

/// A pin on its way from the supply.
#[derive(Debug, Clone, Copy)]
struct Reached {
    ohms: Ohms,
    volts: [Volts; 3],
    by: Option<(PinId, Link)>,
}

/// A short at the far end of a wire.
#[derive(Debug, Clone)]
pub struct Short {
    /// Where it is.
    pub at: PinId,
    /// Of the whole loop.
    pub ohms: Ohms,
    /// At least and at greatest supply.
    pub amps: [Amps; 2],
    /// The pins from the supply to the short, each with what leads there.
    pub way: Vec<(PinId, Option<Link>)>,
    /// Fuses on the way, the one next to the supply first.
    pub fuses: Vec<ElementId>,
}

impl Shorts {
    /// Of a harness. Dijkstra's search; each round looks through all pins, which are few.
    pub fn new(model: &Model, neighbours: &Neighbours) -> Shorts {
        let mut pins: Vec<Option<Reached>> = vec![None; model.pins.len()];
        for (pin, reached) in starts(model) {
            pins[pin.0] = Some(reached);
        }
        let mut done = vec![false; model.pins.len()];
        let open = |pins: &[Option<Reached>], done: &[bool]| {
            let reached = (0..pins.len()).filter(|i| !done[*i]).filter_map(|i| Some((i, pins[i]?.ohms.value())));
            reached.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(i, _)| i)
        };
        while let Some(here) = open(&pins, &done) {
            done[here] = true;
            let Some(from) = pins[here] else { continue };
            for step in neighbours.of(PinId(here), Way::Down) {
                let kind = model.part(model.pin(step.to).part).kind;
                if matches!(kind, PartKind::Supply | PartKind::Ground) {
                    continue;
                }
                let ohms = from.ohms + of_link(model, step.link);
                if pins[step.to.0].is_none_or(|there| ohms < there.ohms) {
                    pins[step.to.0] = Some(Reached { ohms, by: Some((PinId(here), step.link)), ..from });
                }
            }
        }
        let grounds = model.elements.iter().filter_map(|element| match element.kind {
            ElementKind::GroundPoint { resistance, .. } => Some(resistance),
            _ => None,
        });
        Shorts { pins, back: grounds.fold(Ohms::new(0.0), Ohms::max) }
    }

    /// From the supply, its own included, to a pin.
    pub fn ohms_to(&self, pin: PinId) -> Option<Ohms> {
        self.pins[pin.0].map(|reached| reached.ohms)
    }

    /// Of the chassis, on the way back.
    pub fn back(&self) -> Ohms {
        self.back
    }

    /// A short at the far end of a wire; none where no supply of the spec leads to it.
    pub fn at_end_of(&self, model: &Model, id: WireId) -> Option<Short> {
        let ends = model.wire(id).ends;
        let ohms = |pin: PinId| self.pins[pin.0].map(|reached| reached.ohms);
        let near_first = match (ohms(ends[0]), ohms(ends[1])) {
            (Some(a), Some(b)) => a <= b,
            (near, _) => near.is_some(),
        };
        let (near, far) = if near_first { (ends[0], ends[1]) } else { (ends[1], ends[0]) };
        self.short(model, near, Some((far, Link::Wire(id))))
    }

    /// A short at a pin, or at the end of one more link.
    pub fn short(&self, model: &Model, near: PinId, more: Option<(PinId, Link)>) -> Option<Short> {
        let reached = self.pins[near.0]?;
        let mut way: Vec<(PinId, Option<Link>)> = Vec::new();
        let mut at = near;
        while let Some(Reached { by: Some((before, link)), .. }) = self.pins[at.0] {
            way.push((at, Some(link)));
            at = before;
        }
        way.push((at, None));
        way.reverse();
        way.extend(more.map(|(pin, link)| (pin, Some(link))));
        let ohms = reached.ohms + more.map_or(Ohms::new(0.0), |(_, link)| of_link(model, link)) + self.back;
        let fuses = way.iter().filter_map(|(_, link)| match link {
            Some(Link::Through(id, _)) if matches!(model.element(*id).kind, ElementKind::Fuse { .. }) => Some(*id),
            _ => None,
        });
        Some(Short {
            at: more.map_or(near, |(pin, _)| pin),
            amps: [reached.volts[0] / ohms, reached.volts[2] / ohms],
            ohms,
            fuses: fuses.collect(),
            way,
        })
    }
}

fn starts(model: &Model) -> Vec<(PinId, Reached)> {
    let mut all: Vec<(PinId, Reached)> = Vec::new();
    for element in &model.elements {
        match element.kind {
            ElementKind::Battery { plus, volts, resistance, .. } => {
                all.push((plus, Reached { ohms: resistance, volts, by: None }));
            }
            ElementKind::Derived { from, pin, resistance, .. } => {
                if let Some((_, source)) = all.iter().find(|(at, _)| *at == from).copied() {
                    all.push((pin, Reached { ohms: source.ohms + resistance, ..source }));
                }
            }
            _ => {}
        }
    }
    all
}

fn of_link(model: &Model, link: Link) -> Ohms {
    match link {
        Link::Wire(id) => {
            let wire = model.wire(id);
            let length = wire.length.unwrap_or(model.limits.local_length);
            conductor::resistance(wire.gauge, length, model.limits.hot)
        }
        Link::Joint(id) => model.joints[id].resistance,
        Link::Through(id, _) => match model.element(id).kind {
            ElementKind::Resistor { resistance, .. }
            | ElementKind::Fuse { resistance, .. }
            | ElementKind::Contact { resistance, .. }
            | ElementKind::Throw { resistance, .. }
            | ElementKind::Output { resistance, .. }
            | ElementKind::Diode { resistance, .. } => resistance,
            _ => Ohms::new(0.0),
        },
    }
}

/// The latest that a fuse opens at a current: between the points of its kind along straight lines in logarithms, beyond
/// the last one with the same I²t. None below the first, where it need not open.
pub fn latest(opens: &[OpeningForm], share: f64) -> Option<Seconds> {
    interpolate(opens.iter().filter_map(|point| Some([point.at.value(), point.most?.value()])), share)
}

/// The soonest that a fuse opens at a current, in the same way. None below the first point: it doesn't open.
pub fn soonest(opens: &[OpeningForm], share: f64) -> Option<Seconds> {
    interpolate(opens.iter().filter_map(|point| Some([point.at.value(), point.least?.value()])), share)
}

fn interpolate(points: impl Iterator<Item = [f64; 2]>, share: f64) -> Option<Seconds> {
    let points: Vec<[f64; 2]> = points.collect();
    let above = points.iter().position(|point| point[0] > share);
    let seconds = match above {
        Some(0) => return None,
        Some(i) => {
            let ([s0, t0], [s1, t1]) = (points[i - 1], points[i]);
            t0 * (t1 / t0).powf((share / s0).ln() / (s1 / s0).ln())
        }
        None => {
            let [s, t] = *points.last()?;
            t * (s / share).powi(2)
        }
    };
    Some(Seconds::new(seconds))
}

/// A fuse: its rating, when it opens, and whether it is a fuse and no breaker.
pub fn fuse(model: &Model, id: ElementId) -> Option<(Amps, &[OpeningForm], bool)> {
    let element = model.element(id);
    let ElementKind::Fuse { rating, .. } = element.kind else { return None };
    let form = &model.part(element.part).form;
    (!form.opens.is_empty()).then_some((rating, &form.opens[..], form.family == Family::Fuse))
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Share;

    /// ISO 8820-3 type C, from memory: 200 % within 0.15 to 5 s, 350 % within 40 to 500 ms.
    #[test]
    fn a_fuse_opens_between_the_points_of_its_kind() {
        let point = |at: f64, least: f64, most: f64| OpeningForm {
            dented: false,
            at: Share::new(at),
            least: Some(Seconds::new(least)),
            most: Some(Seconds::new(most)),
        };
        let opens = [point(2.0, 0.15, 5.0), point(3.5, 0.04, 0.5)];
        assert_eq!(latest(&opens, 1.9), None);
        assert_eq!((latest(&opens, 2.0), soonest(&opens, 3.5)), (Some(Seconds::new(5.0)), Some(Seconds::new(0.04))));
        let between = latest(&opens, 2.6).unwrap().value();
        assert!(between > 0.5 && between < 5.0);
        // Ten times the last current: a hundredth of its time.
        assert!((latest(&opens, 35.0).unwrap().value() - 0.005).abs() < 1e-12);
    }
}
