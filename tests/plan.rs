//! `plan`: every ready wish becomes a spec that `check` passes; conflicts are shown at their lines, and write nothing.

#[path = "plan/again.rs"]
mod again;
#[path = "plan/power.rs"]
mod power;

use assert_cmd::cargo::cargo_bin_cmd;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

fn wishes() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("harness-specs/wishes");
    let mut all: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    all.sort();
    all
}

fn wish(name: &str) -> String {
    let path = wishes().into_iter().find(|path| path.file_stem().is_some_and(|stem| stem == name));
    fs::read_to_string(path.unwrap()).unwrap()
}

struct Outcome {
    status: i32,
    /// The spec, if one was written.
    spec: Option<String>,
    said: String,
    folder: TempDir,
}

fn plan(text: &str) -> Outcome {
    let folder = TempDir::new().unwrap();
    let (wish, out) = (folder.path().join("wish.yaml"), folder.path().join("spec.yaml"));
    fs::write(&wish, text).unwrap();
    let output = cargo_bin_cmd!("loomwright").arg("plan").arg(&wish).arg("--out").arg(&out).output().unwrap();
    let said = [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).unwrap()).concat();
    Outcome { status: output.status.code().unwrap(), spec: fs::read_to_string(&out).ok(), said, folder }
}

/// A wish with one line changed.
fn changed(name: &str, from: &str, to: &str) -> Outcome {
    let text = wish(name);
    assert!(text.contains(from), "{from}");
    plan(&text.replace(from, to))
}

#[test]
fn every_ready_wish_becomes_a_spec_that_check_passes() {
    assert!(wishes().len() >= 8);
    for path in wishes() {
        let text = fs::read_to_string(&path).unwrap();
        let outcome = plan(&text);
        assert_eq!(outcome.status, 0, "{}: {}", path.display(), outcome.said);
        let spec = outcome.folder.path().join("spec.yaml");
        let output = cargo_bin_cmd!("loomwright").arg("check").arg(&spec).output().unwrap();
        let said = String::from_utf8(output.stdout).unwrap();
        assert_eq!(output.status.code(), Some(0), "{}: {said}", path.display());
        assert!(!said.contains("error[") && !said.contains("warning["), "{}: {said}", path.display());
        // What the installer wrote stays: every line of the views, and the comments.
        let planned = outcome.spec.unwrap();
        for line in text.lines().filter(|line| line.contains("show:") || line.starts_with('#')) {
            assert!(planned.contains(line), "{}: {line}", path.display());
        }
    }
}

#[test]
fn armed_turn_signals_need_two_holds_and_two_relays() {
    let spec = changed("armed-turn-signals", "revision: A", "revision: B").spec.unwrap();
    let count = |word: &str| spec.lines().filter(|line| line.contains(word)).count();
    // One hold for each turn signal, one contact for each `not`: with fewer, nothing remembers a side or excludes the other.
    assert_eq!(count("use: hold-module"), 2, "{spec}");
    assert_eq!(count("use: relay"), 2, "{spec}");
    assert!(spec.contains("sides:      {kind: toggle, part: SW1, title: Side cameras}"), "{spec}");
    assert!(!spec.contains("acts:"), "{spec}");
}

/// What the dash screen shows in run, worked out by hand: with the hazard lights, both sides flash.
#[test]
fn armed_turn_signals_show_what_was_worked_out_by_hand() {
    let outcome = changed("armed-turn-signals", "revision: A", "revision: C");
    let spec = outcome.folder.path().join("spec.yaml");
    let output = cargo_bin_cmd!("loomwright").arg("states").arg(&spec).args(["--format", "json"]).output().unwrap();
    let whole: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    // Reverse, left, right, side cameras armed.
    let by_hand = [
        ("off off off off", "home"),
        ("off off off on", "home"),
        ("off off on off", "home"),
        ("off off on on", "RIGHT"),
        ("off on off off", "home"),
        ("off on off on", "LEFT"),
        ("off on on off", "home"),
        ("off on on on", "home"),
        ("on off off off", "REAR"),
        ("on off off on", "REAR"),
        ("on off on off", "REAR"),
        ("on off on on", "REAR"),
        ("on on off off", "REAR"),
        ("on on off on", "REAR"),
        ("on on on off", "REAR"),
        ("on on on on", "REAR"),
    ];
    let mut seen = 0;
    for state in whole["states"].as_array().unwrap().iter().filter(|state| state["inputs"]["key"] == "run") {
        let at = |input: &str| state["inputs"][input].as_str().unwrap();
        let row = ["reverse", "left-turn", "right-turn", "sides"].map(at).join(" ");
        let shows = by_hand.iter().find(|(inputs, _)| *inputs == row).unwrap().1;
        // While a module still holds the last flash, the state passes.
        if state["for_a_time"] == false {
            assert_eq!(state["screens"]["dash"]["shows"], shows, "{row}");
            seen += 1;
        }
    }
    assert!(seen >= by_hand.len(), "{seen}");
}

