//! The JSON Schemas that editors use: kept beside the specs, equal to what the program prints, and held by a validator
//! that is not this project's to the demos and to files with mistakes.

use assert_cmd::cargo::cargo_bin_cmd;
use book::lists::prices::PriceList;
use jobs::{job_of, job_of_text};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

#[path = "kept/mod.rs"]
mod kept;

mod jobs;
mod judges;

const SPEC: &str = "harness-specs/harness.schema.json";
const PARTS: &str = "harness-specs/parts.schema.json";

#[test]
fn the_kept_schemas_are_todays() {
    for (of, path) in [("spec", SPEC), ("parts", PARTS)] {
        let printed = cargo_bin_cmd!("loomwright").args(["schema", of]).output().unwrap();
        assert!(printed.status.success());
        kept::hold(Path::new(path), &printed.stdout, "schema");
    }
}

/// The other program's word, or `None` where it isn't installed; the test script installs it.
fn validate(schema: &str, files: &[PathBuf]) -> Option<Output> {
    if kept::rewriting() || !judges::available(&judges::SCHEMAS) {
        return None;
    }
    let root = kept::root();
    let script = root.join("tests/schema_check.py");
    Some(Command::new("/usr/bin/python3").arg(script).arg(root.join(schema)).args(files).output().unwrap())
}

fn yaml_in(folder: &str) -> Vec<PathBuf> {
    let mut all: Vec<PathBuf> = fs::read_dir(kept::root().join(folder))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .collect();
    all.sort();
    assert!(!all.is_empty(), "{folder} holds no YAML");
    all
}

#[test]
fn specs_and_parts_files_keep_to_the_schemas() {
    let shop_and_catalogue = [yaml_in("harness-specs/shop"), yaml_in("src/catalogue/data")].concat();
    let specs = [yaml_in("harness-specs"), yaml_in("harness-specs/wishes")].concat();
    for (schema, files) in [(SPEC, specs), (PARTS, shop_and_catalogue)] {
        let Some(output) = validate(schema, &files) else { return };
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stdout));
    }
}

