//! A record read as a list of changes, for tables and charts: what changed when, and which changes only repeat.

use super::plan::{ActorKind, Plan};
use super::time::Time;
use super::timeline::{Record, Stage};
use circuit::ActorId;
use model::{InputId, ScreenId};
use states::{Wiring, shown_words};
use std::collections::BTreeMap;

/// One lane of a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Track {
    /// An input as it was put: a flasher's lever.
    Lever(InputId),
    /// A change of the flash or of the supply, by its place in the record.
    Remark(usize),
    /// A flasher's lamps.
    Lamps(InputId),
    /// A relay, a latch, a timer.
    Actor(ActorId),
    /// A part that starts up, by its place in the plan.
    Part(usize),
    /// What a screen should show.
    Wanted(ScreenId),
    /// What a screen displays.
    Screen(ScreenId),
}

/// One change in a record.
#[derive(Debug, Clone, PartialEq)]
pub struct LaneChange {
    /// When.
    pub at: Time,
    /// The lane that changes.
    pub track: Track,
    /// The index of the lane's point.
    pub point: usize,
    /// Whether it is news: among the first few changes of its kind since an input was last moved.
    pub fresh: bool,
}

/// Number of times that the same change of one lane counts as fresh.
const FRESH: usize = 3;

/// Every change of a record in order of time, the state at its start left out.
pub fn changes(plan: &Plan, record: &Record) -> Vec<LaneChange> {
    let mut all: Vec<(LaneChange, String)> = vec![];
    let mut add = |track: Track, points: &mut dyn Iterator<Item = (Time, String)>| {
        let points = points.enumerate().skip(1);
        all.extend(points.map(|(point, (at, value))| (LaneChange { at, track, point, fresh: true }, value)));
    };
    for (i, lane) in record.levers.iter().enumerate() {
        add(Track::Lever(InputId(i)), &mut lane.points.iter().map(|(at, value)| (*at, value.to_string())));
        if record.inputs[i].points.len() > lane.points.len() {
            let points = &mut record.inputs[i].points.iter().map(|(at, value)| (*at, value.to_string()));
            add(Track::Lamps(InputId(i)), points);
        }
    }
    for (i, (at, words)) in record.remarks.iter().enumerate() {
        // The first point of a lane is its start; a remark has none.
        add(Track::Remark(i), &mut [(*at, String::new()), (*at, words.clone())].into_iter());
    }
    for (i, lane) in record.actors.iter().enumerate() {
        if plan.actors[i].kind != ActorKind::Threshold {
            let points = &mut lane.points.iter().map(|(at, value)| (*at, value.to_string()));
            add(Track::Actor(ActorId(i as u32)), points);
        }
    }
    for (i, lane) in record.parts.iter().enumerate() {
        add(Track::Part(i), &mut lane.points.iter().map(|(at, value)| (*at, format!("{value:?}"))));
    }
    for (i, lane) in record.wanted.iter().enumerate() {
        add(Track::Wanted(ScreenId(i)), &mut lane.points.iter().map(|(at, value)| (*at, format!("{value:?}"))));
    }
    for (i, lane) in record.screens.iter().enumerate() {
        add(Track::Screen(ScreenId(i)), &mut lane.points.iter().map(|(at, value)| (*at, format!("{value:?}"))));
    }
    all.sort_by_key(|(change, _)| (change.at, change.track, change.point));
    let mut seen: BTreeMap<(Track, String), usize> = BTreeMap::new();
    let mut out = vec![];
    let mut most = FRESH;
    for (mut change, value) in all {
        if matches!(change.track, Track::Lever(_) | Track::Remark(_)) {
            seen.clear();
            most = FRESH;
        }
        let times = seen.entry((change.track, value)).or_insert(0);
        *times += 1;
        change.fresh = *times <= most;
        if !change.fresh {
            // From the first repeat on, only what is new.
            most = 1;
        }
        out.push(change);
    }
    out
}

