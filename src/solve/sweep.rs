//! All voltages of all states, fast: from tables where the circuit falls into parts.
//!
//! In one state of a part its voltages, and the currents that it draws, go in straight lines with the trunk's voltages.
//! So a state of the whole takes one small set of equations for the trunk and one multiplication for each node and
//! terminal. Where a branch may leave its piece on the way, that is looked at; if it does, or a load of constant power
//! bends too far, that state is solved as a whole.

use super::bounds::Bounds;
use super::circuit::{Circuit, LEAST_OHMS};
use super::corner::Corner;
use super::dense;
use super::parts::Part;
use super::settle::{End, Solver};
use super::split::{Explored, Split, bounds, split};
use super::state::Positions;
use crate::quantity::Volts;
use std::ops::ControlFlow;

/// A voltage that a bend of a constant-power law may be off without the state being solved as a whole.
const BEND_VOLTS: f64 = 1e-6;

/// One state of a part, as straight lines over how far its terminals are from where they were held.
struct Line {
    number: u32,
    /// Voltages as held, by the part's own nodes but the terminals; then what each volt at each terminal adds.
    volts: Vec<f64>,
    answers: Vec<Vec<f64>>,
    amps: Vec<f64>,
    /// By terminal and terminal, row by row.
    conductance: Vec<f64>,
    /// Branches that may leave their piece: voltage as held, what each terminal adds, and the ends of the piece.
    loose: Vec<(f64, Vec<f64>, [f64; 2])>,
    /// Constant-power branches: voltage, power, what each terminal adds, and the resistance that they look into.
    power: Vec<(f64, f64, Vec<f64>, f64)>,
}

/// The lines of one part at one combination of master positions.
struct Table {
    /// The part's own nodes but the terminals, by node of the whole.
    nodes: Vec<usize>,
    /// Places of the terminals among the trunk's.
    terminals: Vec<usize>,
    lines: Vec<Line>,
}

/// Shows every reachable state's positions and voltages, by node, in a steady order: as fast as there is.
///
/// The same states as an exploration finds; those without a solution are left out.
pub fn sweep(circuit: &Circuit, corner: Corner, each: &mut dyn FnMut(&Positions, &[Volts])) {
    let watch = |_| ControlFlow::Continue(());
    if let Ok(Some(split)) = split(circuit, corner, &watch) {
        Sweep::new(circuit, corner, &split).run(each);
        return;
    }
    let mut solver = Solver::new(circuit, corner);
    let mut volts = vec![Volts::new(0.0); circuit.nodes.len()];
    super::explore(circuit, corner).each_state(&mut |state| {
        if let Ok(settled) = solver.settle_volts(state, &mut volts)
            && settled == state
        {
            each(&state.positions, &volts);
        }
    });
}

struct Sweep<'c> {
    circuit: &'c Circuit,
    split: &'c Split,
    corner: Corner,
    whole: Option<Solver<'c>>,
    volts: Vec<Volts>,
    positions: Positions,
    picks: Vec<u32>,
}

impl<'c> Sweep<'c> {
    fn new(circuit: &'c Circuit, corner: Corner, split: &'c Split) -> Self {
        Sweep {
            circuit,
            split,
            corner,
            whole: None,
            volts: vec![Volts::new(0.0); circuit.nodes.len()],
            positions: Positions::at_rest(circuit),
            picks: vec![0; split.explored.len()],
        }
    }

    fn run(&mut self, each: &mut dyn FnMut(&Positions, &[Volts])) {
        for combination in 0..self.split.trunks.len() {
            let parts = self.split.parts.parts.iter().zip(&self.split.explored);
            let tables: Vec<Table> = parts.map(|(part, one)| self.table(part, one, combination)).collect();
            if tables.iter().any(|table| table.lines.is_empty()) {
                continue;
            }
            let n = self.split.parts.trunk.len();
            let mut levels = vec![Level { matrix: vec![0.0; n * n], right: vec![0.0; n] }; tables.len() + 1];
            let (matrix, right) = self.split.trunks[combination].equations(&self.split.held[combination]);
            levels[0] = Level { matrix, right };
            self.descend(combination, &tables, 0, &mut levels, each);
        }
    }

