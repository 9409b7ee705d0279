//! Things that should be on while a condition holds, and only then: each is compared in every state.

use super::Explored;
use super::moment::{Shows, note};
use circuit::{Circuit, Solution};
use explore::About;
use std::collections::BTreeMap;

/// A question to a solved state.
type Question<'a, T> = Box<dyn Fn(&Solution) -> T + 'a>;

/// A thing that should be on while something holds.
pub(super) struct Asked<'a> {
    /// What decides whether it is on, and whether it should be.
    pub about: About,
    /// Whether it should be on.
    pub wanted: Question<'a, bool>,
    /// Whether all of it is on, and whether any of it is.
    pub is_on: Question<'a, (bool, bool)>,
}

/// Whether a thing is on just when it should be.
#[derive(Debug, Default)]
pub struct OnWhenAsked {
    /// States in which it should be on and isn't.
    pub dead: Option<Shows>,
    /// States in which it is on and shouldn't be.
    pub unasked: Option<Shows>,
    /// Whether it should be on in some state.
    pub is_reached: bool,
    /// Others of the things, by place: in every state this one is on just when those should be.
    pub acts_like: Vec<usize>,
}

impl OnWhenAsked {
    /// Whether some state shows it wrong.
    pub fn is_wrong(&self) -> bool {
        self.dead.is_some() || self.unasked.is_some()
    }
}

/// Groups of things that are crossed: each is on when others of its group should be. By place, in order.
pub fn crossed(all: &[&OnWhenAsked]) -> Vec<Vec<usize>> {
    let is_pair = |a: usize, b: usize| all[a].acts_like.contains(&b) && all[b].acts_like.contains(&a);
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for thing in 0..all.len() {
        if groups.iter().flatten().any(|member| *member == thing) {
            continue;
        }
        let mut group = vec![thing];
        let mut at = 0;
        while let Some(&member) = group.get(at) {
            let more: Vec<usize> = (0..all.len()).filter(|n| !group.contains(n) && is_pair(member, *n)).collect();
            group.extend(more);
            at += 1;
        }
        group.sort_unstable();
        groups.push(group);
    }
    groups.retain(|group| group.len() > 1);
    groups
}

/// Compares each thing in every state of every corner. States that end by themselves are left out.
pub(super) fn compare(circuit: &Circuit, explored: &Explored, all: &[Asked]) -> Vec<OnWhenAsked> {
    let mut found: Vec<OnWhenAsked> = all.iter().map(|asked| states_of(circuit, explored, asked)).collect();
    let wrong: Vec<usize> = (0..all.len()).filter(|i| found[*i].is_wrong()).collect();
    for (thing, other) in acting_alike(circuit, explored, all, &wrong) {
        found[thing].acts_like.push(other);
    }
    found
}

fn states_of(circuit: &Circuit, explored: &Explored, asked: &Asked) -> OnWhenAsked {
    let mut is_reached = false;
    let mut shows: BTreeMap<bool, Shows> = BTreeMap::new();
    for exploration in explored.all() {
        exploration.visit_about(circuit, &asked.about, &mut |solution| {
            let wanted = (asked.wanted)(solution);
            is_reached |= wanted;
            let (all, any) = (asked.is_on)(solution);
            let is_wrong = if wanted { !all } else { any };
            if is_wrong && solution.state.pending(circuit).is_empty() {
                note(&mut shows, wanted, solution);
            }
        });
        // What takes part in a round that never ends has a finding of its own.
        for chatter in exploration.endless() {
            is_reached |= chatter.round.iter().any(&asked.wanted);
            let answer = |step: &Solution| ((asked.wanted)(step), (asked.is_on)(step));
            let mut answers = chatter.round.iter().map(answer);
            let (Some(step), Some(first)) = (chatter.round.first(), answers.next()) else { continue };
            let (wanted, (all, any)) = first;
            let is_wrong = if wanted { !all } else { any };
            if is_wrong && answers.all(|other| other == first) && step.state.pending(circuit).is_empty() {
                note(&mut shows, wanted, step);
            }
        }
    }
    OnWhenAsked { dead: shows.remove(&true), unasked: shows.remove(&false), is_reached, acts_like: Vec::new() }
}

/// Of the things that are wrong, the pairs in which the first is on just when the second should be.
fn acting_alike(circuit: &Circuit, explored: &Explored, all: &[Asked], wrong: &[usize]) -> Vec<(usize, usize)> {
    let pairs = wrong.iter().flat_map(|thing| wrong.iter().map(move |other| (*thing, *other)));
    let mut alike: Vec<(usize, usize)> = pairs.filter(|(thing, other)| thing != other).collect();
    if alike.is_empty() {
        return alike;
    }
    let mut about = About::default();
    for asked in wrong.iter().map(|i| &all[*i].about) {
        about.inputs.extend(&asked.inputs);
        about.actors.extend(&asked.actors);
        about.nodes.extend(&asked.nodes);
    }
    let mut look = |solution: &Solution| {
        if solution.state.pending(circuit).is_empty() {
            alike.retain(|(thing, other)| {
                let wanted = (all[*other].wanted)(solution);
                (all[*thing].is_on)(solution) == (wanted, wanted)
            });
        }
    };
    for exploration in explored.all() {
        exploration.visit_about(circuit, &about, &mut look);
        exploration.endless().flat_map(|chatter| &chatter.round).for_each(&mut look);
    }
    alike
}
