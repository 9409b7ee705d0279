//! A zone at the extremes of its surroundings.
//!
//! **Zone lemma.** A zone of laws that never fall is solved with its terminals at the low levels of the trunk, and
//! again at the high ones. Wherever the terminals are between those levels, every voltage of the zone is between what
//! it is at the two ends; and the zone draws no less at the high levels than is found at the high end, and no more at
//! the low levels.
//!
//! *Proof.* Between two solutions each branch acts as a conductance of at least 0, its change of current over its
//! change of voltage. In such a network no node goes down while no terminal does (it would have to be lower than all
//! nodes that it is connected to). The current at the ends is the one solved there. ∎
//!
//! **Corollary.** With each terminal off by no more than its own bound, the voltage between two nodes changes by at
//! most the sum of the two largest bounds: no node goes further up or down than some terminal. This takes no solution.
//!
//! The current of a load of constant power falls. It is taken as a law that rises to the current at the lowest voltage
//! and stays there, less a current from its ground back to its feed, whose range is known while the load's voltage is
//! within a window. At the high end the most goes into its feed and the least out of its ground, at the low end the
//! opposite: more current into a node moves no node down. If the ends then leave the load's voltage within its window,
//! the window reproduces itself, and the loads are somewhere within it (Brouwer's fixed point; with several solutions
//! the solver takes the highest voltages, in the zone as in the whole). What a converter gives may be anything up to
//! its limit.

use super::apart::{Zone, Zones};
use super::trunk::Levels;
use circuit::{BranchId, Circuit, Corner, Curve, LEAK, Law, Logic, NEGATIVE, curve};
use engine::{EliminationPlan, Network, Settler};
use quantity::{Amps, Ohms, Volts};
use std::ops::Range;
use std::sync::Arc;

/// Windows that are tried: how far a load's voltage may be off, as multiples of the corollary's volts.
const WINDOWS: [f64; 3] = [1.2, 2.0, 4.0];

/// The engine takes no less as the lowest voltage of a load.
const LEAST_VOLTS: Volts = Volts::new(1e-3);

/// A zone's circuit for the ends, its terminals not held yet.
pub(crate) struct EndsPlan {
    circuit: Circuit,
    plan: Arc<EliminationPlan>,
    loads: Vec<LoadEnds>,
}

/// A load of constant power at the ends.
struct LoadEnds {
    branch: usize,
    /// Highest power that a converter draws, in watts; `None` for other loads.
    most_watts: Option<f64>,
    /// The branches through which the drop of its current reaches its feed and its ground.
    back: [usize; 2],
}

/// Solvers of a zone at both ends.
pub(crate) struct Ends<'e> {
    settlers: [Settler<'e>; 2],
    plan: &'e EndsPlan,
    columns: Vec<u32>,
    holding: Range<usize>,
    /// The loads' laws without the falling part.
    rising: Vec<Curve>,
    /// Voltages at the low and the high end as solved last, by phase of pulses and column.
    volts: [Vec<Vec<f64>>; 2],
    /// Whether some load of constant power may pass its lowest voltage, as solved last.
    pub turning_load: bool,
}

/// A load's voltage in the middle, and by how much its current is below its rising law, at least and at most.
struct Falls {
    volts: f64,
    amps: [f64; 2],
}

impl EndsPlan {
    /// For a zone's circuit, which may have more inputs and conditions than the zone.
    pub(crate) fn new(mut circuit: Circuit) -> EndsPlan {
        let is_load = |k: &usize| matches!(circuit.branches[*k].law, Law::Power { .. } | Law::Drawn { .. });
        let all: Vec<usize> = (0..circuit.branches.len()).filter(is_load).collect();
        let mut loads = vec![];
        for branch in all {
            let (from, to) = (circuit.branches[branch].from, circuit.branches[branch].to);
            let most_watts = most_watts(&circuit, BranchId(branch as u32));
            circuit.branches[branch].law = rising(&circuit.branches[branch].law, most_watts);
            // Their currents are imposed. A condition, though always true, lets them change.
            let law = Law::Source { volts: Default::default(), ohms: Ohms::new(LEAK.value() * 1e3) };
            let always = || Logic::Not(Box::new(Logic::Never));
            let into = circuit.switched(String::new(), NEGATIVE, from, law.clone(), always());
            let out = circuit.switched(String::new(), to, NEGATIVE, law, always());
            loads.push(LoadEnds { branch, most_watts, back: [into.index(), out.index()] });
        }
        EndsPlan { plan: Arc::new(EliminationPlan::new(&circuit)), circuit, loads }
    }

