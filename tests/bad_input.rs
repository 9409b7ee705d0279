//! The program from outside on input that it can't use: a clear word, exit status 2, nothing written, no hanging.

use assert_cmd::cargo::cargo_bin_cmd;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::time::Duration;
use tempfile::TempDir;

/// A sound head, for specs whose fault lies further down.
const HEAD: &str = "harness: 1\njob: {title: Bench, nominal: 12 V}\nplaces: [bay, dash]\n\
                    supplies: {battery: {terminal: \"30\", at: bay, volts: 12 V}}\n";

/// Only a hung program takes this long; how fast it is, is not a test's question.
const HUNG: Duration = Duration::from_secs(60);

/// Runs a command on `spec.yaml` of a folder and gives what it says; checks that it refuses and leaves no trace.
fn refused(folder: &Path, command: &str) -> String {
    let before = listing(folder);
    let mut program = cargo_bin_cmd!("loomwright");
    let output = program.current_dir(folder).args([command, "spec.yaml"]).timeout(HUNG).output().unwrap();
    let said = String::from_utf8(output.stderr).expect("messages are UTF-8");
    assert_eq!(output.status.code(), Some(2), "exit status of {command}; it said:\n{said}");
    assert!(output.stdout.is_empty(), "nothing goes to standard output");
    assert_eq!(before, listing(folder), "nothing is written");
    assert!(said.starts_with("error: "), "{said}");
    assert!(!said.contains("panicked"), "{said}");
    assert!(said.len() < 100_000, "{} bytes is more than anyone reads", said.len());
    let tame = |c: char| c == '\n' || c == '\t' || !c.is_control();
    assert!(said.chars().all(tame), "no control characters reach the terminal:\n{said:?}");
    said
}

fn listing(folder: &Path) -> Vec<(String, u64)> {
    let mut all: Vec<(String, u64)> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap())
        .map(|entry| (entry.file_name().into_string().unwrap(), entry.metadata().unwrap().len()))
        .collect();
    all.sort();
    all
}

/// A folder with the given files in it.
fn folder(files: &[(&str, &[u8])]) -> TempDir {
    let folder = TempDir::new().unwrap();
    for (name, bytes) in files {
        fs::write(folder.path().join(name), bytes).unwrap();
    }
    folder
}

