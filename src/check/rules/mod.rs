//! Every rule, by family. Each is a file of its own with its explanation beside it.

mod build;
mod load;
mod logic;
mod net;
mod safety;
mod spec;
mod time;

use super::Rule;

/// Rules that belong together.
#[derive(Debug, Clone, Copy)]
pub struct Family {
    /// The first part of their names.
    pub name: &'static str,
    /// What they are about.
    pub title: &'static str,
    /// The rules.
    pub rules: &'static [Rule],
}

/// Every family.
pub const FAMILIES: &[Family] = &[
    Family { name: "spec", title: "the spec itself", rules: spec::RULES },
    Family { name: "net", title: "what is joined to what", rules: net::RULES },
    Family { name: "logic", title: "what shows when", rules: logic::RULES },
    Family { name: "load", title: "currents and voltages", rules: load::RULES },
    Family { name: "time", title: "what blinks and what comes too late", rules: time::RULES },
    Family { name: "safety", title: "fire and harm", rules: safety::RULES },
    Family { name: "build", title: "what the bench builds", rules: build::RULES },
];

/// Every rule, families together.
pub fn rules() -> impl Iterator<Item = &'static Rule> {
    FAMILIES.iter().flat_map(|family| family.rules)
}

/// A rule by name.
pub fn rule(name: &str) -> Option<&'static Rule> {
    rules().find(|rule| rule.name == name)
}