/// A change in words: `reverse on`, `K1 in`, `REAR up`; none for lanes that a table has its own columns for.
pub fn change_words(wiring: &Wiring, plan: &Plan, record: &Record, change: &LaneChange) -> Option<String> {
    let model = wiring.model;
    match change.track {
        Track::Lever(input) => {
            let at = record.levers[input.0].points[change.point].1;
            let position = &model.inputs[input.0].positions[usize::from(at)];
            let word = if model.inputs[input.0].flash.is_some() && at != 0 { "flashing" } else { position.as_str() };
            Some(format!("{} {word}", model.inputs[input.0].name))
        }
        Track::Actor(actor) => {
            let on = record.actors[actor.index()].points[change.point].1;
            let name = &wiring.assembly.circuit.actors[actor.index()].name;
            let word = match (plan.actors[actor.index()].kind, on) {
                (ActorKind::Coil { .. }, true) => "in",
                (ActorKind::Coil { .. }, false) => "out",
                (ActorKind::Latch | ActorKind::Toggle { .. }, true) => "set",
                (ActorKind::Latch | ActorKind::Toggle { .. }, false) => "reset",
                (_, true) => "on",
                (_, false) => "off",
            };
            Some(format!("{name} {word}"))
        }
        Track::Part(part) => {
            let word = match record.parts[part].points[change.point].1 {
                Stage::Off => "off",
                Stage::Starting => "starts",
                Stage::Up => "on",
            };
            Some(format!("{} {word}", model.part(plan.starters[part].part).name))
        }
        Track::Remark(i) => Some(record.remarks[i].1.clone()),
        Track::Lamps(_) | Track::Wanted(_) | Track::Screen(_) => None,
    }
}

/// One line of a timeline's table.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// When.
    pub at: Time,
    /// What happens, in words; empty if only screens change.
    pub happens: Vec<String>,
    /// By screen, what is on its display, and behind `≠` what should be.
    pub screens: Vec<String>,
    /// How many moments before this one were left out because they only repeat.
    pub skipped: usize,
}

/// The table of a record: every moment at which something fresh happens.
pub fn rows(wiring: &Wiring, plan: &Plan, record: &Record) -> Vec<Row> {
    let all = changes(plan, record);
    let mut rows =
        vec![Row { at: Time::ZERO, happens: vec![], screens: screens(wiring, record, Time::ZERO), skipped: 0 }];
    let mut skipped = 0;
    for group in all.chunk_by(|a, b| a.at == b.at) {
        let at = group[0].at;
        let tells = |change: &LaneChange| change.fresh && !matches!(change.track, Track::Lamps(_));
        if !group.iter().any(tells) {
            skipped += usize::from(group.iter().any(|c| !matches!(c.track, Track::Lamps(_))));
            continue;
        }
        let happens: Vec<String> =
            group.iter().filter_map(|change| change_words(wiring, plan, record, change)).collect();
        let row = Row { at, happens, screens: screens(wiring, record, at), skipped: std::mem::take(&mut skipped) };
        match rows.last_mut() {
            Some(last) if last.at == at => *last = row,
            Some(last) if row.happens.is_empty() && row.screens == last.screens => skipped = row.skipped,
            _ => rows.push(row),
        }
    }
    if skipped > 0 {
        rows.push(Row { at: record.to, happens: vec![], screens: screens(wiring, record, record.to), skipped });
    }
    rows
}

/// How far [`around`] looks to either side.
const AROUND: Time = Time::milliseconds(1_500);

/// Most rows that [`around`] gives, and how many of those come before the moment.
const MOST_ROWS: usize = 10;
const BEFORE: usize = 4;

/// The rows of a record around a moment.
pub fn around(wiring: &Wiring, plan: &Plan, record: &Record, at: Time) -> Vec<Row> {
    let mut rows = rows(wiring, plan, record);
    // Where nothing moves just then, the last change shows its state.
    let last = rows.iter().rev().find(|row| row.at <= at).map_or(at, |row| row.at);
    let from = last.min(at - AROUND);
    rows.retain(|row| row.at >= from && row.at <= at + AROUND);
    let first = rows.partition_point(|row| row.at < at).saturating_sub(BEFORE);
    rows.into_iter().skip(first).take(MOST_ROWS).collect()
}

/// The rows of a record from one moment to another; of many, the first few and the last ones.
pub fn between(wiring: &Wiring, plan: &Plan, record: &Record, from: Time, to: Time) -> Vec<Row> {
    let mut rows = rows(wiring, plan, record);
    rows.retain(|row| row.at >= from && row.at <= to);
    if rows.len() > MOST_ROWS {
        rows.drain(BEFORE..rows.len() - (MOST_ROWS - BEFORE));
    }
    rows
}

fn screens(wiring: &Wiring, record: &Record, at: Time) -> Vec<String> {
    let model = wiring.model;
    let cell = |(i, lane): (usize, &super::timeline::Lane<super::Displayed>)| {
        let Some(display) = lane.at(at) else { return String::new() };
        let view = record.wanted[i].at(at).copied().flatten();
        match view.map(|v| model.screens[i].views[v].show) {
            Some(wanted) if !display.agrees(wanted) => {
                format!("{} ≠ {}", display.words(model), shown_words(model, wanted))
            }
            _ => display.words(model),
        }
    };
    record.screens.iter().enumerate().map(cell).collect()
}
