//! Specs made up for timing whole runs: many lights behind one fuse, in one state.

/// A spec with no input and this many LED marker lamps behind one fuse: one ground point, two wires a lamp.
pub fn spec(lights: usize) -> String {
    let (mut parts, mut wires) = (String::new(), String::new());
    for n in 1..=lights {
        parts.push_str(&format!("  L{n}: {{use: led-marker-12v, at: rear}}\n"));
        wires.push_str(&format!("  - {{id: P{n}, from: F1.2, to: L{n}.power, length: 2 m}}\n"));
        wires.push_str(&format!("  - {{id: N{n}, from: L{n}.ground, to: G1, length: 1 m}}\n"));
    }
    format!(
        "harness: 1\njob: {{title: Made up with {lights} lights, nominal: 12 V}}\nplaces: [front, rear]\n\
         runs: [{{between: [front, rear], length: 2 m}}]\n\
         supplies: {{battery: {{terminal: \"30\", at: front, volts: [11.8 V, 12.6 V, 14.6 V], resistance: 5 mΩ}}}}\n\
         grounds: {{G1: {{at: rear}}}}\nparts:\n  F1: {{use: fuse-blade, rating: 15 A, at: front}}\n{parts}\
         wires:\n  - {{id: 1, from: battery, to: F1.1, length: 1 m}}\n{wires}"
    )
}
