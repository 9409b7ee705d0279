//! Every symbol there is, by name: for the specimen sheet and the tests.

use super::*;
use crate::colour::FAINT;
use crate::insulation::Insulation;
use crate::lines::{LABEL, WIRE};
use crate::scene::*;
use crate::sheet::{Paper, Sheet, Strip};

/// Every symbol, with a name to print below it.
pub fn all() -> Vec<(String, Symbol)> {
    let mut list: Vec<(String, Symbol)> = Vec::new();
    let mut add = |name: String, symbol| list.push((name, symbol));
    Pole::ALL.iter().for_each(|&kind| add(format!("{kind:?}"), pole(kind)));
    CoilSymbol::ALL.iter().for_each(|&kind| add(format!("coil, {kind:?}"), coil(kind)));
    Contact::ALL.iter().for_each(|&kind| add(format!("{kind:?}"), contact(kind, Blade::Rest)));
    Contact::ALL.iter().for_each(|&kind| add(format!("{kind:?}, moved"), contact(kind, Blade::Moved)));
    add("Make, stays".into(), staying(Contact::Make, Blade::Rest));
    add("Change-over, stays".into(), staying(Contact::ChangeOver, Blade::Rest));
    for &actuator in &Actuator::ALL {
        add(format!("{actuator:?} switch"), switch(Contact::Make, Blade::Rest, actuator));
    }
    add("Toggle, change-over".into(), switch(Contact::ChangeOver, Blade::Rest, Actuator::Toggle));
    add("Relay".into(), relay(CoilSymbol::Diode, Contact::ChangeOver));
    add("Relay, make".into(), relay(CoilSymbol::Plain, Contact::Make));
    BlockPicture::ALL
        .iter()
        .for_each(|&kind| add(format!("{kind:?} block"), block(kind, &["power", "in"], &["ground"])));
    add("Battery".into(), battery());
    add("Chassis".into(), ground(GroundSymbol::Chassis));
    add("Earth".into(), ground(GroundSymbol::Earth));
    add("Splice".into(), splice());
    add("Terminal".into(), terminal());
    add("Reference".into(), reference("12"));
    add("Pin above".into(), connector(true));
    add("Pin below".into(), connector(false));
    list
}

/// The symbols and insulation colours on one sheet, for looking at.
pub fn sheet() -> Scene {
    let sheet = Sheet::of(Paper::A3.lying());
    let mut items: Vec<Item> = Vec::new();
    let (step_x, step_y, columns) = (38.0, 36.0, 10);
    let at = |i: usize| sheet.field.left + step_x * (0.5 + (i % columns) as f64);
    for (i, (name, symbol)) in all().into_iter().enumerate() {
        let (x, y) = (at(i), sheet.field.top + 4.0 + step_y * (i / columns) as f64);
        let middle = symbol.body.centre();
        let snapped = Point::new(x - middle.x, y + 11.0 - middle.y);
        let mut group = ItemGroup { tag: Tag::kind("specimen"), items: Vec::new() };
        for port in &symbol.ports {
            let (dx, dy) = port.side.step(2.5);
            let lead = Path::line(port.at, port.at.by(dx, dy)).stroked(Stroke::solid(FAINT, WIRE));
            group.push(Item::from(lead).moved(snapped.x, snapped.y));
        }
        group.push(symbol.at(snapped).group(Tag::part(name.clone())));
        items.push(group.into());
        let label = TextItem::new(Point::new(x, y + 27.0), name, LABEL).anchored(Anchor::Middle);
        items.push(ItemGroup::of(Tag::label("symbol"), [label]).into());
    }
    let codes =
        ["BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "TQ", "GNYE", "RD/WH", "WH/RD", "YE/BK"];
    for (i, code) in codes.iter().enumerate() {
        let Some(insulation) = Insulation::of(code) else { continue };
        let (x, y) = (sheet.field.left + 20.0 + 24.0 * i as f64, sheet.field.bottom - 12.0);
        let line = Path::line(Point::new(x - 8.0, y), Point::new(x + 8.0, y));
        items.push(ItemGroup::of(Tag::wire(*code), insulation.paint(&line, WIRE)).into());
        let label = TextItem::new(Point::new(x, y + 6.0), *code, LABEL).anchored(Anchor::Middle);
        items.push(ItemGroup::of(Tag::label(format!("wire {code}")), [label]).into());
    }
    let strip = Strip::of("Specimen", "A", "Symbols and colours", [1, 1]).scaled("1:1").units("mm");
    sheet.scene(&strip, "Every symbol with its name, and every insulation colour.", items)
}
