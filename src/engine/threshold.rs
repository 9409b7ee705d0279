//! Thresholds: which actors are on at which voltage.

use super::plan::EliminationPlan;
use circuit::{ActorId, ActorRule, Circuit, Corner, Logic, Senses};

/// A threshold counts as reached when this many volts are missing, so that rounding doesn't decide.
const THRESHOLD_SLACK: f64 = 1e-4;

/// A threshold at one corner.
#[derive(Debug, Clone, Copy)]
pub struct Threshold {
    actor: u32,
    /// Nodes whose voltage it compares, plus and minus.
    pub nodes: [usize; 2],
    /// Their columns, the last one being the battery's negative.
    plus: u32,
    minus: u32,
    on: f64,
    off: f64,
    /// Which of the voltages of a pulsed feed it follows.
    pub senses: Senses,
    always_powered: bool,
}

impl Threshold {
    /// Every threshold of a circuit.
    pub(crate) fn all(circuit: &Circuit, corner: Corner, plan: &EliminationPlan) -> Vec<Threshold> {
        let copper_factor = corner.copper_factor(circuit);
        let column = |node: usize| plan.column_of[node].min(plan.columns as u32);
        let thresholds = circuit.actors.iter().enumerate().filter_map(|(i, actor)| match &actor.rule {
            ActorRule::Threshold { plus, minus, on, off, senses } => {
                let factor =
                    if senses.is_coil() { copper_factor } else { 1.0 } * corner.tolerance_factor(actor.tolerance);
                Some(Threshold {
                    actor: i as u32,
                    nodes: [plus.index(), minus.index()],
                    plus: column(plus.index()),
                    minus: column(minus.index()),
                    on: on.value() * factor - THRESHOLD_SLACK,
                    off: off.value() * factor + THRESHOLD_SLACK,
                    senses: *senses,
                    always_powered: actor.powered == Logic::Always,
                })
            }
            _ => None,
        });
        thresholds.collect()
    }

    /// The actor.
    #[inline]
    pub fn id(&self) -> ActorId {
        ActorId(self.actor)
    }

    /// Whether the actor needs no supply.
    #[inline]
    pub(crate) fn is_always_powered(&self) -> bool {
        self.always_powered
    }

    /// Its voltage, from the voltages of all columns.
    #[inline]
    pub(crate) fn volts(&self, columns: &[f64]) -> f64 {
        columns[self.plus as usize] - columns[self.minus as usize]
    }

    /// Whether the actor is on at this voltage.
    pub(crate) fn decides(&self, volts: f64, was_on: bool) -> bool {
        let volts = if self.senses.is_coil() { volts.abs() } else { volts };
        volts >= self.on || (volts > self.off && was_on)
    }

    /// Whether the actor is on at some voltages between these and off at others. A coil follows the size of its
    /// voltage, so the one nearest to zero is tried too.
    pub fn may_decide_both(&self, [low, high]: [f64; 2], was_on: bool) -> bool {
        let all = [low, high, 0.0_f64.clamp(low, high)].map(|volts| self.decides(volts, was_on));
        all[1..].iter().any(|on| *on != all[0])
    }
}
