//! One mistake is reported once, however much of the spec refers to it.

use assert_cmd::cargo::cargo_bin_cmd;
use std::fs;
use tempfile::TempDir;

/// A sound spec that refers to each of its names more than once.
const SOUND: &str = r#"harness: 1
job: {title: Bench, nominal: 12 V}
include: [shop.yaml]
places: [bay, dash, tail]
runs:
  - {between: [bay, dash], length: 2 m}
  - {between: [dash, tail], length: 4 m}
supplies:
  battery: {terminal: "30", at: bay, volts: 12 V}
  ignition: {terminal: "15", at: bay, from: battery, follows: key = run}
grounds:
  G1: {at: dash}
  G2: {at: tail}
inputs:
  key: {positions: [off, run]}
  reverse: {kind: lamp-feed, at: tail, from: battery, needs: key = run}
  boom-arm: {kind: toggle, part: SW1, needs: key = run}
screens:
  dash: {part: HU1, shows: [{when: rev, input: cam1}], otherwise: home}
views:
  dash:
    - {when: reverse and not boom-arm, show: REAR}
    - {when: boom-arm, show: REAR}
    - {otherwise: home}
cameras:
  REAR: {use: shop-camera, at: tail}
parts:
  SW1: {use: toggle-spst, at: dash}
  F1: {use: fuse-blade, rating: 3 A, at: bay}
  HU1: {use: own-screen, at: dash}
connectors:
  C1A: {use: connector-4-sealed, at: dash, mates: C1B}
  C1B: {use: connector-4-sealed, at: dash}
splices:
  S1: {at: dash}
  S2: {at: dash}
own-parts:
  own-screen:
    title: Screen
    family: screen
    pins:
      power: {domain: power}
      ground: {domain: ground}
      rev: {domain: trigger}
      cam1: {domain: video}
    inside:
      - load: {feed: power, ground: ground, kind: electronic, draws: 500 mA}
      - sense: {name: rev, pin: rev, ground: ground, on-above: 6 V, off-below: 3 V}
    formats: [cvbs-ntsc]
    sources: {all: typical}
wires:
  - {id: 1, from: ignition, to: F1.1}
  - {id: 2, from: F1.2, to: S1}
  - {id: 3, from: S1, to: HU1.power}
  - {id: 4, from: HU1.ground, to: G1}
  - {id: 5, from: reverse, to: S2}
  - {id: 6, from: S2, to: HU1.rev}
  - {id: 7, from: reverse, to: C1A.1}
  - {id: 8, from: C1B.1, to: REAR.power}
  - {id: 9, from: REAR.ground, to: G2}
  - {id: 10, from: REAR.video, to: HU1.cam1}
  - {id: 11, from: battery, to: SW1.common}
  - {id: 12, from: battery, to: SW1.on}
drives:
  back-in:
    - {at: 0 s, key: run}
    - {at: 1 s, reverse: on, expect: {dash: home}}
    - {at: 3 s, boom-arm: on, expect: {dash: REAR}}
"#;

const SHOP: &str = r#"parts-file: 1
parts:
  shop-camera:
    title: Camera
    family: camera
    pins:
      power: {domain: power}
      ground: {domain: ground}
      video: {domain: video}
    inside:
      - load: {feed: power, ground: ground, kind: electronic, draws: 120 mA}
      - source: {pin: video}
    formats: [cvbs-ntsc]
    sources: {all: typical}
"#;

