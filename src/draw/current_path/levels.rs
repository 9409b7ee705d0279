//! How far down bars, boxes and contacts stand: below all that comes to them from above, and clear of lines overhead.

use super::forest::{Edge, End, Step, Top};
use super::pieces::PieceId;
use super::spacing;
use model::PinId;
use std::collections::BTreeMap;

/// What a least height is for: the bar of a pin, or a piece with several pins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Node {
    Bar(PinId),
    Piece(PieceId),
}

/// Bars and boxes that stand lower than they need to, so that a line from elsewhere reaches them from above.
pub(super) type Least = BTreeMap<Node, f64>;

/// Finds heights while paths are placed.
pub(super) struct Levels<'m> {
    least: &'m Least,
    /// Levels of the lines that will go on to the right, over columns yet to come.
    pub overhead: Vec<f64>,
}

impl<'m> Levels<'m> {
    pub fn new(least: &'m Least) -> Self {
        Self { least, overhead: Vec::new() }
    }

    /// The height of an end: no higher than `natural`, far enough down for all that comes to it from above, and so that
    /// no line overhead runs through a symbol on a path that comes straight from a rail.
    pub fn level(&self, end: &End, natural: f64) -> f64 {
        let tops: Vec<(&Top, f64)> = match end {
            End::Bar(bar) => bar.tops.iter().map(|t| (t, 0.0)).collect(),
            End::Many(many) => {
                let several = |tops: &[Top]| if tops.len() > 1 { spacing::SHORT } else { 0.0 };
                many.uppers.iter().flat_map(|(_, tops)| tops.iter().map(move |t| (t, several(tops)))).collect()
            }
            _ => Vec::new(),
        };
        let node = match end {
            End::Bar(bar) => Some(Node::Bar(bar.pin)),
            End::Many(many) => Some(Node::Piece(many.piece)),
            _ => None,
        };
        let least = node.and_then(|node| self.least.get(&node)).copied().unwrap_or(0.0);
        let mut y = tops.iter().map(|(t, more)| spacing::rise(t) + more).fold(natural.max(least), f64::max);
        let clear = |top: f64, bottom: f64| !self.overhead.iter().any(|&line| top < line && line < bottom);
        let free = |y: f64, labels: bool| {
            tops.iter().all(|(top, more)| match top {
                Top::Rise { steps, .. } => {
                    let foot = y - more - spacing::below(steps);
                    self.stretched_for(steps, foot, labels).is_some() && clear(foot - 2.0, y + 0.5)
                }
                Top::Stub { .. } => clear(y - more - spacing::rise(top), y + 0.5),
                Top::Arrival => true,
            })
        };
        let tries = || (0..12).map(|i| y + spacing::SHORT * f64::from(i));
        let found = [true, false].into_iter().find_map(|labels| tries().find(|&y| free(y, labels)));
        if let Some(found) = found {
            y = found;
        }
        y
    }

    /// Whether lines overhead leave a wire room for its label, above or below them.
    fn has_label_room(&self, top: f64, bottom: f64) -> bool {
        let mut lines: Vec<f64> = self.overhead.iter().copied().filter(|line| (top..bottom).contains(line)).collect();
        lines.push(bottom - spacing::NAME);
        lines.sort_by(f64::total_cmp);
        let starts = std::iter::once(top).chain(lines.iter().copied());
        starts.zip(&lines).any(|(start, end)| end - start >= spacing::LABEL)
    }

    /// Which wire of a path from a rail must be stretched so that it ends at `y` and no line overhead runs through a
    /// symbol or a wire's label: the last wire with which that works.
    pub fn stretched(&self, steps: &[Step], y: f64) -> Option<usize> {
        // Rather over a label than through a symbol.
        [true, false].into_iter().find_map(|labels| self.stretched_for(steps, y, labels))
    }

    fn stretched_for(&self, steps: &[Step], y: f64, labels: bool) -> Option<usize> {
        let extra = y - steps.iter().map(|s| spacing::height(s.edge)).sum::<f64>();
        let wires = (0..steps.len()).rev().filter(|&i| matches!(steps[i].edge, Edge::Wire(_)));
        wires.into_iter().find(|&long| {
            let mut top = 0.0;
            steps.iter().enumerate().all(|(i, step)| {
                let bottom = top + spacing::height(step.edge) + if i == long { extra } else { 0.0 };
                let hit = match step.edge {
                    Edge::Wire(_) => labels && !self.has_label_room(top, bottom),
                    _ => self.overhead.iter().any(|&line| top - 1.5 < line && line < bottom + 1.5),
                };
                top = bottom;
                !hit
            })
        })
    }
}
