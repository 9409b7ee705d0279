//! The list of drawings: the one place that says which drawings there are, on which paper each stands, and which of
//! them the build book holds. The command line, the book, the audit and the tests go by this list.

use super::{connection, connector_face, current_path, harness_layout, signal_map, state_chart, timing_chart};
use facts::Facts;
use kit::scene::Scene;
use kit::sheet::{Paper, Papers};
use model::Model;
use states::Live;

/// One kind of drawing.
#[derive(Clone, Copy)]
pub struct Drawing {
    /// Its name, which is also its file's: `harness-layout`.
    pub name: &'static str,
    /// Its heading in the book: `Harness layout`.
    pub title: &'static str,
    /// What it shows and what it is for, in a few words.
    pub purpose: &'static str,
    /// The paper that no sheet exceeds, whichever way the sheet lies; `None` for one sheet as large as it takes.
    pub paper: Option<PaperOf>,
    /// Whether the build book holds it.
    pub in_book: bool,
    /// What it is drawn from.
    pub draw: DrawnFrom,
    /// Draws it in one state, where the drawing can show that.
    pub live: Option<DrawLive>,
}

/// Draws a harness in one state.
pub type DrawLive = fn(&Model, &Live, Papers) -> Vec<Scene>;

/// Which paper a drawing is on.
#[derive(Clone, Copy)]
pub enum PaperOf {
    /// The shop's small one.
    Small,
    /// The shop's large one.
    Large,
    /// This one in every shop.
    Only(Paper),
}

impl PaperOf {
    /// The paper in a shop with these papers.
    pub const fn of(self, papers: Papers) -> Paper {
        match self {
            Self::Small => papers.small(),
            Self::Large => papers.large(),
            Self::Only(paper) => paper,
        }
    }
}

/// What a drawing is drawn from.
#[derive(Clone, Copy)]
pub enum DrawnFrom {
    /// The wiring alone.
    Wiring(fn(&Model, Papers) -> Vec<Scene>),
    /// Facts about the states of the harness.
    States(fn(&Facts, Papers) -> Vec<Scene>),
}

impl Drawing {
    /// Its sheets; empty if the harness has nothing that it could show.
    pub fn scenes(&self, facts: &Facts, papers: Papers) -> Vec<Scene> {
        match self.draw {
            DrawnFrom::Wiring(draw) => draw(facts.model, papers),
            DrawnFrom::States(draw) => draw(facts, papers),
        }
    }
}

/// A build board on one paper. The book holds none: a board is as large as the vehicle.
macro_rules! build_board {
    ($paper:ident, $name:literal, $purpose:literal) => {
        Drawing {
            name: $name,
            title: "Build board",
            purpose: $purpose,
            paper: Some(PaperOf::Only(Paper::$paper)),
            in_book: false,
            draw: DrawnFrom::Wiring(|model, _| harness_layout::tiles(model, Paper::$paper)),
            live: None,
        }
    };
}

/// A build board for a plotter with a roll of the given width in millimetres.
macro_rules! plotter_board {
    ($roll:literal, $name:literal, $purpose:literal) => {
        Drawing {
            name: $name,
            title: "Build board",
            purpose: $purpose,
            paper: None,
            in_book: false,
            draw: DrawnFrom::Wiring(|model, _| harness_layout::rolls(model, $roll)),
            live: None,
        }
    };
}