/// Every file that must only be refused, with a phrase of the message.
fn cases() -> Vec<(&'static str, Vec<u8>, &'static str)> {
    let text = |tail: &str| format!("{HEAD}{tail}").into_bytes();
    vec![
        ("empty", Vec::new(), "the file is empty"),
        ("only a comment", b"# later\n".to_vec(), "the file is empty"),
        ("a table", b"Wire,Colour\n1,RD\n2,BK\n".to_vec(), "seems to be a table (CSV), not a spec"),
        ("a table with colons", b"What;Note\nF1;at: bay\nF2;dash\n".to_vec(), "seems to be a table (CSV)"),
        ("JSON", b"{\"job\": {\"title\": \"x\"}}\n".to_vec(), "seems to be JSON, not a spec"),
        ("a page", b"\n<!DOCTYPE html>\n<title>x</title>\n".to_vec(), "seems to be a web page (HTML), not a spec"),
        ("a picture", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec(), "seems to be a picture (PNG), not a spec"),
        (
            "a large picture",
            [b"\xff\xd8\xff\xe0".as_slice(), &vec![0; 5 << 20]].concat(),
            "a picture (JPEG), not a spec",
        ),
        ("a document", b"%PDF-1.7\n1 0 obj\n".to_vec(), "seems to be a document (PDF), not a spec"),
        ("an archive", b"PK\x03\x04\x14\0".to_vec(), "as office programs save their documents and tables in"),
        ("a parts file", b"parts-file: 1\nparts: {}\n".to_vec(), "this is a parts file, not a spec"),
        ("a list", b"- harness: 1\n".to_vec(), "a map that starts with `harness: 1`"),
        ("a word", b"harness\n".to_vec(), "a map that starts with `harness: 1`"),
        ("no version", b"job: {title: x}\n".to_vec(), "`harness: 1` is missing"),
        ("a later version", b"harness: 2\nnew-things: []\n".to_vec(), "can't read this version"),
        ("a version in words", b"harness: one\n".to_vec(), "can't read this version"),
        ("not UTF-8", b"harness: 1\njob: {title: caf\xe9}\n".to_vec(), "the first bad byte is in line 2"),
        ("UTF-16", b"\xff\xfeh\0a\0".to_vec(), "not UTF-8"),
        ("a zero byte", text("drives: {a: \"\0\"}\n"), "a control character (U+0000)"),
        ("an escape in the text", text("accept: [\x1b[2J]\n"), "a control character (U+001B)"),
        ("an escape in quotes", text("views: {\"\\e[2J\": []}\n"), "isn't allowed in a name"),
        ("text that turns round", text("cameras: {A: {use: x, note: \"\\u202e\"}}\n"), "U+202E isn't allowed in text"),
        ("tabs", b"harness: 1\njob:\n\ttitle: x\n".to_vec(), "tabs"),
        ("bad indentation", b"harness: 1\njob:\n    title: x\n  nominal: 12 V\n".to_vec(), "not YAML"),
        ("an open bracket", text("wires: [{id: 1\n"), "not YAML"),
        ("a tag", text("wires: !!set {}\n"), "tags"),
        ("two documents", text("---\nharness: 1\n"), "a second document starts here"),
        ("a map as a key", text("? {a: b}\n: 1\n"), "can't be a key"),
        ("a repeated key", text("harness: 1\n"), "`harness` appears twice"),
        ("an unknown key", text("wire: []\n"), "did you mean `wires`?"),
        ("an unknown key inside", text("wires: [{id: 1, form: battery, to: battery}]\n"), "did you mean `from`?"),
        ("a comma in a title", text("parts: {A: {use: zener, title: Plug, left}}\n"), "put that text in quotes"),
        ("no unit", text("runs: [{between: [bay, dash], length: 1.4}]\n"), "`1.4` has no unit; a length"),
        ("a unit of something else", text("limits: {drop: 3 V}\n"), "`V` is not a unit"),
        ("a quantity below zero", text("limits: {drop: -3 %}\n"), "must be from 0.1 % to 50 %"),
        ("no length", text("runs: [{between: [bay, dash], length: 0 m}]\n"), "must be from 1 mm to 100 m"),
        ("an input that excludes itself", text("inputs: {a: {excludes: [a]}}\n"), "`a` excludes itself"),
        ("not a number", text("limits: {drop: NaN %}\n"), "is not a share"),
        ("a place that isn't there", text("runs: [{between: [bay, attic], length: 1 m}]\n"), "`attic` is not among"),
        (
            "a part that isn't there",
            text("wires: [{id: 1, from: F1.1, to: battery}]\n"),
            "nothing in this spec is named `F1`",
        ),
        ("a kind that isn't there", text("parts: {K1: {use: relay-of-gold, at: bay}}\n"), "is not a kind of part"),
        (
            "a supply that isn't there",
            text("inputs: {a: {kind: lamp-feed, at: bay, from: pond}}\n"),
            "`pond` is not a supply",
        ),
        ("an input that isn't there", text("inputs: {a: {needs: b}}\n"), "`b` is not an input"),
        ("a condition cut off", text("inputs: {a: {needs: a and}}\n"), "the condition ends"),
        ("a screen that isn't there", text("views: {roof: [{otherwise: home}]}\n"), "`roof` is not a screen"),
        ("a colour by name", text("wires: [{id: 1, from: battery, to: battery, colour: red}]\n"), "write `RD`"),
        ("a list for a map", text("cameras: [REAR]\n"), "a map of `key: value`, not a list"),
        ("a map for a list", text("wires: {id: 1}\n"), "a list is needed here, not a map"),
        ("a list for a value", text("limits: {drop: [3 %]}\n"), "not a list"),
        ("brackets without end", text(&format!("wires: {}\n", "[".repeat(3_000))), "levels deep"),
        ("dashes without end", text(&format!("wires:\n  {}a\n", "- ".repeat(1_500))), "levels deep"),
        ("indentation without end", steps_down(1_000), "levels deep"),
        ("conditions without end", text(&format!("inputs: {{a: {{needs: \"{}a\"}}}}\n", "(".repeat(999))), "brackets"),
        ("an alias bomb", alias_bomb(), "repeats by alias"),
        ("an alias of itself", text("wires: &a [*a]\n"), "inside the value that it repeats"),
        ("an alias of nothing", text("wires: *a\n"), "not YAML"),
        ("a long line", text(&format!("# {}\n", "x".repeat(5_000))), "more than 4000 characters"),
        ("a long value", text(&format!("accept: >\n{}", "  x x x x\n".repeat(1_000))), "a value of more than"),
        ("50 MB", [HEAD.as_bytes(), &vec![b'\n'; 50 << 20]].concat(), "larger than 4 MB"),
        (
            "a hundred thousand values",
            text(&listed("places:", 120_000, |i| format!("p{i}"))),
            "more than 100000 values",
        ),
        (
            "a thousand mistakes",
            text(&listed("wires:", 4_000, |i| format!("{{id: {i}, from: A{i}, to: B{i}}}"))),
            "the first 50 are shown",
        ),
        (
            "malformed names and conditions galore",
            text(&format!(
                "inputs:\n{}",
                (0..15_000).map(|i| format!("  i/{i}: {{}}\n  j{i}: {{needs: a b{i} or}}\n")).collect::<String>()
            )),
            "`/` isn't allowed in a name",
        ),
        (
            "unknown keys galore",
            text(&(0..20_000).map(|i| format!("k{i}: 1\n")).collect::<String>()),
            "`k7` is not a key",
        ),
    ]
}

