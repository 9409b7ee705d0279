//! All voltages of all states, fast: from tables where the circuit falls into parts.
//!
//! In one state of a part its voltages, and the currents that it draws, go in straight lines with the trunk's voltages.
//! So a state of the whole takes one small set of equations for the trunk and one multiplication for each node and
//! terminal. Where a branch may leave its piece on the way, that is looked at; if it does, or a load of constant power
//! bends too far, that state is solved as a whole.

use super::circuit::Circuit;
use super::corner::Corner;
use super::dense;
use super::line::{Line, Places, Straight};
use super::parts::Part;
use super::settle::Solver;
use super::split::{Doubts, Explored, Lines, Split, split};
use super::state::Positions;
use quantity::Volts;
use std::ops::{ControlFlow, Range};

/// The lines of one part at one combination of master positions.
struct Table<'s> {
    /// Where the part's own nodes but the terminals stand in the whole.
    places: &'s Places,
    /// Places of the terminals among the trunk's.
    terminals: Vec<usize>,
    lines: Vec<&'s Line>,
}

/// What the sweep goes through at one combination of master positions.
struct Combination<'s> {
    tables: Vec<Table<'s>>,
    /// The trunk's own voltages, its nodes, and the places of its terminals: all of them.
    trunk: Straight,
    nodes: Vec<Range<usize>>,
    terminals: Vec<usize>,
}

/// Shows every reachable state's positions and voltages, by node, in a steady order: as fast as there is.
///
/// The same states as an exploration finds; those without a solution are left out.
pub fn sweep(circuit: &Circuit, corner: Corner, each: &mut dyn FnMut(&Positions, &[Volts])) {
    let watch = |_| ControlFlow::Continue(());
    if let Ok(Ok(split)) = split(circuit, corner, Lines::Kept, Doubts::Refused, &watch) {
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
        let split = self.split;
        for (at, (trunk, held)) in split.trunks.iter().zip(&split.held).enumerate() {
            let parts = split.parts.parts.iter().zip(&split.explored);
            let tables: Vec<Table> = parts.map(|(part, one)| Table::new(part, one, at)).collect();
            if tables.iter().any(|table| table.lines.is_empty()) {
                continue;
            }
            let n = held.len();
            let mut levels = vec![Level { matrix: vec![0.0; n * n], right: vec![0.0; n] }; tables.len() + 1];
            let (matrix, right) = trunk.equations(held);
            levels[0] = Level { matrix, right };
            let (trunk, nodes) = trunk.lines(&split.parts, held);
            let combination = Combination { tables, trunk, nodes, terminals: (0..n).collect() };
            self.descend(&combination, 0, &mut levels, each);
        }
    }

    /// Goes through the states of one part after the other, adding up what they draw.
    fn descend(
        &mut self,
        combination: &Combination,
        depth: usize,
        levels: &mut [Level],
        each: &mut dyn FnMut(&Positions, &[Volts]),
    ) {
        let Some(table) = combination.tables.get(depth) else {
            self.show(combination, &mut levels[depth], each);
            return;
        };
        for (at, line) in table.lines.iter().enumerate() {
            let (above, below) = levels.split_at_mut(depth + 1);
            below[0].add(&above[depth], &table.terminals, line);
            self.picks[depth] = at as u32;
            let own = &self.split.explored[depth].reach.states[line.number as usize].state.positions;
            for (id, position) in self.split.parts.parts[depth].inputs.iter().zip(&own.0) {
                self.positions.0[id.index()] = *position;
            }
            self.descend(combination, depth + 1, levels, each);
        }
    }

    fn show(&mut self, combination: &Combination, level: &mut Level, each: &mut dyn FnMut(&Positions, &[Volts])) {
        level.solve();
        let moved = &level.right;
        let tables = combination.tables.iter().zip(&self.picks);
        let lines = tables.map(|(table, at)| (table, table.lines[*at as usize]));
        if lines.clone().all(|(table, line)| line.holds(&table.terminals, moved)) {
            for (table, line) in lines {
                line.straight.write(&table.places.stretches, &table.terminals, moved, &mut self.volts);
            }
            combination.trunk.write(&combination.nodes, &combination.terminals, moved, &mut self.volts);
            each(&self.positions, &self.volts);
            return;
        }
        let numbers: Vec<u32> = lines.map(|(_, line)| line.number).collect();
        let state = self.split.whole_state(self.circuit, &numbers);
        let (circuit, corner) = (self.circuit, self.corner);
        let whole = self.whole.get_or_insert_with(|| Solver::new(circuit, corner));
        if whole.settle_volts(&state, &mut self.volts).is_ok() {
            each(&state.positions, &self.volts);
        }
    }
}

impl<'s> Table<'s> {
    fn new(part: &Part, one: &'s Explored, combination: usize) -> Self {
        let lines = one.by_combination[combination].iter().filter_map(|number| one.lines[*number as usize].as_ref());
        Table {
            places: &one.places,
            terminals: part.terminals.iter().map(|(_, at)| *at).collect(),
            lines: lines.collect(),
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
