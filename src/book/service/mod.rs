//! Service sheets: for each view, the inputs to set and the chain of pins from trigger to picture, with the volts to
//! expect at each when it works.

pub mod chain;
mod follow;
pub mod symptoms;

use crate::lists::csv::{CellTable, plain};
use crate::lists::states::state_of;
use crate::service::chain::Chain;
use crate::service::follow::{Follower, Pull};
use crate::steps;
use catalogue::part_form::TimerKind;
use explore::Move;
use facts::{Facts, Readings};
use model::{Model, ScreenId, Shown, SignalId, SignalKind};
use serde::Serialize;
use states::{Picture, Solved, StateRow, StateTable, WalkStep, shown_words};
use std::collections::BTreeMap;

/// How to trace one view.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ServiceSheet {
    /// The screen's name.
    pub screen: String,
    /// The screen's part, `HU1 (Dash screen)`.
    pub part: String,
    /// When the view counts, as the spec says it.
    pub when: String,
    /// What should be shown.
    pub shows: String,
    /// The state that the figures are for.
    pub state: String,
    /// How inputs are set for it, and which memories must be set.
    pub inputs: Vec<InputSetting>,
    /// The steps there from rest; empty at rest.
    pub way: Vec<String>,
    /// Why the chains don't end in that picture, if they don't.
    pub trouble: Option<String>,
    /// Which chains to begin with, by symptom.
    pub begin: Vec<Begin>,
    /// The chains of pins, causes before effects.
    pub chains: Vec<Chain>,
}

/// Where to begin for a symptom.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Begin {
    /// The symptom.
    pub seen: String,
    /// The chains, in words: `chains 2 to 4`.
    pub at: String,
}

/// An input and where it is put.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct InputSetting {
    /// Its name.
    pub input: String,
    /// In words.
    pub title: String,
    /// The position.
    pub position: String,
}

/// A sheet for every view of every screen, in the order of the spec.
pub fn service_sheets(facts: &Facts) -> Vec<ServiceSheet> {
    let solved = facts.solved;
    let mut readings = facts.readings();
    let mut sheets = Vec::new();
    for screen in (0..solved.model.screens.len()).map(ScreenId) {
        for view in 0..solved.model.screens[screen.0].views.len() {
            sheets.push(sheet(facts, &mut readings, (screen, view)));
        }
    }
    sheets
}

