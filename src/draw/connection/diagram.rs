//! What a connection diagram shows, before anything on it has a position: places, parts with their pins, wires.
//!
//! Indices are positions in the vectors of [`Diagram`]; every index must be in range, which the builder of a diagram
//! sees to. The layout reads only this, so it can be tried on any graph.

/// Everything to be drawn.
#[derive(Debug, Clone, Default)]
pub struct Diagram {
    /// Names of the places, in the vehicle's own order.
    pub places: Vec<String>,
    /// Whether the places stand side by side in just that order.
    pub in_order: bool,
    /// The parts.
    pub parts: Vec<DiagramPart>,
    /// The wires.
    pub wires: Vec<DiagramWire>,
    /// Ends of wires that go on to another sheet.
    pub exits: Vec<SheetExit>,
    /// The explanation of the labels at each end of a wire, for the key; the usual one if empty.
    pub lead: &'static str,
}

impl Diagram {
    /// A diagram of nothing.
    pub(super) const EMPTY: Self =
        Self { places: Vec::new(), in_order: false, parts: Vec::new(), wires: Vec::new(), exits: Vec::new(), lead: "" };
}

/// Something with pins.
#[derive(Debug, Clone)]
pub struct DiagramPart {
    /// Its name, as written beside it: `K1`.
    pub name: String,
    /// What it is, in lines: `relay, 12 V`. May be empty.
    pub title: Vec<String>,
    /// Index of the place where it sits.
    pub place: usize,
    /// How it is drawn.
    pub form: PartShape,
    /// Which end of the drawing it belongs to.
    pub flow: Flow,
    /// The second half, for [`PartShape::Mated`].
    pub mate: Option<SecondHalf>,
    /// Names of the connectors plugged into it.
    pub docks: Vec<String>,
    /// Whether it was already in the vehicle.
    pub existing: bool,
    /// Whether its pins keep their order along each edge.
    pub pins_in_order: bool,
    /// Its pins, in the part's own order, and after them the cavities of the connectors plugged into it.
    pub pins: Vec<DiagramPin>,
}

/// The second half of a [`PartShape::Mated`].
#[derive(Debug, Clone, Default)]
pub struct SecondHalf {
    /// Its name, as written beside it: `X1B`.
    pub name: String,
    /// What it is, in lines.
    pub title: Vec<String>,
    /// Whether its terminals are the pins, and those of the first half the sockets.
    pub has_pins: bool,
}

/// How a part is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartShape {
    /// An outline with its name and title on top and the pins' names inside along the left and right edge.
    Outline,
    /// Two connector halves face to face. Pins of the halves that mate share a row.
    Mated,
    /// A bar where wires are joined; each wire has a row of its own, on either side.
    Splice,
    /// A point of the vehicle's body.
    Ground,
    /// A feed of the vehicle.
    Supply,
    /// No part, but a mark where arrows of a map go on to another sheet, with the pins that they end at there.
    Elsewhere,
}

impl PartShape {
    /// Whether the wires of a pin may leave on both sides.
    pub fn is_open(self) -> bool {
        matches!(self, Self::Splice | Self::Ground | Self::Supply)
    }
}

/// Where a part is on the path from feed to picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Flow {
    /// Current or signal comes from here: drawn to the left.
    Source,
    /// Somewhere between.
    Between,
    /// Current or signal ends here: drawn to the right.
    Sink,
}

/// A terminal of a part.
#[derive(Debug, Clone)]
pub struct DiagramPin {
    /// As people write it in full: `K1.87`.
    pub full_name: String,
    /// Its name: `87`.
    pub name: String,
    /// What it is for: `coil`. May be empty.
    pub note: String,
    /// The edge of its part that it is bound to, if any.
    pub edge: Option<PartEdge>,
    /// For [`PartShape::Mated`]: the half it belongs to (0 or 1), and the cavity it mates in.
    pub cavity: Option<(usize, usize)>,
    /// For a cavity of a connector that is plugged into the part: where it sits.
    pub plugged: Option<Plugged>,
}

/// An edge of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartEdge {
    /// The left one.
    Left,
    /// The right one.
    Right,
}

/// A cavity plugged into a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Plugged {
    /// Index of its connector in the part's docks.
    pub dock: usize,
    /// Index of the part's pin that it meets, if any.
    pub meets: Option<usize>,
}

/// One end of a wire.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct PinAt {
    /// Index of the part.
    pub part: usize,
    /// Index of the pin in that part.
    pub pin: usize,
}

/// A conductor from pin to pin.
#[derive(Debug, Clone)]
pub struct DiagramWire {
    /// Its number.
    pub number: String,
    /// Its two ends.
    pub ends: [PinAt; 2],
    /// Written after its number at both ends: gauge and colour.
    pub label: String,
    /// Words for a resting pointer: `0.75 mm², red with white tracer, from F1.2 to K1.30`.
    pub hover: String,
    /// Colour code, tracer after a slash: `RD/WH`.
    pub colour: String,
}

/// One end of a wire whose other end is on another sheet: a short piece at its pin with the name of the far pin.
#[derive(Debug, Clone)]
pub struct SheetExit {
    /// The pin here.
    pub at: PinAt,
    /// The wire; both of its ends are the pin here.
    pub wire: DiagramWire,
    /// Which end of the wire is here, 0 or 1.
    pub end: usize,
    /// The pin at the far end, in full.
    pub far: String,
    /// Index of the sheet that it is on.
    pub sheet: usize,
    /// Sheet and zone of the far pin, `3/B4`, once all sheets are laid out.
    pub zone: String,
}

impl Diagram {
    /// The pin at an end of a wire.
    pub fn pin(&self, at: PinAt) -> &DiagramPin {
        &self.parts[at.part].pins[at.pin]
    }
}

/// Every end of every wire has a number: twice the wire's index, and one more for its second end.
pub(super) type EndId = usize;

/// Wire and end (0 or 1) of an end's number.
pub(super) fn wire_end(end: EndId) -> (usize, usize) {
    (end / 2, end % 2)
}

impl Diagram {
    /// The pin that an end is on.
    pub(super) fn end(&self, end: EndId) -> PinAt {
        let (wire, which) = wire_end(end);
        self.wires[wire].ends[which]
    }
    /// The exits on each pin of each part.
    pub(super) fn exits_by_pin(&self) -> Vec<Vec<Vec<usize>>> {
        let mut found: Vec<Vec<Vec<usize>>> = self.parts.iter().map(|p| vec![Vec::new(); p.pins.len()]).collect();
        for (exit, leaves) in self.exits.iter().enumerate() {
            found[leaves.at.part][leaves.at.pin].push(exit);
        }
        found
    }
    /// The numbers of all ends on each pin of each part.
    pub(super) fn ends_by_pin(&self) -> Vec<Vec<Vec<EndId>>> {
        let mut found: Vec<Vec<Vec<EndId>>> = self.parts.iter().map(|p| vec![Vec::new(); p.pins.len()]).collect();
        for end in 0..2 * self.wires.len() {
            let at = self.end(end);
            found[at.part][at.pin].push(end);
        }
        found
    }
}
