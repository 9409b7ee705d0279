//! What a wrong wire touches. A wire that was moved is missing at its right place as well: so what is missing at the parts
//! that it touches, and what screens show that depend on them, follows from it too.

use crate::Finding;
use model::{Domain, Model, PartId, PartKind, WireId, is_signal};
use std::collections::BTreeSet;

/// Rules whose findings at a touched part or screen say that something is missing.
const MISSING: [&str; 16] = [
    "net/part-unpowered",
    "net/ground-missing",
    "net/trigger-open",
    "net/sound-open",
    "net/unwired",
    "net/wire-to-nowhere",
    "net/island",
    "logic/view-differs",
    "logic/view-unreached",
    "logic/screen-input-empty",
    "logic/input-unused",
    "logic/works-differs",
    "load/starved",
    "load/coil-weak",
    "time/late",
    "time/rear-late",
];

/// What wrong wires touch.
pub struct Touched {
    names: BTreeSet<String>,
}

impl Touched {
    /// What the wires touch, directly or by the triggers and pictures of the parts on them.
    pub fn new(model: &Model, wrong: &[WireId]) -> Touched {
        let nets = model::joined_pins(model);
        let of = |pin: &model::PinId| model.pin(*pin).part;
        let is_ours = |part: &PartId| !matches!(model.part(*part).kind, PartKind::Supply | PartKind::Ground);
        let on_wrong = nets.iter().filter(|net| wrong.iter().any(|wire| net.contains(&model.wire(*wire).ends[0])));
        let mut parts: BTreeSet<PartId> = on_wrong.flat_map(|net| net.iter().map(of)).filter(is_ours).collect();
        let mut names: BTreeSet<String> = wrong.iter().map(|wire| format!("wire {}", model.wire(*wire).id)).collect();
        let on_net = model.wires.iter().filter(|wire| wire.ends.iter().any(|end| parts.contains(&of(end))));
        names.extend(on_net.map(|wire| format!("wire {}", wire.id)));
        names.extend(parts.iter().map(|part| model.part(*part).name.to_string()));
        // What a trigger or a picture of these parts leads to.
        loop {
            let carries = |net: &&Vec<model::PinId>| {
                net.iter().any(|pin| {
                    let domain = model.pin(*pin).domain;
                    model::is_terminal(model, *pin) && (domain == Domain::Trigger || is_signal(domain))
                })
            };
            let beside = nets.iter().filter(carries).filter(|net| net.iter().any(|pin| parts.contains(&of(pin))));
            let more: BTreeSet<PartId> = beside.flat_map(|net| net.iter().map(of)).filter(is_ours).collect();
            let before = parts.len();
            parts.extend(more);
            if parts.len() == before {
                break;
            }
        }
        let screens = model.screens.iter().filter(|screen| parts.contains(&screen.part));
        names.extend(screens.map(|screen| format!("screen {}", screen.name)));
        // Where a wire of sound is wrong, a loudspeaker without a wire is where it belongs.
        let is_sound = |wire: &WireId| model.wire(*wire).domain == Domain::Audio;
        let speakers = model
            .pin_ids()
            .filter(|pin| model.pin(*pin).domain == Domain::Audio)
            .filter(|_| wrong.iter().any(is_sound));
        names.extend(speakers.map(|pin| model.part(model.pin(pin).part).name.to_string()));
        let feeds = |part: &&PartId| model.part(**part).kind == PartKind::Feed;
        names.extend(parts.iter().filter(feeds).map(|part| model.part(*part).name.to_string()));
        Touched { names }
    }

    /// Whether a finding says that something is missing at a part or a screen that is touched.
    pub fn misses(&self, finding: &Finding) -> bool {
        MISSING.contains(&finding.rule) && self.names(&finding.about)
    }

    /// Whether a subject is touched: `K1`, `K1.87`, `wire 7`, `screen dash`.
    fn names(&self, about: &str) -> bool {
        self.names.contains(about) || about.split_once('.').is_some_and(|(part, _)| self.names.contains(part))
    }
}