fn sheet(facts: &Facts, readings: &mut Readings, (screen, view): (ScreenId, usize)) -> ServiceSheet {
    let (model, solved, table) = (facts.model, facts.solved, facts.table());
    let (this, line) = (&model.screens[screen.0], &model.screens[screen.0].views[view]);
    let part = model.part(this.part);
    let mut sheet = ServiceSheet {
        screen: this.name.to_string(),
        part: format!("{} ({})", part.name, part.title),
        when: line.text.clone(),
        shows: shown_words(model, line.show),
        state: String::new(),
        inputs: Vec::new(),
        way: Vec::new(),
        trouble: None,
        begin: Vec::new(),
        chains: Vec::new(),
    };
    let Some(row) = state_of(table, screen, view) else {
        let none = if table.cut_short { "None of the states in the table" } else { "No state that can be reached" };
        sheet.trouble = Some(format!("{none} makes this line apply."));
        return sheet;
    };
    let reading = &row.screens[screen.0];
    sheet.state = row.name.clone();
    sheet.inputs = settings(model, table, row);
    let moves = solved.exploration.way_to(&row.solution.state).unwrap_or_default();
    sheet.way = steps::in_vehicle(model, &solved.assembly, &moves);
    let changes = facts.steps_to(&row.solution.state);
    if !reading.agrees {
        sheet.trouble = Some(format!("As designed, the screen shows {} here.", reading.picture.words(model)));
    }
    let at = readings.of(&row.solution);
    let pulls = pulls(solved, readings, row, &changes);
    let mut follower = Follower::new(solved, facts.paths().tracer(), &at, &pulls);
    // The symptom, and the number of chains once all its possible causes have been followed.
    let mut begin: Vec<(&str, usize)> = Vec::new();
    match reading.rule {
        Some(rule) => {
            follower.logic(&this.shows[rule].when, true);
            begin.push(("Another picture stays, or the screen's own page", follower.count()));
            for arrival in &reading.arrivals {
                let input = this.shows[rule].input;
                follower.picture(&solved.pictures[&input][arrival.way], input);
            }
            begin.push(("The screen changes over, but to black or blue", follower.count()));
        }
        // Nothing is asked for: every trigger of the screen stays off.
        None => this.shows.iter().for_each(|show| follower.logic(&show.when, false)),
    }
    let working = |s: &SignalKind| matches!(s, SignalKind::Working { .. });
    let mine = (0..model.signals.len()).filter(|i| model.signals[*i].part == this.part);
    for signal in mine.filter(|i| working(&model.signals[*i].kind)).map(SignalId) {
        let wants_dark = line.show == Shown::Black && reading.picture == Picture::Dark;
        if wants_dark { follower.dead(signal) } else { follower.live(signal) }
    }
    begin.push(("The screen is dark", follower.count()));
    sheet.chains = follower.finish();
    begin.push(("Something shows that should not", sheet.chains.len()));
    let mut from = 0;
    for (seen, to) in begin {
        let at = match to - from {
            0 => continue,
            1 => format!("chain {to}"),
            _ => format!("chains {} to {to}", from + 1),
        };
        sheet.begin.push(Begin { seen: seen.to_string(), at });
        from = to;
    }
    sheet
}

/// The inputs away from rest in a state, or every input where all are at rest; and what must be remembered, where
/// other states that last have the same inputs and remember something else.
pub fn settings(model: &Model, table: &StateTable, row: &StateRow) -> Vec<InputSetting> {
    let all_at_rest = row.positions.iter().all(|position| *position == 0);
    let inputs = model.inputs.iter().zip(&row.positions);
    let shown = inputs.filter(|(_, position)| all_at_rest || **position != 0);
    let setting = |(input, position): (&model::Input, &usize)| InputSetting {
        input: input.name.to_string(),
        title: input.title.clone(),
        position: input.positions[*position].to_string(),
    };
    let twins = table.rows.iter().filter(|other| !other.passing && other.positions == row.positions);
    let mut remembered: Vec<SignalId> = twins.flat_map(|twin| twin.memory.iter().copied()).collect();
    remembered.sort();
    remembered.dedup();
    let open = |id: &SignalId| {
        table.rows.iter().any(|other| {
            !other.passing && other.positions == row.positions && other.memory.contains(id) != row.memory.contains(id)
        })
    };
    let memory = remembered.iter().filter(|id| open(id)).map(|id| {
        let name = model.signals[id.0].name.clone();
        let position = if row.memory.contains(id) { "set" } else { "not set" };
        InputSetting { input: name.clone(), title: name, position: position.to_string() }
    });
    let held = row.held.iter().map(|(id, on)| {
        let name = model.signals[id.0].name.clone();
        let position = match (&model.signals[id.0].kind, on) {
            (SignalKind::Relay { .. }, true) => "in",
            (SignalKind::Relay { .. }, false) => "out",
            (_, true) => "on",
            (_, false) => "off",
        };
        InputSetting { input: name.clone(), title: name, position: position.to_string() }
    });
    shown.map(setting).chain(memory).chain(held).collect()
}

