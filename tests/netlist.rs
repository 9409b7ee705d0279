//! `netlist` from outside: what it writes runs in ngspice, and says what `states` says.

mod judges;

use judges::{NGSPICE, available};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn loomwright(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_loomwright")).args(arguments).output().unwrap()
}

fn spec(name: &str) -> String {
    let path: PathBuf = Path::new(env!("CARGO_MANIFEST_DIR")).join("harness-specs").join(name);
    path.to_str().unwrap().to_string()
}

/// Name of the element in a deck that the comment before it calls `name` and something more.
fn element(deck: &str, name: &str) -> Option<String> {
    let mut lines = deck.lines();
    lines.find(|line| line.strip_prefix("* ").is_some_and(|rest| rest.starts_with(name)))?;
    let element = lines.next()?.split(' ').next()?.to_string();
    (!element.starts_with('*')).then_some(element)
}

/// Currents that ngspice finds, by fuse.
fn asked(deck: &str, fuses: &[&String]) -> BTreeMap<String, f64> {
    let folder = tempfile::tempdir().unwrap();
    let of = |fuse: &&&String| element(deck, &format!("{fuse} ")).map(|element| format!("@{element}[i]"));
    let prints: BTreeMap<String, &String> = fuses.iter().filter_map(|fuse| Some((of(&fuse)?, *fuse))).collect();
    let print: String = prints.keys().map(|vector| format!("print {vector}\n")).collect();
    let file = folder.path().join("state.cir");
    std::fs::write(&file, deck.replace(".op\n.end\n", &format!(".control\nop\n{print}.endc\n.end\n"))).unwrap();
    let output = Command::new("ngspice").arg("-b").arg(&file).output().unwrap();
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let values = text.lines().filter_map(|line| line.split_once(" = "));
    let amps = values.filter_map(|(name, value)| Some((*prints.get(name.trim())?, value.trim().parse::<f64>().ok()?)));
    let found: BTreeMap<String, f64> = amps.map(|(fuse, amps)| (fuse.clone(), amps.abs())).collect();
    assert_eq!(found.len(), prints.len(), "{text}{}", String::from_utf8_lossy(&output.stderr));
    found
}

/// Every fuse of two demonstration vehicles in their first states, to half a per cent or half a milliampere.
#[test]
fn ngspice_finds_the_currents_that_states_shows() {
    if !available(&[NGSPICE]) {
        return;
    }
    let mut compared = 0;
    for name in ["first-harness.yaml", "wheelchair-van.yaml"] {
        let states: Value =
            serde_json::from_slice(&loomwright(&["states", &spec(name), "--format", "json"]).stdout).unwrap();
        let rows = states["states"].as_array().unwrap();
        for row in rows.iter().take(18) {
            let state = row["state"].as_str().unwrap();
            let output = loomwright(&["netlist", &spec(name), "--state", state]);
            let deck = String::from_utf8(output.stdout).unwrap();
            assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
            assert!(deck.lines().next().unwrap().ends_with(&format!(": {state}")), "{state}");
            let fuses = row["fuses"].as_object().unwrap();
            for (fuse, theirs) in asked(&deck, &fuses.keys().collect::<Vec<_>>()) {
                let ours = amperes(&fuses[&fuse]);
                assert!(
                    (ours - theirs).abs() <= 0.005 * theirs + 0.0005,
                    "{name}, {state}, {fuse}: {ours}, ngspice {theirs}"
                );
                compared += 1;
            }
        }
    }
    assert!(compared >= 20, "{compared}");
}

/// A current as JSON has it: `120 mA`.
fn amperes(value: &Value) -> f64 {
    let (number, unit) = value.as_str().unwrap().split_once(' ').unwrap();
    number.parse::<f64>().unwrap()
        * match unit {
            "A" => 1.0,
            "mA" => 1e-3,
            "µA" => 1e-6,
            _ => panic!("{unit}"),
        }
}

#[test]
fn it_is_written_to_a_file_and_a_wrong_state_or_corner_is_reported() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("state.cir");
    let spec = spec("first-harness.yaml");
    let said = loomwright(&["netlist", &spec, "--corner", "lowest supply, hot copper", "--out", out.to_str().unwrap()]);
    assert_eq!(String::from_utf8_lossy(&said.stdout), format!("wrote {}\n", out.display()));
    let deck = std::fs::read_to_string(&out).unwrap();
    assert!(deck.starts_with("* First harness: at rest\n* lowest supply, hot copper\n"), "{deck}");
    for (wrong, about) in
        [(["--state", "key rn"], "did you mean `run`?"), (["--corner", "cold supply"], "lowest supply, hot copper")]
    {
        let said = loomwright(&["netlist", &spec, wrong[0], wrong[1]]);
        let text = String::from_utf8_lossy(&said.stderr).into_owned();
        assert!(said.status.code() == Some(2) && text.contains(about) && said.stdout.is_empty(), "{text}");
    }
}

/// A relay that pulls in at nominal supply and not at lowest supply is open in the deck of that corner: it is settled on
/// its way from rest, not from where it stood at nominal.
#[test]
fn a_corner_is_settled_from_rest() {
    let spec = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/check/tests/coil.yaml");
    let deck = |corner: &str| {
        let output = loomwright(&["netlist", spec.to_str().unwrap(), "--state", "sw", "--corner", corner]);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    };
    let (nominal, least) = (deck("nominal supply, cold copper"), deck("lowest supply, hot copper"));
    assert!(least.starts_with("* A coil on a switch: sw (at lowest supply, hot copper: K1 out)\n"), "{least}");
    assert!(element(&nominal, "K1 30-87").is_some());
    assert!(element(&least, "K1 30-87").is_none());
}

/// The coil between the battery and a dead terminal 15: what goes through it goes on through the vehicle's other loads, by
/// ngspice as by hand, 12.6 V over 90 Ω and 12 Ω (and 0.1 Ω of wires and fuses). With the key on they are not there.
#[test]
fn what_hangs_on_a_dead_supply_is_in_the_deck() {
    let spec = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/check/tests/dead.yaml");
    let deck = |state: &str| {
        let output = loomwright(&["netlist", spec.to_str().unwrap(), "--state", state]);
        String::from_utf8(output.stdout).unwrap()
    };
    let [dead, live] = ["at rest", "key run"].map(deck);
    let others = "ignition vehicle's other".to_string();
    assert!(element(&dead, &others).is_some() && element(&live, &others).is_none(), "{dead}");
    if available(&[NGSPICE]) {
        let coil = "K1".to_string();
        let found = asked(&dead, &[&coil, &others]);
        for amps in [found[&coil], found[&others]] {
            assert!((amps / (12.6 / 102.0) - 1.0).abs() < 0.002, "{found:?}");
        }
        assert!(asked(&live, &[&coil])[&coil] < 1e-6);
    }
}
