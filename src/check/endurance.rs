//! How long each battery runs the harness with the engine off, as rows for people.

use facts::Facts;
use facts::engine_off::EngineOff;
use facts::small_currents::LEAKAGE;
use model::ElementKind;
use quantity::{AmpHours, Amps, long_time};
use serde::Serialize;

/// One battery in one position of the key.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Endurance {
    /// The battery.
    pub battery: String,
    /// Its capacity, if the spec gives it.
    pub capacity: Option<AmpHours>,
    /// Where the key stands: `key run`; `always` where nothing switches a supply.
    pub key: String,
    /// The state that takes most.
    pub state: String,
    /// Its current at nominal supply.
    pub amps: Amps,
    /// The same in words: leakage has no figure.
    pub current: String,
    /// Time until half of the capacity is left, in words; `None` without a capacity or a current.
    pub to_half: Option<String>,
    /// Time until the battery no longer starts the engine.
    pub to_no_start: Option<String>,
}

/// The rows, by battery and position of the key.
pub fn endurance(facts: &Facts) -> Vec<Endurance> {
    facts.engine_off().iter().map(|row| one(facts, row)).collect()
}

fn one(facts: &Facts, row: &EngineOff) -> Endurance {
    let model = facts.model;
    let capacity = match model.element(row.battery).kind {
        ElementKind::Battery { figures, .. } => figures.capacity,
        _ => None,
    };
    let key: Vec<String> = row
        .key
        .iter()
        .map(|(input, at)| {
            let input = &model.inputs[input.0];
            format!("{} {}", input.name, input.positions[*at])
        })
        .collect();
    Endurance {
        battery: model.part(model.element(row.battery).part).name.to_string(),
        capacity,
        key: if key.is_empty() { "always".to_string() } else { key.join(", ") },
        state: facts.solved.state_words(&row.moment.state),
        amps: row.amps,
        current: if row.amps < LEAKAGE { format!("under {LEAKAGE}") } else { row.amps.to_string() },
        to_half: row.lasts.map(|lasts| long_time(lasts.to_half)),
        to_no_start: row.lasts.map(|lasts| long_time(lasts.to_no_start)),
    }
}

/// Lines for the end of a report; nothing where no battery draws a current.
pub(super) fn text(rows: &[Endurance]) -> String {
    if rows.iter().all(|row| row.amps < LEAKAGE) {
        return String::new();
    }
    let several = rows.iter().any(|row| row.battery != rows[0].battery);
    let name = |row: &Endurance| if several { format!("{}, {}", row.battery, row.key) } else { row.key.clone() };
    if let Some(unknown) = rows.iter().find(|row| row.capacity.is_none()) {
        let each: Vec<String> = rows.iter().map(|row| format!("{} {}", name(row), row.current)).collect();
        let hint = format!("give `{}` its `capacity` to see how long it lasts", unknown.battery);
        return format!("engine off, most that stays on: {} ({hint})\n", each.join("; "));
    }
    let widest = |words: &dyn Fn(&Endurance) -> String| rows.iter().map(|row| words(row).chars().count()).max();
    let (names, amps) = (widest(&name).unwrap_or(0), widest(&|row| row.current.clone()).unwrap_or(0));
    let line = |row: &Endurance| {
        let lasts = match (&row.capacity, &row.to_half, &row.to_no_start) {
            (Some(capacity), Some(half), Some(end)) => {
                format!("half of {capacity} in {half}, no engine start after {end}")
            }
            _ => String::new(),
        };
        format!("  {:<names$}  {:>amps$}  {lasts}\n", name(row), row.current)
    };
    let lines: String = rows.iter().map(line).collect();
    format!("engine off, most that stays on:\n{lines}")
}
