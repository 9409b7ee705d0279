//! Every network of contacts with fewer relays than a proposal has, for wishes with up to six inputs: independent of the
//! planner's own search, which tries relays in one order only and looks at combinations with the same signals once.
//!
//! The class is the one of DEVELOPERS.md: coils on the vehicle's signals, contacts in trees, triggers on one net or through
//! diodes on several, a switch or module fed by its supply or by one other signal that needs no feed after it.

use crate::brute::{Row, holds, rows, wanted};
use crate::made::{Show, Wish};

/// A signal: where it is on, and how late it may be fed by another: 0 for one that needs no feed.
#[derive(Clone)]
struct Signal {
    on: Vec<bool>,
    rank: u8,
    switch: usize,
}

/// Networks that are tried for one wish at most.
const MOST: usize = 400_000;

/// Whether no network with fewer relays does what the wish says, with up to `most` signals on a coil through diodes, or with
/// any number of them; `None` if there are too many, or if the wish is of a kind that this generator does not know.
pub fn none_smaller(wish: &Wish, relays: usize, most: Option<usize>) -> Option<bool> {
    let lines = |kind: &str| match kind {
        "screen-1cam-12v" => 1,
        "screen-2in-12v" => 2,
        "screen-3in-12v" => 3,
        _ => 4,
    };
    let pictures: Vec<Vec<usize>> = wish.screens.iter().map(shown).collect();
    let fits = wish.screens.iter().zip(&pictures).all(|(screen, shown)| shown.len() <= lines(screen.kind));
    if wish.inputs.len() > 7 || !fits || relays == 0 {
        return None;
    }
    let rows = rows(&wish.inputs, &wish.live);
    let live: Vec<bool> = rows.iter().map(|row| holds(&wish.live, row)).collect();
    let signals = signals(wish, &rows, &live);
    let mut tried = 0;
    for gates in feeds(&signals) {
        let fed = fed(&signals, &gates, &live);
        let mut roots: Vec<Vec<bool>> = fed.clone();
        roots.push(vec![true; rows.len()]);
        let coils = coils(&fed, most.unwrap_or(fed.len()));
        for orders in orders(&pictures) {
            let targets = targets(wish, &orders, &rows);
            if serves_with(&coils, &mut roots, &targets, relays - 1, &mut tried)? {
                return Some(false);
            }
        }
    }
    Some(true)
}

/// What a coil can be on: a signal, or up to `most` of them; each function once.
fn coils(signals: &[Vec<bool>], most: usize) -> Vec<Vec<bool>> {
    let or = |a: &[bool], b: &[bool]| a.iter().zip(b).map(|(one, other)| *one || *other).collect::<Vec<bool>>();
    let mut all: Vec<Vec<bool>> = signals.to_vec();
    for _ in 1..most {
        let wider: Vec<Vec<bool>> = all.iter().flat_map(|set| signals.iter().map(|one| or(set, one))).collect();
        all.extend(wider);
        all.sort_unstable();
        all.dedup();
    }
    all
}

fn shown(screen: &crate::made::Screen) -> Vec<usize> {
    let mut all = Vec::new();
    let views = screen.views.iter().map(|(_, show)| show).chain(&screen.otherwise);
    for show in views {
        if let Show::Camera(camera) = show
            && !all.contains(camera)
        {
            all.push(*camera);
        }
    }
    all
}

fn signals(wish: &Wish, rows: &[Row], live: &[bool]) -> Vec<Signal> {
    let mut all = vec![Signal { on: live.to_vec(), rank: 0, switch: 0 }];
    for (index, input) in
        wish.inputs.iter().enumerate().skip(1).filter(|(_, input)| wish.text.contains(&format!("  {}: {{", input.name)))
    {
        let at = |position: usize| rows.iter().map(|row| row[index] == position).collect::<Vec<bool>>();
        let on = || rows.iter().map(|row| row[index] > 0).collect::<Vec<bool>>();
        let kind = |word: &str| input.keys.contains(&format!("kind: {word}"));
        if kind("push") || kind("toggle") {
            for position in 1..input.positions.len() {
                all.push(Signal { on: at(position), rank: 2, switch: index });
            }
        } else {
            let rank = if kind("flasher-feed") || kind("pulsed-feed") {
                4
            } else if kind("ground-switch") {
                3
            } else {
                1
            };
            all.push(Signal { on: on(), rank, switch: index });
        }
    }
    all
}

