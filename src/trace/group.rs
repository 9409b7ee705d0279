//! Suspects: faults that show the same everywhere, and those that the same repair mends.

use super::choice::Class;
use super::fault::{Failure, Mending};
use std::collections::BTreeSet;

/// A suspect.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct SuspectGroup {
    /// Its faults by what they show.
    pub alike: Vec<AlikeFaults>,
    /// Their probability together.
    pub probability: f64,
}

/// Faults that no step distinguishes.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct AlikeFaults {
    /// The faults; not empty.
    pub faults: Vec<usize>,
    /// Their probability together.
    pub probability: f64,
}

impl AlikeFaults {
    /// One of them.
    pub fn example(&self) -> usize {
        self.faults[0]
    }
}

impl SuspectGroup {
    /// Whether one repair mends whichever of its faults is there.
    pub fn has_one_repair(&self, faults: &[Failure]) -> bool {
        let repairs: BTreeSet<Mending> = self.faults().map(|fault| faults[fault].repair).collect();
        repairs.len() < 2
    }

    /// All its faults.
    pub fn faults(&self) -> impl Iterator<Item = usize> + '_ {
        self.alike.iter().flat_map(|alike| alike.faults.iter().copied())
    }
}

/// The suspects, the most probable first. Classes that the same repairs mend are one suspect.
pub(crate) fn grouped(mut classes: Vec<AlikeFaults>, faults: &[Failure]) -> Vec<SuspectGroup> {
    classes.sort_by(|a, b| b.probability.total_cmp(&a.probability).then(a.example().cmp(&b.example())));
    let mut groups: Vec<(BTreeSet<Mending>, SuspectGroup)> = Vec::new();
    for class in classes {
        let repairs: BTreeSet<Mending> = class.faults.iter().map(|fault| faults[*fault].repair).collect();
        match groups.iter_mut().find(|(known, _)| *known == repairs) {
            Some((_, group)) => {
                group.probability += class.probability;
                group.alike.push(class);
            }
            None => {
                let probability = class.probability;
                groups.push((repairs, SuspectGroup { alike: vec![class], probability }));
            }
        }
    }
    let mut groups: Vec<SuspectGroup> = groups.into_iter().map(|(_, group)| group).collect();
    groups.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    groups
}

/// The classes of all groups, each with the place of its group.
pub(crate) fn classes(groups: &[SuspectGroup]) -> Vec<Class> {
    let of = |(suspect, group): (usize, &SuspectGroup)| {
        let class = move |alike: &AlikeFaults| Class { suspect, probability: alike.probability };
        group.alike.iter().map(class).collect::<Vec<_>>()
    };
    groups.iter().enumerate().flat_map(of).collect()
}
