//! One report per cause: a fault planted at every place of the demonstrations where it can be made has its own report as the
//! first, and what follows from it is folded under it.

use super::*;
use crate::Repair;
use catalogue::part_form::{Across, Acts};
use model::{ElementKind, PartKind, PinId};

/// A fault, and the words of its report.
struct Planted {
    fault: Repair,
    words: String,
}

/// Exchanges of pins that harm in any harness.
fn exchanges(model: &Model) -> Vec<Planted> {
    let mut all = Vec::new();
    let mut add = |[a, b]: [PinId; 2], words: String| all.push(Planted { fault: Repair::Exchange(a, b), words });
    for element in &model.elements {
        let part = model.part(element.part);
        let (name, pin) = (&part.name, |pin: PinId| &model.pin(pin).name);
        if part.existing || part.kind != PartKind::Device {
            continue;
        }
        match &element.kind {
            ElementKind::Coil(coil) if coil.across == Across::Diode && coil.acts == Acts::Holds => {
                let words = format!("`{}` and `{}` of `{name}` are swapped", pin(coil.ground), pin(coil.feed));
                add([coil.feed, coil.ground], words);
            }
            ElementKind::Converter { input, output, .. } => {
                add([*input, *output], format!("`{}` and `{}` of `{name}` are swapped", pin(*input), pin(*output)));
            }
            ElementKind::Load(load) if !part.formats.is_empty() && part.elements.len() < 3 => {
                let words = format!("`{}` and `{}` of `{name}` are swapped", pin(load.feed), pin(load.ground));
                add([load.feed, load.ground], words);
            }
            _ => {}
        }
    }
    all
}

fn report_of(model: &Model) -> Report {
    check(&Solved::new(model))
}

/// The errors that follow from no other.
fn errors(report: &Report) -> Vec<&Finding> {
    report.roots().filter(|finding| finding.severity == Severity::Error).collect()
}

fn assert_named(demo: &str, planted: &Planted, report: &Report) -> Option<String> {
    let errors = errors(report);
    let named = errors.first().is_some_and(|first| first.message.contains(&planted.words));
    let others: Vec<&str> = errors.iter().skip(1).map(|finding| finding.message.as_str()).collect();
    (!named || !others.is_empty())
        .then(|| format!("{demo}: {}: {:?}", planted.words, errors.iter().map(|f| &f.message).collect::<Vec<_>>()))
}

/// The most that is planted in one demonstration: each is checked with every repair that is tried.
const MOST: usize = 2;

/// Plants every exchange in a demonstration, one at a time; where there are many, the first of each kind of part.
fn assert_each_is_named(demo: &str, at_least: usize) {
    let model = sample::demo(demo);
    let all = exchanges(&model);
    let planted: Vec<&Planted> = match all.len() {
        0..=MOST => all.iter().collect(),
        _ => first_of_each_kind(&model, &all).into_iter().take(MOST).collect(),
    };
    let faults: Vec<String> = planted
        .iter()
        .filter_map(|planted| assert_named(demo, planted, &report_of(&planted.fault.repaired(&model))))
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(planted.len() >= at_least, "{}", planted.len());
}

fn first_of_each_kind<'p>(model: &Model, all: &'p [Planted]) -> Vec<&'p Planted> {
    let mut seen: Vec<&str> = Vec::new();
    let kind = |planted: &Planted| match planted.fault {
        Repair::Exchange(pin, _) => model.part(model.pin(pin).part).use_name.as_str(),
        _ => "",
    };
    let first = all.iter().filter(|planted| {
        let kind = kind(planted);
        let is_new = !seen.contains(&kind);
        seen.push(kind);
        is_new
    });
    first.collect()
}

#[test]
fn swapped_pins_are_named_first_and_alone_in_the_first_harness() {
    assert_each_is_named("first-harness", 1);
}

#[test]
fn swapped_pins_are_named_first_and_alone_in_the_sprayer() {
    assert_each_is_named("orchard-sprayer-pickup", 1);
}

#[test]
fn swapped_pins_are_named_first_and_alone_in_the_boat_tow() {
    assert_each_is_named("boat-tow-pickup", 1);
}

#[test]
fn swapped_pins_are_named_first_and_alone_in_the_van() {
    assert_each_is_named("wheelchair-van", 1);
}

#[test]
fn swapped_pins_are_named_first_and_alone_in_the_truck() {
    assert_each_is_named("refuse-truck", 1);
}
