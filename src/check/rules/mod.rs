//! Every rule, by family. Each has its own file, with its explanation beside it.

mod build;
mod load;
mod logic;
mod net;
mod safety;
mod spec;
mod time;

use super::Rule;

pub use logic::{diode_missing, diode_missing_at};
pub use net::{
    crossed, ends_exchanged, off_ground, on_wrong_feed, on_wrong_source, open_end, pictures_exchanged, swapped,
};

/// A family of rules.
#[derive(Debug, Clone, Copy)]
pub struct RuleFamily {
    /// The first part of the rules' names.
    pub name: &'static str,
    /// The family's subject.
    pub title: &'static str,
    /// The rules.
    pub rules: &'static [Rule],
}

/// Every family.
pub const FAMILIES: &[RuleFamily] = &[
    RuleFamily { name: "spec", title: "the spec itself", rules: spec::RULES },
    RuleFamily { name: "net", title: "connections", rules: net::RULES },
    RuleFamily { name: "logic", title: "what the screens show, and sneak paths", rules: logic::RULES },
    RuleFamily { name: "load", title: "currents and voltages", rules: load::RULES },
    RuleFamily { name: "time", title: "timing", rules: time::RULES },
    RuleFamily { name: "safety", title: "fire and harm", rules: safety::RULES },
    RuleFamily { name: "build", title: "building", rules: build::RULES },
];

/// Every rule, families together.
pub fn rules() -> impl Iterator<Item = &'static Rule> {
    FAMILIES.iter().flat_map(|family| family.rules)
}

/// A rule by name.
pub fn rule(name: &str) -> Option<&'static Rule> {
    rules().find(|rule| rule.name == name)
}
