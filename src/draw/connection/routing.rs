//! Channel routing: which vertical track each strand of a channel takes, so that no two ever run on top of each other
//! and few cross.
//!
//! A strand that is not level leaves the left or right edge in its row, turns into a vertical track, and leaves that in
//! the row of its other end. Two strands that come from opposite edges in the same row must have their tracks in that
//! order, or they would meet; a ring of such demands is broken by a *jog*, a second track joined in a free row
//! (the dogleg of D. Deutsch, *A Dogleg Channel Router*, 1976). Among the orders that are left one with few crossings
//! is taken, then tracks are packed from the left (A. Hashimoto, J. Stevens, *Wire Routing by Optimizing Channel
//! Assignment*, 1971).

use super::ordering::{LEFT, RIGHT};

/// A strand between two spots of a channel, each an edge ([`LEFT`] or [`RIGHT`]) and a row.
#[derive(Debug, Clone, Copy)]
pub(super) struct Strand {
    pub ends: [(usize, i64); 2],
}

/// How a strand runs through its channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Course {
    /// Level from edge to edge.
    Level,
    /// By one track.
    Track(usize),
    /// From its left end by the first track to the row, by the second to its right end.
    Jog(usize, i64, usize),
}

/// The courses of all strands of a channel, in their order, and how many tracks there are.
pub(super) fn courses(strands: &[Strand]) -> (Vec<Course>, usize) {
    let mut pieces: Vec<Piece> = strands
        .iter()
        .enumerate()
        .filter(|(_, s)| !(s.ends[0].0 != s.ends[1].0 && s.ends[0].1 == s.ends[1].1))
        .map(|(strand, s)| Piece { strand, ends: s.ends, jog: false })
        .collect();
    let mut taken: Vec<i64> = strands.iter().flat_map(|s| s.ends.map(|(_, row)| row)).collect();
    while let Some(index) = in_ring(&pieces) {
        let [(_, left), (_, right)] = by_edge(pieces[index].ends);
        let row = free_row(left, right, &taken);
        taken.push(row);
        let strand = pieces[index].strand;
        pieces[index] = Piece { strand, ends: [(LEFT, left), (RIGHT, row)], jog: true };
        pieces.push(Piece { strand, ends: [(LEFT, row), (RIGHT, right)], jog: true });
    }
    let order = ordered(&pieces);
    let (tracks, count) = packed(&pieces, &order);
    let mut courses = vec![Course::Level; strands.len()];
    for (piece, &track) in pieces.iter().zip(&tracks) {
        courses[piece.strand] = match courses[piece.strand] {
            // The piece with the left end comes first in the list; its other end is the jog's row.
            Course::Track(first) => Course::Jog(first, piece.ends[0].1, track),
            _ => Course::Track(track),
        };
    }
    (courses, count)
}

/// A strand, or one half of a strand with a jog.
#[derive(Debug, Clone, Copy)]
struct Piece {
    strand: usize,
    ends: [(usize, i64); 2],
    jog: bool,
}

fn by_edge(ends: [(usize, i64); 2]) -> [(usize, i64); 2] {
    if ends[0].0 == RIGHT { [ends[1], ends[0]] } else { ends }
}

impl Piece {
    fn rows(&self) -> (i64, i64) {
        let [(_, a), (_, b)] = self.ends;
        (a.min(b), a.max(b))
    }
    fn has_end(&self, edge: usize, row: i64) -> bool {
        self.ends.contains(&(edge, row))
    }
    /// Whether this must lie left of the other: it leaves the left edge in a row in which the other leaves the right
    /// edge, or they are the two halves of a strand.
    fn must_precede(&self, other: &Self) -> bool {
        self.ends.iter().any(|&(edge, row)| edge == LEFT && other.has_end(RIGHT, row) && !self.is_jog_of(other))
            || (self.is_jog_of(other) && self.ends[1].1 == other.ends[0].1)
    }
    fn is_jog_of(&self, other: &Self) -> bool {
        self.jog && other.jog && self.strand == other.strand
    }
    /// Crossings of the two when this lies left of the other.
    fn crossings_before(&self, other: &Self) -> i64 {
        if self.is_jog_of(other) {
            return 0;
        }
        let ends_within = |piece: &Self, edge: usize, (low, high): (i64, i64)| {
            piece.ends.iter().filter(|&&(e, row)| e == edge && low < row && row < high).count() as i64
        };
        ends_within(self, RIGHT, other.rows()) + ends_within(other, LEFT, self.rows())
    }
    fn may_share_track(&self, other: &Self) -> bool {
        let (a, b) = (self.rows(), other.rows());
        a.1 < b.0 || b.1 < a.0
    }
}

/// A piece on a ring of pieces that each must lie left of the next, the shortest strand on it.
fn in_ring(pieces: &[Piece]) -> Option<usize> {
    let next: Vec<Vec<usize>> = pieces
        .iter()
        .map(|a| (0..pieces.len()).filter(|&b| pieces[b].strand != a.strand && a.must_precede(&pieces[b])).collect())
        .collect();
    // Pieces that can be taken away from either end of the order are on no ring.
    let mut alive = vec![true; pieces.len()];
    loop {
        let before = alive.iter().filter(|a| **a).count();
        for i in 0..pieces.len() {
            let goes_on = next[i].iter().any(|&j| alive[j]);
            let is_reached = (0..pieces.len()).any(|j| alive[j] && next[j].contains(&i));
            alive[i] &= goes_on && is_reached;
        }
        if alive.iter().filter(|a| **a).count() == before {
            break;
        }
    }
    let length = |i: &usize| pieces[*i].rows().1 - pieces[*i].rows().0;
    (0..pieces.len()).filter(|&i| alive[i] && !pieces[i].jog).min_by_key(length)
}