fn listed(head: &str, count: usize, item: impl Fn(usize) -> String) -> String {
    (0..count).fold(format!("{head}\n"), |mut text, i| {
        let _ = writeln!(text, "  - {}", item(i));
        text
    })
}

fn steps_down(depth: usize) -> Vec<u8> {
    let steps = (0..depth).map(|i| format!("{}a:\n", " ".repeat(i))).collect::<String>();
    format!("{HEAD}wires:\n {}", steps.replace('\n', "\n ")).into_bytes()
}

fn alias_bomb() -> Vec<u8> {
    let mut text = String::from("a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n");
    for i in 1..40 {
        let _ = writeln!(text, "a{i}: &a{i} [{}]", vec![format!("*a{}", i - 1); 10].join(", "));
    }
    text.into_bytes()
}

#[test]
fn what_cannot_be_used_is_refused_with_a_clear_word() {
    for (name, bytes, phrase) in cases() {
        let folder = folder(&[("spec.yaml", &bytes)]);
        let said = refused(folder.path(), "build");
        assert!(said.contains(phrase), "{name}: `{phrase}` is not in what it says:\n{said}");
    }
}

/// What the program writes is the likeliest file to be given to it by mistake.
#[test]
fn what_build_writes_is_reported_from_a_spec() {
    let written = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-builds/first-harness");
    let mut kinds = Vec::new();
    for entry in fs::read_dir(written).unwrap() {
        let path = entry.unwrap().path();
        let folder = folder(&[("spec.yaml", &fs::read(&path).unwrap())]);
        let said = refused(folder.path(), "check");
        assert!(said.contains("this seems to be "), "{}:\n{said}", path.display());
        assert!(said.contains("a YAML text that starts with `harness: 1`"), "{said}");
        kinds.push(path.extension().unwrap().to_owned());
    }
    assert!(["csv", "html", "svg", "json", "dot"].iter().all(|kind| kinds.iter().any(|k| k == kind)), "{kinds:?}");
}

#[test]
fn every_command_refuses_alike() {
    let folder = folder(&[("spec.yaml", format!("{HEAD}wire: []\n").as_bytes())]);
    let reported = refused(folder.path(), "check");
    for command in ["build", "graph", "states", "replay"] {
        assert_eq!(refused(folder.path(), command), reported, "{command}");
    }
}

