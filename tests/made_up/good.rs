//! Sound harnesses made up from blocks that are known to be good, in every mixture: nothing may be reported in them.
//!
//! Each block is how the trade builds such a thing: its own fuse near its source, a tap with a small fuse, relays with a
//! diode across the coil, modules that bridge flashes, a ground at each place, a splice where wires meet.

use std::fmt::Write;

/// A sound spec. The same seed gives the same spec.
pub fn spec(seed: u64) -> String {
    let mut sheet = Sheet::new(seed);
    sheet.screen();
    if sheet.dice.one_in(2) {
        sheet.work_light();
    }
    if sheet.dice.one_in(2) {
        sheet.trailer();
    }
    if sheet.is_24v && sheet.dice.one_in(2) {
        sheet.converter();
    }
    if !sheet.is_24v && sheet.dice.one_in(3) {
        sheet.sound();
    }
    if !sheet.is_24v && sheet.dice.one_in(3) {
        sheet.door_lamp();
    }
    sheet.text()
}

/// Numbers that look random and are the same each time.
struct Dice(u64);

impl Dice {
    fn below(&mut self, bound: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % bound as u64) as usize
    }

    fn one_in(&mut self, count: usize) -> bool {
        self.below(count) == 0
    }
}

/// A feed that goes on from splice to splice, four wires on each.
#[derive(Clone)]
struct Bus {
    place: &'static str,
    kind: &'static str,
    splice: String,
    free: usize,
}

/// A spec in the making: the lines of each section.
struct Sheet {
    dice: Dice,
    is_24v: bool,
    inputs: Vec<String>,
    screens: Vec<String>,
    views: Vec<String>,
    cameras: Vec<String>,
    accessories: Vec<String>,
    parts: Vec<String>,
    connectors: Vec<String>,
    splices: Vec<String>,
    wires: Vec<String>,
    sources: Vec<String>,
    /// The taps of turn signals that exist, behind their fuses.
    turns: Vec<(&'static str, Bus)>,
}

impl Sheet {
    fn new(seed: u64) -> Sheet {
        let mut dice = Dice(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x51f1);
        let is_24v = dice.one_in(3);
        let inputs = vec!["  key: {positions: [off, run]}".to_string()];
        let empty = Vec::new;
        Sheet {
            dice,
            is_24v,
            inputs,
            screens: empty(),
            views: empty(),
            cameras: empty(),
            accessories: empty(),
            parts: empty(),
            connectors: empty(),
            splices: empty(),
            wires: empty(),
            sources: empty(),
            turns: Vec::new(),
        }
    }

    fn wire(&mut self, from: &str, to: &str) {
        let id = self.wires.len() + 1;
        self.wires.push(format!("  - {{id: {id}, from: {from}, to: {to}}}"));
    }

    fn coax(&mut self, from: &str, to: &str) {
        let id = self.wires.len() + 1;
        self.wires.push(format!("  - {{id: {id}, from: {from}, to: {to}, make: coax}}"));
    }

    fn fuse(&mut self, place: &str, rating: &str) -> String {
        let name = format!("F{}", self.parts.len() + 1);
        self.parts.push(format!("  {name}: {{use: fuse-blade, rating: {rating}, at: {place}}}"));
        name
    }

    fn part(&mut self, letter: &str, kind: &str, place: &str) -> String {
        let name = format!("{letter}{}", self.parts.len() + 1);
        self.parts.push(format!("  {name}: {{use: {kind}, at: {place}}}"));
        name
    }

    fn splice(&mut self, place: &str, kind: &str) -> String {
        let name = format!("S{}", self.splices.len() + 1);
        self.splices.push(format!("  {name}: {{at: {place}, use: {kind}}}"));
        name
    }

    /// A feed that begins at a pin.
    fn bus(&mut self, from: &str, place: &'static str) -> Bus {
        self.bus_on(from, place, "splice-crimp")
    }

    /// The same with another kind of splice.
    fn bus_on(&mut self, from: &str, place: &'static str, kind: &'static str) -> Bus {
        let splice = self.splice(place, kind);
        self.wire(from, &splice);
        Bus { place, kind, splice, free: 3 }
    }

