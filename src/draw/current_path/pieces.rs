//! The model cut into pieces: what is drawn as one symbol. A relay's coil and each of its contacts are pieces of their
//! own; a camera or a module is one.

use super::box_sizes;
use catalogue::part_form::{Across, Acts, LoadKind, PartSymbol};
use kit::symbols::{Actuator, BlockPicture, CoilSymbol, Pole};
use model::{
    Domain, ElementKind, Family, InputId, Model, PartId, PartKind, PinId, PinRole, SignalId, SignalKind, StateCondition,
};

/// Index of a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct PieceId(pub usize);

/// How a piece is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    /// Two terminals.
    Pole(Pole),
    /// A relay coil.
    Coil(CoilSymbol),
    /// A relay contact.
    Contact,
    /// A switch moved by hand.
    Switch(Actuator),
    /// A box with pins.
    Block(BlockPicture),
}

/// What is drawn as one symbol.
#[derive(Debug, Clone)]
pub(super) struct Piece {
    /// Its part.
    pub part: PartId,
    /// How it is drawn.
    pub shape: Shape,
    /// Its pins: for two terminals the upper one first; for contacts and switches the common one, then what is made by
    /// moving it, then what is made at rest.
    pub pins: Vec<PinId>,
    /// Of contacts and switches: whether `pins` holds a made one and a rest one.
    pub throws: [bool; 2],
    /// The relay's signal, of coils and contacts.
    pub relay: Option<SignalId>,
    /// Of a contact: whether it stays as its relay has put it.
    pub stays: bool,
    /// How tall it is drawn.
    pub height: f64,
}

impl Piece {
    /// Whether this is a box with pins.
    pub fn is_block(&self) -> bool {
        matches!(self.shape, Shape::Block(_))
    }
}

/// All pieces, and the pieces of each pin.
pub(super) struct Pieces {
    pub list: Vec<Piece>,
    of_pin: Vec<Vec<PieceId>>,
}

impl Pieces {
    /// A piece by id.
    pub fn get(&self, id: PieceId) -> &Piece {
        &self.list[id.0]
    }
    /// The pieces that a pin belongs to.
    pub fn of(&self, pin: PinId) -> &[PieceId] {
        &self.of_pin[pin.0]
    }
}

/// Cuts the model into pieces. Supplies, feeds, grounds, splices and connectors are not pieces: they are rails, dots
/// and crossings.
pub(super) fn pieces(model: &Model) -> Pieces {
    let mut list = Vec::new();
    for part in model.part_ids().filter(|&p| model.part(p).kind == PartKind::Device) {
        match simple(model, part) {
            Some(pieces) => list.extend(pieces),
            None => list.push(block(model, part)),
        }
    }
    let mut of_pin = vec![Vec::new(); model.pins.len()];
    for (i, piece) in list.iter().enumerate() {
        for pin in &piece.pins {
            of_pin[pin.0].push(PieceId(i));
        }
    }
    Pieces { list, of_pin }
}

