//! Diagrams to try the layout on: one as a shop would have it, and as many made-up ones as a test asks for.

use super::diagram::{Diagram, DiagramPart, DiagramPin, DiagramWire, Flow, PartShape, PinAt, Plugged, SecondHalf};

/// A repeatable source of choices (the generator of D. Knuth, *MMIX*, 1999).
pub(super) struct Choices(pub u64);

impl Choices {
    pub fn below(&mut self, bound: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % bound.max(1) as u64) as usize
    }
    fn of<'a, T: ?Sized>(&mut self, from: &[&'a T]) -> &'a T {
        from[self.below(from.len())]
    }
}

const COLOURS: [&str; 14] =
    ["BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "RD/WH", "GN/YE", "BU/RD"];
const GAUGES: [&str; 5] = ["0.5", "0.75", "1", "1.5", "2.5"];

/// Builds a diagram from names.
#[derive(Default)]
pub(super) struct Builder {
    pub diagram: Diagram,
}

impl Builder {
    pub fn place(&mut self, name: &str) -> usize {
        if let Some(at) = self.diagram.places.iter().position(|p| p == name) {
            return at;
        }
        self.diagram.places.push(name.into());
        self.diagram.places.len() - 1
    }
    pub fn part(&mut self, name: &str, title: &str, place: &str, form: PartShape, flow: Flow, pins: &[&str]) -> usize {
        let place = self.place(place);
        let part_name = name;
        let pin = |(i, text): (usize, &&str)| {
            let (name, note) = text.split_once(' ').unwrap_or((text, ""));
            let half = pins.len() / 2;
            let cavity = (form == PartShape::Mated).then(|| (usize::from(i >= half), i % half.max(1)));
            let part_name =
                if i >= half && form == PartShape::Mated { format!("{part_name}B") } else { part_name.into() };
            DiagramPin {
                full_name: format!("{part_name}.{name}"),
                name: name.into(),
                note: note.into(),
                edge: None,
                cavity,
                plugged: None,
            }
        };
        let pins = pins.iter().enumerate().map(pin).collect();
        let title: Vec<String> = if title.is_empty() { Vec::new() } else { vec![title.into()] };
        let mate = (form == PartShape::Mated).then(|| SecondHalf {
            name: format!("{name}B"),
            title: title.clone(),
            has_pins: true,
        });
        let (name, docks) = (name.into(), Vec::new());
        self.diagram.parts.push(DiagramPart {
            name,
            title,
            place,
            form,
            flow,
            mate,
            docks,
            existing: false,
            pins_in_order: false,
            pins,
        });
        self.diagram.parts.len() - 1
    }
    /// Plugs a connector with the given number of cavities into a part, the first of them on its first pins that are still free.
    pub fn plug(&mut self, part: usize, name: &str, cavities: usize) {
        let part = &mut self.diagram.parts[part];
        let dock = part.docks.len();
        part.docks.push(name.into());
        let met: Vec<usize> = part.pins.iter().filter_map(|pin| pin.plugged?.meets).collect();
        let free = (0..part.pins.len()).filter(|&pin| part.pins[pin].plugged.is_none() && !met.contains(&pin));
        let mut meets = free.collect::<Vec<_>>().into_iter();
        for cavity in 1..=cavities {
            let plugged = Some(Plugged { dock, meets: meets.next() });
            let full_name = format!("{name}.{cavity}");
            part.pins.push(DiagramPin {
                full_name,
                name: cavity.to_string(),
                note: String::new(),
                edge: None,
                cavity: None,
                plugged,
            });
        }
    }
    pub fn wire(&mut self, from: (usize, usize), to: (usize, usize), gauge: &str, colour: &str) {
        let number = (self.diagram.wires.len() + 1).to_string();
        let ends = [from, to].map(|(part, pin)| PinAt { part, pin });
        let label = format!("{gauge} {colour}");
        self.diagram.wires.push(DiagramWire { number, ends, label, hover: String::new(), colour: colour.into() });
    }
    /// A wire between pins written `PART.pin`.
    fn join(&mut self, from: &str, to: &str, gauge: &str, colour: &str) {
        let find = |at: &str, diagram: &Diagram| {
            let (name, pin) = at.split_once('.').expect("PART.pin");
            let part = diagram.parts.iter().position(|p| p.name == name).unwrap_or_else(|| panic!("{at}"));
            let pin = diagram.parts[part].pins.iter().position(|p| p.name == pin).unwrap_or_else(|| panic!("{at}"));
            (part, pin)
        };
        let (from, to) = (find(from, &self.diagram), find(to, &self.diagram));
        self.wire(from, to, gauge, colour);
    }
}

/// Three cameras on a pickup, one screen: relays, diodes, a mated pair, splices, grounds.
pub(super) fn orchard_sprayer() -> Diagram {
    use Flow::{Between, Sink, Source};
    use PartShape::{Ground, Mated, Outline, Splice, Supply};
    let mut b = Builder::default();
    for place in ["engine bay", "kick left", "kick right", "dash", "tail"] {
        b.place(place);
    }
    b.part("battery", "terminal 30", "engine bay", Supply, Source, &["+"]);
    b.part("F1", "fuse 5 A", "engine bay", Outline, Between, &["1", "2"]);
    b.part("F2", "fuse 3 A", "engine bay", Outline, Between, &["1", "2"]);
    b.part("accessory", "terminal 75", "dash", Supply, Source, &["75"]);
    b.part("reverse", "lamp feed", "tail", Supply, Source, &["+"]);
    b.part("left turn", "flasher feed", "kick left", Supply, Source, &["+"]);
    b.part("right turn", "flasher feed", "kick right", Supply, Source, &["+"]);
    b.part("SW1", "boom arm, toggle", "dash", Outline, Between, &["1 feed", "2 out"]);
    b.part("K1", "relay, left view", "kick left", Outline, Between, &["30", "85", "86", "87", "87a"]);
    b.part("K2", "relay, right view", "kick right", Outline, Between, &["30", "85", "86", "87", "87a"]);
    b.part("D1", "diode 1 A", "kick left", Outline, Between, &["A", "K"]);
    b.part("D2", "diode 1 A", "kick right", Outline, Between, &["A", "K"]);
    b.part("TM1", "hold module 3 s", "kick left", Outline, Between, &["1 feed", "2 in", "3 out", "4 ground"]);
    b.part("SP1", "", "kick left", Splice, Between, &["1"]);
    b.part("SP2", "", "dash", Splice, Between, &["1"]);
    b.part("SP3", "", "kick right", Splice, Between, &["1"]);
    b.part(
        "X1",
        "6-way, sealed",
        "kick left",
        Mated,
        Between,
        &["1", "2", "3", "4", "5", "6", "1", "2", "3", "4", "5", "6"],
    );
    b.part(
        "HU1",
        "screen",
        "dash",
        Outline,
        Sink,
        &["30 feed", "75 switched", "31 ground", "REV trigger", "AUX trigger", "cam1 video", "cam2 video"],
    );
    b.part("REAR", "camera", "tail", Outline, Sink, &["power", "ground", "video"]);
    b.part("LEFT", "camera", "tail", Outline, Sink, &["power", "ground", "video"]);
    b.part("RIGHT", "camera", "tail", Outline, Sink, &["power", "ground", "video"]);
    b.part(
        "VS1",
        "video switch",
        "dash",
        Outline,
        Between,
        &["1 feed", "2 ground", "A in", "B in", "Q out", "S select"],
    );
    b.part("G1", "body, kick left", "kick left", Ground, Between, &["31"]);
    b.part("G2", "body, tail", "tail", Ground, Between, &["31"]);
    b.part("G3", "body, dash", "dash", Ground, Between, &["31"]);
    b.part("G4", "body, kick right", "kick right", Ground, Between, &["31"]);
    for (from, to, gauge, colour) in [
        ("battery.+", "F1.1", "1.5", "RD"),
        ("battery.+", "F2.1", "1.5", "RD"),
        ("F1.2", "SP1.1", "1.0", "RD/WH"),
        ("F2.2", "HU1.30", "1.0", "RD/YE"),
        ("accessory.75", "SP2.1", "0.75", "OG"),
        ("SP2.1", "HU1.75", "0.75", "OG"),
        ("SP2.1", "SW1.1", "0.75", "OG/BK"),
        ("SP2.1", "VS1.1", "0.75", "OG/WH"),
        ("SP1.1", "K1.30", "0.75", "RD/WH"),
        ("SP1.1", "TM1.1", "0.75", "RD/WH"),
        ("SP1.1", "K2.30", "0.75", "RD/WH"),
        ("left turn.+", "D1.A", "0.5", "BK/WH"),
        ("D1.K", "TM1.2", "0.5", "BK/WH"),
        ("TM1.3", "K1.86", "0.5", "VT"),
        ("TM1.4", "G1.31", "0.5", "BN"),
        ("K1.85", "G1.31", "0.5", "BN"),
        ("right turn.+", "D2.A", "0.5", "BK/GN"),
        ("D2.K", "SP3.1", "0.5", "BK/GN"),
        ("SP3.1", "K2.86", "0.5", "BK/GN"),
        ("SP3.1", "VS1.S", "0.5", "BK/GN"),
        ("K2.85", "G4.31", "0.5", "BN"),
        ("SW1.2", "HU1.AUX", "0.5", "GY"),
        ("reverse.+", "X1.4", "0.75", "GN"),
        ("K1.87", "X1.1", "0.75", "YE"),
        ("K2.87", "X1.2", "0.75", "BU"),
        ("K1.87a", "X1.3", "0.75", "WH"),
        ("LEFT.ground", "G2.31", "0.75", "BN"),
        ("RIGHT.ground", "G2.31", "0.75", "BN"),
        ("REAR.ground", "G2.31", "0.75", "BN"),
        ("HU1.31", "G3.31", "1.0", "BN"),
        ("VS1.2", "G3.31", "0.75", "BN"),
        ("VS1.Q", "HU1.cam2", "0.5", "PK"),
        ("REAR.video", "HU1.cam1", "0.5", "WH/BK"),
        ("LEFT.video", "VS1.A", "0.5", "WH/YE"),
        ("RIGHT.video", "VS1.B", "0.5", "WH/BU"),
    ] {
        b.join(from, to, gauge, colour);
    }
    let x1 = b.diagram.parts.iter().position(|p| p.name == "X1").expect("X1");
    let part = |name: &str, d: &Diagram| d.parts.iter().position(|p| p.name == name).expect("part");
    for (cavity, to, pin, colour) in [(0, "LEFT", 0, "YE"), (1, "RIGHT", 0, "BU"), (2, "REAR", 0, "WH")] {
        let to = (part(to, &b.diagram), pin);
        b.wire((x1, 6 + cavity), to, "0.75", colour);
    }
    let hu1 = part("HU1", &b.diagram);
    b.wire((x1, 9), (hu1, 3), "0.5", "GN");
    b.diagram
}

/// A made-up diagram with about the given number of wires, built like a harness: feeds, fuses, relays, modules, mated connectors,
/// cameras and screens in a handful of places, most wires within a place or to the next.
pub(super) fn made_up(seed: u64, wires: usize) -> Diagram {
    let mut c = Choices(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) + 1);
    let mut b = Builder::default();
    let names = ["engine bay", "kick left", "kick right", "dash", "console", "roof", "tail", "trailer"];
    let places = 2 + c.below(names.len() - 2).min(1 + wires / 8);
    names[..places].iter().for_each(|name| {
        b.place(name);
    });
    let relay = ["30", "85", "86", "87", "87a"];
    let module = ["1 feed", "2 ground", "3 in", "4 in", "5 out", "6 out", "7 out", "8 bus"];
    let screen =
        ["30 feed", "75 switched", "31 ground", "T1 trigger", "T2 trigger", "T3 trigger", "V1 video", "V2 video"];
    let cavities: Vec<String> = (1..=12).chain(1..=12).map(|n| n.to_string()).collect();
    while b.diagram.parts.iter().map(|p| p.pins.len()).sum::<usize>() < wires * 2 + 2 {
        let place = names[c.below(places)];
        let n = b.diagram.parts.len() + 1;
        match c.below(12) {
            0 => b.part(&format!("feed{n}"), "supply", place, PartShape::Supply, Flow::Source, &["+"]),
            1 | 2 => b.part(&format!("F{n}"), "fuse", place, PartShape::Outline, Flow::Between, &["1", "2"]),
            3 | 4 => b.part(&format!("K{n}"), "relay 12 V", place, PartShape::Outline, Flow::Between, &relay),
            5 => b.part(&format!("D{n}"), "diode", place, PartShape::Outline, Flow::Between, &["A", "K"]),
            6 => {
                let m = 3 + c.below(module.len() - 3);
                b.part(&format!("M{n}"), "module", place, PartShape::Outline, Flow::Between, &module[..m])
            }
            7 => {
                let half = 2 + c.below(10);
                let pins: Vec<&str> =
                    cavities[..half].iter().chain(&cavities[12..12 + half]).map(String::as_str).collect();
                b.part(&format!("X{n}"), "connector", place, PartShape::Mated, Flow::Between, &pins)
            }
            8 => b.part(
                &format!("CAM{n}"),
                "camera",
                place,
                PartShape::Outline,
                Flow::Sink,
                &["power", "ground", "video"],
            ),
            9 => b.part(&format!("HU{n}"), "screen", place, PartShape::Outline, Flow::Sink, &screen),
            10 => b.part(&format!("SP{n}"), "", place, PartShape::Splice, Flow::Between, &["1"]),
            _ => b.part(&format!("G{n}"), "body", place, PartShape::Ground, Flow::Between, &["31"]),
        };
    }
    for part in 0..b.diagram.parts.len() {
        let pins = b.diagram.parts[part].pins.len();
        if b.diagram.parts[part].form == PartShape::Outline && pins > 2 && c.below(3) == 0 {
            let first = 1 + c.below(pins);
            b.plug(part, &format!("X{part}A"), first);
            if first < pins {
                b.plug(part, &format!("X{part}B"), pins - first + c.below(2));
            }
        }
    }
    let mut free: Vec<(usize, usize)> = Vec::new();
    for (part, drawn) in b.diagram.parts.iter().enumerate() {
        let covered: Vec<usize> = drawn.pins.iter().filter_map(|pin| pin.plugged?.meets).collect();
        free.extend((0..drawn.pins.len()).filter(|pin| !covered.contains(pin)).map(|pin| (part, pin)));
    }
    let mut used = vec![0; free.len()];
    for _ in 0..wires {
        // Each pin takes one wire, now and then two; open ones more.
        let pick = |c: &mut Choices, used: &[usize]| {
            let mut at = c.below(free.len());
            for _ in 0..40 {
                let open = b.diagram.parts[free[at].0].form.is_open();
                if used[at] == 0 || (open && used[at] < 8) || (used[at] == 1 && c.below(8) == 0) {
                    break;
                }
                at = c.below(free.len());
            }
            at
        };
        let from = pick(&mut c, &used);
        let place = b.diagram.parts[free[from].0].place;
        let mut to = pick(&mut c, &used);
        for _ in 0..30 {
            let far = b.diagram.parts[free[to].0].place.abs_diff(place);
            if free[to].0 != free[from].0 && (far == 0 || c.below(2 + 2 * far) == 0) {
                break;
            }
            to = pick(&mut c, &used);
        }
        used[from] += 1;
        used[to] += 1;
        let (gauge, colour) = (c.of(&GAUGES), c.of(&COLOURS));
        b.wire(free[from], free[to], gauge, colour);
    }
    b.diagram
}
