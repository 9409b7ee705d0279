//! The sheet of symbols: each symbol in the job's current-path diagram, with its meaning.

use super::pieces::{self, Piece, Shape};
use super::refers;
use kit::font;
use kit::lines::LABEL;
use kit::scene::*;
use kit::sheet::{Sheet, Strip};
use kit::symbols::{self, Actuator, Blade, BlockPicture, CoilSymbol, Contact, GroundSymbol, Pole, Symbol};
use model::{Model, PartKind, PinId};
use std::collections::BTreeMap;

/// A cell of the key: symbol on the left, words on the right, millimetres.
const CELL: Size = Size { width: 59.0, height: 17.0 };
/// From a cell's left edge to the middle of its symbol, and to its words.
const SYMBOL: f64 = 13.0;
const WORDS: f64 = 25.5;
/// From one line of the words to the next.
const LINE: f64 = 3.9;

/// Sheets that list each symbol of the job's current-path diagram with its meaning; `diagram` is the size of its paper.
pub fn symbols(model: &Model, size: Size, diagram: Size) -> Vec<Scene> {
    let mut used = used(model);
    if refers(model, diagram) {
        used.insert("flag: goes on in the path with this number", symbols::reference("12"));
    }
    let used: Vec<(&str, Symbol)> = used.into_iter().collect();
    let sheet = Sheet::of(size);
    let columns = (sheet.field.width() / CELL.width).floor().max(1.0) as usize;
    let rows = (sheet.field.height() / CELL.height).floor().max(1.0) as usize;
    let pages: Vec<&[(&str, Symbol)]> = used.chunks(columns * rows).collect();
    let count = pages.len();
    let scene = |(i, page): (usize, &&[(&str, Symbol)])| {
        let height = page.len().div_ceil(columns) as f64 * CELL.height;
        let sheet = sheet.trimmed(Size::new(sheet.field.width(), height));
        let strip =
            Strip::of(&model.job.title, &model.job.revision, "Symbols", [i + 1, count]).scaled("1:1").units("–");
        let at = |i: usize| {
            let (column, row) = ((i % columns) as f64, (i / columns) as f64);
            Point::new(sheet.field.left + CELL.width * column, sheet.field.top + CELL.height * (row + 0.5))
        };
        let items = page.iter().enumerate().flat_map(|(i, (words, symbol))| cell(words, symbol, at(i))).collect();
        sheet.scene(&strip, "Every symbol of the current-path diagram with its meaning.", items)
    };
    pages.iter().enumerate().map(scene).collect()
}

/// A symbol and its words; `at` is the middle of the cell's left edge.
fn cell(words: &str, symbol: &Symbol, at: Point) -> Vec<Item> {
    let middle = symbol.body.centre();
    let symbol = symbol.clone().at(at.by(SYMBOL - middle.x, -middle.y));
    let drawn = ItemGroup { tag: Tag::kind("symbol"), items: symbol.items };
    let lines = font::wrapped(words, CELL.width - WORDS - 2.0, LABEL, false);
    let first = at.y - LINE * (lines.len() as f64 - 1.0) / 2.0;
    let text = |(i, line): (usize, String)| {
        let y = first + LINE * i as f64;
        TextItem::new(Point::new(at.x + WORDS, y), line, LABEL).centred_on(y)
    };
    let texts: Vec<TextItem> = lines.into_iter().enumerate().map(text).collect();
    vec![drawn.into(), ItemGroup::of(Tag::label("symbol").with("means", words.to_string()), texts).into()]
}

/// What each symbol of a job means.
fn used(model: &Model) -> BTreeMap<&'static str, Symbol> {
    let mut used: BTreeMap<&'static str, Symbol> = BTreeMap::new();
    for piece in &pieces::pieces(model).list {
        let (words, symbol) = meaning(piece);
        used.entry(words).or_insert(symbol);
    }
    let mut add = |words, symbol| used.insert(words, symbol);
    let shared = |pin: &PinId| {
        model.part(model.pin(*pin).part).kind != PartKind::Splice && model.wires_on(*pin).nth(1).is_some()
    };
    if model.pin_ids().any(|pin| shared(&pin)) {
        add("terminal: wires that share it come off one by one", symbols::terminal());
    }
    for part in model.parts.iter().filter(|part| part.pins.iter().any(|&pin| model.wires_on(pin).next().is_some())) {
        match part.kind {
            PartKind::Feed => add("tap on a wire of the vehicle", symbols::terminal()),
            PartKind::Splice => add("splice: the wires are joined", symbols::splice()),
            PartKind::Ground => add("ground point on the vehicle's body", symbols::ground(GroundSymbol::Chassis)),
            PartKind::Connector => {
                add("connector, the pin above", symbols::connector(true));
                add("connector, the pin below", symbols::connector(false))
            }
            _ => None,
        };
    }
    used
}