#[test]
fn the_same_wish_gives_the_same_bytes() {
    let text = wish("door-and-lights");
    assert_eq!(plan(&text).spec.unwrap(), plan(&text).spec.unwrap());
}

#[test]
fn a_finished_proposal_is_planned_again_without_a_change() {
    let spec = plan(&wish("trailer")).spec.unwrap();
    let again = plan(&spec);
    assert_eq!((again.status, again.spec.as_deref()), (0, Some(spec.as_str())), "{}", again.said);
}

/// Every planned part and wire says what it is for.
#[test]
fn every_planned_thing_says_what_it_is_for() {
    for path in wishes() {
        let spec = plan(&fs::read_to_string(&path).unwrap()).spec.unwrap();
        let planned = spec.split_once("  # planned\n").unwrap().1;
        let things = planned.lines().filter(|line| line.contains("{use: ") || line.contains("{id: "));
        for line in things {
            assert!(line.contains("  # for "), "{}: {line}", path.display());
        }
    }
}

/// What somebody changes in a planned spec stays when the wish changes elsewhere; every difference is listed.
#[test]
fn planning_again_keeps_what_was_decided() {
    let first = plan(&wish("armed-turn-signals"));
    let spec = first.folder.path().join("spec.yaml");
    let edits = [
        (
            "K2: {use: relay-mini-spdt-12v-diode, at: fuse-panel, title: Left-turn}",
            "K7: {use: relay-mini-spdt-12v-diode, at: dash, title: Left side off, note: behind the radio}",
        ),
        ("K2.", "K7."),
        (
            "{id: 14, from: F2.2, to: HU1.REV, gauge: 0.5 mm², colour: GN}",
            "{id: rev2, from: F2.2, to: HU1.REV, gauge: 1 mm², colour: GN/YE}",
        ),
    ];
    let edit = |text: String, (from, to): &(&str, &str)| {
        assert!(text.contains(from), "{from}: {text}");
        text.replace(from, to)
    };
    let edited = edits.iter().fold(first.spec.unwrap(), edit);
    let again = |wish: String, earlier: &str| {
        fs::write(&spec, earlier).unwrap();
        let path = first.folder.path().join("wish.yaml");
        fs::write(&path, wish).unwrap();
        let output = cargo_bin_cmd!("loomwright").arg("plan").arg(&path).arg("--out").arg(&spec).output().unwrap();
        let said = String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
        (output.status.code().unwrap(), fs::read_to_string(&spec).unwrap(), said)
    };
    let bare = |text: &str| text.lines().map(|l| l.split("   # for").next().unwrap().to_string()).collect::<Vec<_>>();
    let (status, same, said) = again(wish("armed-turn-signals"), &edited);
    assert_eq!((status, bare(&same)), (0, bare(&edited)), "{said}");
    assert!(said.contains("still does what the wish says"), "{said}");
    // Without the right camera, what served it goes; the rest stays as it was edited.
    let fewer: String =
        wish("armed-turn-signals").lines().filter(|l| !l.contains("RIGHT")).map(|l| format!("{l}\n")).collect();
    let (status, less, said) = again(fewer, &edited);
    assert_eq!(status, 0, "{said}");
    assert!(less.contains("{id: rev2, from: F2.2, to: HU1.REV, gauge: 1 mm², colour: GN/YE}"), "{less}");
    assert!(said.contains("`RIGHT` is no longer in the wish"), "{said}");
    for line in bare(&edited).iter().filter(|line| line.contains("{id: ") && !bare(&less).contains(line)) {
        let id = line.split("{id: ").nth(1).unwrap().split(',').next().unwrap();
        assert!(said.contains(&format!("wire {{id: {id},")), "{line}: {said}");
    }
    let (status, kept, said) = again(wish("armed-turn-signals"), "harness: [");
    assert_eq!((status, kept.as_str()), (2, "harness: ["), "{said}");
    assert!(said.contains("spec.yaml:1") && said.contains("--afresh"), "{said}");
}

