//! The choices of a proposal: which picture goes to which input, and which terms make each target live.

use crate::combos::Combos;
use crate::conflict::Refusal;
use crate::cover::{Term, cover};
use crate::network::TargetTerms;
use crate::signals::OfferedSignal;
use crate::targets::{LiveTarget, LoadWish, PictureSlot, ScreenWish};
use crate::wish::WishRead;
use form::{Name, Problem};

/// Arrangements of pictures on a screen that are compared.
const ARRANGEMENTS: usize = 720;

/// The terms of one target.
///
/// # Errors
/// Two combinations that must differ and that no wire of the wish distinguishes.
pub fn terms(
    wish: &WishRead,
    signals: &[OfferedSignal],
    logic: &[bool],
    target: &LiveTarget,
) -> Result<Vec<Term>, Refusal> {
    let value = |signal: &OfferedSignal, combo: usize| signal.set[combo] && (!signal.nature.gated || logic[combo]);
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
    cover(&bare(&on), &bare(&off), &costs).map_err(|clash| {
        let (on, off) = (on[clash.on].1, off[clash.off].1);
        let message = format!("no wire differs between `{}` and `{}`", wish.combos.name(on), wish.combos.name(off));
        let mut problem = Problem::at(target.places[on], message).label("this asks for it in the first");
        if target.places[off] != target.places[on] {
            problem = problem.also(target.places[off], "this forbids it in the second");
        }
        Refusal::Conflict(vec![
            problem.hint("add a supply or a vehicle wire that differs between the two, or change one of these lines"),
        ])
    })
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
    logic: &[bool],
    target: &LiveTarget,
) -> Result<Vec<Term>, Refusal> {
    let index: Vec<usize> = (0..signals.len()).filter(|i| counts[*i]).collect();
    let few: Vec<OfferedSignal> = index.iter().map(|i| signals[*i].clone()).collect();
    let Ok(found) = terms(wish, &few, logic, target) else { return terms(wish, signals, logic, target) };
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
    slots: &[PictureSlot],
    signals: &[OfferedSignal],
    logic: &[bool],
) -> Result<Vec<Arranged>, Refusal> {
    let counts = relevant(wish, signals, &named_by(wish, screen));
    let mut found = Vec::new();
    let mut first = None;
    for order in orders(screen.pictures.len(), slots.len()) {
        match arranged(wish, screen, order, signals, &counts, logic) {
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

fn arranged(
    wish: &WishRead,
    screen: &ScreenWish,
    order: Vec<Option<usize>>,
    signals: &[OfferedSignal],
    counts: &[bool],
    logic: &[bool],
) -> Result<Arranged, Refusal> {
    let of_target =
        |target: Option<LiveTarget>| target.map(|t| terms_over(wish, signals, counts, logic, &t)).transpose();
    let terms: Vec<Option<Vec<Term>>> = screen.targets(&order).into_iter().map(of_target).collect::<Result<_, _>>()?;
    let cost = |term: &Term| {
        let on: u32 = term.on.iter().map(|s| signals[*s].costs().0).sum();
        let off: u32 = term.off.iter().map(|s| signals[*s].costs().1).sum();
        2 + on + off
    };
    let cost = terms.iter().flatten().flatten().map(cost).sum();
    Ok(Arranged { order, terms, cost })
}

/// Every way to put pictures on slots, the first slot in use: a part's first trigger is never optional.
fn orders(pictures: usize, slots: usize) -> Vec<Vec<Option<usize>>> {
    let mut all = Vec::new();
    place(&mut vec![None; slots], 0, pictures, &mut all);
    all
}

fn place(order: &mut Vec<Option<usize>>, picture: usize, pictures: usize, all: &mut Vec<Vec<Option<usize>>>) {
    if all.len() >= ARRANGEMENTS {
        return;
    }
    if picture == pictures {
        if order[0].is_some() || pictures == 0 {
            all.push(order.clone());
        }
        return;
    }
    for slot in 0..order.len() {
        if order[slot].is_none() {
            order[slot] = Some(picture);
            place(order, picture + 1, pictures, all);
            order[slot] = None;
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
    logic: &[bool],
    supply: usize,
) -> Result<TargetTerms, Refusal> {
    let terms = terms(wish, signals, logic, &load.target)?;
    Ok(TargetTerms { terms, supply })
}
