//! Which place stands where: places side by side in *bays* of one or more columns, small ones stacked in one bay, feeds
//! to the left and pictures to the right.

use super::diagram::{Diagram, Flow, PartShape};
use super::sizes::rows_wanted;

/// A way to share parts out over columns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Plan {
    /// The places with a frame in each column, from the top.
    pub stacks: Vec<Vec<usize>>,
    /// The column of each part.
    pub column_of: Vec<usize>,
}

/// Grid rows in a sheet's height for each in its width, times the width of a column and the channel beside it in rows:
/// together they say how many columns make a sheet of the usual shape (√2).
pub(super) const COLUMN_WIDTH_ROWS: f64 = 42.0;
/// Extra height a bay may have before places are stacked elsewhere.
const SLACK: f64 = 1.2;

/// Plans worth trying, for sheets from tall to wide, with small places stacked or not; at least one.
pub(super) fn plans(diagram: &Diagram) -> Vec<Plan> {
    let heights: Vec<f64> = diagram.parts.iter().map(|part| rows_wanted(part) as f64).collect();
    let total: f64 = heights.iter().sum();
    let usual = (total * std::f64::consts::SQRT_2 / COLUMN_WIDTH_ROWS).sqrt();
    let positions = flow_positions(diagram, |_| None);
    let mut tried: Vec<usize> = Vec::new();
    let mut found: Vec<Plan> = Vec::new();
    for factor in [0.75, 1.0, 1.35, 1.8, 2.4] {
        let columns = (usual * factor).round().max(1.0);
        if tried.contains(&(columns as usize)) {
            continue;
        }
        tried.push(columns as usize);
        for slack in [SLACK, 0.0] {
            let plan = plan(diagram, &heights, &positions, (total / columns).max(1.0), slack);
            if !found.contains(&plan) {
                found.push(plan);
            }
        }
    }
    found
}

/// Bays from left to right, each with its places from the top.
type Bays = Vec<Vec<usize>>;

fn plan(diagram: &Diagram, heights: &[f64], positions: &[f64], column_height: f64, slack: f64) -> Plan {
    let places = diagram.places.len();
    let mut place_height = vec![0.0; places];
    for (part, height) in diagram.parts.iter().zip(heights) {
        place_height[part.place] += height;
    }
    let order = places_by_flow(diagram, positions);
    let columns_of: Vec<usize> = place_height.iter().map(|h| ((h / column_height).round() as usize).max(1)).collect();
    let measures = Measures { place_height: &place_height, columns_of: &columns_of, room: column_height * slack };
    let bays = match diagram.in_order {
        true => (0..places).filter(|place| order.contains(place)).map(|place| vec![place]).collect(),
        false => improved(diagram, measures.first_bays(&order), |bays| measures.price(diagram, bays)),
    };
    let mut stacks = Vec::new();
    let mut first_column = vec![0; places];
    for bay in &bays {
        let wide = bay.iter().map(|&p| columns_of[p]).max().unwrap_or(1);
        for &place in bay {
            first_column[place] = stacks.len();
        }
        stacks.extend(std::iter::repeat_n(bay.clone(), wide));
    }
    let mut column_of: Vec<usize> = diagram.parts.iter().map(|part| first_column[part.place]).collect();
    let middle = |place: usize| first_column[place] as f64 + (columns_of[place] - 1) as f64 / 2.0;
    for place in (0..places).filter(|&p| columns_of[p] > 1) {
        let fixed = |part: usize| (diagram.parts[part].place != place).then(|| middle(diagram.parts[part].place));
        let positions = flow_positions(diagram, fixed);
        let mut here: Vec<usize> = (0..diagram.parts.len()).filter(|&p| diagram.parts[p].place == place).collect();
        here.sort_by(|&a, &b| positions[a].total_cmp(&positions[b]).then(a.cmp(&b)));
        let share = place_height[place] / columns_of[place] as f64;
        let mut filled = 0.0;
        for part in here {
            let column = ((filled + heights[part] / 2.0) / share) as usize;
            column_of[part] = first_column[place] + column.min(columns_of[place] - 1);
            filled += heights[part];
        }
    }
    Plan { stacks, column_of }
}

/// Positions from left to right. Each part lies at the mean of the parts that it is wired to; sources are held at 0 and
/// sinks at 1, or parts where `fixed` holds them. A weak pull keeps places in the order of the spec.
fn flow_positions(diagram: &Diagram, fixed: impl Fn(usize) -> Option<f64>) -> Vec<f64> {
    const ROUNDS: usize = 60;
    const LIST_WEIGHT: f64 = 0.25;
    let last = (diagram.places.len().max(2) - 1) as f64;
    let own = |part: usize| match (fixed(part), diagram.parts[part].flow) {
        (Some(x), _) => Some(x),
        (None, Flow::Source) => Some(0.0),
        (None, Flow::Sink) => Some(1.0),
        (None, Flow::Between) => None,
    };
    let held: Vec<Option<f64>> = (0..diagram.parts.len()).map(own).collect();
    let hint: Vec<f64> = diagram.parts.iter().map(|part| part.place as f64 / last).collect();
    let mut positions: Vec<f64> = held.iter().zip(&hint).map(|(held, hint)| held.unwrap_or(*hint)).collect();
    for _ in 0..ROUNDS {
        let mut sum: Vec<(f64, f64)> = hint.iter().map(|hint| (hint * LIST_WEIGHT, LIST_WEIGHT)).collect();
        for wire in &diagram.wires {
            let [a, b] = wire.ends.map(|end| end.part);
            for (here, there) in [(a, b), (b, a)] {
                sum[here].0 += positions[there];
                sum[here].1 += 1.0;
            }
        }
        for (part, (total, weight)) in sum.into_iter().enumerate() {
            positions[part] = held[part].unwrap_or(total / weight);
        }
    }
    positions
}

