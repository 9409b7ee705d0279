//! The logic of a candidate: the contacts for the arrangement of pictures that needs the fewest, and how far that is proved.

use crate::choose::Arranged;
use crate::minimal::{Demand, MOST_TRIED, Points, smaller};
use crate::network::{ContactNetwork, Nature, TargetTerms};
use crate::signals::{OfferedSignal, SignalOrigin};
use crate::targets::{LiveTarget, LoadWish, PictureSlot, ScreenWish, live};
use crate::wish::WishRead;
use form::Name;
use serde::Serialize;
use std::collections::BTreeMap;

/// The screens with their slots and arrangements, and the loads: what one supply of the logic makes of a wish.
pub struct LogicPlan {
    /// The supply of the logic.
    pub logic: Name,
    /// Every supply.
    pub supplies: Vec<Name>,
    /// The screens.
    pub screens: Vec<(ScreenWish, Vec<PictureSlot>, Vec<Arranged>)>,
    /// The loads.
    pub loads: Vec<(LoadWish, TargetTerms)>,
}

/// Screens with one arrangement of their pictures.
pub type ArrangedScreens = Vec<(ScreenWish, Vec<PictureSlot>, Arranged)>;

/// How many relays the logic has, and how few are possible.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct LogicProof {
    /// Relays of the logic: those of loads and buffers are not counted.
    pub relays: usize,
    /// No network with fewer does what the wish says.
    pub least: usize,
    /// Networks that were tried for the proof.
    pub tried: usize,
    /// Whether only networks with one signal on each coil were compared: diodes can join two.
    pub alone: bool,
}

impl LogicProof {
    /// In words: `2 relays for logic, proved minimal: none of 57 networks with fewer does what the wish says`.
    pub fn words(&self) -> String {
        let relays = match self.relays {
            0 => return "no relay for logic".to_string(),
            1 => "1 relay for logic".to_string(),
            n => format!("{n} relays for logic"),
        };
        let tried = match self.tried {
            0 => ": as many signals need a coil of their own".to_string(),
            tried => format!(": none of {tried} networks with fewer does what the wish says"),
        };
        match self.least {
            least if least == self.relays && self.alone => {
                format!("{relays}, proved minimal of those with one signal on each coil{tried}")
            }
            least if least == self.relays => format!("{relays}, proved minimal{tried}"),
            least => format!("{relays}, not proved minimal: at least {least} needed"),
        }
    }
}

/// Arrangements of all screens together for which smaller networks are looked for.
const ARRANGEMENTS: usize = 200;

/// The network of a candidate: the n-th arrangement of every screen, or its last; if `steady`, with a way for each term.
pub fn candidate_of(
    plan: &LogicPlan,
    signals: &[OfferedSignal],
    (n, steady): (usize, bool),
) -> Option<(ContactNetwork, ArrangedScreens)> {
    if n > 0 && plan.screens.iter().all(|(_, _, all)| all.len() <= n) {
        return None;
    }
    let nth: Vec<usize> = plan.screens.iter().map(|(_, _, all)| n.min(all.len().saturating_sub(1))).collect();
    let screens = with_arrangements(plan, &nth)?;
    let natures: Vec<Nature> = signals.iter().map(|signal| signal.nature).collect();
    let terms = screens.iter().flat_map(|(screen, _, arranged)| {
        arranged.terms.iter().flatten().map(|terms| (screen.supply.clone(), terms.clone()))
    });
    let supply = |name: &Name| plan.supplies.iter().position(|supply| supply == name).unwrap_or(0);
    let mut targets: Vec<TargetTerms> =
        terms.map(|(name, terms)| TargetTerms { terms, supply: supply(&name) }).collect();
    targets.extend(plan.loads.iter().map(|(_, terms)| terms.clone()));
    let build = if steady { ContactNetwork::of_terms } else { ContactNetwork::build };
    let mut network = build(&natures, &targets);
    network.coils = plan.loads.len();
    Some((network, screens))
}

