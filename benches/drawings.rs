//! How long drawing takes, layout and SVG: the full set of the largest demonstration job, each of its drawings, and all
//! that is drawn of the wiring of a made-up harness of 400 wires. Solving is timed elsewhere.

#[path = "../tests/jobs/mod.rs"]
mod jobs;
#[path = "../tests/made_up/mod.rs"]
mod made_up;

use draw::list::{DRAWINGS, DrawnFrom, named};
use facts::Facts;
use job::Job;
use kit::sheet::Papers;
use kit::svg;

fn main() {
    divan::main();
}

/// The demonstration job with the most wires.
fn largest_demo<'j>() -> Job<'j> {
    jobs::demo("refuse-truck")
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn full_set_of_the_largest_demo(bencher: divan::Bencher) {
    let job = largest_demo();
    let solved = job.solved().expect("nothing interrupts it");
    bencher.bench_local(|| {
        DRAWINGS
            .iter()
            .flat_map(|d| d.scenes(&Facts::new(solved), Papers::Iso))
            .map(|scene| svg::write(&scene).len())
            .sum::<usize>()
    });
}

#[divan::bench(args = DRAWINGS.iter().map(|d| d.name), sample_count = 5, sample_size = 1)]
fn largest_demo_one_by_one(bencher: divan::Bencher, name: &str) {
    let job = largest_demo();
    let solved = job.solved().expect("nothing interrupts it");
    let drawing = named(name).expect("it is in the set");
    bencher.bench_local(|| {
        drawing.scenes(&Facts::new(solved), Papers::Iso).iter().map(|scene| svg::write(scene).len()).sum::<usize>()
    });
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn wiring_of_400_wires(bencher: divan::Bencher) {
    let model = jobs::model_of_text(&made_up::spec(1, 400));
    bencher.bench_local(|| {
        let drawn = DRAWINGS.iter().filter_map(|d| match d.draw {
            DrawnFrom::Wiring(draw) => Some(draw(&model, Papers::Iso)),
            DrawnFrom::States(_) => None,
        });
        drawn.flatten().map(|scene| svg::write(&scene).len()).sum::<usize>()
    });
}