    /// One more wire from a feed to a pin.
    fn tap(&mut self, bus: &mut Bus, to: &str) {
        if bus.free == 1 {
            let next = self.splice(bus.place, bus.kind);
            let last = std::mem::replace(&mut bus.splice, next.clone());
            self.wire(&last, &next);
            bus.free = 3;
        }
        bus.free -= 1;
        let from = bus.splice.clone();
        self.wire(&from, to);
    }

    /// An input's wire, tapped behind a small fuse.
    fn tapped(&mut self, input: &str, kind: &str, rest: &str) -> Bus {
        self.inputs.push(format!("  {input}: {{kind: {kind}, at: panel, limit: 1 A, fuse: 10 A, {rest}}}"));
        let fuse = self.fuse("panel", "1 A");
        self.wire(input, &format!("{fuse}.1"));
        self.bus(&format!("{fuse}.2"), "panel")
    }

    /// A turn signal's tap; one for all blocks.
    fn turn(&mut self, side: &'static str, to: &str) {
        if !self.turns.iter().any(|(known, _)| *known == side) {
            let input = format!("{side}-turn");
            let bus = self.tapped(&input, "flasher-feed", &format!("lamps: 42 W, means: {input}"));
            self.turns.push((side, bus));
        }
        let at = self.turns.iter().position(|(known, _)| *known == side).unwrap();
        let mut bus = self.turns[at].1.clone();
        self.tap(&mut bus, to);
        self.turns[at].1 = bus;
    }

    fn relay(&self) -> &'static str {
        if self.is_24v { "relay-mini-spdt-24v-diode" } else { "relay-mini-spst-12v-diode" }
    }

    /// Cameras on a screen, each with its trigger.
    fn screen(&mut self) {
        let fuse = self.fuse("panel", "5 A");
        self.wire("accessory", &format!("{fuse}.1"));
        let mut feed = self.bus(&format!("{fuse}.2"), "dash");
        let (kind, triggers, camera): (&str, &[&str], &str) = match (self.is_24v, self.dice.below(2)) {
            (true, _) => ("screen-4in", &["T1", "T2", "T3", "T4"], "camera-cvbs-24v"),
            (false, 0) => ("screen-2in-12v", &["REV", "AUX"], "camera-cvbs-12v"),
            _ => ("screen-3in-12v", &["REV", "LEFT", "RIGHT"], "camera-cvbs-ir-12v"),
        };
        self.parts.push(format!("  HU1: {{use: {kind}, at: dash}}"));
        self.screens.push("  dash: {part: HU1}".to_string());
        self.tap(&mut feed, "HU1.power");
        self.wire("HU1.ground", "G-dash");
        self.views.push("  dash:\n    - {when: not key, show: black}".to_string());
        let mut reverse = self.tapped("reverse", "lamp-feed", "lamps: 42 W, needs: key, means: reverse-gear");
        let count = 1 + self.dice.below(triggers.len());
        for (n, trigger) in triggers.iter().take(count).enumerate() {
            let place = ["tail", "left", "right", "nose"][n];
            self.camera(&mut feed, n, camera, place);
            let pin = format!("HU1.{trigger}");
            let when = if n == 0 {
                self.tap(&mut reverse, &pin);
                "reverse".to_string()
            } else {
                self.trigger(&mut feed, n, &pin)
            };
            self.views.push(format!("    - {{when: {when}, show: CAM{n}, within: 4 s, steady: yes}}"));
        }
        self.views.push("    - {otherwise: home}".to_string());
        if !self.is_24v && self.dice.one_in(2) {
            self.accessories
                .push("  BZ: {use: buzzer-12v, at: tail, works: {when: reverse, within: 100 ms}}".to_string());
            self.tap(&mut reverse, "BZ.power");
            self.wire("BZ.ground", "G-tail");
        }
    }

