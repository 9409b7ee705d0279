//! The range of every quantity of the forms: each value within it is computed, each beyond it is reported at its place,
//! and none ends in a panic.

use catalogue::VOCABULARY;
use form::{Allowed, Problem, TextMap};
use job::Job;
use quantity::{
    AmpHours, AmpSquaredSeconds, Amps, Celsius, Gauge, Metres, Ohms, PerMinute, Quantity, Seconds, Share, Volts, Watts,
};
use serde_json::Value;
use std::collections::BTreeSet;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::time::{Duration, Instant};

/// A spec in which every quantity is marked: `«Form.key value»`.
const MARKED: &str = include_str!("ranges/every-quantity.yaml");

/// Longest that a run may take.
const LONGEST: Duration = Duration::from_secs(5);

/// A marked quantity: its form and key, its value, and the line on which it stands, from 1.
struct Mark<'m> {
    whole: &'m str,
    form: &'m str,
    key: &'m str,
    value: &'m str,
    line: usize,
}

fn marks() -> Vec<Mark<'static>> {
    let of_line = |(i, line): (usize, &'static str)| {
        line.split('«').skip(1).map(move |rest| {
            let whole = rest.split('»').next().unwrap();
            let (name, value) = whole.split_once(' ').unwrap();
            let (form, key) = name.split_once('.').unwrap();
            Mark { whole, form, key, value, line: i + 1 }
        })
    };
    MARKED.lines().enumerate().flat_map(of_line).collect()
}

/// The spec with another value at one mark.
fn with(changed: &Mark, value: &str) -> String {
    let mut text = MARKED.to_string();
    for mark in marks() {
        let value = if mark.whole == changed.whole { value } else { mark.value };
        text = text.replace(&format!("«{}»", mark.whole), value);
    }
    text
}

/// What a run of a spec ends with.
#[derive(Debug)]
enum End {
    Checked,
    Unreadable(Vec<Problem>),
    Panic,
}

fn run(text: &str) -> End {
    let whole = || match Job::read(&TextMap::new([("spec.yaml", text)]), Path::new("spec.yaml")) {
        Ok(job) => {
            job.report().unwrap();
            End::Checked
        }
        Err(unreadable) => End::Unreadable(unreadable.problems),
    };
    catch_unwind(AssertUnwindSafe(whole)).unwrap_or(End::Panic)
}

/// A value as number and unit.
fn parts(value: &str) -> (f64, &str) {
    let end = value.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(value.len());
    (value[..end].parse().unwrap(), value[end..].trim())
}

/// Values within a range, and values beyond it.
fn values(range: &Allowed) -> [Vec<String>; 2] {
    let ((lowest, unit), (highest, highest_unit)) = (parts(range.lowest), parts(range.highest));
    let below = if lowest > 0.0 { format!("{} {unit}", lowest * 0.9) } else { format!("-1 {unit}") };
    let whole = unit.is_empty();
    let above = if whole { highest + 1.0 } else { highest * 1.1 };
    let mut beyond = vec![if whole { "0".to_string() } else { below }, format!("{above} {highest_unit}")];
    if lowest > 0.0 {
        beyond.push(format!("0 {unit}"));
    }
    [vec![range.lowest.to_string(), range.highest.to_string()], beyond]
}

/// The quantity of a range, which distinguishes two ranges of one key.
fn mark_of<'m>(range: &Allowed, marks: &'m [Mark<'m>]) -> &'m Mark<'m> {
    let power = |text: &str| text.ends_with('W');
    let same =
        |mark: &&Mark| (mark.form, mark.key) == (range.form, range.key) && power(mark.value) == power(range.lowest);
    marks.iter().find(same).unwrap_or_else(|| panic!("every-quantity.yaml has no {}.{}", range.form, range.key))
}