#[test]
fn conflicts_are_shown_at_their_lines_and_write_nothing() {
    let conflicts = [
        // No supply is off in accessory only.
        ("armed-turn-signals", "key = off, show: black", "key = accessory, show: black", "no supply is live exactly"),
        // The screen takes no analogue high definition of 1080 lines.
        ("trailer", "TRAILER: {use: camera-cvbs-12v", "TRAILER: {use: camera-hd1080-12v", "takes none of the formats"),
        // Nothing is wired to the engine.
        (
            "trailer",
            "  coupled: {kind: module-output, at: tail, limit: 250 mA, fuse: 5 A, needs: key, title: Trailer coupled}",
            "  coupled: {}",
            "no wire differs",
        ),
    ];
    for (name, from, to, message) in conflicts {
        let outcome = changed(name, from, to);
        assert_eq!(outcome.status, 1, "{to}: {}", outcome.said);
        assert!(outcome.said.contains(message), "{to}: {}", outcome.said);
        assert!(outcome.said.contains("wish.yaml:"), "{to}: {}", outcome.said);
        assert!(outcome.spec.is_none(), "{to}");
    }
}

#[test]
fn what_cannot_be_read_is_reported_at_its_place() {
    let mistakes = [
        ("when: reverse, show: REAR", "when: revers, show: REAR", "revers"),
        ("acts: toggles", "acts: twice", "twice"),
        ("screens: {dash: {part: HU1}}", "screens: {dash: {part: HU9}}", "HU9"),
        ("screens: {dash: {part: HU1}}", "screens: {dash: {part: HU1}, dash: {part: HU1}}", "appears twice"),
        ("screens: {dash: {part: HU1}}", "screens: {dash: {part: HU1}, crew: {part: HU1}}", "is the same part"),
        ("views:\n", "wires: [{id: 1, from: reverse, to: HU9.REV}]\nviews:\n", "HU9"),
        ("views:\n", "wires: [{id: 1, from: reverse}]\nviews:\n", "`to`"),
        ("views:\n", "wires: [{id: 1, from: reverse, to: HU1.REVERSE}]\nviews:\n", "no pin `REVERSE`"),
        ("length: 1.4 m}", "length: 1.4 m, breaks-at: tail}", "comes apart"),
        (
            "sides:      {kind: push, acts: toggles, at: dash",
            "sides:      {kind: lamp-feed, acts: toggles, at: dash",
            "`acts`",
        ),
    ];
    for (from, to, word) in mistakes {
        let outcome = changed("armed-turn-signals", from, to);
        assert_eq!(outcome.status, 2, "{to}: {}", outcome.said);
        assert!(outcome.said.contains(word) && outcome.said.contains("wish.yaml:"), "{to}: {}", outcome.said);
        assert!(outcome.spec.is_none(), "{to}");
    }
    let (before, _) = wish("trailer").split_once("views:").map(|(a, b)| (a.to_string(), b.to_string())).unwrap();
    let outcome = plan(&before);
    assert_eq!(outcome.status, 2, "{}", outcome.said);
    assert!(outcome.said.contains("`views`"), "{}", outcome.said);
}

#[test]
fn a_wish_of_a_button_is_no_spec() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("wish.yaml");
    fs::write(&path, wish("armed-turn-signals")).unwrap();
    let output = cargo_bin_cmd!("loomwright").arg("check").arg(&path).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("loomwright plan"));
}

/// Up to three proposals that differ, each with its figures; each one chosen is a spec that `check` passes.
#[test]
fn proposals_of_different_kinds_are_compared() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("wish.yaml");
    fs::write(&path, wish("armed-turn-signals")).unwrap();
    let run = |arguments: &[&str]| {
        let output = cargo_bin_cmd!("loomwright").arg("plan").arg(&path).args(arguments).output().unwrap();
        (output.status.code().unwrap(), String::from_utf8(output.stdout).unwrap())
    };
    let page = folder.path().join("choices.html");
    assert_eq!(run(&["--compare", "--page", page.to_str().unwrap()]).0, 0);
    let (status, said) = run(&["--compare", "--format", "json"]);
    assert_eq!(status, 0, "{said}");
    let whole: serde_json::Value = serde_json::from_str(&said).unwrap();
    let proposals = whole["proposals"].as_array().unwrap();
    assert!((2..=3).contains(&proposals.len()), "{said}");
    let page = fs::read_to_string(&page).unwrap();
    for one in proposals {
        let number = |key: &str| one["figures"][key].as_u64().unwrap();
        for (key, title) in [("parts", "Parts"), ("wires", "Wires"), ("cost", "Cost")] {
            assert!(page.contains(&format!("data-of=\"{title}\">{}</td>", number(key))), "{title}: {page}");
        }
        let failures = one["figures"]["failures"].as_array().unwrap();
        assert!(page.contains(&format!("when a part or a wire fails ({})", failures.len())), "{page}");
    }
    assert!(page.contains("Isolate the battery") && !page.contains("src="), "{page}");
    let count = |i: usize, key: &str| proposals[i]["figures"][key].as_u64().unwrap();
    assert!(count(0, "parts") < count(1, "parts"));
    // With a fuse for each camera, a chafed wire takes fewer pictures.
    let by_chafed_wires = |i: usize| -> u64 {
        let all = proposals[i]["figures"]["failures"].as_array().unwrap();
        all.iter().filter(|one| one["is_of_part"] == false).map(|one| one["lost"].as_u64().unwrap()).sum()
    };
    assert!(by_chafed_wires(0) > by_chafed_wires(1) && by_chafed_wires(1) > 0, "{said}");
    let costs = folder.path().join("costs.csv");
    fs::write(&costs, "thing,cost,minutes\nwire,0,0\nsplice,0,0\n").unwrap();
    let (_, cheaper) = run(&["--compare", "--format", "json", "--costs", costs.to_str().unwrap()]);
    let cheaper: serde_json::Value = serde_json::from_str(&cheaper).unwrap();
    let saved = count(0, "cost") - cheaper["proposals"][0]["figures"]["cost"].as_u64().unwrap();
    assert!(saved >= count(0, "wires"), "{saved}");
    let (status, second) = run(&["--choice", "2"]);
    assert_eq!(status, 0);
    fs::write(folder.path().join("second.yaml"), second).unwrap();
    let output = cargo_bin_cmd!("loomwright").arg("check").arg(folder.path().join("second.yaml")).output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stdout));
    assert_eq!(run(&["--choice", "9"]).0, 2);
}

