//! The logic of a candidate: the contacts for the arrangement of pictures that needs the fewest, and how far that is proved.

use crate::choose::Arranged;
use crate::minimal::{Demand, MOST_TRIED, Points, smaller};
use crate::network::{ContactNetwork, Nature, TargetTerms};
use crate::signals::{MOST_ON_A_COIL, OfferedSignal, SignalOrigin};
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
    /// Most signals on one coil, through diodes, in the networks that were compared; nothing where more can't help.
    pub most_on_a_coil: Option<usize>,
    /// Whether smaller networks were looked for at all.
    pub searched: bool,
}

impl LogicProof {
    /// In words: `2 relays for logic, proved minimal: none of 57 networks with fewer does what the wish says`.
    pub fn words(&self) -> String {
        let relays = match self.relays {
            0 => return "no relay for logic".to_string(),
            1 => "1 relay for logic".to_string(),
            n => format!("{n} relays for logic"),
        };
        if self.least < self.relays {
            let why = match (self.searched, self.tried) {
                (false, _) => "no search, since fewer would drop out while a contact moves".to_string(),
                (true, 0) => "the wish has too many combinations for the search".to_string(),
                (true, tried) => format!("the search stopped after {tried} networks"),
            };
            return format!("{relays}, not proved minimal: at least {} needed; {why}", self.least);
        }
        let tried = match self.tried {
            0 => ": as many signals need a coil of their own".to_string(),
            tried => format!(": none of {tried} networks with fewer does what the wish says"),
        };
        let of = match self.most_on_a_coil {
            None => String::new(),
            Some(1) => " of those with one signal on each coil".to_string(),
            Some(most) => format!(" of those with up to {most} signals on a coil"),
        };
        format!("{relays}, proved minimal{of}{tried}")
    }

    /// The proof for networks with one signal on each coil. One relay at most shares no coil.
    fn alone(relays: usize, least: usize, tried: usize) -> LogicProof {
        LogicProof { relays, least, tried, most_on_a_coil: (relays > 1).then_some(1), searched: true }
    }

    /// For a network for which no smaller one was looked for.
    pub fn unsearched(relays: usize, bound: usize) -> LogicProof {
        LogicProof { searched: false, ..LogicProof::alone(relays, bound.min(relays), 0) }
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
    if bound >= relays {
        return (network, screens, LogicProof::alone(relays, relays, 0));
    }
    let Some(points) = SignalPoints::new(wish, plan, signals) else {
        return (network, screens, LogicProof::alone(relays, bound, 0));
    };
    let mut search = LogicSearch { plan, points: &points, best: (network, screens), tried: 0 };
    let least = search.run(&[], settled);
    let ((network, screens), tried) = (search.best, search.tried);
    let relays = network.relays.len();
    (network, screens, LogicProof::alone(relays, least.max(bound).min(relays), tried))
}

/// Looks for a network with fewer relays still, where diodes join signals on a coil: `all` are the signals of the plan, and
/// behind them the sets of them. Over the same arrangements, with pairs first.
pub fn shared(
    wish: &WishRead,
    plan: &LogicPlan,
    all: &[OfferedSignal],
    (network, screens, alone): (ContactNetwork, ArrangedScreens, LogicProof),
    settled: bool,
) -> (ContactNetwork, ArrangedScreens, LogicProof) {
    let members = |signal: &OfferedSignal| match &signal.origin {
        SignalOrigin::Joined(members) => Some(members.clone()),
        _ => None,
    };
    let joined: Vec<Vec<usize>> = all.iter().filter_map(members).collect();
    let own = &all[..all.len() - joined.len()];
    if joined.is_empty() || network.relays.len() < 2 {
        return (network, screens, alone);
    }
    let Some(points) = SignalPoints::new(wish, plan, own) else { return (network, screens, alone) };
    let mut search = LogicSearch { plan, points: &points, best: (network, screens), tried: 0 };
    let mut proof = alone;
    for most in [2, MOST_ON_A_COIL] {
        let sets = joined.iter().take_while(|set| set.len() <= most).count();
        search.tried = MOST_TRIED - MOST_SHARED;
        let least = search.run(&joined[..sets], settled);
        let (relays, tried) = (search.best.0.relays.len(), search.tried - (MOST_TRIED - MOST_SHARED));
        if least >= relays {
            // Fewer than two relays share no coil.
            let most_on_a_coil = (relays > 1 && most < own.len()).then_some(most);
            proof = LogicProof { relays, least: relays, tried: alone.tried + tried, most_on_a_coil, searched: true };
        } else if relays < proof.relays {
            // The other proof is of networks with fewer signals on a coil.
            proof = LogicProof { relays, least, tried, most_on_a_coil: Some(most), searched: true };
        }
        if relays < 2 {
            break;
        }
    }
    (search.best.0, search.best.1, proof)
}

/// Networks with shared coils that are tried at most, with pairs and then with larger sets.
const MOST_SHARED: usize = 40_000;

/// A search over the arrangements of the pictures.
struct LogicSearch<'a> {
    plan: &'a LogicPlan,
    points: &'a SignalPoints,
    best: (ContactNetwork, ArrangedScreens),
    tried: usize,
}

impl LogicSearch<'_> {
    /// Looks for networks with fewer relays than the best so far. Returns how many relays are needed at least.
    fn run(&mut self, joined: &[Vec<usize>], settled: bool) -> usize {
        let counts: Vec<usize> =
            self.plan.screens.iter().map(|(_, _, all)| if settled { 1 } else { all.len() }).collect();
        let number: usize = counts.iter().product();
        let mut least = self.best.0.relays.len();
        for index in 0..number.min(ARRANGEMENTS) {
            let mut rest = index;
            let nth: Vec<usize> = counts.iter().map(|count| (rest % count, rest /= count).0).collect();
            let Some(arranged) = with_arrangements(self.plan, &nth) else { continue };
            let targets = self.points.targets(self.plan, &arranged);
            let demand = self.points.demand(&targets, joined);
            match smaller(&demand, self.best.0.relays.len(), &mut self.tried) {
                (Some(mut better), _) => {
                    better.coils = self.plan.loads.len();
                    self.best = (better, arranged);
                }
                (None, sure) => least = least.min(sure),
            }
        }
        if number > ARRANGEMENTS { 0 } else { least }
    }
}

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

    fn demand<'a>(&'a self, targets: &'a [(Points, Points)], joined: &'a [Vec<usize>]) -> Demand<'a> {
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
