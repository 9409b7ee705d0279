//! The drawings of a job, one line each: what `draw` can make and `build` writes.

use super::timing_chart::{self, Chart};
use super::{connection, connector_face, current_path, harness_layout, signal_map, state_chart};
use kit::scene::Scene;
use kit::scene::Size;
use kit::sheet::Paper;
use model::Model;
use replay::{Rig, Setting, replay_all};
use states::{Live, Solved, Wiring};

/// One kind of drawing.
#[derive(Clone, Copy)]
pub struct Drawing {
    /// Its name, which is also its file's: `harness-layout`.
    pub name: &'static str,
    /// What it is for, in a few words.
    pub purpose: &'static str,
    /// Draws its sheets.
    pub draw: Draw,
    /// Draws its sheets of one state, where the drawing can show that.
    pub live: Option<fn(&Model, &Live) -> Vec<Scene>>,
}

/// What a drawing is made from.
#[derive(Clone, Copy)]
pub enum Draw {
    /// The harness as it is wired: nothing need be solved for it.
    Wiring(fn(&Model) -> Vec<Scene>),
    /// Its states.
    States(fn(&Solved) -> Vec<Scene>),
}

impl Drawing {
    /// Its sheets.
    pub fn scenes(&self, solved: &Solved) -> Vec<Scene> {
        match self.draw {
            Draw::Wiring(draw) => draw(solved.model),
            Draw::States(draw) => draw(solved),
        }
    }
}

/// Every drawing, in the order of the build book.
pub const DRAWINGS: &[Drawing] = &[
    Drawing {
        name: "current-path-diagram",
        purpose: "current paths from supply to ground, for tracing faults",
        draw: Draw::Wiring(|model| current_path::draw(model, Some(Paper::A3.lying()))),
        live: Some(|model, live| current_path::live(model, live, Some(Paper::A3.lying()))),
    },
    Drawing {
        name: "connection-diagram",
        purpose: "every part with its pins and every wire from pin to pin, for building at the bench",
        draw: Draw::Wiring(|model| connection::sheets(model, Paper::A3)),
        live: Some(|model, live| connection::live_sheets(model, live, Paper::A3)),
    },
    Drawing {
        name: "connection-whole",
        purpose: "the same on one sheet as large as it takes, for a screen or a plotter",
        draw: Draw::Wiring(|model| vec![connection::connection_diagram(model)]),
        live: None,
    },
    Drawing {
        name: "connector-faces",
        purpose: "each connector from its mating side and its wire side, with what is in its cavities",
        draw: Draw::Wiring(|model| connector_face::sheets(model, Some(Paper::A4.upright()))),
        live: None,
    },
    Drawing {
        name: "signal-map",
        purpose: "from inputs through what decides to what is seen, for the talk with the customer",
        draw: Draw::Wiring(|model| signal_map::sheets(model, Paper::A3)),
        live: None,
    },
    Drawing {
        name: "state-chart",
        purpose: "every state by what is seen in it, and what changes the picture",
        draw: Draw::States(|solved| state_chart::sheets(solved, Paper::A3)),
        live: None,
    },
    Drawing {
        name: "harness-layout",
        purpose: "runs to scale, with lengths, bundles and what is at each place",
        draw: Draw::Wiring(|model| harness_layout::sheets(model, Paper::A3)),
        live: None,
    },
    Drawing {
        name: "build-board-a4",
        purpose: "the layout at full size, in A4 sheets for a build board",
        draw: Draw::Wiring(|model| harness_layout::tiles(model, Paper::A4)),
        live: None,
    },
    Drawing {
        name: "build-board-a3",
        purpose: "the same in A3 sheets",
        draw: Draw::Wiring(|model| harness_layout::tiles(model, Paper::A3)),
        live: None,
    },
    Drawing {
        name: "build-board-letter",
        purpose: "the same in Letter sheets",
        draw: Draw::Wiring(|model| harness_layout::tiles(model, Paper::Letter)),
        live: None,
    },
    Drawing {
        name: "build-board-tabloid",
        purpose: "the same in Tabloid sheets",
        draw: Draw::Wiring(|model| harness_layout::tiles(model, Paper::Tabloid)),
        live: None,
    },
    Drawing {
        name: "timing-charts",
        purpose: "what each screen shows when, for every drive of the spec",
        draw: Draw::States(|solved| timing_charts(solved, Some(Paper::A4.lying()))),
        live: None,
    },
];

/// A drawing by name.
pub fn named(name: &str) -> Option<&'static Drawing> {
    DRAWINGS.iter().find(|d| d.name == name)
}

/// The timing chart of every drive, played at the nominal supply with the middle of what flashers may do.
pub fn timing_charts(wiring: &Wiring, size: Option<Size>) -> Vec<Scene> {
    let (plan, setting) = (Rig::new(wiring).plan, Setting::default());
    let timelines = replay_all(wiring, &setting);
    let drives = wiring.model.drives.iter().zip(&timelines);
    drives.flat_map(|(drive, timeline)| timing_chart::draw(&Chart::of(wiring, &plan, drive, timeline), size)).collect()
}