fn with_arrangements(plan: &LogicPlan, nth: &[usize]) -> Option<ArrangedScreens> {
    let of = |((screen, slots, all), n): (&(ScreenWish, Vec<PictureSlot>, Vec<Arranged>), &usize)| {
        Some((screen.clone(), slots.clone(), all.get(*n)?.clone()))
    };
    plan.screens.iter().zip(nth).map(of).collect()
}

/// Looks for a network with fewer relays than `network`, over every arrangement of the pictures, or over the first alone if
/// an earlier plan settles it. No logic has fewer than `bound`. Returns the best, and how far it is proved.
pub fn fewest(
    wish: &WishRead,
    plan: &LogicPlan,
    signals: &[OfferedSignal],
    (network, screens): (ContactNetwork, ArrangedScreens),
    (settled, bound): (bool, usize),
) -> (ContactNetwork, ArrangedScreens, LogicProof) {
    let relays = network.relays.len();
    // Without a coil, none is shared.
    let mut proof = LogicProof { relays, least: relays, tried: 0, alone: relays > 1 };
    if bound >= network.relays.len() {
        return (network, screens, proof);
    }
    let (mut network, mut screens) = (network, screens);
    let counts: Vec<usize> = plan.screens.iter().map(|(_, _, all)| if settled { 1 } else { all.len() }).collect();
    let all: usize = counts.iter().product();
    let Some(points) = SignalPoints::new(wish, plan, signals) else {
        return (network, screens, LogicProof { least: bound.min(proof.relays), ..proof });
    };
    for number in 0..all.min(ARRANGEMENTS) {
        let mut rest = number;
        let nth: Vec<usize> = counts.iter().map(|count| (rest % count, rest /= count).0).collect();
        let Some(arranged) = with_arrangements(plan, &nth) else { continue };
        let targets = points.targets(plan, &arranged);
        let (found, least) = smaller(&points.demand(&targets, &[]), network.relays.len(), &mut proof.tried);
        match found {
            Some(mut better) => {
                better.coils = plan.loads.len();
                (network, screens) = (better, arranged);
            }
            None => proof.least = proof.least.min(least),
        }
    }
    if all > ARRANGEMENTS {
        proof.least = 0;
    }
    proof.relays = network.relays.len();
    proof.alone = proof.relays > 1;
    proof.least = proof.least.max(bound).min(proof.relays);
    (network, screens, proof)
}

/// Looks for a network with fewer relays still, where diodes join two signals on a coil: `all` are the signals of the plan,
/// and behind them the pairs. Over the same arrangements.
pub fn shared(
    wish: &WishRead,
    plan: &LogicPlan,
    all: &[OfferedSignal],
    (network, screens, proof): (ContactNetwork, ArrangedScreens, LogicProof),
    settled: bool,
) -> (ContactNetwork, ArrangedScreens, LogicProof) {
    let pair = |signal: &OfferedSignal| match signal.origin {
        SignalOrigin::Either(pair) => Some(pair),
        _ => None,
    };
    let joined: Vec<[usize; 2]> = all.iter().filter_map(pair).collect();
    let own = &all[..all.len() - joined.len()];
    let counts: Vec<usize> = plan.screens.iter().map(|(_, _, all)| if settled { 1 } else { all.len() }).collect();
    let number: usize = counts.iter().product();
    let points = SignalPoints::new(wish, plan, own).filter(|_| !joined.is_empty() && network.relays.len() > 1);
    let Some(points) = points.filter(|_| number <= ARRANGEMENTS) else { return (network, screens, proof) };
    let mut best = (network, screens, proof);
    let (mut tried, mut least) = (MOST_TRIED - MOST_SHARED, best.2.relays);
    for index in 0..number {
        let mut rest = index;
        let nth: Vec<usize> = counts.iter().map(|count| (rest % count, rest /= count).0).collect();
        let Some(arranged) = with_arrangements(plan, &nth) else { continue };
        let targets = points.targets(plan, &arranged);
        let (found, sure) = smaller(&points.demand(&targets, &joined), best.2.relays, &mut tried);
        match found {
            Some(mut better) => {
                better.coils = plan.loads.len();
                best.2.relays = better.relays.len();
                (best.0, best.1) = (better, arranged);
            }
            None => least = least.min(sure),
        }
    }
    let tried = tried - (MOST_TRIED - MOST_SHARED);
    let proved = least >= best.2.relays;
    if best.2.relays < proof.relays {
        // The other proof is of networks with one signal on each coil.
        best.2 = LogicProof { relays: best.2.relays, least: least.min(best.2.relays), tried, alone: false };
    } else if proved {
        best.2 = LogicProof { least: best.2.relays, tried: proof.tried + tried, alone: false, ..proof };
    }
    best
}

