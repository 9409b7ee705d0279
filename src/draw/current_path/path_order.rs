//! The paths in an order that keeps together what belongs together: a coil near its contacts, the end of a path near
//! where it goes on, and that to the right of it.

use super::forest::{Edge, End, Root, Start, Stem, Target, Top};
use super::pieces::{PieceId, Pieces, Shape};
use model::PinId;

/// Rounds over all paths.
const ROUNDS: usize = 4;
/// More paths than this stay in the order in which they were followed: the search would take longer than the drawing.
const MOST: usize = 160;
/// How much a relay's coil and a contact of it belong together, and a path and where it goes on.
const RELAY: usize = 6;
const FLAG: usize = 2;
/// How much more a path costs that goes on further left than a path that goes on to the right.
const BACKWARDS: usize = 2;
/// Up to this many columns each costs more: what is further away stands on another sheet, wherever that is.
const NEAR: usize = 10;
/// How much more.
const MORE: usize = 3;

/// Neighbours that move together at most, and the number of paths up to which they do: paths that belong together stay
/// where they are if only one at a time may leave.
const LONGEST_RUN: usize = 8;
/// See [`LONGEST_RUN`].
const MOST_IN_RUNS: usize = 80;

/// From the order in which the paths were followed, a path or a run of neighbours at a time moves to where all links
/// together are shortest.
pub(super) fn sorted(roots: Vec<Root>, pieces: &Pieces) -> Vec<Root> {
    let count = roots.len();
    if !(3..=MOST).contains(&count) {
        return roots;
    }
    let links = links(&roots, pieces);
    let widths: Vec<usize> = roots.iter().map(|root| root.stem.columns()).collect();
    let cost = |order: &[usize]| {
        let (mut at, mut column) = (vec![0; count], 0);
        for &root in order {
            at[root] = column;
            column += widths[root];
        }
        links.iter().map(|link| link.cost(&at)).sum::<usize>()
    };
    let mut order: Vec<usize> = (0..count).collect();
    let mut least = cost(&order);
    let longest = if count <= MOST_IN_RUNS { LONGEST_RUN } else { 1 };
    for _ in 0..ROUNDS {
        let before = least;
        for (root, length) in (0..count).flat_map(|root| (1..=longest).map(move |length| (root, length))) {
            let Some(from) = order.iter().position(|&other| other == root) else { continue };
            if from + length > count {
                continue;
            }
            let mut best = None;
            for to in (0..=count - length).filter(|&to| to != from) {
                let mut tried = order.clone();
                let run: Vec<usize> = tried.drain(from..from + length).collect();
                tried.splice(to..to, run);
                let price = cost(&tried);
                if price < least {
                    (least, best) = (price, Some(tried));
                }
            }
            order = best.unwrap_or(order);
        }
        if least == before {
            break;
        }
    }
    let mut roots: Vec<Option<Root>> = roots.into_iter().map(Some).collect();
    order.into_iter().filter_map(|root| roots[root].take()).collect()
}

/// Two columns that belong together: path and column within it.
struct Link {
    ends: [(usize, usize); 2],
    weight: usize,
    /// Whether the second should be to the right of the first.
    directed: bool,
}

impl Link {
    fn cost(&self, at: &[usize]) -> usize {
        let [a, b] = self.ends.map(|(root, column)| at[root] + column);
        let backwards = if self.directed && b < a { BACKWARDS } else { 1 };
        let far = a.abs_diff(b);
        self.weight * (far + MORE * far.min(NEAR)) * backwards
    }
}

fn links(roots: &[Root], pieces: &Pieces) -> Vec<Link> {
    let contents: Vec<Content> = roots.iter().map(Content::of).collect();
    let mut links = Vec::new();
    for (a, from) in contents.iter().enumerate() {
        for (b, to) in contents.iter().enumerate().filter(|(b, _)| *b != a) {
            for &(pin, column) in &from.flags {
                if let Some(&(_, there)) = to.nodes.iter().find(|(node, _)| *node == pin) {
                    links.push(Link { ends: [(a, column), (b, there)], weight: FLAG, directed: true });
                }
            }
            for &(coil, column) in &from.pieces {
                let relay = Some(pieces.get(coil)).filter(|p| matches!(p.shape, Shape::Coil(_))).and_then(|p| p.relay);
                let Some(relay) = relay else { continue };
                let contacts = to.pieces.iter().filter(|(piece, _)| {
                    let piece = pieces.get(*piece);
                    matches!(piece.shape, Shape::Contact) && piece.relay == Some(relay)
                });
                links.extend(contacts.map(|&(_, there)| Link {
                    ends: [(a, column), (b, there)],
                    weight: RELAY,
                    directed: false,
                }));
            }
        }
    }
    links
}

/// What stands on a path, each with about its column: pieces, pins whose wires come together, pins that flags point to.
#[derive(Debug, Default)]
struct Content {
    pieces: Vec<(PieceId, usize)>,
    nodes: Vec<(PinId, usize)>,
    flags: Vec<(PinId, usize)>,
}

impl Content {
    fn of(root: &Root) -> Self {
        let mut content = Self::default();
        if let Start::Cut { pin, .. } | Start::Loose(pin) | Start::Rail(pin) = root.start {
            content.nodes.push((pin, 0));
        }
        content.add(&root.stem, 0);
        content
    }

    fn add(&mut self, stem: &Stem, column: usize) {
        let own = stem.steps.len() - usize::from(matches!(stem.end, End::Flag(_)) && !stem.steps.is_empty());
        self.nodes.extend(stem.steps[..own].iter().map(|step| (step.lower, column)));
        self.pieces.extend(stem.steps.iter().filter_map(|step| match step.edge {
            Edge::Piece(piece) => Some((piece, column)),
            _ => None,
        }));
        let mut next = column;
        match &stem.end {
            End::Flag(Target::Pin(pin) | Target::Piece(_, pin)) => self.flags.push((*pin, column)),
            End::Bar(bar) => {
                self.nodes.push((bar.pin, column));
                for stem in &bar.downs {
                    self.add(stem, next);
                    next += stem.columns();
                }
                self.tops(&bar.tops, next.max(column + 1));
            }
            End::Many(many) => {
                self.pieces.push((many.piece, column));
                for (pin, tops) in &many.uppers {
                    self.nodes.push((*pin, next));
                    self.tops(tops, next);
                    next += tops.len().max(1);
                }
                next = column;
                for (pin, stem) in &many.lowers {
                    self.nodes.push((*pin, next));
                    self.add(stem, next);
                    next += stem.columns();
                }
            }
            End::Ground(_) | End::Vehicle(_) | End::Open(_) => {}
        }
    }

    fn tops(&mut self, tops: &[Top], first: usize) {
        for (i, top) in tops.iter().enumerate() {
            if let Top::Rise { steps, .. } = top {
                let pieces = steps.iter().filter_map(|s| if let Edge::Piece(p) = s.edge { Some(p) } else { None });
                self.pieces.extend(pieces.map(|piece| (piece, first + i)));
            }
        }
    }
}