/// Runs every quantity with some values; `judge` says what is wrong with an end, given whether a problem at the mark
/// names the range.
fn faults(
    values_of: impl Fn(&Allowed) -> Vec<String>,
    judge: impl Fn(&End, bool, Duration) -> Option<&'static str>,
) -> Vec<String> {
    let marks = marks();
    let mut faults = Vec::new();
    for range in VOCABULARY.ranges {
        let mark = mark_of(range, &marks);
        for value in values_of(range) {
            let start = Instant::now();
            let end = run(&with(mark, &value));
            let of_range = |problem: &Problem| {
                let here = problem.place.is_some_and(|place| place.line == mark.line);
                here && [" from ", "out of range"].iter().any(|words| problem.message.contains(words))
            };
            let named = matches!(&end, End::Unreadable(problems) if problems.iter().any(of_range));
            if let Some(fault) = judge(&end, named, start.elapsed()) {
                faults.push(format!("{}.{}: {value} {fault}: {end:?}", range.form, range.key));
            }
        }
    }
    faults
}

#[test]
fn the_marked_spec_is_sound() {
    let mark = &marks()[0];
    let end = run(&with(mark, mark.value));
    assert!(matches!(end, End::Checked), "{end:?}");
}

#[test]
fn every_value_beyond_its_range_is_reported_at_its_place() {
    let judge = |end: &End, named: bool, _| match end {
        End::Panic => Some("panics"),
        End::Checked => Some("is taken"),
        End::Unreadable(_) if !named => Some("isn't named as out of range"),
        End::Unreadable(_) => None,
    };
    let faults = faults(|range| values(range)[1].clone(), judge);
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn every_end_of_a_range_is_computed() {
    let judge = |end: &End, named: bool, took: Duration| match end {
        End::Panic => Some("panics"),
        End::Unreadable(_) if named => Some("is refused"),
        _ if took > LONGEST => Some("takes too long"),
        _ => None,
    };
    let faults = faults(|range| values(range)[0].clone(), judge);
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// What stands at a key, in the words of its schema: `a voltage`, also within lists and choices.
fn titles(schema: &Value, found: &mut BTreeSet<String>) {
    for key in ["title", "anyOf", "items"] {
        match &schema[key] {
            Value::String(title) => drop(found.insert(title.replace(", or a range", ""))),
            Value::Array(choices) => choices.iter().for_each(|choice| titles(choice, found)),
            inner @ Value::Object(_) => titles(inner, found),
            _ => {}
        }
    }
}

/// Every quantity of the schemas has its range in the table, and says it; every range is of a quantity.
#[test]
fn every_quantity_has_its_range() {
    let quantities = [
        Volts::NAME,
        Amps::NAME,
        Ohms::NAME,
        Watts::NAME,
        Metres::NAME,
        Seconds::NAME,
        PerMinute::NAME,
        Share::NAME,
        Celsius::NAME,
        AmpHours::NAME,
        AmpSquaredSeconds::NAME,
        Gauge::NAME,
        "a whole number",
        "a number",
    ];
    let versions = [("SpecForm", "harness"), ("PartsFile", "parts-file")];
    let mut there = BTreeSet::new();
    for schema in [spec::schema(), spec::parts_schema()] {
        for (form, definition) in schema["$defs"].as_object().unwrap() {
            for (key, property) in definition["properties"].as_object().into_iter().flatten() {
                let mut found = BTreeSet::new();
                titles(property, &mut found);
                if !found.iter().any(|title| quantities.contains(&title.as_str())) || versions.contains(&(form, key)) {
                    continue;
                }
                let said = property["description"].as_str().unwrap().contains(" From ");
                assert!(said, "{form}.{key} has no range; see src/catalogue/ranges.rs");
                there.insert((form.clone(), key.clone()));
            }
        }
    }
    for range in VOCABULARY.ranges {
        let name = (range.form.to_string(), range.key.to_string());
        assert!(there.contains(&name), "{name:?} is no quantity of the form");
    }
}

/// The description of every optional quantity says what holds without it; where that is a value (`Usual: 3 mΩ.`), a spec
/// with this value gives the same report as a spec without the key.
#[test]
fn the_usual_value_is_what_a_missing_key_gives() {
    let mut tried = 0;
    for (name, description) in optional_quantities() {
        let says = ["Usual", "sual,", "ithout it", "If unknown"].iter().any(|words| description.contains(words));
        assert!(says, "{}.{} doesn't say what holds without it: {description}", name.0, name.1);
        let Some((_, rest)) = description.split_once("Usual: ") else { continue };
        let ends = [". ", "; ", ", ", " for ", " ("];
        let end = ends.iter().filter_map(|end| rest.find(end)).min().unwrap_or(rest.len());
        let usual = rest[..end].trim_end_matches('.').trim();
        for mark in marks().iter().filter(|mark| (mark.form, mark.key) == (name.0.as_str(), name.1.as_str())) {
            if !usual.starts_with(|c: char| c.is_ascii_digit()) || number_of(usual).is_none() {
                continue;
            }
            let same = report(&without(mark)) == report(&with(mark, usual));
            assert!(same, "{}.{}: {usual} differs from none", name.0, name.1);
            tried += 1;
        }
    }
    assert!(tried >= 15, "{tried}");
}

/// A number with a unit.
fn number_of(text: &str) -> Option<f64> {
    text.split_whitespace().next()?.parse().ok()
}

/// The spec without the key of a mark.
fn without(mark: &Mark) -> String {
    let marked = format!("«{}»", mark.whole);
    let at = MARKED.find(&marked).unwrap();
    let before = MARKED[..at].trim_end();
    let key = before.strip_suffix(':').unwrap().rfind(|c: char| !(c.is_ascii_alphanumeric() || c == '-')).unwrap() + 1;
    let rest = &MARKED[at + marked.len()..];
    let text = match MARKED[..key].trim_end() {
        // A key among others in braces goes with the comma after it, or before it.
        head if head.ends_with('{') => format!("{head}{}", rest.trim_start_matches([',', ' '])),
        head if head.ends_with(',') && !MARKED[..key].ends_with('\n') => {
            format!("{}{rest}", head.trim_end_matches(','))
        }
        _ => format!("{}{}", MARKED[..key].trim_end_matches(' '), rest.trim_start_matches('\n')),
    };
    let mut text = text;
    for mark in marks() {
        text = text.replace(&format!("«{}»", mark.whole), mark.value);
    }
    text
}

/// What a check finds, without the places.
fn report(text: &str) -> Vec<String> {
    let job = Job::read(&TextMap::new([("spec.yaml", text)]), Path::new("spec.yaml"));
    let job = job.unwrap_or_else(|unreadable| panic!("{:?}\n{text}", unreadable.problems));
    let report = job.report().unwrap();
    let mut said: Vec<String> = report
        .findings
        .iter()
        .map(|finding| format!("{} {} {:?}", finding.rule, finding.message, finding.evidence))
        .collect();
    said.extend(report.endurance.iter().map(|row| format!("{row:?}")));
    said.extend(job.solved().unwrap().table().rows.iter().map(|row| format!("{:?} {:?}", row.name, row.solution)));
    said
}

/// Form, key and description of every quantity that a file may leave out.
fn optional_quantities() -> Vec<((String, String), String)> {
    let ranges: BTreeSet<_> =
        VOCABULARY.ranges.iter().map(|range| (range.form.to_string(), range.key.to_string())).collect();
    let mut out = Vec::new();
    for schema in [spec::schema(), spec::parts_schema()] {
        for (form, definition) in schema["$defs"].as_object().unwrap() {
            let required: Vec<&str> =
                definition["required"].as_array().into_iter().flatten().filter_map(|key| key.as_str()).collect();
            for (key, property) in definition["properties"].as_object().into_iter().flatten() {
                let name = (form.clone(), key.clone());
                let is_list = property["type"] == "array" || property.to_string().contains("\"array\"");
                if ranges.contains(&name)
                    && !required.contains(&key.as_str())
                    && !is_list
                    && !out.iter().any(|(n, _)| *n == name)
                {
                    out.push((name, property["description"].as_str().unwrap().to_string()));
                }
            }
        }
    }
    out
}