/// Networks with shared coils that are tried at most.
const MOST_SHARED: usize = 40_000;

/// Combinations of positions with the same signals, as one point.
struct SignalPoints {
    natures: Vec<Nature>,
    /// The point of each combination.
    of: Vec<usize>,
    on: Vec<Points>,
    logic: Points,
    supplies: Vec<(usize, Points)>,
    all: Points,
}

impl SignalPoints {
    /// Nothing if there are more points than bits.
    fn new(wish: &WishRead, plan: &LogicPlan, signals: &[OfferedSignal]) -> Option<SignalPoints> {
        let form = &wish.form.supplies;
        let supply = |name: &Name| live(&wish.combos, form.get(name).and_then(|form| form.follows.as_ref()));
        let logic = supply(&plan.logic);
        let mut known: BTreeMap<Vec<bool>, usize> = BTreeMap::new();
        let mut of = Vec::new();
        for (combo, fed) in logic.iter().enumerate() {
            let values: Vec<bool> = signals.iter().map(|s| s.set[combo]).chain([*fed]).collect();
            let next = known.len();
            of.push(*known.entry(values).or_insert(next));
        }
        if known.len() > Points::BITS as usize {
            return None;
        }
        let mut points = SignalPoints {
            natures: signals.iter().map(|signal| signal.nature).collect(),
            of,
            on: Vec::new(),
            logic: 0,
            supplies: Vec::new(),
            all: 0,
        };
        points.on = signals.iter().map(|signal| points.mask(&signal.set)).collect();
        points.logic = points.mask(&logic);
        points.all = points.mask(&vec![true; wish.combos.len()]);
        let always = form.iter().enumerate().filter(|(_, (_, supply))| supply.follows.is_none());
        points.supplies = always.map(|(index, _)| (index, points.all)).collect();
        Some(points)
    }

    fn mask(&self, set: &[bool]) -> Points {
        self.of.iter().zip(set).filter(|(_, on)| **on).fold(0, |mask, (point, _)| mask | 1 << point)
    }

    /// What the triggers of all screens and all loads must do, in the order of the network's targets.
    fn targets(&self, plan: &LogicPlan, screens: &ArrangedScreens) -> Vec<(Points, Points)> {
        let mask = |target: &LiveTarget| (self.mask(&target.on), self.mask(&target.off));
        let of_screen = |(screen, _, arranged): &(ScreenWish, Vec<PictureSlot>, Arranged)| {
            let slots = 0..arranged.order.len();
            slots.filter_map(|slot| Some(mask(&screen.target(&arranged.order, slot)?))).collect::<Vec<_>>()
        };
        let loads = plan.loads.iter().map(|(load, _)| mask(&load.target));
        screens.iter().flat_map(of_screen).chain(loads).collect()
    }

    fn demand<'a>(&'a self, targets: &'a [(Points, Points)], joined: &'a [[usize; 2]]) -> Demand<'a> {
        Demand {
            natures: &self.natures,
            on: &self.on,
            logic: self.logic,
            supplies: &self.supplies,
            targets,
            all: self.all,
            joined,
        }
    }
}