    fn camera(&mut self, feed: &mut Bus, n: usize, kind: &str, place: &'static str) {
        let name = format!("CAM{n}");
        self.cameras.push(format!("  {name}: {{use: {kind}, at: {place}, format: cvbs-pal}}"));
        let ends = if self.dice.one_in(2) {
            let plug = format!("X{n}");
            self.connectors.push(format!(
                "  {plug}: {{use: connector-3-sealed, at: {place}, on: {name}, carries: {{1: power, 2: ground, 3: video}}}}"
            ));
            ["1", "2", "3"].map(|cavity| format!("{plug}.{cavity}"))
        } else {
            ["power", "ground", "video"].map(|pin| format!("{name}.{pin}"))
        };
        self.tap(feed, &ends[0]);
        self.wire(&ends[1], &format!("G-{place}"));
        self.coax(&ends[2], &format!("HU1.cam{}", n + 1));
    }

    /// Something that turns on a trigger of the screen; returns the condition.
    fn trigger(&mut self, feed: &mut Bus, n: usize, pin: &str) -> String {
        match self.dice.below(3) {
            0 if n <= 2 => {
                let side = ["left", "right"][n - 1];
                let kind = if self.is_24v { "hold-module-24v" } else { "hold-module-12v" };
                let module = format!("HM{n}");
                self.parts.push(format!("  {module}: {{use: {kind}, at: dash, time: 1.5 s}}"));
                self.tap(feed, &format!("{module}.power"));
                self.wire(&format!("{module}.ground"), "G-dash");
                self.turn(side, &format!("{module}.in"));
                self.wire(&format!("{module}.out"), pin);
                format!("{side}-turn or {module}.held")
            }
            1 => {
                let kind = if self.is_24v { "hold-module-24v" } else { "hold-module-12v" };
                let (module, button, input) = (format!("HM{n}"), format!("PB{n}"), format!("press-{n}"));
                self.parts.push(format!("  {module}: {{use: {kind}, at: dash, time: 10 s}}"));
                self.parts.push(format!("  {button}: {{use: push-spst, at: dash}}"));
                self.inputs.push(format!("  {input}: {{kind: push, part: {button}}}"));
                self.tap(feed, &format!("{module}.power"));
                self.tap(feed, &format!("{button}.common"));
                self.wire(&format!("{button}.on"), &format!("{module}.in"));
                self.wire(&format!("{module}.ground"), "G-dash");
                self.wire(&format!("{module}.out"), pin);
                format!("{input} or {module}.held")
            }
            _ => {
                let (switch, input) = (format!("SW{n}"), format!("look-{n}"));
                self.parts.push(format!("  {switch}: {{use: toggle-spst, at: dash}}"));
                self.inputs.push(format!("  {input}: {{kind: toggle, part: {switch}}}"));
                self.tap(feed, &format!("{switch}.common"));
                self.wire(&format!("{switch}.on"), pin);
                input
            }
        }
    }

    /// Work lights through a relay, on a switch of their own.
    fn work_light(&mut self) {
        let fuse = self.fuse("bay", "7.5 A");
        self.wire("battery", &format!("{fuse}.1"));
        let mut feed = self.bus(&format!("{fuse}.2"), "panel");
        let relay = self.part("K", self.relay(), "panel");
        self.parts.push("  SWL: {use: toggle-spst, at: dash}".to_string());
        self.inputs.push("  work-light: {kind: toggle, part: SWL}".to_string());
        self.accessories.push(
            "  WL: {use: led-worklight, at: tail, works: {when: work-light, within: 200 ms, steady: yes}}".to_string(),
        );
        self.tap(&mut feed, &format!("{relay}.30"));
        self.tap(&mut feed, "SWL.common");
        self.wire("SWL.on", &format!("{relay}.86"));
        self.wire(&format!("{relay}.85"), "G-panel");
        self.wire(&format!("{relay}.87"), "WL.power");
        self.wire("WL.ground", "G-light");
    }