#[test]
fn many_mistakes_are_reported_at_once_in_the_order_of_the_file() {
    let spec = format!(
        "{HEAD}limits: {{drop: 3}}\nwires: [{{id: 1, from: X, to: battery, gauge: 1}},\n  {{id: 2, from: battery, to: F1.3}}]\n\
         parts: {{F1: {{use: fuse-blade, rating: 3 A}}}}\nfoo: 1\n"
    );
    let folder = folder(&[("spec.yaml", spec.as_bytes())]);
    let said = refused(folder.path(), "check");
    let at = |phrase: &str| said.find(phrase).unwrap_or_else(|| panic!("`{phrase}` is not in\n{said}"));
    assert!(at("`3` has no unit") < at("named `X`") && at("named `X`") < at("`1` has no unit"));
    assert!(at("`1` has no unit") < at("F1 has no pin `3`") && at("F1 has no pin `3`") < at("`foo` is not a key"));
    assert!(said.ends_with("5 problems to correct before anything can be built\n"), "{said}");
}

#[test]
fn paths_that_are_no_file() {
    let empty = TempDir::new().unwrap();
    assert!(refused(empty.path(), "check").contains("spec.yaml: there is no such file"));
    fs::create_dir(empty.path().join("spec.yaml")).unwrap();
    assert!(refused(empty.path(), "states").contains("spec.yaml: it is a folder"));
    assert!(refused(empty.path(), "check").contains("spec.yaml: there is no spec in this folder"));
}

#[cfg(unix)]
#[test]
fn a_pipe_is_not_waited_for() {
    let folder = TempDir::new().unwrap();
    let made = std::process::Command::new("mkfifo").arg(folder.path().join("spec.yaml")).status().unwrap();
    assert!(made.success());
    assert!(refused(folder.path(), "check").contains("not a plain file"));
}

#[cfg(unix)]
#[test]
fn a_link_to_itself() {
    let folder = TempDir::new().unwrap();
    std::os::unix::fs::symlink("spec.yaml", folder.path().join("spec.yaml")).unwrap();
    assert!(refused(folder.path(), "check").contains("it can't be read"));
}

#[test]
fn includes_that_lead_nowhere() {
    let spec = |includes: &str| format!("{HEAD}include: [{includes}]\n");
    let one = |includes: &str, files: &[(&str, &[u8])]| {
        let folder = folder(files);
        fs::write(folder.path().join("spec.yaml"), spec(includes)).unwrap();
        refused(folder.path(), "check")
    };
    let said = one("shop.yaml", &[]);
    assert!(said.contains("shop.yaml: there is no such file") && said.contains("spec.yaml:5:"), "{said}");
    assert!(one(".", &[]).contains("it is a folder"));
    assert!(one("spec.yaml", &[]).contains("`spec.yaml` includes itself"));
    assert!(one("shop.yaml", &[("shop.yaml", b"harness: 1\n")]).contains("this is a spec, not a parts file"));
    assert!(one("shop.yaml", &[("shop.yaml", b"parts: {}\n")]).contains("`parts-file: 1` is missing"));
    let table = one("shop.csv", &[("shop.csv", b"Part,Price\nA,1\n")]);
    assert!(table.contains("a table (CSV), not a parts file") && table.contains("spec.yaml:5:"), "{table}");
    let ring: &[(&str, &[u8])] =
        &[("a.yaml", b"parts-file: 1\ninclude: [b.yaml]\n"), ("b.yaml", b"parts-file: 1\ninclude: [./a.yaml]\n")];
    assert!(one("a.yaml", ring).contains("`./a.yaml` includes itself"));
    let many = (0..100).map(|_| "a.yaml").collect::<Vec<_>>().join(", ");
    assert!(one(&many, &[("a.yaml", b"parts-file: 1\n")]).contains("more than 60 files"));
    let large = [b"parts-file: 1\n".to_vec(), vec![b'\n'; 3 << 20]].concat();
    assert!(one("a.yaml, b.yaml", &[("a.yaml", &large), ("b.yaml", &large)]).contains("more than 4 MB"));
}