    /// Goes through the states of one part after the other, adding up what they draw.
    fn descend(
        &mut self,
        combination: usize,
        tables: &[Table],
        depth: usize,
        levels: &mut [Level],
        each: &mut dyn FnMut(&Positions, &[Volts]),
    ) {
        let Some(table) = tables.get(depth) else {
            self.show(combination, tables, &mut levels[depth], each);
            return;
        };
        for at in 0..table.lines.len() {
            let line = &table.lines[at];
            let (above, below) = levels.split_at_mut(depth + 1);
            below[0].add(&above[depth], &table.terminals, line);
            self.picks[depth] = at as u32;
            let own = &self.split.explored[depth].reach.states[line.number as usize].state.positions;
            for (id, position) in self.split.parts.parts[depth].inputs.iter().zip(&own.0) {
                self.positions.0[id.index()] = *position;
            }
            self.descend(combination, tables, depth + 1, levels, each);
        }
    }

    fn show(
        &mut self,
        combination: usize,
        tables: &[Table],
        level: &mut Level,
        each: &mut dyn FnMut(&Positions, &[Volts]),
    ) {
        level.solve();
        let moved = &level.right;
        let lines = || tables.iter().zip(&self.picks).map(|(table, at)| (table, &table.lines[*at as usize]));
        if lines().all(|(table, line)| line.holds(&table.terminals, moved)) {
            for (table, at) in tables.iter().zip(&self.picks) {
                table.lines[*at as usize].write(table, moved, &mut self.volts);
            }
            let held = &self.split.held[combination];
            for (i, node) in self.split.parts.trunk.iter().enumerate() {
                self.volts[node.index()] = Volts::new(held[i] + moved[i]);
            }
            let trunk = &self.split.trunks[combination];
            for (i, node) in self.split.parts.inner.iter().enumerate() {
                let terminals = held.iter().zip(moved).map(|(held, moved)| held + moved);
                self.volts[node.index()] = Volts::new(trunk.inner_volts(i, terminals));
            }
            each(&self.positions, &self.volts);
            return;
        }
        let numbers: Vec<u32> = lines().map(|(_, line)| line.number).collect();
        let state = self.split.whole_state(self.circuit, &numbers);
        let (circuit, corner) = (self.circuit, self.corner);
        let whole = self.whole.get_or_insert_with(|| Solver::new(circuit, corner));
        if whole.settle_volts(&state, &mut self.volts).is_ok() {
            each(&state.positions, &self.volts);
        }
    }

    /// Solves every state of a part once more for its lines.
    fn table(&self, part: &Part, one: &Explored, combination: usize) -> Table {
        let mut solver = Solver::with_plan(&part.circuit, one.plan.clone(), self.corner);
        let bounds = bounds(self.circuit, &self.split.parts.masters, part, &one.plan, &self.split.off);
        let own: Vec<usize> = (1..part.nodes.len())
            .filter(|local| part.terminals.iter().all(|(terminal, _)| terminal.index() != *local))
            .collect();
        let columns: Vec<usize> = own.iter().map(|local| one.plan.column_of[*local] as usize).collect();
        let lines = one.by_combination[combination].iter().filter_map(|number| {
            let state = &one.reach.states[*number as usize].state;
            solver.bounds = None;
            if solver.run(state) != End::Settled || solver.state != *state {
                return None;
            }
            let amps = one.answers[*number as usize].amps.clone();
            Some(Line::new(&mut solver, &bounds, &columns, *number, amps))
        });
        Table {
            lines: lines.collect(),
            nodes: own.iter().map(|local| part.nodes[*local].index()).collect(),
            terminals: part.terminals.iter().map(|(_, at)| *at).collect(),
        }
    }
}

