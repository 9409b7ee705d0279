//! Circles of files: two files of a room that name each other by `use super::` or `use crate::`, directly or over a name
//! that the file between them hands on.

use super::sources::{Room, Source};
use petgraph::algo::tarjan_scc;
use petgraph::prelude::DiGraphMap;
use std::collections::{BTreeMap, BTreeSet};

/// Groups of files that reach each other: `room: a <-> b <-> c`.
pub fn circles(room: &Room) -> Vec<String> {
    let house = House::new(room);
    let mut graph: DiGraphMap<&Module, ()> = DiGraphMap::new();
    for (from, targets) in &house.edges {
        targets.iter().for_each(|to| {
            graph.add_edge(from, to, ());
        });
    }
    let mut circles = Vec::new();
    for mut group in tarjan_scc(&graph) {
        if group.len() > 1 {
            group.sort();
            let names: Vec<String> = group.iter().map(|module| called(module)).collect();
            circles.push(format!("{}: {}", room.name, names.join(" <-> ")));
        }
    }
    circles.sort();
    circles
}

fn called(module: &[String]) -> String {
    if module.is_empty() { "lib".to_string() } else { module.join("/") }
}

type Module = Vec<String>;

struct House {
    edges: BTreeMap<Module, BTreeSet<Module>>,
}

impl House {
    fn new(room: &Room) -> House {
        let modules: BTreeSet<Module> = room.files.iter().map(|file| file.module.clone()).collect();
        // What each file takes in, by the name under which it has it.
        let taken: BTreeMap<Module, BTreeMap<String, Module>> =
            (room.files.iter()).map(|file| (file.module.clone(), names(file, &modules))).collect();
        let mut edges: BTreeMap<Module, BTreeSet<Module>> = BTreeMap::new();
        for file in &room.files {
            let all = paths(&file.text).into_iter().chain(inline(&file.text));
            for path in all.filter(|path| path[0] == "super" || path[0] == "crate") {
                let path = &path;
                let Some((mut module, rest)) = resolved(path, &file.module, &modules) else { continue };
                // A name that the file hands on comes from elsewhere.
                let mut name = rest.first().cloned();
                for _ in 0..4 {
                    let next = name.as_ref().and_then(|name| taken.get(&module)?.get(name));
                    match next {
                        Some(next) if *next != module => module = next.clone(),
                        _ => break,
                    }
                    name = rest.first().cloned();
                }
                if module != file.module {
                    edges.entry(file.module.clone()).or_default().insert(module);
                }
            }
        }
        House { edges }
    }
}

/// Names that a file takes in by `use`, with the file that each comes from.
fn names(file: &Source, modules: &BTreeSet<Module>) -> BTreeMap<String, Module> {
    let found = paths(&file.text).into_iter().filter_map(|path| {
        let (module, rest) = resolved(&path, &file.module, modules)?;
        Some((rest.last()?.clone(), module))
    });
    found.collect()
}

/// The file that a path leads to, and what is left of the path within it; `None` for a path into another crate.
fn resolved(path: &[String], from: &[String], modules: &BTreeSet<Module>) -> Option<(Module, Vec<String>)> {
    let mut module: Module = from.to_vec();
    let mut rest = path;
    match path[0].as_str() {
        "crate" => (module, rest) = (Vec::new(), &path[1..]),
        "self" => rest = &path[1..],
        "super" => {
            while rest.first().is_some_and(|step| step == "super") {
                module.pop();
                rest = &rest[1..];
            }
        }
        child => {
            let mut inner = module.clone();
            inner.push(child.to_string());
            if !modules.contains(&inner) {
                return None;
            }
        }
    }
    while let Some(step) = rest.first() {
        let mut inner = module.clone();
        inner.push(step.clone());
        if !modules.contains(&inner) {
            break;
        }
        (module, rest) = (inner, &rest[1..]);
    }
    Some((module, rest.to_vec()))
}

/// The paths of every `use` at the left margin, one for each name.
fn paths(text: &str) -> Vec<Vec<String>> {
    let mut found = Vec::new();
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        let begun =
            ["use ", "pub use ", "pub(crate) use ", "pub(super) use "].iter().find_map(|u| line.strip_prefix(u));
        let Some(begun) = begun else { continue };
        let mut whole = begun.to_string();
        while !whole.contains(';') {
            whole.push_str(lines.next().unwrap_or(";"));
        }
        let tree: String = whole.split(';').next().unwrap_or_default().to_string();
        spread(&tree, &[], &mut found);
    }
    found
}

/// Paths that stand in the code itself: `super::wires::end(…)`.
fn inline(text: &str) -> Vec<Vec<String>> {
    let mut found = Vec::new();
    for line in text.lines().filter(|line| !line.contains("use ")) {
        let code = line.split("//").next().unwrap_or_default();
        let words = code.split(|c: char| !(c.is_alphanumeric() || c == '_' || c == ':'));
        let paths = words.filter(|word| word.starts_with("super::") || word.starts_with("crate::"));
        found.extend(paths.map(|path| path.split("::").map(str::to_string).collect::<Vec<String>>()));
    }
    found
}

/// Spreads `a::{b, c::d}` into its paths.
fn spread(tree: &str, before: &[String], found: &mut Vec<Vec<String>>) {
    let tree = tree.trim();
    let Some((head, inner)) = tree.split_once('{') else {
        let path = tree.split(" as ").next().unwrap_or_default();
        let steps = path.split("::").map(|step| step.trim().to_string()).filter(|step| !step.is_empty());
        let whole: Vec<String> = before.iter().cloned().chain(steps).collect();
        if !whole.is_empty() && !tree.is_empty() {
            found.push(whole);
        }
        return;
    };
    let steps = head.split("::").map(|step| step.trim().to_string()).filter(|step| !step.is_empty());
    let before: Vec<String> = before.iter().cloned().chain(steps).collect();
    let inner = inner.strip_suffix('}').unwrap_or(inner);
    let (mut depth, mut start) = (0, 0);
    for (at, c) in inner.char_indices() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => {
                spread(&inner[start..at], &before, found);
                start = at + 1;
            }
            _ => {}
        }
    }
    spread(&inner[start..], &before, found);
}

#[test]
fn a_circle_is_found() {
    let file = |module: &str, text: &str| Source {
        path: module.to_string(),
        module: module.split('/').filter(|step| !step.is_empty()).map(str::to_string).collect(),
        text: text.to_string(),
    };
    let found = |files: Vec<Source>| circles(&Room { name: "room".into(), dependencies: BTreeSet::new(), files });
    let lib = || file("", "mod a;\nmod b;\npub use a::{One, Other};\npub use b::Two;\n");
    assert_eq!(
        found(vec![lib(), file("a", "use super::Two;\n"), file("b", "use crate::{Three,\n    a::One};\n")]),
        ["room: a <-> b"]
    );
    assert_eq!(found(vec![lib(), file("a", "use super::b::Two;\n"), file("b", "use std::fmt;\n")]), [""; 0]);
    assert_eq!(found(vec![lib(), file("a", "use crate::Two;\n"), file("b", "    use super::One;\n")]), [""; 0]);
}
