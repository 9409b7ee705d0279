//! One state of a part in straight lines: its voltages, and the currents that it draws, by how far its terminals are from
//! where they were held.

use super::bounds::Spread;
use super::circuit::NodeId;
use super::laws::Curve;
use super::parts::Part;
use super::plan::Plan;
use super::settle::Solver;
use quantity::Volts;
use std::ops::Range;

/// A voltage that a bend of a constant-power law may be off without the state being solved as a whole.
const BEND_VOLTS: f64 = 1e-6;

/// Voltages of some nodes, each in a straight line over those of the trunk.
#[derive(Debug, Clone)]
pub(super) struct Straight {
    /// As held.
    pub volts: Vec<f64>,
    /// What each volt at each terminal adds.
    pub answers: Vec<Vec<f64>>,
}

impl Straight {
    /// Writes the voltages into those of the whole. `stretches` are the nodes, `terminals` the places of the terminals
    /// among the trunk's, and `moved` is how far those are from where they were held.
    pub(super) fn write(&self, stretches: &[Range<usize>], terminals: &[usize], moved: &[f64], volts: &mut [Volts]) {
        let mut first = 0;
        for stretch in stretches {
            let own = first..first + stretch.len();
            first = own.end;
            let (into, held) = (&mut volts[stretch.clone()], &self.volts[own.clone()]);
            match (&self.answers[..], terminals) {
                // The usual case, a supply and a chassis, without a loop inside the loop.
                ([a, b], [at, bt]) => {
                    let (by_a, by_b) = (moved[*at], moved[*bt]);
                    let lines = held.iter().zip(&a[own.clone()]).zip(&b[own]);
                    for (volts, ((held, a), b)) in into.iter_mut().zip(lines) {
                        *volts = Volts::new(held + a * by_a + b * by_b);
                    }
                }
                (answers, terminals) => {
                    for (i, volts) in own.zip(into) {
                        let by: f64 = answers.iter().zip(terminals).map(|(answer, at)| answer[i] * moved[*at]).sum();
                        *volts = Volts::new(self.volts[i] + by);
                    }
                }
            }
        }
    }
}

/// Nodes in rising order as stretches of nodes that follow one another.
pub(super) fn stretches(nodes: impl IntoIterator<Item = NodeId>) -> Vec<Range<usize>> {
    let mut all: Vec<Range<usize>> = vec![];
    for node in nodes.into_iter().map(NodeId::index) {
        match all.last_mut() {
            Some(last) if last.end == node => last.end += 1,
            _ => all.push(node..node + 1),
        }
    }
    all
}

/// Where the voltages of a part's lines belong: its own nodes but the terminals.
#[derive(Debug, Clone, Default)]
pub(super) struct Places {
    /// Columns, in the order of the lines.
    columns: Vec<u32>,
    /// The nodes in the whole.
    pub stretches: Vec<Range<usize>>,
}

impl Places {
    pub(super) fn new(part: &Part, plan: &Plan) -> Places {
        let terminal = |local: usize| part.terminals.iter().any(|(terminal, _)| terminal.index() == local);
        let mut own: Vec<usize> = (1..part.nodes.len()).filter(|local| !terminal(*local)).collect();
        own.sort_unstable_by_key(|local| part.nodes[*local]);
        Places {
            columns: own.iter().map(|local| plan.column_of[*local]).collect(),
            stretches: stretches(own.iter().map(|local| part.nodes[*local])),
        }
    }
}

/// One state of a part.
#[derive(Debug, Clone)]
pub(super) struct Line {
    /// Of the state.
    pub number: u32,
    /// Of the part's own nodes but the terminals.
    pub straight: Straight,
    /// Current into each terminal as held.
    pub amps: Vec<f64>,
    /// By terminal and terminal, row by row.
    pub conductance: Vec<f64>,
    /// Branches that may leave their piece: voltage as held, what each terminal adds, and the ends of the piece.
    loose: Vec<(f64, Vec<f64>, [f64; 2])>,
    /// Constant-power branches that are on.
    power: Vec<Power>,
}

/// A constant-power branch in a line.
#[derive(Debug, Clone)]
struct Power {
    /// As held.
    volts: f64,
    watts: f64,
    least: f64,
    /// What each volt at each terminal adds.
    each: Vec<f64>,
    /// The resistance that it looks into.
    looks_into: f64,
}

impl Power {
    /// Whether it is straight enough when its voltage moves by so much.
    fn holds(&self, off: f64) -> bool {
        let Power { volts, watts, least, looks_into, .. } = self;
        if volts < least {
            return volts + off <= *least;
        }
        volts - off >= *least && watts * off * off / (volts * volts * (volts - off)) * looks_into < BEND_VOLTS
    }
}

impl Line {
    /// Of the state that the solver has solved. `uncertain` are curved branches that may leave their piece.
    pub(super) fn new(solver: &mut Solver, spread: &Spread, uncertain: &[usize], places: &Places, number: u32) -> Line {
        solver.finish();
        let answers = &spread.answers;
        let across = |solver: &Solver, from: u32, to: u32| {
            let volts = solver.column_volts(from) - solver.column_volts(to);
            let each = answers.iter().map(|answer| answer[from as usize] - answer[to as usize]);
            (volts, each.collect::<Vec<f64>>())
        };
        let mut line = Line {
            number,
            straight: Straight {
                volts: places.columns.iter().map(|column| solver.column_volts(*column)).collect(),
                answers: answers.iter().map(|a| places.columns.iter().map(|c| a[*c as usize]).collect()).collect(),
            },
            amps: vec![],
            conductance: spread.conductances(),
            loose: vec![],
            power: vec![],
        };
        for at in uncertain {
            let one = solver.curved[*at];
            if solver.power_watts(one.branch as usize).is_none() {
                let (volts, each) = across(solver, one.from, one.to);
                line.loose.push((volts, each, [one.low, one.high]));
            }
        }
        for one in &solver.curved {
            if let (Some(watts), Curve::Power { least, .. }) =
                (solver.power_watts(one.branch as usize), &solver.curves[one.branch as usize])
            {
                let (volts, each) = across(solver, one.from, one.to);
                // Taken as a constant current, its line says nothing of how it bends.
                let looks_into = if solver.chords { f64::INFINITY } else { solver.looks_into(one.from, one.to) };
                line.power.push(Power { volts, watts, least: *least, each, looks_into });
            }
        }
        line
    }

    /// With the current into each terminal as held.
    pub(super) fn drawing(mut self, amps: &[f64]) -> Line {
        self.amps = amps.to_vec();
        self
    }

    /// Whether the lines hold when the trunk has moved so far.
    pub(super) fn holds(&self, terminals: &[usize], moved: &[f64]) -> bool {
        let by = |each: &[f64]| terminals.iter().zip(each).map(|(at, each)| moved[*at] * each).sum::<f64>();
        let on_piece = self.loose.iter().all(|(volts, each, [low, high])| {
            let volts = volts + by(each);
            volts >= *low && volts <= *high
        });
        let straight = self.power.iter().all(|one| one.holds(by(&one.each).abs()));
        on_piece && straight
    }
}