fn meaning(piece: &Piece) -> (&'static str, Symbol) {
    let contact = match piece.throws {
        [true, true] => Contact::ChangeOver,
        [false, true] => Contact::Break,
        _ => Contact::Make,
    };
    match piece.shape {
        Shape::Pole(pole) => (of_pole(pole), symbols::pole(pole)),
        Shape::Coil(coil) => (of_coil(coil), symbols::coil(coil)),
        Shape::Contact if piece.stays => {
            let words = match contact {
                Contact::ChangeOver => "contact of a latching relay, changes over and stays",
                Contact::Break => "contact of a latching relay, breaks and stays",
                _ => "contact of a latching relay, makes and stays",
            };
            (words, symbols::staying(contact, Blade::Rest))
        }
        Shape::Contact => {
            let words = match contact {
                Contact::ChangeOver => "relay contact, changes over",
                Contact::Break => "relay contact, breaks",
                _ => "relay contact, makes",
            };
            (words, symbols::contact(contact, Blade::Rest))
        }
        Shape::Switch(actuator) => {
            let words = match actuator {
                Actuator::Toggle => "switch that stays where it is put",
                Actuator::Push => "push button, springs back",
                Actuator::Latch => "push button, latches",
                Actuator::Turn => "rotary switch",
                Actuator::Roller => "switch moved by a door, a pedal or a lever",
                Actuator::Magnet => "switch moved by a magnet",
                Actuator::Pressure => "pressure switch",
                Actuator::Temperature => "temperature switch",
                Actuator::Level => "float switch",
            };
            (words, symbols::switch(contact, Blade::Rest, actuator))
        }
        Shape::Block(picture) => (of_block(picture), symbols::block(picture, &[], &[])),
    }
}

fn of_pole(pole: Pole) -> &'static str {
    match pole {
        Pole::Fuse => "fuse",
        Pole::Breaker => "circuit breaker",
        Pole::Resistor => "resistor",
        Pole::Capacitor => "capacitor",
        Pole::Diode => "diode",
        Pole::Zener => "suppressor diode",
        Pole::Led => "light of LEDs",
        Pole::Lamp => "lamp",
        Pole::Motor => "motor",
        Pole::Buzzer => "sounder",
        Pole::Horn => "horn",
        Pole::Heater => "heating element",
        Pole::Outlet => "power socket",
        Pole::Speaker => "loudspeaker",
        Pole::Load => "other load",
    }
}

fn of_coil(coil: CoilSymbol) -> &'static str {
    match coil {
        CoilSymbol::Plain => "relay coil",
        CoilSymbol::Diode => "relay coil with a diode across it",
        CoilSymbol::Resistor => "relay coil with a resistor across it",
        CoilSymbol::Set => "coil that sets a latching relay",
        CoilSymbol::Reset => "coil that resets a latching relay",
        CoilSymbol::Toggle => "coil that toggles a latching relay",
    }
}

fn of_block(picture: BlockPicture) -> &'static str {
    match picture {
        BlockPicture::None => "module",
        BlockPicture::Camera => "camera",
        BlockPicture::Screen => "screen",
        BlockPicture::Converter => "voltage converter",
        BlockPicture::SolidState => "solid-state output",
        BlockPicture::Selector => "picture selector",
        BlockPicture::Isolator => "picture isolator",
        BlockPicture::Splitter => "picture splitter",
        BlockPicture::Amplifier => "amplifier",
        BlockPicture::Timer => "timer",
        BlockPicture::Flasher => "flasher",
        BlockPicture::Sensor => "sensor with a switched output",
    }
}