/// Mistakes, each made by replacing one text with another, and a word of the message.
const MISTAKES: &[(&str, &str, &str)] = &[
    ("places: [bay, dash, tail]", "places: [bay, {dash: front}, tail]", "a name is needed here, not a map"),
    ("places: [bay, dash, tail]", "places: [bay, da/sh, tail]", "isn't allowed in a name"),
    ("places: [bay, dash, tail]", "places: bay, dash, tail", "a list is needed here"),
    ("places: [bay, dash, tail]", "places: {bay: 1, dash: 2, tail: 3}", "a list is needed here"),
    ("places: [bay, dash, tail]", "place: [bay, dash, tail]", "did you mean `places`?"),
    ("length: 2 m", "length: 2", "has no unit"),
    ("[bay, dash], length", "[bay, [dash]], length", "a name is needed here"),
    ("at: bay, volts: 12 V", "at: bay, volts: 12", "has no unit"),
    ("{terminal: \"15\", at", "{terminl: \"15\", at", "`terminl` is not a key"),
    ("supplies:", "supply:", "did you mean `supplies`?"),
    ("follows: key = run", "follows: key =", "the condition ends"),
    ("G1: {at: dash}", "G1: [dash]", "a map of `key: value`"),
    ("grounds:", "ground:", "did you mean `grounds`?"),
    ("key: {positions: [off, run]}", "key: {positions: off run}", "a list is needed here"),
    ("key: {positions: [off, run]}", "key: {positions: [off, [run]]}", "a name is needed here"),
    ("key: {positions: [off, run]}", "key: {position: [off, run]}", "did you mean `positions`?"),
    ("key: {positions: [off, run]}", "key: [off, run]", "a map of `key: value`"),
    ("reverse: {kind: lamp-feed", "reverse: {kind: lampfeed", "did you mean `lamp-feed`?"),
    ("reverse: {kind: lamp-feed, at: tail", "reverse: {kind: lamp-feed, at: [tail]", "a name is needed here"),
    ("reverse: {kind: lamp-feed", "reverse: {means: reverse-gaer, kind: lamp-feed", "did you mean `reverse-gear`?"),
    ("key: {positions: [off, run]}", "key: {positions: [off, acc, run], means: reverse-gear}", "has 3 positions"),
    ("boom-arm: {kind: toggle, part: SW1", "boom-arm: {kind: toggle, part: S/W1", "isn't allowed in a name"),
    ("boom-arm: {kind: toggle, part: SW1", "boom-arm: {kind: toggle, prt: SW1", "did you mean `part`?"),
    ("inputs:", "input:", "did you mean `inputs`?"),
    ("dash: {part: HU1", "dash: {prt: HU1", "did you mean `part`?"),
    ("screens:", "screen:", "did you mean `screens`?"),
    ("{when: boom-arm, show: REAR}", "{when: boom-arm and, show: REAR}", "the condition ends"),
    ("{when: boom-arm, show: REAR}", "{when: boom-arm, shw: REAR}", "did you mean `show`?"),
    ("REAR: {use: shop-camera, at: tail}", "REAR: {at: tail}", "needs `use`"),
    ("REAR: {use: shop-camera, at: tail}", "REAR: {use: shop-camra, at: tail}", "did you mean `shop-camera`?"),
    ("  REAR: {use: shop-camera, at: tail}", "  - {name: REAR, use: shop-camera, at: tail}", "not a list"),
    ("cameras:", "camera:", "did you mean `cameras`?"),
    ("F1: {use: fuse-blade, rating: 3 A", "F1: {use: fuse-blade, rating: 3", "has no unit"),
    ("F1: {use: fuse-blade, rating: 3 A, at: bay}", "F1: fuse-blade", "a map of `key: value`"),
    ("parts:\n  SW1", "part:\n  SW1", "`part` is not a key"),
    ("C1B: {use: connector-4-sealed, at: dash}", "C1B: {use: connector-4-sealed}", "needs `at`"),
    ("connectors:", "connector:", "did you mean `connectors`?"),
    ("S1: {at: dash}", "S1: {}", "needs `at`"),
    ("splices:", "splice:", "did you mean `splices`?"),
    ("title: Screen\n", "tite: Screen\n", "`tite` is not a key"),
    ("rev: {domain: trigger}", "rev: {domain: triger}", "did you mean `trigger`?"),
    ("on-above: 6 V", "on-above: 6", "has no unit"),
    ("    pins:\n", "    pin:\n", "did you mean `pins`?"),
    ("feed: power, ground: ground", "feed: powr, ground: ground", "did you mean `power`?"),
    ("own-parts:", "own-part:", "did you mean `own-parts`?"),
    ("include: [shop.yaml]", "include: [shp.yaml]", "there is no such file"),
    ("include: [shop.yaml]", "include: shop.yaml", "a list is needed here"),
    ("include: [shop.yaml]", "inclde: [shop.yaml]", "did you mean `include`?"),
];

/// The same in the parts file.
const MISTAKES_IN_PARTS: &[(&str, &str, &str)] = &[
    ("parts-file: 1", "parts-file: 2", "this version of the form"),
    ("    title: Camera\n", "", "needs `title`"),
    ("family: camera", "family: camra", "did you mean `camera`?"),
    ("source: {pin: video}", "sorce: {pin: video}", "did you mean `source`?"),
    ("parts:\n", "part:\n", "did you mean `parts`?"),
    ("feed: power", "feed: powr", "did you mean `power`?"),
];