/// For each self-holding or latching relay and each latching or toggling module, the moment at which it was set, before
/// its contacts moved. The voltages of its chain hold at that moment.
fn pulls<'m>(
    solved: &Solved,
    readings: &mut Readings<'m>,
    row: &StateRow,
    changes: &[WalkStep],
) -> BTreeMap<SignalId, Pull<'m>> {
    let (model, assembly) = (solved.model, &solved.assembly);
    let latching = |id: &SignalId| match model.signals[id.0].kind {
        SignalKind::Relay { latching, .. } => latching,
        SignalKind::Timer { kind, .. } => matches!(kind, TimerKind::Toggle | TimerKind::Latch),
        _ => false,
    };
    let held = row.held.iter().filter(|(_, on)| *on).map(|(id, _)| *id);
    let relay = |id: &SignalId| matches!(model.signals[id.0].kind, SignalKind::Relay { .. });
    let kept: Vec<SignalId> = held.filter(relay).chain(row.memory.iter().copied().filter(latching)).collect();
    let mut pulls = BTreeMap::new();
    for id in kept {
        let Some(actor) = assembly.actor(id) else { continue };
        let pulled = |change: &&WalkStep| !change.before.memory.on(actor) && change.after.memory.on(actor);
        if let Some(change) = changes.iter().rfind(pulled)
            && let Move::Input(input, position) = change.by
            && let Some(at) = readings.held(&change.start)
        {
            let input = &model.inputs[input.index()];
            let done = match (input.momentary, input.switch) {
                (true, Some(switch)) => format!("{} held pressed", model.part(switch).name),
                _ => format!("{} {}", input.title, input.positions[usize::from(position)]),
            };
            pulls.insert(id, Pull { at, done });
        }
    }
    pulls
}

/// The sheets as CSV, one row for each pin of each chain.
pub fn cells(sheets: &[ServiceSheet]) -> CellTable {
    let headings = [
        "Screen",
        "View",
        "Shows",
        "Set",
        "Chain",
        "Chain title",
        "Expect",
        "Step",
        "Through",
        "Colour",
        "Size",
        "Pin",
        "Place",
        "Nominal (V)",
        "Lowest (V)",
        "Highest (V)",
        "Look for",
        "Trouble",
        "Probe at",
        "Side",
        "Passes",
        "How to test",
    ];
    let mut rows = Vec::new();
    for sheet in sheets {
        let settings: Vec<String> = sheet.inputs.iter().map(|s| format!("{} {}", s.input, s.position)).collect();
        let set =
            if sheet.way.is_empty() { settings.join(", ") } else { format!("from rest: {}", sheet.way.join(", ")) };
        let head = vec![sheet.screen.clone(), sheet.when.clone(), sheet.shows.clone(), set];
        let trouble = sheet.trouble.clone().unwrap_or_else(|| "none".to_string());
        if sheet.chains.is_empty() {
            let blank = std::iter::repeat_n(String::new(), headings.len() - head.len() - 5);
            let end = [trouble.clone(), String::new(), String::new(), String::new(), String::new()];
            rows.push(head.iter().cloned().chain(blank).chain(end).collect());
        }
        for (c, chain) in sheet.chains.iter().enumerate() {
            for (l, link) in chain.links.iter().enumerate() {
                let mut row = head.clone();
                let volts = |of: fn(&crate::meter::Expected) -> crate::meter::Metered| {
                    link.volts.as_ref().map(|v| of(v).number()).unwrap_or_default()
                };
                row.extend([
                    (c + 1).to_string(),
                    chain.title.clone(),
                    chain.kind.word().to_string(),
                    (l + 1).to_string(),
                    link.through.clone(),
                    link.wire.as_ref().and_then(|w| w.colour).map(|c| c.to_string()).unwrap_or_default(),
                    link.wire.as_ref().and_then(|w| w.gauge).map(plain).unwrap_or_default(),
                    plain(&link.pin),
                    link.place.clone(),
                    volts(|v| v.nominal),
                    volts(|v| v.least),
                    volts(|v| v.most),
                    plain(&link.look),
                    trouble.clone(),
                    plain(&link.probe),
                    if link.returns { "to ground" } else { "feed" }.to_string(),
                    plain(&link.passes),
                    plain(&chain.how),
                ]);
                rows.push(row);
            }
        }
    }
    CellTable::new(&headings, rows)
}
