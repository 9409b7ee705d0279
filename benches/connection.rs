//! How long the connection diagram takes: placing and routing, and the finished SVG.

#[path = "../tests/made_up/mod.rs"]
mod made_up;

use catalogue::Catalogue;
use draw::connection;
use kit::svg;
use model::{self, Model};

fn main() {
    divan::main();
}

/// A made-up harness with so many wires.
fn model_of(wires: usize) -> Model {
    let path = std::env::temp_dir().join(format!("connection-bench-{wires}.yaml"));
    std::fs::write(&path, made_up::spec(1, wires)).expect("the bench writes its spec beside other temporary files");
    let catalogue = Catalogue::builtin().expect("the catalogue reads");
    size::model_of(spec::read(&path), &catalogue).expect("a made-up spec has no mistakes")
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
