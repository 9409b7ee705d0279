//! The coverage of a report: the states that were solved, and those that the spec rules out.

use explore::Exploration;
use facts::Facts;
use serde::Serialize;
use states::{left_out, left_out_line};

/// The states that were solved.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Proof {
    /// At each corner.
    pub solved: Vec<Proved>,
    /// Combinations of inputs that the spec rules out, in words.
    pub left_out: Vec<String>,
    /// What the spec asks too little of to be checked, in words.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub unchecked: Vec<String>,
}

/// The states that were solved at one corner.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Proved {
    /// The corner in words.
    pub corner: String,
    /// Number of reachable states, in digits because it may exceed the numbers of other programs.
    pub states: String,
    /// Number of zones explored separately; 1 for a circuit that stayed whole.
    pub parts: usize,
    /// Number of states in all zones together.
    pub of_parts: usize,
    /// Number of states that are reached and never settle, beside those.
    #[serde(skip_serializing_if = "is_none")]
    pub endless: usize,
    /// Whether these are all reachable states, some of them, or a superset.
    #[serde(skip_serializing_if = "Extent::is_all")]
    pub extent: Extent,
}

/// How the solved states relate to the reachable states.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Extent {
    /// All reachable states, and no others.
    #[default]
    All,
    /// Only the reachable states with the fewest inputs away from rest.
    Simplest,
    /// All reachable states, and possibly others.
    AtMost,
}

fn is_none(number: &usize) -> bool {
    *number == 0
}

impl Extent {
    fn is_all(&self) -> bool {
        *self == Extent::All
    }
}

impl Proof {
    pub(super) fn new(facts: &Facts) -> Proof {
        Proof {
            solved: facts.explored().all().map(proved).collect(),
            left_out: left_out(facts.solved),
            unchecked: not_asked(facts),
        }
    }

    /// As lines for people.
    pub(super) fn text(&self) -> String {
        let Some(first) = self.solved.first() else { return String::new() };
        let same = |one: &Proved| {
            (&one.states, one.parts, one.of_parts, one.endless)
                == (&first.states, first.parts, first.of_parts, first.endless)
        };
        let solved = if self.solved.iter().all(same) {
            let corners: Vec<&str> = self.solved.iter().map(|one| one.corner.as_str()).collect();
            let each = if corners.len() > 1 && first.states != "1" { "each at " } else { "at " };
            format!("{}, {each}{}", first.words(), corners.join("; "))
        } else {
            let each: Vec<String> =
                self.solved.iter().map(|one| format!("{} at {}", one.words(), one.corner)).collect();
            each.join("; ")
        };
        let unchecked: String = self.unchecked.iter().map(|what| format!("not checked: {what}\n")).collect();
        format!("solved: {solved}\n{}{unchecked}", left_out_line(&self.left_out).unwrap_or_default())
    }
}

impl Proved {
    fn words(&self) -> String {
        let states = if self.states == "1" { "state" } else { "states" };
        let count = match self.extent {
            Extent::All => self.states.clone(),
            Extent::Simplest => format!("only the simplest {} of too many states", self.states),
            Extent::AtMost => format!("at most {}", self.states),
        };
        let count = match self.parts {
            1 if self.extent == Extent::Simplest => count,
            1 => format!("{count} {states}"),
            parts => format!("{count} {states}, from {} of {parts} zones", self.of_parts),
        };
        match self.endless {
            0 => count,
            1 => format!("{count} and 1 that never settles"),
            more => format!("{count} and {more} that never settle"),
        }
    }
}

/// A script must begin at a state that settles, and only where a round ends it is a race.
fn not_asked(facts: &Facts) -> Vec<String> {
    let nominal = &facts.solved.exploration;
    let from = match (nominal.endless().count(), nominal.count()) {
        (0, _) => return Vec::new(),
        (_, 0) => "no state settles".to_string(),
        (1, _) => "1 state never settles".to_string(),
        (endless, _) => format!("{endless} states never settle"),
    };
    vec![format!(
        "what happens over time (rules `time/…`), which relay moves first (`logic/race`) and what a latch remembers \
         (`logic/latch-forgets`), because {from}; check again once `logic/chatter` is mended"
    )]
}

fn proved(exploration: &Exploration) -> Proved {
    let (parts, of_parts) = (exploration.zones(), exploration.states_of_zones());
    let extent = match (&exploration.together, exploration.doubtful()) {
        (Some(_), _) => Extent::Simplest,
        (None, []) => Extent::All,
        _ => Extent::AtMost,
    };
    let (corner, states) = (exploration.corner.to_string(), exploration.count().to_string());
    Proved { corner, states, parts, of_parts, endless: exploration.endless().count(), extent }
}
