//! Every combination of positions that the inputs can have, and conditions as sets of combinations.

use form::condition::Expr;
use form::{Entries, Name};
use spec::InputForm;

/// More combinations than this are not enumerated.
const MOST: usize = 1 << 14;

/// One flag for each combination.
pub type Set = Vec<bool>;

/// An input and its positions, the one at rest first.
#[derive(Debug, Clone)]
pub struct InputPositions {
    /// The input.
    pub input: Name,
    /// Its positions.
    pub names: Vec<Name>,
}

/// The combinations that `needs` and `excludes` leave.
#[derive(Debug, Clone)]
pub struct Combos {
    inputs: Vec<InputPositions>,
    /// For each combination, the position of each input.
    rows: Vec<Vec<usize>>,
}

impl Combos {
    /// The combinations of these inputs; `None` if they are too many to enumerate.
    pub fn new(inputs: Vec<InputPositions>, forms: &Entries<InputForm>) -> Option<Combos> {
        let count = inputs.iter().try_fold(1usize, |count, one| count.checked_mul(one.names.len()))?;
        if count > MOST {
            return None;
        }
        let mut all = Combos { inputs, rows: Vec::new() };
        for number in 0..count {
            let mut rest = number;
            let row: Vec<usize> = all
                .inputs
                .iter()
                .map(|input| {
                    let position = rest % input.names.len();
                    rest /= input.names.len();
                    position
                })
                .collect();
            if all.possible(&row, forms) {
                all.rows.push(row);
            }
        }
        Some(all)
    }

    fn possible(&self, row: &[usize], forms: &Entries<InputForm>) -> bool {
        self.inputs.iter().zip(row).filter(|(_, position)| **position > 0).all(|(input, _)| {
            let Some(form) = forms.get(&input.input) else { return true };
            let excluded = |other: &Name| self.index(other).is_some_and(|i| row[i] > 0);
            form.needs.as_ref().is_none_or(|needs| self.holds(&needs.expr, row))
                && !form.excludes.iter().any(|other| excluded(&other.value))
        })
    }

    fn index(&self, input: &str) -> Option<usize> {
        self.inputs.iter().position(|one| one.input.as_str() == input)
    }

    fn holds(&self, expr: &Expr, row: &[usize]) -> bool {
        match expr {
            Expr::Name(name, _) => self.index(name).is_some_and(|i| row[i] > 0),
            Expr::Is(name, _, position) => {
                self.index(name).is_some_and(|i| self.inputs[i].names.get(row[i]) == Some(position))
            }
            Expr::Not(inner) => !self.holds(inner, row),
            Expr::All(terms) => terms.iter().all(|term| self.holds(term, row)),
            Expr::Any(terms) => terms.iter().any(|term| self.holds(term, row)),
        }
    }

    /// Every input with its positions.
    pub fn inputs(&self) -> &[InputPositions] {
        &self.inputs
    }

    /// The inputs that stand differently in two combinations.
    pub fn differing(&self, one: usize, other: usize) -> Vec<Name> {
        let pairs = self.rows[one].iter().zip(&self.rows[other]).zip(&self.inputs);
        pairs.filter(|((a, b), _)| a != b).map(|(_, input)| input.input.clone()).collect()
    }

    /// Number of combinations.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// The combinations in which a condition holds.
    pub fn set(&self, expr: &Expr) -> Set {
        self.rows.iter().map(|row| self.holds(expr, row)).collect()
    }

    /// The combinations in which an input stands in a position, by its index.
    pub fn at(&self, input: &str, position: usize) -> Set {
        let index = self.index(input);
        self.rows.iter().map(|row| index.is_some_and(|i| row[i] == position)).collect()
    }

    /// The combinations in which an input is away from rest.
    pub fn on(&self, input: &str) -> Set {
        self.at(input, 0).iter().map(|rest| !rest).collect()
    }

    /// A combination in words: the inputs away from rest.
    pub fn name(&self, combo: usize) -> String {
        let away = self.inputs.iter().zip(&self.rows[combo]).filter(|(_, position)| **position > 0);
        let words: Vec<String> = away
            .map(|(input, position)| match input.names.len() {
                2 => input.input.to_string(),
                _ => format!("{} {}", input.input, input.names[*position]),
            })
            .collect();
        if words.is_empty() { "everything at rest".to_string() } else { words.join(", ") }
    }

    /// The inputs that a condition names.
    pub fn names(expr: &Expr, found: &mut Vec<Name>) {
        match expr {
            Expr::Name(name, _) | Expr::Is(name, _, _) => {
                if !found.contains(name) {
                    found.push(name.clone());
                }
            }
            Expr::Not(inner) => Combos::names(inner, found),
            Expr::All(terms) | Expr::Any(terms) => terms.iter().for_each(|term| Combos::names(term, found)),
        }
    }
}
