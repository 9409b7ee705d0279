//! The choices of a proposal: which picture goes to which input, and which terms make each target live.

use crate::combos::Combos;
use crate::conflict::Refusal;
use crate::cover::{Term, cover};
use crate::network::TargetTerms;
use crate::signals::OfferedSignal;
use crate::targets::{LiveTarget, LoadWish, ScreenWish};
use crate::wish::WishRead;
use form::{Name, Problem};
use std::collections::BTreeMap;

/// Arrangements of pictures on a screen that are compared.
const ARRANGEMENTS: usize = 720;

/// What terms are made by.
pub struct TermRules<'a> {
    /// The combinations in which the supply of the logic is live.
    pub logic: &'a [bool],
    /// Whether nothing drops out between two points that one input moves between.
    pub steady: bool,
}

/// The terms of one target.
///
/// # Errors
/// Two combinations that must differ and that no wire of the wish distinguishes.
pub fn terms(
    wish: &WishRead,
    signals: &[OfferedSignal],
    rules: &TermRules,
    target: &LiveTarget,
) -> Result<Vec<Term>, Refusal> {
    let value =
        |signal: &OfferedSignal, combo: usize| signal.set[combo] && (!signal.nature.gated || rules.logic[combo]);
    let point = |combo: usize| -> Vec<bool> { signals.iter().map(|signal| value(signal, combo)).collect() };
    let points = |set: &[bool]| {
        let mut points: Vec<(Vec<bool>, usize)> = (0..set.len()).filter(|i| set[*i]).map(|i| (point(i), i)).collect();
        points.sort();
        points.dedup_by(|a, b| a.0 == b.0);
        points
    };
    let (on, off) = (points(&target.on), points(&target.off));
    let costs: Vec<(u32, u32)> = signals.iter().map(OfferedSignal::costs).collect();
    let bare = |points: &[(Vec<bool>, usize)]| points.iter().map(|(point, _)| point.clone()).collect::<Vec<_>>();
    let together = if rules.steady { neighbours(&bare(&on), signals) } else { Vec::new() };
    cover(&bare(&on), &bare(&off), &costs, &together).map_err(|_| Refusal::Conflict(vec![clash(wish, target, &point)]))
}

/// Most points that are compared with each other.
const COMPARED: usize = 512;

/// The pairs of points that one input moves between, if there are not too many.
fn neighbours(points: &[Vec<bool>], signals: &[OfferedSignal]) -> Vec<(usize, usize)> {
    let one_input = |a: usize, b: usize| {
        let mut moved = (0..signals.len()).filter(|s| points[a][*s] != points[b][*s]).map(|s| signals[s].nature.group);
        moved.next().is_some_and(|group| moved.all(|other| other == group))
    };
    let pairs = (0..points.len()).flat_map(|a| (0..a).map(move |b| (b, a)));
    if points.len() > COMPARED { Vec::new() } else { pairs.filter(|(a, b)| one_input(*a, *b)).collect() }
}

/// Two combinations that must differ and that no signal separates: those that differ in the fewest inputs.
fn clash(wish: &WishRead, target: &LiveTarget, point: &dyn Fn(usize) -> Vec<bool>) -> Problem {
    let of = |set: &[bool]| (0..set.len()).filter(|i| set[*i]).map(|i| (i, point(i))).collect::<Vec<_>>();
    let (ons, offs) = (of(&target.on), of(&target.off));
    let pairs = ons.iter().flat_map(|on| offs.iter().filter(|off| off.1 == on.1).map(move |off| (on.0, off.0)));
    let nearest = pairs.min_by_key(|(on, off)| wish.combos.differing(*on, *off).len());
    let (on, off) = nearest.unwrap_or((0, 0));
    let message = format!("no wire differs between `{}` and `{}`", wish.combos.name(on), wish.combos.name(off));
    let mut problem = Problem::at(target.places[on], message).label("this asks for it in the first");
    if target.places[off] != target.places[on] {
        problem = problem.also(target.places[off], "this forbids it in the second");
    }
    let inputs: Vec<String> = wish.combos.differing(on, off).iter().map(|name| format!("`{name}`")).collect();
    problem.hint(format!(
        "add a vehicle wire or a supply that shows where {} stands, or change one of these lines",
        inputs.join(" or ")
    ))
}

/// The signals that the conditions of a screen or a load name, and every supply.
pub fn relevant(wish: &WishRead, signals: &[OfferedSignal], names: &[Name]) -> Vec<bool> {
    let is_supply = |signal: &OfferedSignal| wish.form.supplies.get(&signal.name).is_some();
    signals.iter().map(|signal| is_supply(signal) || names.contains(&signal.name)).collect()
}

/// The inputs that a screen's views name.
pub fn named_by(wish: &WishRead, screen: &ScreenWish) -> Vec<Name> {
    let mut names = Vec::new();
    for view in wish.form.views.get(&screen.name).into_iter().flatten() {
        if let Some(when) = &view.when {
            Combos::names(&when.expr, &mut names);
        }
    }
    names
}

