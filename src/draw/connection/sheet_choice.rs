//! How many sheets of a paper a diagram takes, and which parts are on each. Several partitions are laid out roughly; the
//! cheapest to read is taken.

use super::diagram::Diagram;
use super::on_paper::{WANTED_SCALE, fits};
use super::ordering::ColumnOrder;
use super::partition::{Groups, Share, zone_room};
use super::placed::PlacedDiagram;
use super::row_positions::Care;
use super::{TRIES, composed, cost, place_columns, roughly, searched, sizes, threshold_search, within_paper};
use kit::sheet::{Paper, Sheet};
use std::cmp::Reverse;
use std::collections::BTreeMap;

/// Shares of the rows that a paper has in all its columns that a sheet may fill as its parts are gathered. Above the
/// first nothing fits; the others trade full sheets for roomy ones.
const FULL: f64 = 0.9;
/// See [`FULL`].
const FILLED: [f64; 2] = [0.36, 0.26];
/// The same where nothing of that fits.
const SPARSE: [f64; 3] = [0.2, 0.12, 0.0];
/// Plans with more columns than this are not tried: few are narrow enough for a sheet.
const MOST_COLUMNS: usize = 5;
/// The same for a sheet that others are joined to: above it hardly any fits.
const JOINED: f64 = 0.6;
/// Sheets that parts are tried on, those that most wires join them to.
const MOST_HOSTS: usize = 3;
/// Pairs of sheets that are tried before one is shared out over the others.
const MOST_JOINED: usize = 4;
/// Fitting plans that are compared, the likeliest first.
const ROUGH_PLANS: usize = 2;
/// Price of a sheet, and of a wire that goes on to another, beside what each drawing costs to read.
const SHEET: f64 = 600.0;
/// See [`SHEET`].
const CUT: f64 = 8.0;

/// Most partitions that are tried when a sheet that fitted roughly does not fit when it is worked out.
const CHOICES: usize = 6;

/// A sheet: what it shows, and how that is laid out.
pub struct LaidSheet {
    /// What it shows.
    pub share: Share,
    /// In which order; `None` if it shows nothing.
    pub(super) order: Option<ColumnOrder<'static>>,
    /// Where everything is.
    pub placed: PlacedDiagram,
}

/// What each sheet of a paper with a note shows, and how it is laid out.
pub fn sheets(diagram: &Diagram, paper: Paper, note: &str) -> Vec<LaidSheet> {
    let mut choice = Choice { diagram, paper, note, known: BTreeMap::new() };
    let mut laid: Vec<LaidSheet> = Vec::new();
    for _ in 0..CHOICES {
        let groups = choice.groups();
        let shares = groups.shares(diagram);
        let found = threads::each(&shares, |share| {
            within_paper(&share.diagram, paper, note).map(|(order, placed)| (order.kept(), placed))
        });
        let with_share = |(share, found): (Share, Option<(ColumnOrder<'static>, PlacedDiagram)>)| {
            let (order, placed) = found.unzip();
            LaidSheet { share, order, placed: placed.unwrap_or_default() }
        };
        laid = shares.into_iter().zip(found).map(with_share).collect();
        let fit = laid.iter().map(|LaidSheet { share, placed, .. }| {
            share.diagram.parts.len() <= 1 || fits(&share.diagram, placed, paper, note)
        });
        let too_large: Vec<usize> = fit.enumerate().filter(|(_, fits)| !fits).map(|(sheet, _)| sheet).collect();
        if too_large.is_empty() {
            break;
        }
        choice.known.extend(too_large.into_iter().map(|sheet| (Contents::of(diagram, &groups, sheet), None)));
    }
    laid
}

/// The rows of all columns together on a paper filled to its edges.
fn rows_on(paper: Paper) -> f64 {
    let field = Sheet::of(paper.lying()).field;
    let [width, height] = [field.width(), field.height()].map(|mm| mm / WANTED_SCALE / sizes::ROW);
    width / place_columns::COLUMN_WIDTH_ROWS * height
}

/// What decides how a sheet is laid out: all that its price depends on.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Contents {
    parts: Vec<usize>,
    /// Of a map, whose wires end in marks for other sheets: which of the parts that they lead to share a sheet, sheets
    /// counted as they come up.
    far: Vec<(usize, usize)>,
}

