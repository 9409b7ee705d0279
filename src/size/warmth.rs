//! How many conductors that carry current share a bundle.

use model::{Model, RunId, WireId, conductor};
use quantity::Amps;

/// Conductors that carry less than this share of their ampacity warm their bundle too little to count (common practice,
/// no source).
const IDLE_SHARE: f64 = 0.1;

/// The conductors that warm the bundle of each run, by the highest current of each wire.
#[derive(Debug, Clone)]
pub struct WarmWires<'d> {
    most: &'d [Amps],
    /// For each wire, whether it warms its bundles.
    warm: Vec<bool>,
    /// For each run, how many wires warm it.
    in_run: Vec<usize>,
}

impl<'d> WarmWires<'d> {
    /// Counts them, for each wire with its highest current.
    pub fn new(model: &Model, most: &'d [Amps]) -> WarmWires<'d> {
        let mut counted = WarmWires { most, warm: vec![false; most.len()], in_run: vec![0; model.runs.len()] };
        model.wire_ids().for_each(|id| counted.update(model, id));
        counted
    }

    /// Counts a wire again after a change of its gauge.
    pub fn update(&mut self, model: &Model, id: WireId) {
        let wire = model.wire(id);
        let warm = self.most[id.0] > conductor::ampacity(wire.gauge, 1, false) * IDLE_SHARE;
        if warm == std::mem::replace(&mut self.warm[id.0], warm) {
            return;
        }
        for run in runs_of(&wire.path) {
            let count = &mut self.in_run[run.0];
            *count = if warm { *count + 1 } else { *count - 1 };
        }
    }

    /// How many conductors that carry current share the fullest run of a wire's path, the wire itself counted.
    pub fn beside(&self, model: &Model, id: WireId) -> usize {
        let own = usize::from(!self.warm[id.0]);
        model.wire(id).path.iter().map(|run| self.in_run[run.0] + own).max().unwrap_or(1)
    }
}

/// The runs of a path, each once.
fn runs_of(path: &[RunId]) -> impl Iterator<Item = RunId> {
    path.iter().enumerate().filter(|(i, run)| !path[..*i].contains(run)).map(|(_, run)| *run)
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Gauge;

    /// The count by its definition, wire by wire.
    fn by_definition(model: &Model, id: WireId, most: &[Amps]) -> usize {
        let in_run = |run: &RunId| {
            let counts = |other: &WireId| {
                let wire = model.wire(*other);
                let least = conductor::ampacity(wire.gauge, 1, false) * IDLE_SHARE;
                wire.path.contains(run) && (*other == id || most[other.0] > least)
            };
            model.wire_ids().filter(counts).count()
        };
        model.wire(id).path.iter().map(in_run).max().unwrap_or(1).max(1)
    }

    #[test]
    fn counts_follow_each_change_of_a_gauge() {
        let mut compared = 0;
        for name in sample::DEMOS {
            let mut model = sample::demo(name);
            let most: Vec<Amps> = (0..model.wires.len()).map(|i| Amps::new(i as f64 % 7.0 * 0.4)).collect();
            let mut counted = WarmWires::new(&model, &most);
            for changed in model.wire_ids().collect::<Vec<_>>() {
                model.wires[changed.0].gauge = Gauge::Metric(if changed.0.is_multiple_of(2) { 6.0 } else { 0.5 });
                counted.update(&model, changed);
                for id in model.wire_ids().step_by(5) {
                    assert_eq!(counted.beside(&model, id), by_definition(&model, id, &most), "{name}");
                    compared += usize::from(counted.beside(&model, id) > 1);
                }
            }
        }
        assert!(compared > 1000, "{compared} wires beside others");
    }
}