/// A part all of whose elements have symbols of their own; `None` if it is better shown as a box.
fn simple(model: &Model, part: PartId) -> Option<Vec<Piece>> {
    let this = model.part(part);
    let mut pieces: Vec<Piece> = Vec::new();
    for &id in &this.elements {
        let (shape, pins, relay) = match &model.element(id).kind {
            ElementKind::Resistor { between, .. } => {
                let speaker = this.form.drawn_as() == PartSymbol::Loudspeaker;
                (Shape::Pole(if speaker { Pole::Speaker } else { Pole::Resistor }), between.to_vec(), None)
            }
            ElementKind::Fuse { between, .. } => {
                let breaker = this.form.family == Family::Breaker;
                (Shape::Pole(if breaker { Pole::Breaker } else { Pole::Fuse }), between.to_vec(), None)
            }
            ElementKind::Diode { anode, cathode, blocks, .. } => {
                (Shape::Pole(if blocks.is_some() { Pole::Zener } else { Pole::Diode }), vec![*anode, *cathode], None)
            }
            ElementKind::Load(load) if this.pins.len() == 2 => {
                (Shape::Pole(load_symbol(this, load.kind)?), vec![load.feed, load.ground], None)
            }
            ElementKind::Coil(coil) => {
                let symbol = match (coil.acts, coil.across) {
                    (Acts::Sets, _) => CoilSymbol::Set,
                    (Acts::Resets, _) => CoilSymbol::Reset,
                    (Acts::Toggles, _) => CoilSymbol::Toggle,
                    (_, Across::Diode) => CoilSymbol::Diode,
                    (_, Across::Resistor | Across::Suppressor) => CoilSymbol::Resistor,
                    (_, Across::Nothing) => CoilSymbol::Plain,
                };
                (Shape::Coil(symbol), vec![coil.feed, coil.ground], Some(coil.relay))
            }
            ElementKind::Contact { relay, common, made, rest, .. } => {
                let pins = [Some(*common), *made, *rest].into_iter().flatten().collect();
                let piece = Piece {
                    part,
                    shape: Shape::Contact,
                    pins,
                    throws: [made.is_some(), rest.is_some()],
                    relay: Some(*relay),
                    stays: latches(model, *relay),
                    height: box_sizes::SYMBOL,
                };
                pieces.push(piece);
                continue;
            }
            ElementKind::Throw { common, throw, input, when, .. } => {
                add_throw(model, part, &mut pieces, [*common, *throw], *input, when)?;
                continue;
            }
            _ => return None,
        };
        pieces.push(Piece { part, shape, pins, throws: [false; 2], relay, stays: false, height: box_sizes::SYMBOL });
    }
    (!pieces.is_empty()).then_some(pieces)
}

/// Whether a relay stays as a pulse has put it.
fn latches(model: &Model, relay: SignalId) -> bool {
    let coils = model.parts.iter().flat_map(|part| &part.elements).filter_map(|&e| match &model.element(e).kind {
        ElementKind::Coil(coil) if coil.relay == relay => Some(coil.acts),
        _ => None,
    });
    coils.into_iter().any(|acts| acts != Acts::Holds)
}

/// The symbol of a load: that of its kind of part. A lamp with electronics of its own is a lamp to the reader.
fn load_symbol(part: &model::Part, kind: LoadKind) -> Option<Pole> {
    Some(match (part.form.drawn_as(), kind) {
        (PartSymbol::Lamp, LoadKind::Led) | (PartSymbol::Led, _) => Pole::Led,
        (PartSymbol::Lamp, _) => Pole::Lamp,
        (PartSymbol::Sounder, _) => Pole::Buzzer,
        (PartSymbol::Horn, _) => Pole::Horn,
        (PartSymbol::Motor, _) | (PartSymbol::Load, LoadKind::Motor) => Pole::Motor,
        (PartSymbol::Heater, _) => Pole::Heater,
        (PartSymbol::Outlet, _) => Pole::Outlet,
        (PartSymbol::Load, LoadKind::Lamp) => Pole::Lamp,
        (PartSymbol::Load, LoadKind::Led) => Pole::Led,
        (PartSymbol::Load, _) => Pole::Load,
        (PartSymbol::Loudspeaker, _) => Pole::Speaker,
        _ => return None,
    })
}

/// What moves a switch: what its kind of part says. Where the spec has a spring or more positions, so has the symbol.
fn actuator(part: &model::Part, momentary: bool, many: bool) -> Actuator {
    match part.form.drawn_as() {
        PartSymbol::PushButton => Actuator::Push,
        PartSymbol::LatchingButton => Actuator::Latch,
        PartSymbol::Rotary => Actuator::Turn,
        PartSymbol::Roller => Actuator::Roller,
        PartSymbol::Magnet => Actuator::Magnet,
        PartSymbol::Pressure => Actuator::Pressure,
        PartSymbol::Temperature => Actuator::Temperature,
        PartSymbol::Level => Actuator::Level,
        PartSymbol::Toggle => Actuator::Toggle,
        _ if momentary => Actuator::Push,
        _ if many => Actuator::Turn,
        _ => Actuator::Toggle,
    }
}

