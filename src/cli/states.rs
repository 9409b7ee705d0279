//! `states`: the table of every state.

use super::asked::{Columns, Values, name};
use super::table::table;
use super::{code, load, print, stopped};
use book::lists::csv::plain;
use clap::{Args, ValueEnum};
use model::{Model, Shown};
use serde_json::json;
use states::{
    LIT_FROM, ScreenReading, Solved, StateRow, StateTable, alternates_words, alternating, left_out, left_out_line,
    shown_words, state_name,
};
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `states`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  loomwright states van.yaml
  loomwright states van.yaml --pins K1.86,HU1.power        volts at these pins in each state
  loomwright states van.yaml --wires 12,40 --format csv    amperes in these wires, with their range over all corners

Volts are those of a meter between the pin and the battery's negative. Amperes count from a wire's first end to its second.")]
pub struct Arguments {
    /// The spec.
    spec: PathBuf,
    /// Print the voltages at these pins, such as K1.86.
    #[arg(long, value_name = "PIN", value_delimiter = ',')]
    pins: Vec<String>,
    /// Print the currents in these wires, by their ids.
    #[arg(long, value_name = "WIRE", value_delimiter = ',')]
    wires: Vec<String>,
    /// How it is printed.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

/// How states are printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people.
    Text,
    /// For spreadsheets.
    Csv,
    /// For programs.
    Json,
}

/// Runs the command.
pub fn run(arguments: &Arguments) -> ExitCode {
    code(list(arguments))
}

fn list(arguments: &Arguments) -> Result<(), ExitCode> {
    let job = load(&arguments.spec)?;
    let columns = Columns::named(job.model().map_err(stopped)?, &arguments.pins, &arguments.wires)?;
    let solved = job.solved().map_err(stopped)?;
    let asked = (!columns.is_empty()).then(|| Values::of(solved, columns));
    print(&match (asked, arguments.format) {
        (Some(values), Format::Text) => values.text() + &footer(solved, &solved.table()),
        (Some(values), Format::Csv) => values.csv(),
        (Some(values), Format::Json) => values.json(),
        (None, Format::Text) => text(solved),
        (None, Format::Csv) => csv(solved),
        (None, Format::Json) => json(solved),
    });
    Ok(())
}

/// The table as text: a line a state; `≠` marks a screen that shows something else than intended.
fn text(solved: &Solved) -> String {
    let states = solved.table();
    let (headings, rows) = cells(solved, &states);
    table(&headings, &rows) + &footer(solved, &states)
}

/// The same for spreadsheets.
fn csv(solved: &Solved) -> String {
    let (headings, rows) = cells(solved, &solved.table());
    let headings: Vec<&str> = headings.iter().map(String::as_str).collect();
    let rows = rows.into_iter().map(|row| row.into_iter().map(plain).collect());
    String::from_utf8_lossy(&book::lists::csv::CellTable::new(&headings, rows).csv()).into_owned()
}

fn cells(solved: &Solved, states: &StateTable) -> (Vec<String>, Vec<Vec<String>>) {
    let model = solved.model;
    let mut headings = vec!["state".to_string()];
    headings.extend(model.screens.iter().map(|s| s.name.to_string()));
    headings.push("relays in".to_string());
    let fuses = states.rows.first().map(|r| r.fuses.clone()).unwrap_or_default();
    headings.extend(fuses.iter().map(|(id, _)| model.part(model.element(*id).part).name.to_string()));
    (headings, states.rows.iter().map(|row| line(model, row)).collect())
}

/// How many states there are, and what is not among them.
fn footer(solved: &Solved, states: &StateTable) -> String {
    let count = states.rows.len();
    let mut out = format!(
        "{count} {} at nominal supply, copper at 20 °C{}\n",
        if count == 1 { "state" } else { "states" },
        if states.cut_short { "; there are more, the table stops here" } else { "" }
    );
    if states.rows.iter().any(|row| row.solution.has_pulses()) {
        out.push_str("pulsed feeds: currents are those of the on-time, at the middle of the spec's on-time share\n");
    }
    out.push_str(&left_out_line(&left_out(solved)).unwrap_or_default());
    out.push_str(&unrest(solved));
    out
}

