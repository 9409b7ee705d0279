//! Voltages at pins and currents in wires, in every state.

use super::fail;
use super::table::table;
use book::lists::csv::{CellTable, plain};
use facts::readings::{AtCorners, ReadingRange, Readings};
use form::place::suggestion;
use model::{Model, PinId, WireId};
use quantity::Quantity;
use serde_json::{Value, json};
use states::{Solved, StateRow};
use std::process::ExitCode;

/// The pins and wires that the user asks for: one column each.
#[derive(Debug, Default)]
pub struct Columns {
    pins: Vec<PinId>,
    wires: Vec<WireId>,
}

/// The readings in each state.
pub struct Values {
    /// The name of each column, and its unit.
    columns: Vec<(String, &'static str)>,
    /// Each state's name, and a reading for each column.
    rows: Vec<(String, Vec<Option<Reading>>)>,
}

/// One reading, as text with its unit and as a number in volts or amperes.
struct Reading {
    nominal: (String, f64),
    least: (String, f64),
    most: (String, f64),
}

impl Columns {
    /// The pins and wires of these names.
    ///
    /// # Errors
    /// For a name that is none, the exit status; the message is printed.
    pub fn named(model: &Model, pins: &[String], wires: &[String]) -> Result<Columns, ExitCode> {
        let pin = |name: &String| {
            let found = model.pin_ids().find(|pin| model.pin_name(*pin) == *name);
            let names: Vec<String> = model.pin_ids().map(|pin| model.pin_name(pin)).collect();
            found.ok_or_else(|| unknown("pin", name, &names))
        };
        let wire = |name: &String| {
            let found = model.wire_ids().find(|wire| model.wire(*wire).id.as_str() == name);
            let names: Vec<String> = model.wires.iter().map(|wire| wire.id.to_string()).collect();
            found.ok_or_else(|| unknown("wire", name, &names))
        };
        Ok(Columns {
            pins: pins.iter().map(pin).collect::<Result<_, _>>()?,
            wires: wires.iter().map(wire).collect::<Result<_, _>>()?,
        })
    }

    /// Whether nothing is asked for.
    pub fn is_empty(&self) -> bool {
        self.pins.is_empty() && self.wires.is_empty()
    }
}

fn unknown(what: &str, name: &str, names: &[String]) -> ExitCode {
    let hint = suggestion(name, names.iter().map(String::as_str), &format!("{what}s"));
    fail(&format!("the spec has no {what} `{name}`\n  do: {hint}"))
}

impl Values {
    /// Reads every state of the table.
    pub fn of(solved: &Solved, asked: Columns) -> Values {
        let model = solved.model;
        let mut readings = Readings::new(solved);
        let pins = asked.pins.iter().map(|pin| (model.pin_name(*pin), "V"));
        let wires = asked.wires.iter().map(|wire| (format!("wire {}", model.wire(*wire).id), "A"));
        let columns = pins.chain(wires).collect();
        let row = |row: &StateRow| {
            let at = readings.of(&row.solution);
            (name(row), asked.read(&at))
        };
        Values { columns, rows: solved.table().rows.iter().map(row).collect() }
    }

    /// A line for each state, at nominal supply.
    pub fn text(&self) -> String {
        let headings: Vec<String> =
            std::iter::once("state".to_string()).chain(self.columns.iter().map(|(name, _)| name.clone())).collect();
        let text = |reading: &Option<Reading>| reading.as_ref().map_or("–".to_string(), |one| one.nominal.0.clone());
        let rows: Vec<Vec<String>> = self
            .rows
            .iter()
            .map(|(state, readings)| std::iter::once(state.clone()).chain(readings.iter().map(text)).collect())
            .collect();
        table(&headings, &rows)
    }

    /// For spreadsheets: three columns for each, with the range over every corner.
    pub fn csv(&self) -> String {
        let three = |(name, unit): &(String, &str)| {
            [format!("{name} [{unit}]"), format!("{name} lowest [{unit}]"), format!("{name} highest [{unit}]")]
        };
        let headings: Vec<String> =
            std::iter::once("state".to_string()).chain(self.columns.iter().flat_map(three)).collect();
        let headings: Vec<&str> = headings.iter().map(String::as_str).collect();
        let number = |value: f64| plain(value.to_string());
        let cells = |reading: &Option<Reading>| match reading {
            Some(one) => [number(one.nominal.1), number(one.least.1), number(one.most.1)],
            None => std::array::from_fn(|_| String::new()),
        };
        let rows = self.rows.iter().map(|(state, readings)| {
            std::iter::once(state.clone()).chain(readings.iter().flat_map(cells)).collect::<Vec<String>>()
        });
        String::from_utf8_lossy(&CellTable::new(&headings, rows).csv()).into_owned()
    }

    /// For programs: volts and amperes.
    pub fn json(&self) -> String {
        let one = |((name, unit), reading): (&(String, &str), &Option<Reading>)| {
            let value = reading.as_ref().map_or(
                Value::Null,
                |one| json!({ "unit": unit, "nominal": one.nominal.1, "lowest": one.least.1, "highest": one.most.1 }),
            );
            (name.clone(), value)
        };
        let rows = self.rows.iter().map(|(state, readings)| {
            let values: serde_json::Map<String, Value> = self.columns.iter().zip(readings).map(one).collect();
            json!({ "state": state, "values": values })
        });
        let whole = json!({ "version": 1, "states": rows.collect::<Vec<Value>>() });
        format!("{}\n", serde_json::to_string_pretty(&whole).unwrap_or_default())
    }
}

impl Columns {
    fn read(&self, at: &AtCorners) -> Vec<Option<Reading>> {
        let volts = self.pins.iter().map(|pin| at.range(*pin).map(Reading::of));
        let amps = self.wires.iter().map(|wire| at.current(*wire).map(Reading::of));
        volts.chain(amps).collect()
    }
}

impl Reading {
    fn of<Q: Quantity>(range: ReadingRange<Q>) -> Reading {
        // In millionths, and never minus zero.
        let value = |quantity: Q| (quantity.to_string(), (quantity.value() * 1e6).round() / 1e6 + 0.0);
        Reading { nominal: value(range.nominal), least: value(range.least), most: value(range.most) }
    }
}

/// A state's name, and whether it ends by itself.
pub fn name(row: &StateRow) -> String {
    if row.passing { format!("{} (for a time)", row.name) } else { row.name.clone() }
}