/// Puts a throw to the switch with the same common pin; a third throw, or two made alike, asks for a box.
fn add_throw(
    model: &Model,
    part: PartId,
    pieces: &mut Vec<Piece>,
    [common, throw]: [PinId; 2],
    input: Option<InputId>,
    when: &StateCondition,
) -> Option<()> {
    let at_rest = when.holds(&|_| 0, &|_| false);
    let known = pieces.iter_mut().find(|p| matches!(p.shape, Shape::Switch(_)) && p.pins[0] == common);
    let Some(piece) = known else {
        let momentary = input.is_some_and(|i| model.inputs[i.0].momentary);
        let many = input.is_some_and(|i| model.inputs[i.0].positions.len() > 2);
        let actuator = actuator(model.part(part), momentary, many);
        let throws = [!at_rest, at_rest];
        pieces.push(Piece {
            part,
            shape: Shape::Switch(actuator),
            pins: vec![common, throw],
            throws,
            relay: None,
            stays: false,
            height: box_sizes::SYMBOL,
        });
        return Some(());
    };
    match (piece.throws, at_rest) {
        ([true, false], true) => piece.pins.push(throw),
        ([false, true], false) => piece.pins.insert(1, throw),
        _ => return None,
    }
    piece.throws = [true, true];
    Some(())
}

/// A part as a box with all its pins.
fn block(model: &Model, part: PartId) -> Piece {
    let this = model.part(part);
    let timed = model.signals.iter().any(|s| matches!(s.kind, SignalKind::Timer { .. }) && s.part == part);
    let picture = match (this.form.family, this.form.drawn_as()) {
        (_, PartSymbol::Timer) => BlockPicture::Timer,
        (_, PartSymbol::Sensor) => BlockPicture::Sensor,
        (_, PartSymbol::Amplifier) => BlockPicture::Amplifier,
        (_, PartSymbol::PictureSelector | PartSymbol::PictureSplitter | PartSymbol::PictureIsolator) => {
            picture_block(model, this)
        }
        (_, PartSymbol::Module) => BlockPicture::None,
        (Family::Camera, _) => BlockPicture::Camera,
        (Family::Screen, _) => BlockPicture::Screen,
        (Family::Converter, _) => BlockPicture::Converter,
        (Family::SolidState, _) if !timed => BlockPicture::SolidState,
        (Family::Audio, _) => BlockPicture::Amplifier,
        _ if timed => BlockPicture::Timer,
        _ => BlockPicture::None,
    };
    let (pins, height) = (this.pins.clone(), box_sizes::height(&this.title));
    Piece { part, shape: Shape::Block(picture), pins, throws: [false; 2], relay: None, stays: false, height }
}

/// A part that pictures pass: one with a single input selects nothing, it isolates or splits.
fn picture_block(model: &Model, part: &model::Part) -> BlockPicture {
    let count = |role: PinRole| {
        let video = part.pins.iter().filter(|pin| model.pin(**pin).domain == Domain::Video);
        video.filter(|pin| model.pin(**pin).role == role).count()
    };
    match (count(PinRole::Input), count(PinRole::Output)) {
        (1, 1) => BlockPicture::Isolator,
        (1, _) => BlockPicture::Splitter,
        _ => BlockPicture::Selector,
    }
}

/// Whether a pin of a box stands on its upper edge: what takes supply or a signal does, what returns or gives does not.
pub(super) fn upper(model: &Model, pin: PinId) -> bool {
    let pin = model.pin(pin);
    match pin.role {
        PinRole::Feed | PinRole::Input => true,
        PinRole::Return | PinRole::Output => false,
        PinRole::Through => pin.domain != Domain::Ground,
    }
}

/// Whether a supply comes into a box by this pin.
pub(super) fn powers(model: &Model, pin: PinId) -> bool {
    let this = model.pin(pin);
    this.domain == Domain::Power && this.role != PinRole::Output && this.role != PinRole::Return
}