    /// Stop and tail lamps of a trailer, sometimes the turn signals too; sometimes only the socket.
    fn trailer(&mut self) {
        let has_turns = self.dice.one_in(2);
        let rating = if has_turns && !self.is_24v { "15 A" } else { "7.5 A" };
        let fuse = self.fuse("bay", rating);
        self.wire("battery", &format!("{fuse}.1"));
        let mut feed = self.bus_on(&format!("{fuse}.2"), "panel", "splice-ultrasonic");
        let has_plug = self.dice.one_in(2);
        let (socket, plug, pins) = if self.is_24v {
            ("trailer-socket-15", "trailer-plug-15", ["7", "5", "1", "2", "4"])
        } else {
            ("trailer-socket-7", "trailer-plug-7", ["6", "7", "1", "4", "3"])
        };
        self.connectors.push(format!("  XS: {{use: {socket}, at: hitch}}"));
        if has_plug {
            self.connectors.push(format!("  XP: {{use: {plug}, at: hitch, mates: XS}}"));
        }
        let ground = format!("XS.{}", pins[4]);
        self.wire(&ground, "G-hitch");
        let mut lamps: Vec<String> = Vec::new();
        let all = [("brake", "21w"), ("tail-lamps", "5w"), ("left-turn", "21w"), ("right-turn", "21w")];
        for (n, (input, lamp)) in all.into_iter().enumerate().take(if has_turns { 4 } else { 2 }) {
            let kind = match (n < 2, self.is_24v) {
                (true, _) => self.relay(),
                (false, true) => "solid-state-relay-24v",
                (false, false) => "solid-state-relay-12v",
            };
            let relay = self.part("K", kind, "panel");
            self.tap(&mut feed, &format!("{relay}.30"));
            self.wire(&format!("{relay}.85"), "G-panel");
            self.wire(&format!("{relay}.87"), &format!("XS.{}", pins[n]));
            let coil = format!("{relay}.86");
            match n {
                0 | 1 => {
                    let mut tap = self.tapped(input, "lamp-feed", &format!("lamps: 42 W, means: {input}"));
                    self.tap(&mut tap, &coil);
                }
                2 => self.turn("left", &coil),
                _ => self.turn("right", &coil),
            }
            if has_plug {
                let name = format!("TL{n}");
                let suffix = if self.is_24v { "-24v" } else { "" };
                self.accessories.push(format!("  {name}: {{use: lamp-{lamp}{suffix}, at: trailer, works: {input}}}"));
                self.wire(&format!("XP.{}", pins[n]), &format!("{name}.power"));
                lamps.push(name);
            }
        }
        if has_plug {
            let mut ground = self.bus_on(&format!("XP.{}", pins[4]), "trailer", "splice-ultrasonic");
            for lamp in lamps {
                self.tap(&mut ground, &format!("{lamp}.ground"));
            }
        }
    }

    /// 12 V from 24 V for a second screen with a camera on a switch.
    fn converter(&mut self) {
        let fuse = self.fuse("panel", "3 A");
        self.wire("accessory", &format!("{fuse}.1"));
        let converter = self.part("U", "converter-24-12-5a", "panel");
        self.wire(&format!("{fuse}.2"), &format!("{converter}.in"));
        self.wire(&format!("{converter}.ground"), "G-converter");
        let small = self.fuse("panel", "3 A");
        self.wire(&format!("{converter}.out"), &format!("{small}.1"));
        let mut feed = self.bus(&format!("{small}.2"), "dash");
        self.parts.push("  HU2: {use: screen-2in-12v, at: dash}".to_string());
        self.parts.push("  SWN: {use: toggle-spst, at: dash}".to_string());
        self.inputs.push("  second-look: {kind: toggle, part: SWN}".to_string());
        self.cameras.push("  CAMB: {use: camera-cvbs-12v, at: nose, format: cvbs-pal}".to_string());
        self.screens.push("  second: {part: HU2, shows: [{when: REV, input: cam1}]}".to_string());
        self.views.push(
            "  second:\n    - {when: not key, show: black}\n    - {when: second-look, show: CAMB, within: 4 s}\n    - \
             {otherwise: home}"
                .to_string(),
        );
        self.tap(&mut feed, "HU2.power");
        self.tap(&mut feed, "CAMB.power");
        self.tap(&mut feed, "SWN.common");
        self.wire("SWN.on", "HU2.REV");
        self.wire("HU2.ground", "G-dash");
        self.wire("CAMB.ground", "G-nose");
        self.coax("CAMB.video", "HU2.cam1");
    }