impl Line {
    fn new(solver: &mut Solver, bounds: &Bounds, columns: &[usize], number: u32, amps: Vec<f64>) -> Line {
        solver.finish();
        solver.bounds = Some(Box::new(bounds.clone()));
        let mut uncertain = vec![];
        let answers = solver.spread(&mut uncertain).map(|spread| spread.answers).unwrap_or_default();
        let volt = 1.0 / LEAST_OHMS.value();
        let across = |from: u32, to: u32| {
            let volts = solver.column_volts(from) - solver.column_volts(to);
            let each = answers.iter().map(|answer| answer[from as usize] - answer[to as usize]);
            (volts, each.collect::<Vec<f64>>())
        };
        let mut line = Line {
            number,
            volts: columns.iter().map(|column| solver.column_volts(*column as u32)).collect(),
            answers: answers.iter().map(|answer| columns.iter().map(|c| answer[*c]).collect()).collect(),
            amps,
            conductance: vec![],
            loose: vec![],
            power: vec![],
        };
        for (row, column) in bounds.terminals.iter().enumerate() {
            for (other, answer) in answers.iter().enumerate() {
                let whole = if row == other { 1.0 } else { 0.0 };
                line.conductance.push((whole - answer[*column as usize]) * volt);
            }
        }
        for at in uncertain {
            let one = solver.curved[at];
            if solver.power_watts(one.branch as usize).is_none() {
                let (volts, each) = across(one.from, one.to);
                line.loose.push((volts, each, [one.low, one.high]));
            }
        }
        for one in &solver.curved {
            if let Some(watts) = solver.power_watts(one.branch as usize) {
                let (volts, each) = across(one.from, one.to);
                // Taken as a constant current, its line says nothing of how it bends.
                let looks_into = if solver.chords { f64::INFINITY } else { solver.looks_into(one.from, one.to) };
                line.power.push((volts, watts, each, looks_into));
            }
        }
        line
    }

    /// Whether the lines hold when the trunk has moved so far.
    fn holds(&self, terminals: &[usize], moved: &[f64]) -> bool {
        let by = |each: &[f64]| terminals.iter().zip(each).map(|(at, each)| moved[*at] * each).sum::<f64>();
        let on_piece = self.loose.iter().all(|(volts, each, [low, high])| {
            let volts = volts + by(each);
            volts >= *low && volts <= *high
        });
        let straight = self.power.iter().all(|(volts, watts, each, looks_into)| {
            let off = by(each).abs();
            *volts <= 0.0
                || (off < 0.5 * volts && watts * off * off / (volts * volts * (volts - off)) * looks_into < BEND_VOLTS)
        });
        on_piece && straight
    }

    fn write(&self, table: &Table, moved: &[f64], volts: &mut [Volts]) {
        match (&self.answers[..], &table.terminals[..]) {
            // The usual case, a supply and a chassis, without a loop inside the loop.
            ([a, b], [at, bt]) => {
                let (by_a, by_b) = (moved[*at], moved[*bt]);
                let own = self.volts.iter().zip(a).zip(b).zip(&table.nodes);
                for (((held, a), b), node) in own {
                    volts[*node] = Volts::new(held + a * by_a + b * by_b);
                }
            }
            (answers, terminals) => {
                for (i, node) in table.nodes.iter().enumerate() {
                    let by: f64 = answers.iter().zip(terminals).map(|(answer, at)| answer[i] * moved[*at]).sum();
                    volts[*node] = Volts::new(self.volts[i] + by);
                }
            }
        }
    }
}

/// The trunk's equations with what the parts so far add.
#[derive(Clone)]
struct Level {
    matrix: Vec<f64>,
    right: Vec<f64>,
}

impl Level {
    /// Those of the level above, and one part more.
    fn add(&mut self, above: &Level, terminals: &[usize], line: &Line) {
        self.matrix.copy_from_slice(&above.matrix);
        self.right.copy_from_slice(&above.right);
        let n = self.right.len();
        for (row, at) in terminals.iter().enumerate() {
            self.right[*at] -= line.amps[row];
            for (column, other) in terminals.iter().enumerate() {
                self.matrix[at * n + other] += line.conductance[row * terminals.len() + column];
            }
        }
    }

    /// Leaves in `right` how far the trunk has moved.
    fn solve(&mut self) {
        if let ([a, b, c, d], [x, y]) = (&self.matrix[..], &mut self.right[..]) {
            // Cramer's rule; a trunk's two terminals are well apart.
            let determinant = a * d - b * c;
            (*x, *y) = ((*x * d - b * *y) / determinant, (a * *y - c * *x) / determinant);
            return;
        }
        // OK because every node leaks, so there is a pivot in every column.
        let _ = dense::solve(&mut self.matrix, &mut self.right);
    }
}
