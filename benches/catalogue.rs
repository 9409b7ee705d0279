//! How long every run of the program spends on reading its own parts.

use catalogue::Catalogue;

fn main() {
    divan::main();
}

#[divan::bench]
fn read_the_catalogue() -> usize {
    Catalogue::builtin().map_or(0, |catalogue| catalogue.names().count())
}
