//! Specs made up for drawing tests and benches: harnesses such as shops build, of any size, always the same for the
//! same seed. The wiring is connected like a real one (feeds, fuses, relays, splices, connectors, grounds); whether the
//! circuit makes sense is not asked here.

/// A spec with about the given number of wires (never more), as YAML.
pub fn spec(seed: u64, wires: usize) -> String {
    let mut vehicle = Vehicle::new(seed, wires);
    while vehicle.wires.len() < wires {
        vehicle.add_unit();
    }
    vehicle.text(wires)
}

const PLACES: [&str; 9] =
    ["engine-bay", "kick-left", "dash", "tail", "kick-right", "console", "roof", "nose", "trailer"];
const COLOURS: [&str; 16] =
    ["BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "RD/WH", "GN/YE", "BU/RD", "WH/GN", "VT/YE"];
const GAUGES: [&str; 6] = ["0.5 mm²", "0.75 mm²", "1 mm²", "1.5 mm²", "2.5 mm²", "18 AWG"];

struct Vehicle {
    state: u64,
    places: Vec<&'static str>,
    inputs: Vec<String>,
    screens: Vec<String>,
    cameras: Vec<String>,
    parts: Vec<String>,
    connectors: Vec<String>,
    splices: Vec<String>,
    wires: Vec<String>,
    /// A splice with a fused feed, by place.
    feeds: Vec<Option<String>>,
    /// The screen that still has inputs free, and how many.
    screen: Option<(String, usize, usize)>,
    /// The mated pair between two places that still has cavities free: halves, next cavity, how many.
    pair: Option<(usize, usize, usize)>,
    count: usize,
}

impl Vehicle {
    fn new(seed: u64, wires: usize) -> Self {
        let mut vehicle = Self {
            state: seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1,
            places: Vec::new(),
            inputs: Vec::new(),
            screens: Vec::new(),
            cameras: Vec::new(),
            parts: Vec::new(),
            connectors: Vec::new(),
            splices: Vec::new(),
            wires: Vec::new(),
            feeds: Vec::new(),
            screen: None,
            pair: None,
            count: 0,
        };
        let more = vehicle.below((1 + wires / 10).min(6));
        vehicle.places = PLACES[..3 + more].to_vec();
        vehicle.feeds = vec![None; vehicle.places.len()];
        vehicle
    }

    fn below(&mut self, bound: usize) -> usize {
        self.state = self.state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.state >> 33) % bound.max(1) as u64) as usize
    }

    fn number(&mut self) -> usize {
        self.count += 1;
        self.count
    }

    fn wire(&mut self, from: &str, to: &str) {
        let id = self.wires.len() + 1;
        let make = if from.ends_with(".video") || to.contains(".cam") {
            "make: coax, colour: YE".to_string()
        } else {
            let (gauge, colour) = (GAUGES[self.below(GAUGES.len())], COLOURS[self.below(COLOURS.len())]);
            format!("gauge: {gauge}, colour: {colour}")
        };
        self.wires.push(format!("  - {{id: {id}, from: {from}, to: {to}, {make}}}"));
    }

    /// A fused feed at a place: a splice with something on it.
    fn feed(&mut self, place: usize) -> String {
        if let Some(splice) = &self.feeds[place] {
            return splice.clone();
        }
        let n = self.number();
        let (fuse, splice) = (format!("F{n}"), format!("SP{n}"));
        self.parts.push(format!("  {fuse}: {{use: fuse-blade, rating: 5 A, at: {}}}", self.places[0]));
        self.splices.push(format!("  {splice}: {{at: {}}}", self.places[place]));
        self.wire("battery", &format!("{fuse}.1"));
        self.wire(&format!("{fuse}.2"), &splice);
        self.feeds[place] = Some(splice.clone());
        splice
    }

    /// From a pin at one place to a pin at another, now and then by way of a mated pair.
    fn run(&mut self, from: &str, to: &str, far: bool) {
        if !far || self.below(3) == 0 {
            return self.wire(from, to);
        }
        let (pair, cavity, size) = match self.pair.take() {
            Some(pair) => pair,
            None => {
                let n = self.number();
                let size = [4, 6, 8, 12][self.below(4)];
                let place = self.below(self.places.len());
                let at = self.places[place];
                self.connectors.push(format!("  X{n}A: {{use: connector-{size}, at: {at}}}"));
                self.connectors.push(format!("  X{n}B: {{use: connector-{size}, at: {at}, mates: X{n}A}}"));
                (n, 1, size)
            }
        };
        self.wire(from, &format!("X{pair}A.{cavity}"));
        self.wire(&format!("X{pair}B.{cavity}"), to);
        self.pair = (cavity < size).then_some((pair, cavity + 1, size));
    }

    /// A free input of a screen: its trigger and its video pin.
    fn screen_input(&mut self) -> (String, String) {
        let (screen, next, size) = match self.screen.take() {
            Some(screen) => screen,
            None => {
                let n = self.number();
                let (name, place) = (format!("HU{n}"), self.places[2]);
                self.parts.push(format!("  {name}: {{use: screen-3in-12v, at: {place}}}"));
                self.screens.push(format!("  screen-{n}: {{part: {name}}}"));
                let feed = self.feed(2);
                self.wire(&feed, &format!("{name}.power"));
                self.wire(&format!("{name}.ground"), "G2");
                (name, 1, 3)
            }
        };
        let trigger = format!("{screen}.{}", ["REV", "LEFT", "RIGHT"][next - 1]);
        let video = format!("{screen}.cam{next}");
        self.screen = (next < size).then_some((screen, next + 1, size));
        (trigger, video)
    }

    /// A camera with its relay, its trigger and its picture; or a pair of lamps.
    fn add_unit(&mut self) {
        let n = self.number();
        let places = self.places.len();
        let (near, far) = (1 + self.below(places - 1), self.below(places));
        let (near_place, far_place) = (self.places[near], self.places[far]);
        let input = format!("input-{n}");
        let kind = if self.below(2) == 0 { "lamp-feed" } else { "flasher-feed, flash: 60..120 /min" };
        self.inputs.push(format!("  {input}: {{kind: {kind}, at: {near_place}, limit: 500 mA}}"));
        self.parts.push(format!("  K{n}: {{use: relay-mini-spdt-12v, at: {near_place}}}"));
        let feed = self.feed(near);
        self.wire(&feed, &format!("K{n}.30"));
        let trigger = match self.below(3) {
            0 => input,
            1 => {
                self.parts.push(format!("  D{n}: {{use: diode-1a, at: {near_place}}}"));
                self.wire(&input, &format!("D{n}.anode"));
                format!("D{n}.cathode")
            }
            _ => {
                self.parts.push(format!("  H{n}: {{use: hold-module-12v, time: 1 s, at: {near_place}}}"));
                self.wire(&input, &format!("H{n}.in"));
                self.wire(&feed, &format!("H{n}.power"));
                self.wire(&format!("H{n}.ground"), &format!("G{near}"));
                format!("H{n}.out")
            }
        };
        self.wire(&trigger, &format!("K{n}.86"));
        self.wire(&format!("K{n}.85"), &format!("G{near}"));
        if self.below(4) == 0 {
            self.splices.push(format!("  S{n}: {{at: {far_place}}}"));
            self.run(&format!("K{n}.87"), &format!("S{n}"), near != far);
            for side in ["L", "R"] {
                self.parts.push(format!("  L{n}{side}: {{use: led-worklight, at: {far_place}}}"));
                self.wire(&format!("S{n}"), &format!("L{n}{side}.power"));
                self.wire(&format!("L{n}{side}.ground"), &format!("G{far}"));
            }
            return;
        }
        self.cameras.push(format!("  CAM{n}: {{use: camera-cvbs-12v, at: {far_place}}}"));
        let [power, ground, video] = if self.below(2) == 0 {
            let carries = "carries: {1: power, 2: ground, 3: video}";
            self.connectors
                .push(format!("  X{n}: {{use: connector-3-sealed, at: {far_place}, on: CAM{n}, {carries}}}"));
            [1, 2, 3].map(|cavity| format!("X{n}.{cavity}"))
        } else {
            ["power", "ground", "video"].map(|pin| format!("CAM{n}.{pin}"))
        };
        self.run(&format!("K{n}.87"), &power, near != far);
        self.wire(&ground, &format!("G{far}"));
        let (screen_trigger, screen_video) = self.screen_input();
        self.run(&video, &screen_video, far != 2);
        self.wire(&format!("K{n}.87a"), &screen_trigger);
    }

    fn text(&self, wires: usize) -> String {
        let mut lines = vec!["harness: 1".to_string(), "job: {title: Made up, nominal: 12 V}".into()];
        lines.push(format!("places: [{}]", self.places.join(", ")));
        lines.push("runs:".into());
        for (i, place) in self.places.iter().enumerate().skip(1) {
            lines.push(format!("  - {{between: [{}, {place}], length: 1.{i} m}}", self.places[(i - 1) / 2]));
        }
        lines.push("supplies:".into());
        lines.push("  battery: {terminal: \"30\", at: engine-bay, volts: [11.8 V, 12.6 V, 14.6 V]}".into());
        lines.push("grounds:".into());
        lines.extend(self.places.iter().enumerate().map(|(i, place)| format!("  G{i}: {{at: {place}}}")));
        let sections = [
            ("inputs", &self.inputs),
            ("screens", &self.screens),
            ("cameras", &self.cameras),
            ("parts", &self.parts),
            ("connectors", &self.connectors),
            ("splices", &self.splices),
        ];
        for (name, entries) in sections.into_iter().filter(|(_, entries)| !entries.is_empty()) {
            lines.push(format!("{name}:"));
            lines.extend(entries.iter().cloned());
        }
        lines.push("wires:".into());
        lines.extend(self.wires.iter().take(wires).cloned());
        lines.join("\n") + "\n"
    }
}