/// The states that don't settle, in words.
fn unrest(solved: &Solved) -> String {
    let circuit = &solved.assembly.circuit;
    let mut out = String::new();
    for chatter in &solved.exploration.chatter {
        let names: Vec<&str> = chatter.actors.iter().map(|a| circuit.actors[a.index()].name.as_str()).collect();
        let state = chatter.round.first().map(|s| state_name(solved, s)).unwrap_or_default();
        let what = if chatter.rests.is_empty() { "never settles" } else { "depends on which moves first" };
        let shown = alternating(solved, &chatter.round).into_iter().filter(|_| chatter.is_endless());
        let screens = shown.map(|(screen, pictures)| {
            let name = &solved.model.screens[screen.0].name;
            format!("; screen {name} {}", alternates_words(solved.model, &pictures))
        });
        out.push_str(&format!("{state}: {} {what}{}\n", names.join(", "), screens.collect::<String>()));
    }
    for unsolved in &solved.exploration.unsolved {
        out.push_str(&format!("a state could not be solved: {}\n", unsolved.why));
    }
    out
}

/// The cells of one state.
fn line(model: &Model, row: &StateRow) -> Vec<String> {
    let mut cells = vec![name(row)];
    for (screen, reading) in model.screens.iter().zip(&row.screens) {
        cells.push(cell(model, reading, reading.view.map(|v| screen.views[v].show), row.passing));
    }
    let relays: Vec<&str> = row.relays.iter().map(|s| model.signals[s.0].name.as_str()).collect();
    cells.push(if relays.is_empty() { "–".to_string() } else { relays.join(" ") });
    cells.extend(row.fuses.iter().map(|(_, amps)| if *amps < LIT_FROM { "–".into() } else { amps.to_string() }));
    cells
}

fn cell(model: &Model, reading: &ScreenReading, wanted: Option<Shown>, passing: bool) -> String {
    let shows = reading.picture.words(model);
    match wanted {
        Some(wanted) if !reading.agrees && !passing => format!("{shows} ≠ {}", shown_words(model, wanted)),
        _ => shows,
    }
}

/// The table as JSON.
fn json(solved: &Solved) -> String {
    let model = solved.model;
    let StateTable { corner, rows, cut_short } = solved.table();
    let rows: Vec<_> = rows
        .iter()
        .map(|row| {
            let inputs: serde_json::Map<String, serde_json::Value> = model
                .inputs
                .iter()
                .zip(&row.positions)
                .map(|(input, at)| (input.name.to_string(), json!(input.positions[*at])))
                .collect();
            let screens: serde_json::Map<String, serde_json::Value> = model
                .screens
                .iter()
                .zip(&row.screens)
                .map(|(screen, reading)| {
                    let wanted = reading.view.map(|v| shown_words(model, screen.views[v].show));
                    let shows = reading.picture.words(model);
                    (screen.name.to_string(), json!({ "shows": shows, "wanted": wanted, "agrees": reading.agrees }))
                })
                .collect();
            let fuses: serde_json::Map<String, serde_json::Value> = row
                .fuses
                .iter()
                .map(|(id, amps)| (model.part(model.element(*id).part).name.to_string(), json!(amps)))
                .collect();
            let named = |ids: &[model::SignalId]| -> Vec<String> {
                ids.iter().map(|s| model.signals[s.0].name.clone()).collect()
            };
            let held = row.held.iter().filter(|(_, on)| *on).map(|(id, _)| *id);
            let memory: Vec<_> = row.memory.iter().copied().chain(held).collect();
            json!({
                "state": row.name, "inputs": inputs, "memory": named(&memory), "for_a_time": row.passing,
                "screens": screens, "relays": named(&row.relays), "fuses": fuses,
            })
        })
        .collect();
    let whole = json!({ "version": 2, "corner": corner.to_string(), "cut_short": cut_short, "left_out": left_out(solved), "states": rows });
    format!("{}\n", serde_json::to_string_pretty(&whole).unwrap_or_default())
}