    /// A player and an amplifier with two loudspeakers.
    fn sound(&mut self) {
        let fuse = self.fuse("panel", "10 A");
        self.wire("accessory", &format!("{fuse}.1"));
        let mut feed = self.bus(&format!("{fuse}.2"), "dash");
        self.sources.push("  PL: {use: media-player-12v, at: dash}".to_string());
        self.accessories.push("  AMP: {use: amplifier-2ch, at: dash, works: key}".to_string());
        self.tap(&mut feed, "AMP.power");
        self.tap(&mut feed, "AMP.remote");
        self.tap(&mut feed, "PL.power");
        self.wire("AMP.ground", "G-sound");
        self.wire("PL.ground", "G-sound");
        for (n, side) in ["left", "right"].into_iter().enumerate() {
            self.accessories.push(format!("  LS{n}: {{use: speaker, at: dash}}"));
            self.coax(&format!("PL.{side}"), &format!("AMP.in-{side}"));
            self.wire(&format!("AMP.out-{side}"), &format!("LS{n}.plus"));
            self.wire(&format!("LS{n}.minus"), "G-sound");
        }
    }

    /// A step lamp on a door switch that goes to ground.
    fn door_lamp(&mut self) {
        let fuse = self.fuse("bay", "2 A");
        self.wire("battery", &format!("{fuse}.1"));
        self.parts.push("  DS: {use: door-switch, at: left}".to_string());
        self.inputs.push("  door: {kind: toggle, part: DS}".to_string());
        self.accessories.push("  SL: {use: lamp-5w, at: left, works: door}".to_string());
        self.wire(&format!("{fuse}.2"), "SL.power");
        self.wire("SL.ground", "DS.open");
        self.wire("DS.common", "G-left");
    }

    fn text(mut self) -> String {
        let volts = if self.is_24v { "[23.2 V, 25.2 V, 28.8 V]" } else { "[11.8 V, 12.6 V, 14.6 V]" };
        let nominal = if self.is_24v { 24 } else { 12 };
        let places = ["bay", "panel", "dash", "tail", "left", "right", "nose", "hitch", "trailer"];
        let mut out = format!(
            "harness: 1\njob: {{title: Made up and sound, nominal: {nominal} V}}\nplaces: [{}]\nruns:\n",
            places.join(", ")
        );
        let runs = [
            ("bay", "panel", 8, 12),
            ("panel", "dash", 5, 15),
            ("panel", "tail", 20, 15),
            ("dash", "left", 10, 20),
            ("dash", "right", 10, 20),
            ("dash", "nose", 10, 20),
            ("tail", "hitch", 3, 8),
            ("hitch", "trailer", 10, 10),
        ];
        for (from, to, least, more) in runs {
            let length = (least + self.dice.below(more)) as f64 / 10.0;
            let _ = writeln!(out, "  - {{between: [{from}, {to}], length: {length} m, covering: conduit}}");
        }
        let _ = writeln!(
            out,
            "supplies:\n  battery: {{terminal: \"30\", at: bay, volts: {volts}, capacity: 90 Ah, alternator: 120 A}}\n  \
             accessory: {{terminal: \"75\", at: panel, follows: key, limit: 20 A, fuse: 20 A}}\ngrounds:"
        );
        let all = self.wires.join("\n");
        // Lights, sound and converters have studs of their own: a stud that comes off then moves no other part's return
        // current.
        let own = [("light", "tail"), ("sound", "dash"), ("converter", "panel")];
        let studs = places.iter().map(|place| (*place, *place)).chain(own);
        for (name, place) in studs.filter(|(name, _)| all.contains(&format!("G-{name}}}"))) {
            let _ = writeln!(out, "  G-{name}: {{at: {place}, use: ground-stud}}");
        }
        let sections = [
            ("inputs", &self.inputs),
            ("screens", &self.screens),
            ("views", &self.views),
            ("cameras", &self.cameras),
            ("sources", &self.sources),
            ("accessories", &self.accessories),
            ("parts", &self.parts),
            ("connectors", &self.connectors),
            ("splices", &self.splices),
            ("wires", &self.wires),
        ];
        for (name, lines) in sections.into_iter().filter(|(_, lines)| !lines.is_empty()) {
            let _ = writeln!(out, "{name}:\n{}", lines.join("\n"));
        }
        out
    }
}
