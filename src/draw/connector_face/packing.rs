//! Connectors on pages: in the order of the spec, row by row, on as few pages as hold them. A row holds one connector over
//! the whole width, or two side by side.

use super::{Drawn, GAP, ROW_GAP};
use kit::geometry::{Point, Size};

/// How the two views of a narrow connector stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stack {
    /// One below the other.
    Down,
    /// One beside the other.
    Across,
}

impl Stack {
    /// Both ways.
    pub(super) const BOTH: [Self; 2] = [Self::Down, Self::Across];
}

/// Where a connector stands on its page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    /// Which connector.
    pub index: usize,
    /// Its top left corner.
    pub at: Point,
    /// For one of two in a row: which of the narrow drawings.
    pub narrow: Option<usize>,
}

/// How far a layout of the first connectors reaches, and its last row.
#[derive(Debug, Clone, Copy)]
struct Reach {
    pages: usize,
    bottom: f64,
    /// Top of the last row, how many connectors are in it, and which narrow drawing they use.
    top: f64,
    count: usize,
    narrow: Option<usize>,
}

/// The places of all connectors, page by page: two in a row where both are narrow enough and that saves a page; what
/// stands on a page stands over its whole width if the page has room for that.
pub(super) fn pages(wide: &[[Option<Drawn>; 1]], narrow: &[[Option<Drawn>; 2]], room: Size) -> Vec<Vec<Spot>> {
    let height = |drawn: &Option<Drawn>| drawn.as_ref().map(|(_, size)| size.height);
    let one = |i: usize| height(&wide[i][0]);
    let two = |i: usize, stack: usize| Some(height(&narrow[i][stack])?.max(height(&narrow[i + 1][stack])?));
    let paired = spots(&reach(wide.len(), room.height, one, two), room);
    let of_page = |page: Vec<Spot>| {
        let first = page.first().map_or(0, |spot| spot.index);
        let single = reach(page.len(), room.height, |i| one(first + i), |_, _| None);
        let mut alone = spots(&single, room);
        if alone.len() > 1 {
            return page;
        }
        alone.iter_mut().flatten().for_each(|spot| spot.index += first);
        alone.pop().unwrap_or_default()
    };
    paired.into_iter().map(of_page).collect()
}

fn last(reach: &[Reach]) -> usize {
    reach.last().map_or(0, |reach| reach.pages)
}

/// For each number of connectors, the layout of the first ones on the fewest pages, and of these the shortest.
fn reach(
    count: usize,
    room: f64,
    one: impl Fn(usize) -> Option<f64>,
    two: impl Fn(usize, usize) -> Option<f64>,
) -> Vec<Reach> {
    let mut all = vec![Reach { pages: 1, bottom: 0.0, top: 0.0, count: 0, narrow: None }];
    for done in 1..=count {
        let after = |back: usize, height: f64, narrow: Option<usize>| {
            let before: &Reach = &all[done - back];
            let top = if before.bottom > 0.0 { before.bottom + ROW_GAP } else { 0.0 };
            let fits = top == 0.0 || top + height <= room;
            let (pages, top) = if fits { (before.pages, top) } else { (before.pages + 1, 0.0) };
            Reach { pages, bottom: top + height, top, count: back, narrow }
        };
        let mut found = vec![after(1, one(done - 1).unwrap_or_default(), None)];
        for stack in 0..Stack::BOTH.len() {
            // Two that are taller than a page are no row.
            if let Some(height) = (done >= 2).then(|| two(done - 2, stack)).flatten().filter(|height| *height <= room) {
                found.push(after(2, height, Some(stack)));
            }
        }
        let shortest = found.into_iter().min_by(|a, b| a.pages.cmp(&b.pages).then(a.bottom.total_cmp(&b.bottom)));
        all.extend(shortest);
    }
    all
}

/// Reads the rows back from the last one.
fn spots(reach: &[Reach], room: Size) -> Vec<Vec<Spot>> {
    let mut pages: Vec<Vec<Spot>> = vec![Vec::new(); last(reach)];
    let mut done = reach.len() - 1;
    while done > 0 {
        let row = reach[done];
        done -= row.count;
        for i in 0..row.count {
            let at = Point::new((room.width + GAP) / 2.0 * i as f64, row.top);
            pages[row.pages - 1].push(Spot { index: done + i, at, narrow: row.narrow });
        }
    }
    pages.iter_mut().for_each(|page| page.sort_by_key(|spot| spot.index));
    pages
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_in_a_row_where_that_saves_a_page_and_in_order() {
        let drawn = |height: f64| Some((Default::default(), Size::new(80.0, height)));
        let room = Size::new(180.0, 240.0);
        let wide = |heights: &[f64]| heights.iter().map(|h| [drawn(*h)]).collect::<Vec<_>>();
        let narrow = |heights: &[f64]| heights.iter().map(|h| [drawn(*h), None]).collect::<Vec<_>>();
        let four = pages(&wide(&[90.0; 4]), &narrow(&[110.0; 4]), room);
        assert_eq!(four.iter().map(Vec::len).collect::<Vec<_>>(), [4]);
        assert_eq!(four[0].iter().map(|spot| spot.index).collect::<Vec<_>>(), [0, 1, 2, 3]);
        let two = pages(&wide(&[90.0; 2]), &narrow(&[80.0; 2]), room);
        assert!(two[0].iter().all(|spot| spot.narrow.is_none()), "large where there is room");
        let tall = pages(&wide(&[300.0, 90.0]), &narrow(&[400.0, 400.0]), room);
        assert_eq!(tall.len(), 2);
    }
}