#[test]
fn a_new_wish_is_written_planned_and_checked() {
    let folder = TempDir::new().unwrap();
    let (wish, out) = (folder.path().join("wish.yaml"), folder.path().join("van.yaml"));
    let new = |change: &[&str]| {
        let mut command = cargo_bin_cmd!("loomwright");
        command.arg("new").arg(&wish).arg("--out").arg(&out);
        command.args(["--volts", "12", "--screen", "screen-3in-12v", "--at", "dash 1.2 m", "--place", "tail 4.5 m"]);
        command.args(["--trigger", "reverse reverse-lamp tail 1 A", "--trigger", "look button-held dash"]);
        command.args(["--camera", "REAR tail reverse", "--camera"]).args(change).output().unwrap()
    };
    let output = new(&["CARGO tail look and turn"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("turn"), "{output:?}");
    assert!(!wish.exists() && !out.exists());
    let output = new(&["CARGO tail reverse and look"]);
    assert_eq!(output.status.code(), Some(1), "{output:?}");
    assert!(String::from_utf8_lossy(&output.stderr).contains("earlier lines win"), "{output:?}");
    assert!(wish.exists() && !out.exists());
    let output = new(&["CARGO tail look"]);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    assert!(fs::read_to_string(&wish).unwrap().contains("# What it should show."));
    let output = cargo_bin_cmd!("loomwright").arg("check").arg(&out).output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{output:?}");
}

/// Each part and each wire is explained by what is lost without it.
#[test]
fn every_part_is_explained_by_what_is_lost_without_it() {
    let folder = TempDir::new().unwrap();
    let (path, out) = (folder.path().join("wish.yaml"), folder.path().join("spec.yaml"));
    fs::write(&path, wish("armed-turn-signals")).unwrap();
    let output =
        cargo_bin_cmd!("loomwright").arg("plan").arg(&path).arg("--explain").arg("--out").arg(&out).output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    let line = |with: &str| said.lines().find(|line| line.contains(with)).unwrap_or_else(|| panic!("{with}: {said}"));
    // The hold module of the left turn signal serves the left picture alone, the switch both sides.
    assert!(line("output HM1").contains("LEFT on dash") && !line("output HM1").contains("RIGHT on"), "{said}");
    assert!(line("switch SW1").contains("LEFT on dash") && line("switch SW1").contains("RIGHT on dash"), "{said}");
    // Without the coil of either relay, both sides at once no longer show the home page.
    assert!(line("coil of K1").contains("home page") && line("coil of K2").contains("home page"), "{said}");
    let wires = fs::read_to_string(&out).unwrap().lines().filter(|line| line.contains("{id: ")).count();
    assert!(said.lines().filter(|line| line.starts_with("wire ")).count() * 10 >= wires * 9, "{said}");
}

/// A wire that can be on without the key, with more coils than it may feed, gets a switch that the battery feeds.
#[test]
fn a_switch_that_repeats_a_wire_is_live_whenever_the_wire_is() {
    let text = wish("module-outputs")
        .replace("fuse: 5 A, needs: key, title: Cargo door", "fuse: 5 A, title: Cargo door")
        .replace("works: reverse and not cargo", "works: cargo")
        .replace("works: reverse}", "works: cargo}");
    let outcome = plan(&text);
    assert_eq!(outcome.status, 0, "{}", outcome.said);
    let spec = outcome.spec.unwrap();
    assert!(spec.contains("B1:") && !outcome.said.contains("warning that"), "{}{spec}", outcome.said);
}
