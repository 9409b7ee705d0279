//! What carries current from one thing to the next: wires, leads, bars, and where they begin and end.

use super::super::column_widths::BESIDE;
use super::super::labels::{self, LONGEST, plain};
use super::super::placed::{Across, Fall, Level, Tip};
use super::{LEADING, Page};
use kit::colour::{INK, PAPER, SOFT_INK};
use kit::font;
use kit::insulation::Insulation;
use kit::lines::{self, LABEL, SMALL, SYMBOL};
use kit::scene::*;
use model::{PinId, WireId};

impl Page<'_> {
    /// A splice's bar, or a lead from a contact to its column.
    pub(super) fn across(&mut self, across: &Across) {
        if across.to < self.first || across.from > self.last {
            return;
        }
        let y = self.zero + across.y;
        let model = self.all.model;
        let name = model.pin_name(across.pin);
        let starts = self.here(across.from);
        let left = if starts { self.x(across.from) + across.inset } else { self.edges[0] };
        let right = if self.here(across.to) { self.x(across.to) } else { self.edges[1] };
        let width = if across.bar { lines::HEAVY } else { SYMBOL };
        let kind = if across.bar { "joint" } else { "lead" };
        let part = model.part(model.pin(across.pin).part).name.to_string();
        let tag = Tag::part(part).of_kind(kind).with("joint", name.clone()).between(name.clone(), name.clone());
        if right > left {
            let line = Path::line(Point::new(left, y), Point::new(right, y)).stroked(Stroke::solid(INK, width));
            let mut group = ItemGroup::of(tag, [line]);
            if !across.bar && self.here(across.to) {
                group.items.push(self.pin(across.pin, Point::new(right, y)));
            }
            self.put(group);
        }
        if !starts {
            self.mark(Point::new(self.edges[0], y), -1.0, &name, self.all.sheet_of(across.from) + 1);
        }
        if !self.here(across.to) {
            self.mark(Point::new(self.edges[1], y), 1.0, "", self.all.sheet_of(across.to) + 1);
        }
        // A terminal right below its own symbol, or where the path begins, is named there.
        let placed = self.all.placed;
        let named = !across.named
            || placed.stands.iter().any(|s| s.lower == across.pin && s.column == across.from)
            || placed.crossings.iter().any(|c| c.lower == across.pin && c.column == across.from)
            || placed.taps.iter().any(|&(pin, column)| pin == across.pin && column == across.from);
        if starts && across.bar && !named {
            let text = font::fitted(&name, LONGEST, SMALL, true);
            let label = TextItem::new(Point::new(self.x(across.from) + BESIDE, y - 1.4), text, SMALL).bold();
            self.put(ItemGroup::of(Tag::label(name), [label]));
        }
    }

    /// The dots on a bar that say its wires are joined, over the wires' ends.
    pub(super) fn dots(&mut self, across: &Across) {
        if !across.bar {
            return;
        }
        let (model, pin) = (self.all.model, across.pin);
        let tag = Tag::part(model.part(model.pin(pin).part).name.to_string()).of_kind("joint");
        let mut group = ItemGroup { tag, items: Vec::new() };
        for &column in across.dots.iter().filter(|&&c| self.here(c)) {
            let at = Point::new(self.x(column), self.zero + across.y);
            group.push(ItemGroup::of(Tag::pin_at(model.pin_name(pin), at), [Path::circle(at, 0.9).filled(INK)]));
        }
        if !group.items.is_empty() {
            self.put(group);
        }
    }

    /// A wire or a lead down its column.
    pub(super) fn fall(&mut self, fall: &Fall) {
        let x = self.x(fall.column);
        let line = Path::line(Point::new(x, self.y(fall.from)), Point::new(x, self.y(fall.to)));
        match fall.wire {
            Some((wire, _, _)) => {
                let group = self.wire(wire, &line);
                self.put(group);
            }
            None => self.put(ItemGroup::of(Tag::kind("lead"), [line.stroked(lines::symbol())])),
        }
    }

    /// A line in the wire's insulation.
    pub(super) fn wire(&self, id: WireId, line: &Path) -> ItemGroup {
        let model = self.all.model;
        let wire = model.wire(id);
        let [from, to] = wire.ends.map(|pin| model.pin_name(pin));
        let tag = Tag::wire(wire.id.to_string()).between(from, to).hovered(labels::wire_sentence(model, id));
        let insulation = wire.colour.and_then(|c| Insulation::of(&c.to_string()));
        match insulation {
            Some(insulation) => ItemGroup::of(tag, insulation.paint(line, lines::WIRE)),
            None => ItemGroup::of(tag, [line.clone().stroked(Stroke::solid(SOFT_INK, lines::WIRE))]),
        }
    }

    /// Where a path leaves a supply's rail or a vehicle's wire.
    pub(super) fn tap(&mut self, pin: PinId, column: usize) {
        let at = Point::new(self.x(column), self.y(Level::Rail(pin)));
        if self.all.rails.contains(&pin) {
            let dot = Path::circle(at, 0.9).filled(INK);
            let name = self.all.model.pin_name(pin);
            self.put(ItemGroup::of(Tag::pin_at(name, at), [dot]));
        } else {
            self.terminal(pin, column, at.y - 0.9);
        }
    }

    /// A small open circle with a name on its right.
    pub(super) fn terminal(&mut self, pin: PinId, column: usize, y: f64) {
        let model = self.all.model;
        let at = Point::new(self.x(column), y);
        let circle = Path::circle(at, 0.9).stroked(lines::symbol()).filled(PAPER);
        let name = model.pin_name(pin);
        let tag = Tag { part: Some(model.part(model.pin(pin).part).name.to_string()), ..Tag::pin_at(name.clone(), at) };
        self.put(ItemGroup::of(tag, [circle]));
        let lines = labels::rail(model, pin);
        let first = y - LEADING * (lines.len() - 1) as f64;
        self.label(&name, Point::new(at.x + 0.9 + BESIDE, first), &lines, SMALL);
    }

    pub(super) fn ground(&mut self, pin: PinId, column: usize) {
        let model = self.all.model;
        let at = Point::new(self.x(column), self.foot);
        let name = model.pin_name(pin);
        let tag = Tag { part: Some(name.clone()), ..Tag::pin_at(name.clone(), at) };
        self.put(ItemGroup::of(tag, [Path::circle(at, 0.9).filled(INK)]));
        let lines = labels::rail(model, pin);
        let first = self.foot - 2.9 - LEADING * (lines.len() - 1) as f64;
        self.label(&name, Point::new(at.x + BESIDE, first), &lines, SMALL);
    }

    pub(super) fn tip(&mut self, tip: &Tip) {
        let y = self.zero + tip.y;
        self.terminal_below(tip.pin, tip.column, y, tip.vehicle);
    }

    pub(super) fn terminal_below(&mut self, pin: PinId, column: usize, y: f64, vehicle: bool) {
        let model = self.all.model;
        let at = Point::new(self.x(column), y + 0.9);
        let circle = Path::circle(at, 0.9).stroked(lines::symbol()).filled(PAPER);
        let name = model.pin_name(pin);
        let part = model.part(model.pin(pin).part).name.to_string();
        let tag = Tag { part: Some(part), ..Tag::pin_at(name.clone(), Point::new(at.x, y)) };
        self.put(ItemGroup::of(tag, [circle]));
        let lines = if vehicle { labels::rail(model, pin) } else { vec![plain(name.clone())] };
        self.label(&name, Point::new(at.x + 0.9 + BESIDE, at.y + 0.6), &lines, SMALL);
    }

    /// A wire's number, size and colour, on the first stretch of it that nothing crosses.
    pub(super) fn wire_label(&mut self, fall: &Fall) {
        let Some((wire, upper, lower)) = fall.wire else { return };
        let model = self.all.model;
        let lines = labels::wire(model, self.all.live, wire, [upper, lower]);
        let (top, bottom) = (self.y(fall.from).max(self.zero), self.y(fall.to));
        let reserve = if fall.to == Level::Foot { 8.0 } else { 4.6 };
        let crossed = self.all.placed.across.iter().filter(|a| a.from <= fall.column && fall.column < a.to);
        let mut levels: Vec<f64> = crossed.map(|a| self.zero + a.y).filter(|&y| y > top + 0.1 && y < bottom).collect();
        levels.push(bottom - reserve + 1.0);
        levels.sort_by(f64::total_cmp);
        // Where a label would start, above each line that crosses, and how many lines of text it has room for.
        let starts = std::iter::once(top).chain(levels.iter().copied());
        let rooms = starts.zip(&levels).map(|(start, end)| (start + 1.2, (end - start - 1.8) / LEADING));
        let slot = |lines: &[labels::Line]| {
            rooms.clone().find(|(_, room)| *room >= lines.len() as f64).map(|(start, _)| start)
        };
        let shorter = labels::shorter(&lines);
        let fits = [&lines, &shorter].into_iter().find_map(|lines| Some((slot(lines)?, lines)));
        let roomiest = || rooms.clone().max_by(|a, b| a.1.total_cmp(&b.1)).map_or(top + 1.2, |(start, _)| start);
        let (slot, lines) = fits.unwrap_or_else(|| (roomiest(), &shorter));
        let at = Point::new(self.x(fall.column) + BESIDE, slot + LEADING / 2.0);
        self.label(&format!("wire {}", model.wire(wire).id), at, lines, LABEL);
    }
}
