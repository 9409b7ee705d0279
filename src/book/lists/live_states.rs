//! What every wire carries in every printed state, for the page: it shows any of its drawings in any of these states.

use crate::lists::states::printed;
use model::{Model, WireId};
use quantity::Volts;
use serde::Serialize;
use states::{Asked, Live, Liveness, Solved, StateTable};
use std::collections::BTreeMap;

/// All states, by their place in the table of states.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LiveStates {
    /// What each wire carries, by its number.
    pub wires: BTreeMap<String, LiveWire>,
}

/// What a wire carries.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LiveWire {
    /// Its different readings: how live it is (0 no voltage, 1 voltage, 2 a trickle or a picture, 3 a load), then in
    /// words. Each once, in the order of the states.
    pub seen: Vec<String>,
    /// Its reading in each state, as an index of `seen`.
    pub at: Vec<usize>,
}

/// The first `most` states of a table.
pub fn live_states(solved: &Solved, table: &StateTable, most: usize) -> LiveStates {
    let model = solved.model;
    let rows = &table.rows[..table.rows.len().min(most)];
    let states: Vec<Live> = threads::each(rows, |row| {
        let asked = Asked { name: row.name.clone(), passing: row.passing, solution: row.solution.clone() };
        Live::of(solved, &asked)
    });
    let wire = |id: WireId| {
        let mut wire = LiveWire { seen: Vec::new(), at: Vec::new() };
        for live in &states {
            let reading = reading(model, live, id);
            let known = wire.seen.iter().position(|seen| *seen == reading);
            wire.at.push(known.unwrap_or(wire.seen.len()));
            if known.is_none() {
                wire.seen.push(reading);
            }
        }
        (model.wire(id).id.to_string(), wire)
    };
    LiveStates { wires: model.wire_ids().map(wire).collect() }
}

/// `3 12.4 V, 630 mA`.
fn reading(model: &Model, live: &Live, wire: WireId) -> String {
    let style = match live.liveness(wire) {
        Liveness::Dead => 0,
        Liveness::Voltage => 1,
        Liveness::Trickle => 2,
        Liveness::Load => 3,
    };
    if live.carries_picture(wire) {
        return format!("{style} picture");
    }
    let [a, b] = model.wire(wire).ends.map(|pin| live.volts(pin));
    let volts = a.or(b).unwrap_or(Volts::new(0.0));
    let volts = format!("{:.1} V", (volts.value() * 10.0).round() / 10.0 + 0.0);
    match live.is_lit(wire) {
        true => format!("{style} {volts}, {}", printed(live.amps(wire))),
        false => format!("{style} {volts}"),
    }
}

impl LiveStates {
    /// As JSON that can stand in a page: nothing in it ends an element. The readings of a wire are a text of one sign per
    /// state: `a` is the first of those seen; those after `z` begin at U+0100.
    ///
    /// # Errors
    /// If it can't be written, which is never so.
    pub fn in_page(&self) -> Result<String, String> {
        let sign = |&at: &usize| match u8::try_from(at) {
            Ok(at) if at < 26 => char::from(b'a' + at),
            _ => u32::try_from(0x100 + at - 26).ok().and_then(char::from_u32).unwrap_or('?'),
        };
        let short = |wire: &LiveWire| (wire.seen.clone(), wire.at.iter().map(sign).collect::<String>());
        let wires: BTreeMap<&String, _> = self.wires.iter().map(|(id, wire)| (id, short(wire))).collect();
        let text = serde_json::to_string(&wires).map_err(|e| e.to_string())?;
        Ok(text.replace('<', "\\u003c").replace('>', "\\u003e").replace('&', "\\u0026"))
    }
}