/// The terms of a target over the signals that count for it.
///
/// # Errors
/// As [`terms`]; it is asked again over every signal first.
pub fn terms_over(
    wish: &WishRead,
    signals: &[OfferedSignal],
    counts: &[bool],
    rules: &TermRules,
    target: &LiveTarget,
) -> Result<Vec<Term>, Refusal> {
    let index: Vec<usize> = (0..signals.len()).filter(|i| counts[*i]).collect();
    let few: Vec<OfferedSignal> = index.iter().map(|i| signals[*i].clone()).collect();
    let Ok(found) = terms(wish, &few, rules, target) else { return terms(wish, signals, rules, target) };
    let back = |of: &[usize]| of.iter().map(|i| index[*i]).collect();
    Ok(found.iter().map(|term| Term { on: back(&term.on), off: back(&term.off) }).collect())
}

/// A screen with its pictures on slots, and the terms of each slot.
#[derive(Debug, Clone)]
pub struct Arranged {
    /// For each slot, its picture.
    pub order: Vec<Option<usize>>,
    /// For each slot, its terms, if it has a picture.
    pub terms: Vec<Option<Vec<Term>>>,
    /// Literals and terms: what the logic costs.
    pub cost: u32,
}

/// The arrangements of a screen's pictures, the cheapest first; in the order of the views where they cost the same.
///
/// # Errors
/// The conflict of the arrangement in the order of the views, if every arrangement has one.
pub fn arrangements(
    wish: &WishRead,
    screen: &ScreenWish,
    signals: &[OfferedSignal],
    rules: &TermRules,
) -> Result<Vec<Arranged>, Refusal> {
    let counts = relevant(wish, signals, &named_by(wish, screen));
    let mut arranger = Arranger { wish, screen, signals, counts: &counts, rules, known: BTreeMap::new() };
    let mut found = Vec::new();
    let mut first = None;
    for order in orders(screen.pictures.len()) {
        match arranger.arranged(order) {
            Ok(arranged) => found.push(arranged),
            Err(refusal) => first = first.or(Some(refusal)),
        }
    }
    found.sort_by_key(|arranged| arranged.cost);
    match (found.is_empty(), first) {
        (true, Some(refusal)) => Err(refusal),
        _ => Ok(found),
    }
}

/// A picture, and the pictures that it wins over: its terms depend on no more.
type Place = (usize, Vec<usize>);

struct Arranger<'a> {
    wish: &'a WishRead,
    screen: &'a ScreenWish,
    signals: &'a [OfferedSignal],
    counts: &'a [bool],
    rules: &'a TermRules<'a>,
    known: BTreeMap<Place, Result<Vec<Term>, Refusal>>,
}

impl Arranger<'_> {
    fn arranged(&mut self, order: Vec<Option<usize>>) -> Result<Arranged, Refusal> {
        let mut terms = Vec::new();
        for (slot, picture) in order.iter().enumerate() {
            let Some(picture) = picture else {
                terms.push(None);
                continue;
            };
            let mut later: Vec<usize> = order[slot + 1..].iter().flatten().copied().collect();
            later.sort_unstable();
            let place = (*picture, later);
            if !self.known.contains_key(&place) {
                let target = self.screen.target(&order, slot);
                let found = target.map_or(Ok(Vec::new()), |target| {
                    terms_over(self.wish, self.signals, self.counts, self.rules, &target)
                });
                self.known.insert(place.clone(), found);
            }
            let found = self.known.get(&place).cloned().unwrap_or(Ok(Vec::new()))?;
            terms.push(Some(found));
        }
        let cost = |term: &Term| {
            let on: u32 = term.on.iter().map(|s| self.signals[*s].costs().0).sum();
            let off: u32 = term.off.iter().map(|s| self.signals[*s].costs().1).sum();
            2 + on + off
        };
        let cost = terms.iter().flatten().flatten().map(cost).sum();
        Ok(Arranged { order, terms, cost })
    }
}

/// Every order of the pictures, up to a bound; each slot has one.
fn orders(pictures: usize) -> Vec<Vec<Option<usize>>> {
    let mut all = Vec::new();
    place(&mut Vec::new(), pictures, &mut all);
    all
}

fn place(order: &mut Vec<Option<usize>>, pictures: usize, all: &mut Vec<Vec<Option<usize>>>) {
    if order.len() == pictures && all.len() < ARRANGEMENTS {
        all.push(order.clone());
    }
    for picture in (0..pictures).filter(|picture| !order.contains(&Some(*picture))).collect::<Vec<_>>() {
        if all.len() < ARRANGEMENTS {
            order.push(Some(picture));
            place(order, pictures, all);
            order.pop();
        }
    }
}

/// The terms of a load.
///
/// # Errors
/// As [`terms`].
pub fn load_terms(
    wish: &WishRead,
    load: &LoadWish,
    signals: &[OfferedSignal],
    rules: &TermRules,
    supply: usize,
) -> Result<TargetTerms, Refusal> {
    let terms = terms(wish, signals, rules, &load.target)?;
    Ok(TargetTerms { terms, supply })
}