fn places_by_flow(diagram: &Diagram, positions: &[f64]) -> Vec<usize> {
    let mut sums = vec![(0.0, 0.0); diagram.places.len()];
    for (part, x) in diagram.parts.iter().zip(positions).filter(|(part, _)| part.form != PartShape::Ground) {
        sums[part.place].0 += x;
        sums[part.place].1 += 1.0;
    }
    let mean = |place: usize| if sums[place].1 > 0.0 { sums[place].0 / sums[place].1 } else { 0.5 };
    let mut order: Vec<usize> = (0..diagram.places.len()).collect();
    order.sort_by(|&a, &b| mean(a).total_cmp(&mean(b)).then(a.cmp(&b)));
    order.retain(|&place| diagram.parts.iter().any(|part| part.place == place));
    order
}

struct Measures<'a> {
    place_height: &'a [f64],
    columns_of: &'a [usize],
    /// Height to which places may be stacked.
    room: f64,
}

impl Measures<'_> {
    /// Fills bays from the left in the given order.
    fn first_bays(&self, order: &[usize]) -> Bays {
        let mut bays: Bays = Vec::new();
        let mut filled = f64::INFINITY;
        for &place in order {
            let height = self.place_height[place] / self.columns_of[place] as f64;
            match bays.last_mut() {
                Some(bay) if self.columns_of[bay[0]] == self.columns_of[place] && filled + height <= self.room => {
                    bay.push(place);
                    filled += height;
                }
                _ => {
                    bays.push(vec![place]);
                    filled = height;
                }
            }
        }
        bays
    }

    /// Columns between the ends of all wires, plus a price for bays that are too high and for every column.
    fn price(&self, diagram: &Diagram, bays: &Bays) -> f64 {
        const OVERFULL: f64 = 40.0;
        const COLUMN: f64 = 3.0;
        const UNEVEN: f64 = 4.0;
        const FLOW: f64 = 12.0;
        let mut middle = vec![0.0; diagram.places.len()];
        let (mut column, mut price) = (0.0, 0.0);
        for bay in bays {
            let wide = bay.iter().map(|&p| self.columns_of[p]).max().unwrap_or(1) as f64;
            let height: f64 = bay.iter().map(|&p| self.place_height[p] / self.columns_of[p] as f64).sum();
            let over = if bay.len() > 1 { height / self.room.max(1.0) - 1.0 } else { 0.0 };
            price += OVERFULL * over.max(0.0) + COLUMN * wide;
            for &place in bay {
                middle[place] = column + wide / 2.0;
                price += UNEVEN * (wide - self.columns_of[place] as f64);
            }
            column += wide;
        }
        for wire in &diagram.wires {
            let [a, b] = wire.ends.map(|end| diagram.parts[end.part].place);
            price += (middle[a] - middle[b]).abs();
        }
        for part in &diagram.parts {
            let place = middle[part.place] / column.max(1.0);
            price += match part.flow {
                Flow::Source => FLOW * place,
                Flow::Sink => FLOW * (1.0 - place),
                Flow::Between => 0.0,
            };
        }
        price
    }
}

/// Moves single places into other bays, or bays of their own, while that lowers the price.
fn improved(diagram: &Diagram, mut bays: Bays, price: impl Fn(&Bays) -> f64) -> Bays {
    const ROUNDS: usize = 6;
    let mut best = price(&bays);
    for _ in 0..ROUNDS {
        let before = best;
        for place in 0..diagram.places.len() {
            let mut without = bays.clone();
            without.iter_mut().for_each(|bay| bay.retain(|&p| p != place));
            if without == bays {
                continue;
            }
            without.retain(|bay| !bay.is_empty());
            for bay in 0..=without.len() {
                let mut alone = without.clone();
                alone.insert(bay, vec![place]);
                let stacked = without.get(bay).map(|_| {
                    let mut stacked = without.clone();
                    stacked[bay].push(place);
                    stacked
                });
                for other in std::iter::once(alone).chain(stacked) {
                    let now = price(&other);
                    if now < best - 1e-9 {
                        (bays, best) = (other, now);
                    }
                }
            }
        }
        if best >= before {
            break;
        }
    }
    bays
}