    /// The circuits with the zone's terminals at the low and at the high levels.
    pub(crate) fn held(&self, zone: &Zone, levels: &[Levels]) -> [Circuit; 2] {
        let low: Vec<&[f64]> = levels.iter().map(|levels| &levels.low[..]).collect();
        let high: Vec<&[f64]> = levels.iter().map(|levels| &levels.high[..]).collect();
        [low, high].map(|volts| zone.held(self.circuit.clone(), &volts))
    }
}

/// The highest power that the input of a converter draws, without its idle current.
fn most_watts(circuit: &Circuit, input: BranchId) -> Option<f64> {
    let Law::Drawn { output, efficiency, .. } = circuit.branches[input.index()].law else { return None };
    let output = &circuit.branches[output.index()];
    let Law::Regulated { volts, limit, .. } = output.law else { return None };
    Some(volts.value() * (1.0 + output.tolerance.value()) * limit.value() / efficiency.value().max(0.01))
}

/// The law of a load of constant power without the falling part.
fn rising(law: &Law, most_watts: Option<f64>) -> Law {
    match *law {
        Law::Power { watts, least } => Law::Current { amps: watts / least.max(LEAST_VOLTS), least },
        Law::Drawn { idle, least, .. } => {
            let most = most_watts.unwrap_or_default() / least.max(LEAST_VOLTS).value();
            Law::Current { amps: idle + Amps::new(most), least }
        }
        ref other => other.clone(),
    }
}

impl<'e> Ends<'e> {
    pub(crate) fn new(zones: &Zones, zone: &Zone, plan: &'e EndsPlan, held: &'e [Circuit; 2], corner: Corner) -> Self {
        let own = zone.branches.len();
        let law = |load: &LoadEnds| curve(&plan.circuit.branches[load.branch], &plan.circuit, corner);
        Ends {
            settlers: held.each_ref().map(|circuit| Settler::new(circuit, &plan.plan, corner)),
            columns: zone.terminals.iter().map(|(node, _)| plan.plan.column_of[node.index()]).collect(),
            holding: own..own + zone.terminals.len() * zones.combinations.count(),
            rising: plan.loads.iter().map(law).collect(),
            plan,
            volts: [vec![], vec![]],
            turning_load: false,
        }
    }

    /// Solves both ends of the state that `middle` has solved, `moves` being the corollary's volts. `false` where it
    /// can't be done, or no window of the loads reproduces itself.
    pub(crate) fn solve(&mut self, middle: &mut Settler, moves: f64) -> bool {
        WINDOWS.iter().any(|window| self.solve_within(middle, window * moves))
    }

    fn solve_within(&mut self, middle: &mut Settler, window: f64) -> bool {
        let mut falls = vec![];
        middle.each_network(&mut |network| falls.push(self.falls(network, window)));
        for (end, settler) in self.settlers.iter_mut().enumerate() {
            settler.go_to(middle.state());
            // Which phases are live is known once it is solved.
            for _ in 0..2 {
                let mut phase = falls.iter();
                let plan = self.plan;
                settler.each_network(&mut |network| {
                    phase.next().into_iter().for_each(|falls| impose(network, plan, falls, end == 1));
                });
                if settler.solve().is_err() {
                    return false;
                }
            }
            let volts = &mut self.volts[end];
            volts.clear();
            settler.each_network(&mut |network| {
                network.finish();
                volts.push(network.volts().to_vec());
            });
        }
        self.turning_load = false;
        let mut inside = true;
        for (phase, falls) in falls.iter().enumerate() {
            for (load, falls) in self.plan.loads.iter().zip(falls) {
                let (Some(falls), Some(least)) = (falls, least_volts(middle.network().curve(load.branch))) else {
                    continue;
                };
                let [from, to] = self.settlers[0].network().ends(load.branch);
                let [low, high] = self.between(phase, from, to);
                inside &= low >= falls.volts - window && high <= falls.volts + window;
                self.turning_load |= low < least && high > least;
            }
        }
        inside
    }

