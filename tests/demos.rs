//! The specs of `harness-specs/`, and what `build` makes of each, kept in `demo-builds/`: today's program makes the same,
//! byte for byte, and finds no fault. `REWRITE=1 cargo test --test demos` regenerates them.

use assert_cmd::cargo::cargo_bin_cmd;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

#[path = "kept/mod.rs"]
mod kept;

/// Names of the files in a folder; none if there is no such folder.
fn names_in(folder: &Path) -> BTreeSet<String> {
    let entries = fs::read_dir(folder).into_iter().flatten();
    entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
}

/// Builds a spec and holds every document to the kept one.
fn build(name: &str) {
    let spec = format!("harness-specs/{name}.yaml");
    let out = tempfile::tempdir().unwrap();
    let mut program = cargo_bin_cmd!("loomwright");
    let output = program.current_dir(kept::root()).args(["build", &spec, "--out"]).arg(out.path()).output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "a demo has no faults; `loomwright check {spec}`\n{said}");

    let folder = Path::new("demo-builds").join(name);
    let (fresh, old) = (names_in(out.path()), names_in(&kept::root().join(&folder)));
    for gone in old.difference(&fresh) {
        assert!(kept::rewriting(), "{}/{gone} is no longer made", folder.display());
        fs::remove_file(kept::root().join(&folder).join(gone)).unwrap();
    }
    for file in &fresh {
        kept::hold(&folder.join(file), &fs::read(out.path().join(file)).unwrap(), "demos");
    }
}

macro_rules! demos {
    ($($test:ident = $name:literal),+ $(,)?) => {
        $( #[test] fn $test() { build($name); } )+

        #[test]
        fn every_spec_has_its_build_and_every_build_its_spec() {
            let all: BTreeSet<String> = [$( $name.to_string() ),+].into();
            let specs = names_in(&kept::root().join("harness-specs"));
            let specs = specs.iter().filter_map(|file| file.strip_suffix(".yaml")).map(str::to_string).collect();
            assert_eq!(all, specs, "the list in this test, and harness-specs/");
            if !kept::rewriting() {
                assert_eq!(all, names_in(&kept::root().join("demo-builds")), "harness-specs/, and demo-builds/");
            }
        }
    };
}

// One test each, so that they run side by side.
demos! {
    boat_tow_pickup = "boat-tow-pickup",
    first_harness = "first-harness",
    orchard_sprayer_pickup = "orchard-sprayer-pickup",
    refuse_truck = "refuse-truck",
    wheelchair_van = "wheelchair-van",
}

#[test]
fn the_first_harness_has_twenty_lines() {
    let text = fs::read_to_string(kept::root().join("harness-specs/first-harness.yaml")).unwrap();
    assert_eq!(text.lines().filter(|line| !line.starts_with('#')).count(), 20);
}
