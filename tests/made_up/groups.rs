//! Specs made up for timing whole runs: inputs in groups that share nothing but the battery.

/// A spec with the given number of inputs, in groups of `group`. Each input feeds a relay over a diode, and so does the next of its
/// group; each relay switches a work light, on a fuse of its own. Each group has its own ground point.
pub fn spec(inputs: usize, group: usize) -> String {
    let mut out = Spec::default();
    for i in 0..inputs {
        let (n, first) = (i + 1, i / group * group);
        let next = first + (i + 1 - first) % group.min(inputs - first) + 1;
        let ground = format!("G{}", i / group + 1);
        if i == first {
            out.grounds.push_str(&format!("  {ground}: {{at: dash}}\n"));
        }
        out.inputs.push_str(&format!("  in{n}: {{kind: lamp-feed, at: dash, fuse: 5 A, limit: 1 A}}\n"));
        let parts = [
            (format!("F{n}"), "use: fuse-blade, rating: 10 A, at: engine-bay"),
            (format!("K{n}"), "use: relay-mini-spst-12v-diode, at: dash"),
            (format!("DA{n}"), "use: diode-3a, at: dash"),
            (format!("DB{n}"), "use: diode-3a, at: dash"),
            (format!("L{n}"), "use: led-worklight, at: dash"),
        ];
        parts.iter().for_each(|(name, form)| out.parts.push_str(&format!("  {name}: {{{form}}}\n")));
        out.wire("battery", &format!("F{n}.1"));
        out.wire(&format!("F{n}.2"), &format!("K{n}.30"));
        for (diode, from) in [("DA", n), ("DB", next)] {
            out.wire(&format!("in{from}"), &format!("{diode}{n}.anode"));
            out.wire(&format!("{diode}{n}.cathode"), &format!("K{n}.86"));
        }
        out.wire(&format!("K{n}.85"), &ground);
        out.wire(&format!("K{n}.87"), &format!("L{n}.power"));
        out.wire(&format!("L{n}.ground"), &ground);
    }
    out.text(inputs)
}

#[derive(Default)]
struct Spec {
    grounds: String,
    inputs: String,
    parts: String,
    wires: String,
    count: usize,
}

impl Spec {
    fn wire(&mut self, from: &str, to: &str) {
        self.count += 1;
        self.wires.push_str(&format!("  - {{id: {}, from: {from}, to: {to}, length: 1 m}}\n", self.count));
    }

    fn text(&self, inputs: usize) -> String {
        format!(
            "harness: 1\njob: {{title: Made up with {inputs} inputs, nominal: 12 V}}\nplaces: [engine-bay, dash]\n\
             runs: [{{between: [engine-bay, dash], length: 1 m}}]\n\
             supplies: {{battery: {{terminal: \"30\", at: engine-bay, volts: [11.8 V, 12.6 V, 14.6 V], resistance: 5 mΩ}}}}\n\
             grounds:\n{}inputs:\n{}parts:\n{}wires:\n{}",
            self.grounds, self.inputs, self.parts, self.wires
        )
    }
}
