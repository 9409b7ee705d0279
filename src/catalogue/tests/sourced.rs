//! Every figure says where it comes from, and nothing says so of a figure that isn't there.

use super::catalogue;
use crate::figures::{figures, source};
use std::collections::BTreeSet;

#[test]
fn every_figure_has_its_source() {
    let mut count = 0;
    for (name, part) in catalogue().iter() {
        for group in figures(part) {
            for figure in &group.figures {
                assert!(figure.source.is_some_and(|s| !s.is_empty()), "{name}: {} of {}", figure.key, group.title);
                count += 1;
            }
        }
        assert!(part.pins.0.is_empty() || source(part, "pins").or(source(part, "all")).is_some(), "{name}: its pins");
    }
    assert!(count > 800, "{count} figures");
}

/// A source of a figure that the part hasn't got is a typing mistake.
#[test]
fn every_source_is_of_something() {
    for (name, part) in catalogue().iter() {
        let mut keys: BTreeSet<String> = ["all", "pins"].map(String::from).into();
        for group in figures(part) {
            keys.insert(group.key.into());
            keys.extend(group.figures.iter().flat_map(|f| [f.key.to_string(), format!("{}-{}", group.key, f.key)]));
        }
        for (key, _) in &part.sources {
            // Relays with and without a rest contact share their sources.
            assert!(keys.contains(key.value.as_str()) || key.value.starts_with("rest"), "{name}: {}", key.value);
        }
    }
}

/// A source is a kind that anyone can judge: typical, a public list, a data sheet, or a standard; and a standard that
/// nobody here had open says so.
#[test]
fn sources_say_how_sure_they_are() {
    for (name, part) in catalogue().iter() {
        for (key, text) in &part.sources {
            let seen =
                ["public list", "data sheet", "seller's data", "maker lists", "lists agree", "DIN 72552", "BT.470"];
            let owned = text.starts_with("typical") || text.contains("from memory");
            assert!(owned || seen.iter().any(|word| text.contains(word)), "{name}, {}: {text}", key.value);
            let standard = ["ISO ", "SAE ", "UN R"].iter().any(|body| text.contains(body));
            let reported =
                ["from memory", "listing", "maker lists", "lists agree", "as SAE J553 type", "seller's data"];
            assert!(!standard || reported.iter().any(|word| text.contains(word)), "{name}, {}: {text}", key.value);
        }
    }
}
