//! The drawings of a job, one line each: what `draw` can make and `build` writes.

use super::scene::Scene;
use super::scene::Size;
use super::sheet::Paper;
use super::timing_chart::{self, Chart};
use super::{connection, connector_face, current_path, harness_layout, signal_map, state_chart};
use crate::replay::{Rig, Setting, replay_all};
use crate::states::{Solved, Wiring};

/// One kind of drawing.
#[derive(Clone, Copy)]
pub struct Drawing {
    /// Its name, which is also its file's: `harness-layout`.
    pub name: &'static str,
    /// What it is for, in a few words.
    pub purpose: &'static str,
    /// Draws its sheets.
    pub draw: fn(&Solved) -> Vec<Scene>,
}

/// Every drawing, in the order of the build book.
pub const DRAWINGS: &[Drawing] = &[
    Drawing {
        name: "current-path-diagram",
        purpose: "current paths from supply to ground, for tracing faults",
        draw: |solved| current_path::draw(solved.model, Some(Paper::A3.lying())),
    },
    Drawing {
        name: "connection-diagram",
        purpose: "every part with its pins and every wire from pin to pin, for building at the bench",
        draw: |solved| vec![connection::connection_diagram(solved.model)],
    },
    Drawing {
        name: "connector-faces",
        purpose: "each connector from its mating side and its wire side, with what is in its cavities",
        draw: |solved| connector_face::sheets(solved.model, Some(Paper::A4.upright())),
    },
    Drawing {
        name: "signal-map",
        purpose: "from inputs through what decides to what is seen, for the talk with the customer",
        draw: |solved| vec![signal_map::signal_map(solved.model)],
    },
    Drawing {
        name: "state-chart",
        purpose: "every state by what is seen in it, and what changes the picture",
        draw: |solved| vec![state_chart::state_chart(solved)],
    },
    Drawing {
        name: "harness-layout",
        purpose: "runs to scale, with lengths, bundles and what is at each place",
        draw: |solved| vec![harness_layout::harness_layout(solved.model)],
    },
    Drawing {
        name: "build-board-a4",
        purpose: "the layout at full size, in A4 sheets for a build board",
        draw: |solved| harness_layout::tiles(solved.model, Paper::A4),
    },
    Drawing {
        name: "build-board-a3",
        purpose: "the same in A3 sheets",
        draw: |solved| harness_layout::tiles(solved.model, Paper::A3),
    },
    Drawing {
        name: "build-board-letter",
        purpose: "the same in Letter sheets",
        draw: |solved| harness_layout::tiles(solved.model, Paper::Letter),
    },
    Drawing {
        name: "build-board-tabloid",
        purpose: "the same in Tabloid sheets",
        draw: |solved| harness_layout::tiles(solved.model, Paper::Tabloid),
    },
    Drawing {
        name: "timing-charts",
        purpose: "what each screen shows when, for every drive of the spec",
        draw: |solved| timing_charts(solved, Some(Paper::A4.lying())),
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