/// The row nearest to the middle between two rows in which nothing leaves either edge.
fn free_row(a: i64, b: i64, taken: &[i64]) -> i64 {
    let middle = (a + b).div_euclid(2);
    // OK because only finitely many rows are taken, some row at a distance below their number plus one is free.
    (0..=taken.len() as i64).flat_map(|d| [middle - d, middle + d]).find(|row| !taken.contains(row)).unwrap_or(middle)
}

/// The pieces from left to right: taken greedily by how many crossings it saves to have them before the rest, then
/// sifted.
fn ordered(pieces: &[Piece]) -> Vec<usize> {
    let n = pieces.len();
    let saves = |a: usize, b: usize| pieces[b].crossings_before(&pieces[a]) - pieces[a].crossings_before(&pieces[b]);
    let matrix: Vec<Vec<i64>> = (0..n).map(|a| (0..n).map(|b| saves(a, b)).collect()).collect();
    let must: Vec<Vec<bool>> =
        (0..n).map(|a| (0..n).map(|b| a != b && pieces[a].must_precede(&pieces[b])).collect()).collect();
    let mut waiting: Vec<usize> = (0..n).map(|b| (0..n).filter(|&a| must[a][b]).count()).collect();
    let mut gain: Vec<i64> = matrix.iter().map(|row| row.iter().sum()).collect();
    let mut left: Vec<usize> = (0..n).collect();
    let mut order: Vec<usize> = Vec::with_capacity(n);
    while let Some(at) =
        (0..left.len()).min_by_key(|&i| (waiting[left[i]], -gain[left[i]], pieces[left[i]].rows(), left[i]))
    {
        let taken = left.remove(at);
        for &other in &left {
            gain[other] -= matrix[other][taken];
            waiting[other] -= usize::from(must[taken][other]);
        }
        order.push(taken);
    }
    const ROUNDS: usize = 4;
    for _ in 0..ROUNDS {
        let moved = (0..n).filter(|&piece| sift(piece, &mut order, &matrix, &must)).count();
        if moved == 0 {
            break;
        }
    }
    order
}

/// Moves a piece to where it saves most, as far as it may go.
fn sift(piece: usize, order: &mut Vec<usize>, saves: &[Vec<i64>], must: &[Vec<bool>]) -> bool {
    let Some(start) = order.iter().position(|&p| p == piece) else { return false };
    let (mut best, mut to, mut sum) = (0, start, 0);
    for at in (0..start).rev() {
        let other = order[at];
        if must[other][piece] {
            break;
        }
        sum += saves[piece][other];
        if sum > best {
            (best, to) = (sum, at);
        }
    }
    sum = 0;
    for (at, &other) in order.iter().enumerate().skip(start + 1) {
        if must[piece][other] {
            break;
        }
        sum += saves[other][piece];
        if sum > best {
            (best, to) = (sum, at);
        }
    }
    order.remove(start);
    order.insert(to, piece);
    to != start
}

/// The leftmost tracks that keep the order between pieces that would otherwise touch or cross.
fn packed(pieces: &[Piece], order: &[usize]) -> (Vec<usize>, usize) {
    let mut tracks = vec![0; pieces.len()];
    let mut count = 0;
    for (i, &piece) in order.iter().enumerate() {
        let (p, mut track) = (&pieces[piece], 0);
        for &before in &order[..i] {
            let b = &pieces[before];
            if b.must_precede(p) || !b.may_share_track(p) {
                track = track.max(tracks[before] + 1);
            }
        }
        tracks[piece] = track;
        count = count.max(track + 1);
    }
    (tracks, count)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn strand(left: i64, right: i64) -> Strand {
        Strand { ends: [(LEFT, left), (RIGHT, right)] }
    }

    #[test]
    fn level_strands_take_no_track() {
        assert_eq!(courses(&[strand(3, 3), strand(5, 5)]), (vec![Course::Level, Course::Level], 0));
    }

    #[test]
    fn parallel_steps_nest_without_crossing() {
        // Three wires stepping down together: the lowest must turn first.
        let (found, count) = courses(&[strand(0, 6), strand(2, 8), strand(4, 10)]);
        assert_eq!(count, 3);
        assert_eq!(found, [Course::Track(2), Course::Track(1), Course::Track(0)]);
    }

    #[test]
    fn a_ring_is_broken_by_a_jog() {
        let (found, _) = courses(&[strand(5, 3), strand(3, 5)]);
        let jogs = found.iter().filter(|c| matches!(c, Course::Jog(_, 4, _))).count();
        assert_eq!(jogs, 1, "{found:?}");
        let (Course::Jog(first, _, second), Course::Track(other)) = (found[0], found[1]) else { panic!("{found:?}") };
        assert!(first < other && other < second);
    }

    #[test]
    fn strands_apart_share_a_track() {
        assert_eq!(courses(&[strand(0, 2), strand(6, 9)]).1, 1);
    }
}