impl Contents {
    fn of(diagram: &Diagram, groups: &Groups, sheet: usize) -> Self {
        let parts = groups.groups[sheet].clone();
        let mut seen: Vec<usize> = Vec::new();
        let far = if diagram.in_order { groups.joined_to(diagram, sheet) } else { Vec::new() };
        let far = far.into_iter().map(|(part, sheet)| {
            let at = seen.iter().position(|&other| other == sheet).unwrap_or_else(|| {
                seen.push(sheet);
                seen.len() - 1
            });
            (part, at)
        });
        Self { far: far.collect(), parts }
    }
}

#[derive(Clone)]
struct Choice<'a> {
    diagram: &'a Diagram,
    paper: Paper,
    note: &'a str,
    /// What a sheet costs to read, roughly laid out; `None` if it does not fit the paper.
    known: BTreeMap<Contents, Option<f64>>,
}

impl Choice<'_> {
    /// The parts of each sheet.
    fn groups(&mut self) -> Groups {
        let whole = Groups::whole(self.diagram);
        if self.rows(&whole.groups[0]) < rows_on(self.paper) * FULL && self.price(&whole, 0).is_some() {
            return whole;
        }
        let found = threads::each(&FILLED, |filled| {
            let mut choice = self.clone();
            (choice.cheapest(*filled), choice.known)
        });
        let mut best: Option<(f64, Groups)> = None;
        for (found, known) in found {
            self.known.extend(known);
            best = best.into_iter().chain(found).min_by(|a, b| a.0.total_cmp(&b.0));
        }
        if let Some((_, groups)) = best {
            return self.settled(groups);
        }
        let sparse = SPARSE.into_iter().find_map(|filled| self.cheapest(filled));
        sparse.map_or_else(|| Groups::gathered(self.diagram, &|_| false), |(_, groups)| groups)
    }

    fn rows(&self, parts: &[usize]) -> f64 {
        parts.iter().map(|&part| sizes::rows_wanted(&self.diagram.parts[part])).sum::<i64>() as f64
    }

    /// Gathers sheets up to a share of the paper's rows, then puts the emptiest together, and keeps the cheapest of all
    /// that come up.
    fn cheapest(&mut self, filled: f64) -> Option<(f64, Groups)> {
        let mut best: Option<(f64, Groups)> = None;
        let room = rows_on(self.paper);
        let mut groups = Groups::gathered(self.diagram, &|parts| self.rows(parts) < room * filled);
        loop {
            if let Some(price) = self.total(&groups)
                && best.as_ref().is_none_or(|(least, _)| price < *least)
            {
                best = Some((price, groups.clone()));
            }
            let count = groups.groups.len();
            let mut pairs: Vec<(f64, usize, usize)> = (0..count)
                .flat_map(|a| (a + 1..count).map(move |b| (a, b)))
                .map(|(a, b)| (self.rows(&groups.groups[a]) + self.rows(&groups.groups[b]), a, b))
                .filter(|(rows, ..)| *rows < room * JOINED)
                .collect();
            pairs.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
            let joined = pairs.into_iter().map(|(_, a, b)| groups.joined(a, b));
            let fitting = joined.take(MOST_JOINED).find(|(joined, at)| self.price(joined, *at).is_some());
            match fitting.map(|(joined, _)| joined).or_else(|| self.dissolved(&groups)) {
                Some(fewer) => groups = fewer,
                None => return best,
            }
        }
    }

    /// The parts of the emptiest sheet shared out over the others, place by place; `None` if they find no room.
    fn dissolved(&mut self, groups: &Groups) -> Option<Groups> {
        let emptiest = (0..groups.groups.len())
            .min_by(|&a, &b| self.rows(&groups.groups[a]).total_cmp(&self.rows(&groups.groups[b])).then(a.cmp(&b)))?;
        let mut left = groups.clone();
        let mut loose = left.groups.remove(emptiest);
        while let Some(&first) = loose.first() {
            let place = |part: &usize| self.diagram.parts[*part].place;
            let (unit, rest): (Vec<usize>, Vec<usize>) =
                loose.into_iter().partition(|part| place(part) == place(&first));
            loose = rest;
            left = match self.added(&left, &unit) {
                Some(with) => with,
                // A place that fits nowhere is shared out itself.
                None => unit.iter().try_fold(left, |left, &part| self.added(&left, &[part]))?,
            };
        }
        Some(left.in_order(self.diagram))
    }

    /// Some parts on the sheet where they cost least; `None` if they fit nowhere.
    fn added(&mut self, groups: &Groups, parts: &[usize]) -> Option<Groups> {
        let mut found: Option<(f64, Groups)> = None;
        let room = rows_on(self.paper) * JOINED - self.rows(parts);
        let mut sheets: Vec<usize> =
            (0..groups.groups.len()).filter(|&sheet| self.rows(&groups.groups[sheet]) < room).collect();
        let joining = |sheet: &usize| Reverse(groups.wires_between(self.diagram, parts, *sheet));
        sheets.sort_by_key(joining);
        for sheet in sheets.into_iter().take(MOST_HOSTS) {
            let mut with = groups.clone();
            with.groups[sheet].extend(parts);
            with.groups[sheet].sort_unstable();
            let before = self.price(groups, sheet)?;
            if let Some(price) = self.price(&with, sheet) {
                let more = price - before + CUT * with.cuts(self.diagram) as f64;
                if found.as_ref().is_none_or(|(least, _)| more < *least) {
                    found = Some((more, with));
                }
            }
        }
        found.map(|(_, with)| with)
    }

    /// Parts that more wires join to another sheet than to their own go there, where that is cheaper.
    fn settled(&mut self, mut groups: Groups) -> Groups {
        for part in 0..self.diagram.parts.len() {
            let Some((here, there)) = groups.pulled(self.diagram, part) else { continue };
            let mut moved = groups.clone();
            moved.groups[here].retain(|&other| other != part);
            moved.groups[there].push(part);
            moved.groups[there].sort_unstable();
            if moved.groups[here].is_empty() {
                continue;
            }
            if let (Some(now), Some(then)) = (self.total(&groups), self.total(&moved))
                && then < now
            {
                groups = moved;
            }
        }
        groups.in_order(self.diagram)
    }

    /// What all sheets cost together; `None` if one does not fit.
    fn total(&mut self, groups: &Groups) -> Option<f64> {
        let mut price = SHEET * groups.groups.len() as f64 + CUT * groups.cuts(self.diagram) as f64;
        for sheet in 0..groups.groups.len() {
            price += self.price(groups, sheet)?;
        }
        Some(price)
    }

    fn price(&mut self, groups: &Groups, sheet: usize) -> Option<f64> {
        let contents = Contents::of(self.diagram, groups, sheet);
        if let Some(known) = self.known.get(&contents) {
            return *known;
        }
        let mut drawn = groups.share(self.diagram, sheet).diagram;
        // Whatever the number of the sheet that a wire goes on to.
        drawn.exits.iter_mut().for_each(|exit| exit.zone = zone_room(0));
        let price = self.laid_out(&drawn);
        self.known.insert(contents, price);
        price
    }

    fn laid_out(&self, diagram: &Diagram) -> Option<f64> {
        let alone = diagram.parts.len() <= 1;
        let fitting = |placed: &PlacedDiagram| alone || fits(diagram, placed, self.paper, self.note);
        let plans = place_columns::plans(diagram).into_iter().filter(|plan| plan.stacks.len() <= MOST_COLUMNS);
        let mut orders: Vec<(f64, ColumnOrder)> = plans
            .map(|plan| roughly(diagram, plan))
            .filter(|order| alone || cost::height(order) as f64 * sizes::ROW < self.paper.upright().height)
            .map(|order| (cost::estimate(&order), order))
            .collect();
        orders.sort_by(|a, b| a.0.total_cmp(&b.0));
        let fitted = orders
            .into_iter()
            .map(|(_, order)| (composed(&order, Care::Rough), order))
            .filter(|(placed, _)| fitting(placed));
        let (rough, mut order) = fitted.take(ROUGH_PLANS).min_by(|a, b| a.0.price().total_cmp(&b.0.price()))?;
        threshold_search::search(&mut order, TRIES * searched(diagram), 0);
        let better = Some(composed(&order, Care::Rough)).filter(fitting).map(|placed| placed.price());
        Some(better.map_or(rough.price(), |price| price.min(rough.price())))
    }
}
