//! How long the connection diagram takes: placing and routing, and the finished SVG.

#[path = "../tests/jobs/mod.rs"]
mod jobs;
#[path = "../tests/made_up/mod.rs"]
mod made_up;

use draw::connection;
use kit::svg;
use model::Model;

fn main() {
    divan::main();
}

/// A made-up harness of `wires` wires.
fn model_of(wires: usize) -> Model {
    jobs::model_of_text(&made_up::spec(1, wires))
}

#[divan::bench(args = [20, 60, 150, 400], sample_count = 5, sample_size = 1)]
fn place_and_route(bencher: divan::Bencher, wires: usize) {
    let diagram = connection::subject(&model_of(wires));
    bencher.bench(|| connection::place(&diagram));
}

#[divan::bench(args = [150, 400], sample_count = 5, sample_size = 1)]
fn model_to_svg(bencher: divan::Bencher, wires: usize) {
    let model = model_of(wires);
    bencher.bench(|| svg::write(&connection::connection_diagram(&model)));
}