/// What an editor must underline: each of these, put into a sound spec, is found by the schema alone.
#[test]
fn mistakes_are_reported_by_the_schema() {
    let head = "harness: 1\njob: {title: x, nominal: 12 V}\n";
    let mistakes = [
        "wire: []\n",
        "runs: [{between: [a, b], length: 1.4}]\n",
        "runs: [{between: [a, b], length: 1.4 V}]\n",
        "runs: [{between: [a, b]}]\n",
        "limits: {drop: 3}\n",
        "wires: [{id: 1, from: a, to: b, colour: red}]\n",
        "wires: [{id: 1, from: a.b.c, to: b}]\n",
        "wires: [{id: 1, from: a, to: b, make: rope}]\n",
        "cameras: {REAR: {at: tail}}\n",
        "cameras: {RE.AR: {use: camera-cvbs-12v}, at: 1}\n",
        "inputs: {a: {kind: lamp}}\n",
        "inputs: {a: {flash: 60 to 120 /min}}\n",
        "supplies: {b: {terminal: \"30\", at: p, volts: [11.8 V, 12.6 V]}}\n",
        "own-parts: {a: {title: A, family: relay, inside: [{spring: {}}]}}\n",
    ];
    let folder = tempfile::tempdir().unwrap();
    let write = |name: String, tail: &str| {
        let path = folder.path().join(name);
        fs::write(&path, format!("{head}{tail}")).unwrap();
        path
    };
    let mut files: Vec<PathBuf> =
        mistakes.iter().enumerate().map(|(i, tail)| write(format!("mistake-{i}.yaml"), tail)).collect();
    files.push(write("sound.yaml".to_string(), ""));
    let Some(output) = validate(SPEC, &files) else { return };
    let reported = String::from_utf8_lossy(&output.stdout);
    assert!(output.stderr.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(!reported.contains("sound.yaml"), "{reported}");
    for (i, mistake) in mistakes.iter().enumerate() {
        assert!(reported.contains(&format!("mistake-{i}.yaml")), "the schema takes: {mistake}");
    }
}

/// The first harness with a fuse far above its wires and a camera without a feed: findings with states, and what follows
/// from them.
fn broken() -> String {
    let sound = fs::read_to_string(kept::root().join("harness-specs/first-harness.yaml")).unwrap();
    sound.replace("rating: 3 A", "rating: 40 A").replace("  - {id: 3, from: F1.2, to: REAR.power, colour: RD/WH}\n", "")
}

/// A wish's first proposal, beside all of its proposals, with a price of one thing.
fn planned<'j>() -> job::Job<'j> {
    let wish = kept::root().join("harness-specs/wishes/camera-on-two-screens.yaml");
    let catalogue = catalogue::Catalogue::builtin().unwrap_or_else(|_| panic!("the catalogue reads"));
    let choices = plan::choices(&files::Disk::default(), &wish, &catalogue, &plan::CostTable::typical());
    let choices = choices.unwrap_or_else(|_| panic!("the wish can be planned"));
    let text = &choices.offered[0].proposal.text;
    let prices = PriceList::read("What to order,Size,Price\n\"Wire label, for the end of a wire\",,0.35\n").unwrap();
    job_of_text(text).proposed(plan::proposal_table(&choices, "wish.yaml", Some(text))).priced(prices)
}

/// A way through the schema and the text of a job at once.
fn properties_in_use(schema: &Value, at: &Value, text: &Value, used: &mut BTreeSet<String>) {
    let name = at["$ref"].as_str().and_then(|to| to.strip_prefix("#/$defs/"));
    let choices = at["anyOf"].as_array().into_iter().flatten();
    choices.for_each(|choice| properties_in_use(schema, choice, text, used));
    match text {
        Value::Object(fields) => {
            let of = name.map_or(at, |name| &schema["$defs"][name]);
            for (field, inside) in fields {
                let empty = inside.is_null() || inside.as_array().is_some_and(Vec::is_empty);
                if !empty && !of["properties"][field].is_null() {
                    used.insert(format!("{}.{field}", name.unwrap_or("job")));
                }
                properties_in_use(schema, &of["properties"][field], inside, used);
            }
        }
        Value::Array(items) => items.iter().for_each(|item| properties_in_use(schema, &at["items"], item, used)),
        _ => {}
    }
}

/// Every field of job.json is in its schema, every property of the schema in some job, and the schema refuses a field
/// that is missing, one too many, and a value of another kind.
#[test]
fn a_job_keeps_to_its_schema_and_the_schema_says_no_more() {
    let printed = cargo_bin_cmd!("loomwright").args(["schema", "job"]).output().unwrap();
    assert_eq!(printed.stdout, book::JOB_SCHEMA.as_bytes());
    let schema: Value = serde_json::from_str(book::JOB_SCHEMA).unwrap();
    assert_eq!(schema["properties"]["version"]["const"], book::JOB_VERSION);
    let specs = ["first-harness", "orchard-sprayer-pickup", "wheelchair-van", "boat-tow-pickup"];
    let sound = specs.map(|name| job_of(&kept::root().join(format!("harness-specs/{name}.yaml"))));
    let broken = job_of_text(&broken());
    let planned = planned();
    let jobs: Vec<Value> =
        sound.iter().chain([&broken, &planned]).map(|job| serde_json::to_value(job.book().unwrap()).unwrap()).collect();
    let mut used = BTreeSet::new();
    jobs.iter().for_each(|job| properties_in_use(&schema, &schema, job, &mut used));
    let of = |name: &str, at: &Value| -> Vec<String> {
        at["properties"].as_object().into_iter().flatten().map(|(field, _)| format!("{name}.{field}")).collect()
    };
    let defined = schema["$defs"].as_object().unwrap().iter().flat_map(|(name, at)| of(name, at));
    // Rare: a harness of more faults than there are sheets for.
    let rare = ["Symptoms.too_many", "Splice.notes"];
    let unused: Vec<String> =
        defined.chain(of("job", &schema)).filter(|p| !used.contains(p) && !rare.contains(&p.as_str())).collect();
    assert!(unused.is_empty(), "no job has {unused:?}");

    let folder = tempfile::tempdir().unwrap();
    let write = |name: String, job: &Value| {
        let path = folder.path().join(name);
        fs::write(&path, job.to_string()).unwrap();
        path
    };
    let mut files: Vec<PathBuf> = jobs.iter().enumerate().map(|(i, job)| write(format!("job-{i}.json"), job)).collect();
    fs::write(folder.path().join("job.schema.json"), book::JOB_SCHEMA).unwrap();
    let schema_file = folder.path().join("job.schema.json");
    let Some(output) = validate(schema_file.to_str().unwrap(), &files) else { return };
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stdout));
    let mut changed = [jobs[0].clone(), jobs[0].clone(), jobs[0].clone()];
    changed[0]["wires"][0].as_object_mut().unwrap().remove("colour");
    changed[1]["pins"][0]["rows"][0]["volts"] = 12.into();
    changed[2]["wires"][0]["gauge"] = "thick".into();
    files = changed.iter().enumerate().map(|(i, job)| write(format!("bad-{i}.json"), job)).collect();
    let output = validate(schema_file.to_str().unwrap(), &files).unwrap();
    let reported = String::from_utf8_lossy(&output.stdout);
    (0..3).for_each(|i| assert!(reported.contains(&format!("bad-{i}.json")), "{reported}"));
}