    /// For each load that is there, the fall of its current while its voltage is within its window.
    fn falls(&self, middle: &Network, window: f64) -> Vec<Option<Falls>> {
        let each = self.plan.loads.iter().zip(&self.rising).map(|(load, rising)| {
            let k = load.branch;
            let Curve::Power { watts, amps, least, .. } = middle.curve(k) else { return None };
            if !middle.is_there(k) {
                return None;
            }
            let volts = middle.across(k);
            let [low, high] = [volts - window, volts + window];
            let watts = match load.most_watts {
                Some(most) => vec![0.0, most],
                None => vec![*watts],
            };
            let law = |watts: f64| Curve::Power { watts, amps: *amps, least: *least, output: None };
            let bends = [low, 0.0, *least, high].into_iter().filter(|at| *at >= low && *at <= high);
            let all = bends.flat_map(|at| watts.iter().map(move |w| (at, *w)));
            let all = all.map(|(at, watts)| rising.amps(at, 0.0) - law(watts).amps(at, 0.0));
            let amps = all.fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], amps| [a.min(amps), b.max(amps)]);
            Some(Falls { volts, amps })
        });
        each.collect()
    }

    /// The range of the voltage between two columns in a phase of the pulses, as solved last.
    pub(crate) fn between(&self, phase: usize, plus: u32, minus: u32) -> [f64; 2] {
        let [low, high] = [0, 1].map(|end: usize| &self.volts[end][phase.min(self.volts[end].len() - 1)]);
        let [plus, minus] = [plus, minus].map(|column| column as usize);
        [low[plus] - high[minus], high[plus] - low[minus]]
    }

    /// The circuit that is solved at both ends, its terminals not held.
    pub(crate) fn circuit(&self) -> &Circuit {
        &self.plan.circuit
    }

    /// The corner.
    pub(crate) fn corner(&self) -> Corner {
        self.settlers[0].corner()
    }

    /// The column of a node of the zone.
    pub(crate) fn column(&self, node: usize) -> u32 {
        self.plan.plan.column_of[node].min(self.plan.plan.columns as u32)
    }

    /// How far two nodes may be apart from what they are in `middle`, whichever they are, as solved last.
    pub(crate) fn most_off(&self, middle: &mut Settler) -> f64 {
        let nodes = middle.circuit().nodes.len();
        let (mut phase, mut most) = (0, 0.0_f64);
        let [low, high] = &self.volts;
        middle.each_network(&mut |network| {
            network.finish();
            let (mut down, mut up) = (0.0_f64, 0.0_f64);
            for node in 1..nodes {
                let (own, column) =
                    (network.volts()[network.plan().column_of[node] as usize], self.column(node) as usize);
                down = down.max(own - low[phase.min(low.len() - 1)][column]);
                up = up.max(high[phase.min(high.len() - 1)][column] - own);
            }
            most = most.max(down + up);
            phase += 1;
        });
        most
    }

    /// What the zone draws at the low and at the high end, by phase of pulses and terminal, as solved last.
    pub(crate) fn drawn(&mut self) -> [Vec<Vec<f64>>; 2] {
        let (columns, holding) = (&self.columns, &self.holding);
        self.settlers.each_mut().map(|settler| {
            let mut drawn = vec![];
            settler.each_network(&mut |network| drawn.push(network.drawn(columns, holding)));
            drawn
        })
    }

    /// Whether a branch of the zone carries no more than this at either end, as solved last.
    pub(crate) fn carries_at_most(&mut self, branch: usize, amps: f64) -> bool {
        self.settlers.iter_mut().all(|settler| {
            let network = settler.network_mut();
            network.finish();
            network.amps(branch).abs() <= amps
        })
    }
}

fn least_volts(curve: &Curve) -> Option<f64> {
    match curve {
        Curve::Power { least, .. } => Some(*least),
        _ => None,
    }
}

/// Returns the fall of the loads' currents to their feeds and takes it from their grounds: most and least at the high
/// end.
fn impose(network: &mut Network, plan: &EndsPlan, falls: &[Option<Falls>], high: bool) {
    for (load, falls) in plan.loads.iter().zip(falls) {
        let [least, most] = falls.as_ref().map_or([0.0; 2], |falls| falls.amps);
        let amps = if high { [most, least] } else { [least, most] };
        load.back.iter().zip(amps).for_each(|(k, amps)| network.impose(*k, amps));
    }
}
