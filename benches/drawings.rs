//! How long drawing takes, layout and SVG: the full set of the largest demonstration job, each of its drawings, and all
//! that is drawn of the wiring of a made-up harness of 400 wires. Solving is timed elsewhere.

#[path = "../tests/made_up/mod.rs"]
mod made_up;

use catalogue::Catalogue;
use draw::list::{DRAWINGS, DrawnFrom, named};
use kit::svg;
use model::{self, Model};
use states::Solved;
use std::path::Path;

fn main() {
    divan::main();
}

fn model_of(path: &Path) -> Model {
    let catalogue = Catalogue::builtin().expect("the catalogue reads");
    size::model_of(spec::read(path), &catalogue).expect("the spec has no mistakes")
}

/// The demonstration job with the most wires.
fn largest_demo() -> Model {
    model_of(&Path::new(env!("CARGO_MANIFEST_DIR")).join("harness-specs/refuse-truck.yaml"))
}

fn made_up_model(wires: usize) -> Model {
    let path = std::env::temp_dir().join(format!("drawings-bench-{wires}.yaml"));
    std::fs::write(&path, made_up::spec(1, wires)).expect("the bench writes its spec beside other temporary files");
    model_of(&path)
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn full_set_of_the_largest_demo(bencher: divan::Bencher) {
    let model = largest_demo();
    let solved = Solved::new(&model);
    bencher.bench_local(|| {
        DRAWINGS.iter().flat_map(|d| d.scenes(&solved)).map(|scene| svg::write(&scene).len()).sum::<usize>()
    });
}

#[divan::bench(args = DRAWINGS.iter().map(|d| d.name), sample_count = 5, sample_size = 1)]
fn largest_demo_one_by_one(bencher: divan::Bencher, name: &str) {
    let model = largest_demo();
    let solved = Solved::new(&model);
    let drawing = named(name).expect("it is in the set");
    bencher.bench_local(|| drawing.scenes(&solved).iter().map(|scene| svg::write(scene).len()).sum::<usize>());
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn wiring_of_400_wires(bencher: divan::Bencher) {
    let model = made_up_model(400);
    bencher.bench_local(|| {
        let drawn = DRAWINGS.iter().filter_map(|d| match d.draw {
            DrawnFrom::Wiring(draw) => Some(draw(&model)),
            DrawnFrom::States(_) => None,
        });
        drawn.flatten().map(|scene| svg::write(&scene).len()).sum::<usize>()
    });
}