/// Every drawing, in the order of the build book.
pub const DRAWINGS: &[Drawing] = &[
    Drawing {
        name: "signal-map",
        title: "Signal map",
        purpose: "inputs, logic and what each screen shows, to discuss with the customer",
        paper: Some(PaperOf::Large),
        in_book: true,
        draw: DrawnFrom::Wiring(|model, papers| signal_map::sheets(model, papers.large())),
        live: None,
    },
    Drawing {
        name: "state-chart",
        title: "State chart",
        purpose: "every state, grouped by what the screens show, and what changes the picture",
        paper: Some(PaperOf::Large),
        in_book: true,
        draw: DrawnFrom::States(|facts, papers| state_chart::sheets(facts, papers.large())),
        live: None,
    },
    Drawing {
        name: "timing-charts",
        title: "Timing charts",
        purpose: "what each screen shows when, for every drive of the spec",
        paper: Some(PaperOf::Small),
        in_book: true,
        draw: DrawnFrom::States(|facts, papers| {
            timing_chart::of_every_drive(facts.solved, facts.drives(), Some(papers.small().lying()))
        }),
        live: None,
    },
    Drawing {
        name: "connection-diagram",
        title: "Connection diagram",
        purpose: "every part with its pins and every wire from pin to pin, for building at the bench",
        paper: Some(PaperOf::Large),
        in_book: true,
        draw: DrawnFrom::Wiring(|model, papers| connection::sheets(model, papers.large())),
        live: Some(|model, live, papers| connection::live_sheets(model, live, papers.large())),
    },
    Drawing {
        name: "connection-whole",
        title: "Connection diagram on one sheet",
        purpose: "the same on one sheet as large as it takes, for a screen or a plotter",
        paper: None,
        in_book: false,
        draw: DrawnFrom::Wiring(|model, _| vec![connection::connection_diagram(model)]),
        live: None,
    },
    Drawing {
        name: "connector-faces",
        title: "Connector faces",
        purpose: "each connector from its mating side and its wire side, with what is in its cavities",
        paper: Some(PaperOf::Small),
        in_book: true,
        draw: DrawnFrom::Wiring(|model, papers| connector_face::sheets(model, papers.small().upright())),
        live: None,
    },
    Drawing {
        name: "harness-layout",
        title: "Harness layout",
        purpose: "runs to scale, with lengths, bundles and what is at each place",
        paper: Some(PaperOf::Large),
        in_book: true,
        draw: DrawnFrom::Wiring(|model, papers| harness_layout::sheets(model, papers.large())),
        live: None,
    },
    build_board!(A4, "build-board-a4", "the layout at full size, in A4 sheets for a build board"),
    build_board!(A3, "build-board-a3", "the same in A3 sheets"),
    build_board!(Letter, "build-board-letter", "the same in Letter sheets"),
    build_board!(Tabloid, "build-board-tabloid", "the same in Tabloid sheets"),
    plotter_board!(610.0, "build-board-roll-610", "the same on one sheet for a 610 mm plotter roll"),
    plotter_board!(914.0, "build-board-roll-914", "the same for a 914 mm roll"),
    Drawing {
        name: "current-path-diagram",
        title: "Current-path diagram",
        purpose: "current paths from supply to ground, for tracing faults",
        paper: Some(PaperOf::Large),
        in_book: true,
        draw: DrawnFrom::Wiring(|model, papers| current_path::draw(model, Some(papers.large().lying()))),
        live: Some(|model, live, papers| current_path::live(model, live, Some(papers.large().lying()))),
    },
    Drawing {
        name: "symbols",
        title: "Symbols",
        purpose: "what each symbol of the current-path diagram means",
        paper: Some(PaperOf::Small),
        in_book: true,
        draw: DrawnFrom::Wiring(|model, papers| {
            current_path::symbols(model, papers.small().upright(), papers.large().lying())
        }),
        live: None,
    },
];

/// A drawing by name.
pub fn named(name: &str) -> Option<&'static Drawing> {
    DRAWINGS.iter().find(|drawing| drawing.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_entry_has_a_file_name_of_its_own_and_says_what_it_shows() {
        let names: BTreeSet<&str> = DRAWINGS.iter().map(|drawing| drawing.name).collect();
        assert_eq!(names.len(), DRAWINGS.len(), "two drawings would be written to one file");
        for drawing in DRAWINGS {
            let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
            assert!(!drawing.name.is_empty() && drawing.name.chars().all(plain), "{}", drawing.name);
            // With a state, the live drawing is written beside it as `NAME-live`.
            assert!(!drawing.name.ends_with("-live"), "{}", drawing.name);
            assert!(!drawing.title.is_empty() && !drawing.purpose.is_empty(), "{}", drawing.name);
            assert!(named(drawing.name).is_some_and(|found| found.title == drawing.title));
            // A page of the book has a paper.
            assert!(!drawing.in_book || drawing.paper.is_some(), "{}", drawing.name);
        }
    }
}
