//! What differs between an earlier plan and a new one, thing by thing, and why.

use crate::earlier::{EarlierSpec, PLANNED};
use crate::explain::{PlannedReason, purposes};
use crate::sections::{SectionEntry, entries};
use crate::wish::names;
use crate::write::PURPOSE;
use serde::Serialize;
use spec::SpecForm;
use std::collections::BTreeSet;

/// How a thing changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ChangeKind {
    /// The earlier plan had it.
    Removed,
    /// It is in both, and not the same.
    Changed,
    /// The earlier plan did not have it.
    Added,
}

/// A thing that differs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PlanChange {
    /// How.
    pub kind: ChangeKind,
    /// A part, a connector, a splice or a wire: its entry. A changed one: as it was and as it is.
    pub what: String,
    /// Why.
    pub why: String,
}

/// Every difference, and the numbers of parts (connectors and splices counted) and wires that stay.
pub fn changes(
    wish: &SpecForm,
    earlier: &EarlierSpec,
    text: &str,
    reasons: &[PlannedReason],
) -> (Vec<PlanChange>, [usize; 2]) {
    let (mut all, mut kept) = (Vec::new(), [0, 0]);
    let purposes = purposes(reasons);
    let there: BTreeSet<String> = names(wish).into_iter().collect();
    let mut gone: BTreeSet<String> = BTreeSet::new();
    let own: BTreeSet<String> = wish.wires.iter().map(|wire| wire.id.value.to_string()).collect();
    for section in PLANNED {
        let is_own = |entry: &&SectionEntry| match section {
            "wires" => own.contains(&entry.name),
            _ => there.contains(&entry.name),
        };
        let new = entries(text, section);
        let before: Vec<&SectionEntry> = earlier.written(section).iter().filter(|entry| !is_own(entry)).collect();
        for entry in &before {
            match new.iter().find(|other| other.name == entry.name) {
                None => {
                    gone.insert(entry.name.clone());
                    let why = lost_end(entry, earlier, &there, &gone);
                    all.push(PlanChange { kind: ChangeKind::Removed, what: shown(section, entry), why });
                }
                Some(other) if bare(other) == bare(entry) => kept[usize::from(section == "wires")] += 1,
                Some(other) => all.push(PlanChange {
                    kind: ChangeKind::Changed,
                    what: format!("{}; it was {}", shown(section, other), bare(entry)),
                    why: needed(&purposes, other),
                }),
            }
        }
        let added = new.iter().filter(|entry| !is_own(entry) && !before.iter().any(|b| b.name == entry.name));
        let change = |entry: &SectionEntry| PlanChange {
            kind: ChangeKind::Added,
            what: shown(section, entry),
            why: needed(&purposes, entry),
        };
        all.extend(added.map(change));
    }
    all.sort_by_key(|change| change.kind);
    (all, kept)
}

/// An entry without what it is for and without comments behind it.
fn bare(entry: &SectionEntry) -> String {
    let lines = entry.lines.iter().map(|line| line.split(PURPOSE).next().unwrap_or_default());
    let lines = lines.map(|line| line.split("  # ").next().unwrap_or_default().trim());
    lines.collect::<Vec<_>>().join(" ").trim_start_matches("- ").to_string()
}

fn shown(section: &str, entry: &SectionEntry) -> String {
    format!("{} {}", section.trim_end_matches('s'), bare(entry))
}

fn needed(purposes: &std::collections::BTreeMap<String, String>, entry: &SectionEntry) -> String {
    purposes.get(&entry.name).map_or_else(|| "for what it joins".to_string(), |purpose| format!("for {purpose}"))
}

/// Why an entry is gone: what it was on is not in the wish, or goes with it.
fn lost_end(entry: &SectionEntry, earlier: &EarlierSpec, there: &BTreeSet<String>, gone: &BTreeSet<String>) -> String {
    let wires = earlier.form.wires.iter();
    let own = wires.filter(|wire| wire.id.value.as_str() == entry.name || touches(wire, &entry.name));
    let ends = own.flat_map(|wire| [wire.from.value.part.to_string(), wire.to.value.part.to_string()]);
    let planned = |end: &String| {
        [earlier.form.parts.get(end).is_some(), earlier.form.splices.get(end).is_some()].contains(&true)
            || earlier.form.connectors.get(end).is_some()
    };
    let mut lost = ends.filter(|end| *end != entry.name && !there.contains(end));
    match lost.find(|end| !planned(end) || gone.contains(end)) {
        Some(end) if planned(&end) => format!("`{end}` is removed"),
        Some(end) => format!("`{end}` is no longer in the wish"),
        None => "nothing needs it any more".to_string(),
    }
}

fn touches(wire: &spec::WireForm, name: &str) -> bool {
    [&wire.from.value, &wire.to.value].iter().any(|end| end.part.as_str() == name)
}