/// A spec from a stranger names files that are none of his business.
#[test]
fn includes_from_elsewhere_are_neither_read_nor_shown() {
    let secret: &[u8] = b"harnesses: none\npassword: swordfish\n";
    let parts: &[u8] = b"parts-file: 1\n";
    for (include, given, message) in [
        ("notes.txt", ("notes.txt", secret), "`parts-file: 1` is missing"),
        ("../notes.txt", ("../notes.txt", secret), "outside the folder of the spec"),
        ("../parts.yaml", ("../parts.yaml", parts), "outside the folder of the spec"),
    ] {
        let outer = TempDir::new().unwrap();
        let folder = outer.path().join("job");
        fs::create_dir(&folder).unwrap();
        fs::write(folder.join("spec.yaml"), format!("{HEAD}include: [{include}]\n")).unwrap();
        fs::write(folder.join(given.0), given.1).unwrap();
        let said = refused(&folder, "check");
        assert!(said.contains(message) && said.contains("spec.yaml:5:"), "{said}");
        assert!(!said.contains("swordfish"), "{said}");
        let output =
            cargo_bin_cmd!("loomwright").current_dir(&folder).args(["check", "--outside", "spec.yaml"]).output();
        let output = output.unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(!said.contains("swordfish") && !said.contains("outside the folder"), "{said}");
        assert_eq!(output.status.code(), Some(if given.1 == parts { 0 } else { 2 }), "{said}");
    }
    #[cfg(unix)]
    {
        let outer = folder(&[("parts.yaml", parts)]);
        let folder = outer.path().join("job");
        fs::create_dir(&folder).unwrap();
        std::os::unix::fs::symlink("../parts.yaml", folder.join("link.yaml")).unwrap();
        fs::write(folder.join("spec.yaml"), format!("{HEAD}include: [link.yaml]\n")).unwrap();
        assert!(refused(&folder, "check").contains("outside the folder of the spec"));
    }
}

#[test]
fn line_ends_and_a_byte_order_mark_are_no_fault() {
    let spec = format!("{HEAD}foo: 1\n");
    let plain = refused(folder(&[("spec.yaml", spec.as_bytes())]).path(), "check");
    let dos = refused(folder(&[("spec.yaml", spec.replace('\n', "\r\n").as_bytes())]).path(), "check");
    let marked = refused(folder(&[("spec.yaml", format!("\u{feff}{spec}").as_bytes())]).path(), "check");
    assert!(plain.contains("spec.yaml:5:1") && plain.contains("1 problem to correct"), "{plain}");
    assert_eq!(plain, dos);
    assert_eq!(plain, marked);
}

#[test]
fn a_call_that_is_off() {
    for arguments in
        [&[][..], &["chekc"], &["check"], &["check", "a", "b"], &["build", "a", "b"], &["check", "--fast", "a"]]
    {
        let output = cargo_bin_cmd!("loomwright").args(arguments).output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(!output.stderr.is_empty());
    }
}

/// What an installer writes out of habit, and what to write instead.
#[test]
fn what_to_do_leads_to_a_spec_that_works() {
    let job = |from: &str, to: &str| JOB.replacen(from, to, 1);
    for (what, spec, hint) in [
        (
            "otherwise off",
            job("otherwise: home", "otherwise: off"),
            "`home` is the screen's own page, `black` no picture",
        ),
        ("a push button as an end", job("SW1.on, to: T1.in", "look, to: T1.in"), "moves: `SW1.common`, `SW1.on`"),
        (
            "the key as an end",
            job("from: F1.2, to: HU1.power", "from: key, to: HU1.power"),
            "follows it, such as `acc`",
        ),
        ("a hyphen for a dot", job("F1.2, to: HU1.power", "F1-2, to: HU1.power"), "`F1.2`"),
        ("a cavity too many", job("carries: {1: power", "carries: {5: power"), "its pins: 1, 2, 3, 4"),
        ("BL", job("colour: RD", "colour: RD/BL"), "`BK` is black, `BU` is blue"),
        ("a kind by its words", job("use: relay-mini-spdt-12v-diode", "use: relay-spdt-12v-diode"), "-mini-spdt-12v-d"),
        ("part for use", job("REAR: {use:", "REAR: {part:"), "did you mean `use`?"),
        ("a part under screens", job("main: {part: HU1}", "main: {use: screen-2in-12v, at: dash}"), "under `parts`"),
        ("engine", job("length: 2 m", "length: 2 m, inside: engine"), "did you mean `engine-space`?"),
        ("a range of volts", job("[11.5 V, 12.6 V, 14.4 V]", "11.5..14.4 V"), "write [11.5 V, 12.6 V, 14.4 V]"),
        ("size", job("colour: RD", "size: 1 mm²"), "did you mean `gauge`?"),
        ("a latch on", job("when: T1,", "when: T1 = on,"), "write `T1`"),
        ("a latch off", job("when: T1,", "when: T1 = off,"), "write `not T1`"),
        ("two equals signs", job("key = off", "key == off"), "write `key = off`"),
        ("a list for a condition", job("needs: key", "needs: [key]"), "write one text: key"),
        ("something else that it remembers", job("when: T1,", "when: T1.held,"), "there is only `T1.latched`"),
    ] {
        let folder = folder(&[("spec.yaml", spec.as_bytes())]);
        assert!(spec != JOB, "{what}: nothing was replaced");
        let said = refused(folder.path(), "check");
        assert!(said.contains(hint), "{what}: {said}");
    }
}