/// Every way to feed switches and modules: each by its supply, or by a signal of lower rank.
fn feeds(signals: &[Signal]) -> Vec<Vec<Option<usize>>> {
    let mut all = vec![vec![None; signals.len()]];
    for (index, signal) in signals.iter().enumerate().filter(|(_, signal)| signal.rank > 1) {
        if index > 0 && signals[index - 1].switch == signal.switch {
            all.iter_mut().for_each(|gates: &mut Vec<Option<usize>>| gates[index] = gates[index - 1]);
            continue;
        }
        let lower = (0..signals.len()).filter(|other| signals[*other].rank < signal.rank);
        let choices: Vec<Option<usize>> = std::iter::once(None).chain(lower.map(Some)).collect();
        let with = |gates: &Vec<Option<usize>>, feed: &Option<usize>| {
            let mut gates = gates.clone();
            gates[index] = *feed;
            gates
        };
        all = all.iter().flat_map(|gates| choices.iter().map(|feed| with(gates, feed)).collect::<Vec<_>>()).collect();
    }
    all
}

fn fed(signals: &[Signal], gates: &[Option<usize>], live: &[bool]) -> Vec<Vec<bool>> {
    let is_on = |signal: usize, row: usize| {
        let mut signal = signal;
        loop {
            if !signals[signal].on[row] {
                return false;
            }
            match gates[signal] {
                Some(feed) => signal = feed,
                None => return signals[signal].rank < 2 || live[row],
            }
        }
    };
    (0..signals.len()).map(|signal| (0..live.len()).map(|row| is_on(signal, row)).collect()).collect()
}

/// Every order of the pictures of each screen.
fn orders(pictures: &[Vec<usize>]) -> Vec<Vec<Vec<usize>>> {
    let mut all: Vec<Vec<Vec<usize>>> = vec![Vec::new()];
    for of_screen in pictures {
        all = all
            .iter()
            .flat_map(|before| permutations(of_screen).into_iter().map(move |p| [before.clone(), vec![p]].concat()))
            .collect();
    }
    all
}

fn permutations(of: &[usize]) -> Vec<Vec<usize>> {
    if of.is_empty() {
        return vec![Vec::new()];
    }
    (0..of.len())
        .flat_map(|i| {
            let rest = [&of[..i], &of[i + 1..]].concat();
            permutations(&rest).into_iter().map(move |p| [vec![of[i]], p].concat())
        })
        .collect()
}

/// For each trigger and row: whether it must be live, must not, or may be.
fn targets(wish: &Wish, orders: &[Vec<usize>], rows: &[Row]) -> Vec<Vec<Option<bool>>> {
    let mut all = Vec::new();
    for (screen, order) in orders.iter().enumerate() {
        for (line, _) in order.iter().enumerate() {
            let must = |row: &Row| match wanted(wish, screen, row) {
                Show::Home => Some(false),
                Show::Camera(camera) => {
                    let own = order.iter().position(|c| *c == camera).unwrap();
                    if own == line { Some(true) } else { (own > line).then_some(false) }
                }
                Show::Black | Show::Any => None,
            };
            all.push(rows.iter().map(must).collect());
        }
    }
    for load in &wish.loads {
        all.push(rows.iter().map(|row| Some(holds(load, row))).collect());
    }
    all
}

/// Whether up to this number of relays do it. `None`: too many networks.
fn serves_with(
    signals: &[Vec<bool>],
    nets: &mut Vec<Vec<bool>>,
    targets: &[Vec<Option<bool>>],
    relays: usize,
    tried: &mut usize,
) -> Option<bool> {
    *tried += 1;
    if *tried > MOST {
        return None;
    }
    let serves = |target: &Vec<Option<bool>>| {
        let harmless = |net: &&Vec<bool>| net.iter().zip(target).all(|(live, must)| !live || *must != Some(false));
        let fit: Vec<&Vec<bool>> = nets.iter().filter(harmless).collect();
        (0..target.len()).all(|row| target[row] != Some(true) || fit.iter().any(|net| net[row]))
    };
    if targets.iter().all(serves) {
        return Some(true);
    }
    if relays == 0 {
        return Some(false);
    }
    for from in 0..nets.len() {
        for coil in signals {
            let made: Vec<bool> = nets[from].iter().zip(coil).map(|(fed, on)| *fed && *on).collect();
            let rest: Vec<bool> = nets[from].iter().zip(coil).map(|(fed, on)| *fed && !*on).collect();
            nets.extend([made, rest]);
            let found = serves_with(signals, nets, targets, relays - 1, tried);
            nets.truncate(nets.len() - 2);
            if found? {
                return Some(true);
            }
        }
    }
    Some(false)
}
