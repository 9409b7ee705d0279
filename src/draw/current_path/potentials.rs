//! Which way is down. Every pin gets a height between the supplies (1) and ground (0), so that current runs down the
//! sheet wherever that can be: the potentials of a network in which every wire and every part conducts.

use model::{Element, ElementKind, Model, PartKind, Passage, PinId};

/// Heights of all pins; none for pins that neither a supply nor a ground reaches.
pub(super) struct Heights(Vec<Option<f64>>);

/// Conductances: wires and joints keep their ends together, loads take nearly all of the fall.
const WIRE: f64 = 100.0;
const PART: f64 = 10.0;
const LOAD: f64 = 1.0;
const SENSE: f64 = 0.1;
/// Most sweeps of the relaxation, its over-relaxation, and the change at which it has settled.
const SWEEPS: usize = 3000;
const OVER: f64 = 1.7;
const SETTLED: f64 = 1e-9;
/// Heights closer than this are equal: 1 % of the drop of a trigger input's current along a wire.
const SAME: f64 = 1e-5;

impl Heights {
    /// From the model, by successive over-relaxation (Young, 1954) in the order of the pins.
    pub fn of(model: &Model) -> Self {
        let mut joined: Vec<Vec<Link>> = vec![Vec::new(); model.pins.len()];
        let mut link = |a: PinId, b: PinId, g: f64, one_way: bool| {
            let flow = |forward| one_way.then_some(forward);
            joined[a.0].push(Link { to: b.0, g, forward: flow(true) });
            joined[b.0].push(Link { to: a.0, g, forward: flow(false) });
        };
        for element in &model.elements {
            if let ElementKind::Diode { anode, cathode, .. } = &element.kind {
                link(*anode, *cathode, PART, true);
            }
        }
        let mut join = |a: PinId, b: PinId, g: f64| link(a, b, g, false);
        model.wires.iter().for_each(|w| join(w.ends[0], w.ends[1], WIRE));
        model.joints.iter().for_each(|j| join(j.pins[0], j.pins[1], WIRE));
        let mut fixed: Vec<Option<f64>> = vec![None; model.pins.len()];
        for element in &model.elements {
            match &element.kind {
                ElementKind::Battery { plus, .. } => fixed[plus.0] = Some(1.0),
                ElementKind::Derived { pin, .. } => fixed[pin.0] = Some(1.0),
                ElementKind::Feed(feed) => fixed[feed.pin.0] = Some(if feed.from.is_some() { 1.0 } else { 0.0 }),
                ElementKind::GroundPoint { pin, .. } => fixed[pin.0] = Some(0.0),
                ElementKind::Diode { .. } => {}
                _ => element.paths().for_each(|path| {
                    if let (Some([from, to]), Some(g)) = (path.pins(), conductance(element, path.passage)) {
                        join(from, to, g);
                    }
                }),
            }
        }
        for pin in model.pin_ids() {
            // A ground point without an element is still a ground.
            if model.part(model.pin(pin).part).kind == PartKind::Ground {
                fixed[pin.0] = Some(0.0);
            }
        }
        Self(relaxed(&joined, &fixed))
    }

    /// Whether the second of two joined pins is above the first.
    pub fn rises(&self, from: PinId, to: PinId) -> bool {
        matches!((self.0[from.0], self.0[to.0]), (Some(a), Some(b)) if b > a + SAME)
    }
    /// A pin's height, lowest where unknown.
    pub fn get(&self, pin: PinId) -> f64 {
        self.0[pin.0].unwrap_or(-1.0)
    }
}

/// The conductance of a path through an element; `None` if no current goes.
fn conductance(element: &Element, passage: Passage) -> Option<f64> {
    match passage {
        Passage::Plain | Passage::Switched | Passage::OneWay => Some(PART),
        Passage::Load if matches!(element.kind, ElementKind::Sense { .. }) => Some(SENSE),
        Passage::Load => Some(LOAD),
        Passage::Signal => None,
    }
}

/// What joins a pin to another.
#[derive(Clone, Copy)]
struct Link {
    to: usize,
    g: f64,
    /// Of a diode: whether current may run from this pin to the other; else from the other to this one.
    forward: Option<bool>,
}

impl Link {
    /// Its conductance while its ends are at these heights.
    fn conducts(self, here: f64, there: f64) -> f64 {
        match self.forward {
            Some(true) if here < there => 0.0,
            Some(false) if there < here => 0.0,
            _ => self.g,
        }
    }
}

fn relaxed(joined: &[Vec<Link>], fixed: &[Option<f64>]) -> Vec<Option<f64>> {
    let mut reached: Vec<bool> = fixed.iter().map(Option::is_some).collect();
    let mut open: Vec<usize> = (0..fixed.len()).filter(|&i| reached[i]).collect();
    while let Some(i) = open.pop() {
        for link in &joined[i] {
            if !reached[link.to] {
                reached[link.to] = true;
                open.push(link.to);
            }
        }
    }
    let mut height: Vec<f64> = fixed.iter().map(|f| f.unwrap_or(0.5)).collect();
    let free: Vec<usize> = (0..fixed.len()).filter(|&i| fixed[i].is_none() && reached[i]).collect();
    for _ in 0..SWEEPS {
        let mut change = 0.0f64;
        for &i in &free {
            let (sum, weight) = joined[i].iter().fold((0.0, 0.0), |(sum, weight), link| {
                let g = link.conducts(height[i], height[link.to]);
                (sum + g * height[link.to], weight + g)
            });
            if weight > 0.0 {
                let step = OVER * (sum / weight - height[i]);
                height[i] += step;
                change = change.max(step.abs());
            }
        }
        if change < SETTLED {
            break;
        }
    }
    height.into_iter().zip(reached).map(|(h, known)| known.then_some(h)).collect()
}