/// Every problem is reported, with any others present: a missing version, a name of no use, a screen that isn't there.
#[test]
fn one_run_tells_all_that_is_wrong() {
    let spec = JOB
        .replacen("harness: 1\n", "", 1)
        .replacen("look: {kind: push, part: SW1}", "left look: {kind: push, part: SW1, size: 3}", 1)
        .replacen("main: {part: HU1}", "main: {part: HX9}", 1)
        .replacen("show: REAR", "show: nothing", 1);
    let folder = folder(&[("spec.yaml", spec.as_bytes())]);
    let said = refused(folder.path(), "check");
    for part in ["`harness: 1` is missing", "isn't allowed in a name", "`size`", "`HX9`", "`nothing` can't be shown"] {
        assert!(said.contains(part), "{part}: {said}");
    }
}

/// A condition may name what a part remembers as states do.
#[test]
fn what_a_part_remembers_goes_by_the_name_that_states_print() {
    for text in [JOB.to_string(), JOB.replacen("when: T1,", "when: T1.latched,", 1)] {
        let folder = folder(&[("spec.yaml", text.as_bytes())]);
        let mut program = cargo_bin_cmd!("loomwright");
        let output = program.current_dir(folder.path()).args(["states", "spec.yaml"]).output().unwrap();
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    }
}

/// A sound job, to be spoilt by one habit at a time.
const JOB: &str = r#"harness: 1
job: {title: Bench, nominal: 12 V}
places: [bay, dash, tail]
runs:
  - {between: [bay, dash], length: 2 m}
  - {between: [dash, tail], length: 4 m}
supplies:
  battery: {terminal: "30", at: bay, volts: [11.5 V, 12.6 V, 14.4 V]}
  acc: {terminal: "75", at: bay, follows: key}
grounds: {G1: {at: dash}, G2: {at: tail}}
inputs:
  key: {positions: [off, run]}
  reverse: {kind: lamp-feed, at: tail, needs: key}
  look: {kind: push, part: SW1}
screens:
  main: {part: HU1}
views:
  main:
    - {when: key = off, show: black}
    - {when: reverse, show: REAR}
    - {when: T1, show: any}
    - {otherwise: home}
cameras:
  REAR: {use: camera-cvbs-12v, at: tail}
parts:
  F1: {use: fuse-blade, rating: 3 A, at: bay}
  HU1: {use: screen-2in-12v, at: dash}
  K1: {use: relay-mini-spdt-12v-diode, at: dash}
  T1: {use: latch-module-12v, at: dash}
  SW1: {use: push-spst, at: dash}
connectors:
  C1: {use: connector-4-sealed, at: tail, on: REAR, carries: {1: power, 2: ground, 3: video}}
wires:
  - {id: 1, from: acc, to: F1.1, colour: RD}
  - {id: 2, from: F1.2, to: HU1.power}
  - {id: 3, from: HU1.ground, to: G1}
  - {id: 4, from: HU1.power, to: C1.1}
  - {id: 5, from: C1.2, to: G2}
  - {id: 6, from: C1.3, to: HU1.cam1, make: coax}
  - {id: 7, from: reverse, to: HU1.REV}
  - {id: 8, from: HU1.power, to: T1.power}
  - {id: 9, from: T1.ground, to: G1}
  - {id: 10, from: HU1.power, to: SW1.common}
  - {id: 11, from: SW1.on, to: T1.in}
  - {id: 12, from: T1.out, to: K1.86}
  - {id: 13, from: K1.85, to: G1}
"#;