fn reported(spec: &str, shop: &str) -> (Option<i32>, String) {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("spec.yaml"), spec).unwrap();
    fs::write(folder.path().join("shop.yaml"), shop).unwrap();
    let mut program = cargo_bin_cmd!("loomwright");
    let output = program.current_dir(folder.path()).args(["states", "spec.yaml"]).output().unwrap();
    (output.status.code(), String::from_utf8(output.stderr).unwrap())
}

#[test]
fn one_mistake_gives_one_problem() {
    assert_eq!(reported(SOUND, SHOP), (Some(0), String::new()), "the sound spec");
    let mut wrong = Vec::new();
    let mut try_one = |(good, bad, word): &(&str, &str, &str), text: &str, reported: (Option<i32>, String)| {
        assert_eq!(text.matches(good).count(), 1, "`{good}` stands once");
        let (code, said) = reported;
        if code != Some(2)
            || !said.contains(word)
            || !said.ends_with("1 problem to correct before anything can be built\n")
        {
            wrong.push(format!("`{bad}` for `{good}`, with `{word}`:\n{said}"));
        }
    };
    for mistake in MISTAKES {
        try_one(mistake, SOUND, reported(&SOUND.replacen(mistake.0, mistake.1, 1), SHOP));
    }
    for mistake in MISTAKES_IN_PARTS {
        try_one(mistake, SHOP, reported(SOUND, &SHOP.replacen(mistake.0, mistake.1, 1)));
    }
    assert!(wrong.is_empty(), "{} are not reported once:\n{}", wrong.len(), wrong.join("\n"));
}

/// A name that can't be one, used all over: reported at its first place, with the next places beside it.
#[test]
fn a_malformed_name_is_reported_with_its_places() {
    let mut wrong = Vec::new();
    for name in ["bay", "dash", "G1", "reverse", "boom-arm", "REAR", "SW1", "F1", "HU1", "C1A", "S1", "own-screen"] {
        let spaced = SOUND.replace(&format!("{name}:"), &format!("{name} x:"));
        let bad = spaced.replace(&format!(" {name},"), &format!(" {name} x,"));
        let bad = bad
            .replace(&format!("[{name},"), &format!("[{name} x,"))
            .replace(&format!(" {name}}}"), &format!(" {name} x}}"));
        let bad = bad
            .replace(&format!(" {name}."), &format!(" {name} x."))
            .replace(&format!(" {name}]"), &format!(" {name} x]"));
        let bad = bad.replace(&format!(" {name} and"), &format!(" {name} x and"));
        let (code, said) = reported(&bad, SHOP);
        if code != Some(2) || !said.ends_with("\n1 problem to correct before anything can be built\n") {
            wrong.push(format!("{name}:\n{said}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A name that should be declared and isn't: reported where it is first needed, with the next places beside it.
#[test]
fn a_name_that_is_nothing_is_reported_with_its_places() {
    let mut wrong = Vec::new();
    for name in
        ["dash, tail", "battery", "reverse", "boom-arm", "REAR", "SW1", "HU1", "F1", "S1", "C1B", "G2", "own-screen"]
    {
        let spec = match name.split_once(", ") {
            Some((place, next)) => {
                SOUND.replacen(&format!("{place}, {next}]\nruns"), &format!("other-{place}, {next}]\nruns"), 1)
            }
            None => SOUND.replacen(&format!("  {name}: "), &format!("  other-{name}: "), 1),
        };
        let spec = spec.replacen(&format!("  {name}:\n"), &format!("  other-{name}:\n"), 1);
        assert_ne!(spec, SOUND, "{name}");
        let (code, said) = reported(&spec, SHOP);
        if code != Some(2) || !said.ends_with("\n1 problem to correct before anything can be built\n") {
            wrong.push(format!("{name}:\n{said}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What is wrong in two places is two problems, also where the one spoils much.
#[test]
fn two_mistakes_give_two_problems() {
    let spec = SOUND.replacen("places: [bay, dash, tail]", "place: [bay, dash, tail]", 1);
    let spec = spec.replacen("to: F1.1", "to: F7.1", 1);
    let (_, said) = reported(&spec, SHOP);
    assert!(said.contains("did you mean `places`?") && said.contains("nothing in this spec is named `F7`"), "{said}");
    assert!(said.ends_with("2 problems to correct before anything can be built\n"), "{said}");
}
