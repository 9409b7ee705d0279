//! The house: the rooms and what each may depend on are those of the table in DEVELOPERS.md; within a room no two files
//! use each other; files are short; a public type's name means one thing.

#[path = "rooms/circles.rs"]
mod circles;
#[path = "rooms/sources.rs"]
mod sources;

use sources::{Room, Size, Source, rooms};
use std::collections::{BTreeMap, BTreeSet};

const DEVELOPERS: &str = include_str!("../DEVELOPERS.md");

const LOCK: &str = include_str!("../Cargo.lock");

/// Most lines of a file.
const MOST_LINES: usize = 420;

/// Most methods or fields of a type whose methods stand in more than one file.
const MOST_SHARED: usize = 22;

/// The table's rows, in its order: a room, and the rooms that it may depend on.
fn table() -> Vec<(String, BTreeSet<String>)> {
    let (_, table) = DEVELOPERS.split_once("\n| room |").expect("DEVELOPERS.md has a table of rooms");
    let rows = table.lines().skip(2).take_while(|line| line.starts_with('|'));
    let names = |cell: &str| cell.split('`').skip(1).step_by(2).map(str::to_string).collect::<Vec<String>>();
    rows.map(|row| {
        let cells: Vec<&str> = row.trim_matches('|').split('|').collect();
        let [room, .., uses] = cells[..] else { panic!("a row without cells: {row}") };
        let room = names(room).pop().unwrap_or_else(|| panic!("a row without a room: {row}"));
        // `draw/kit` is the crate `kit`.
        let name = room.rsplit('/').next().unwrap_or_default().to_string();
        (name, names(uses).into_iter().collect())
    })
    .collect()
}

/// Fails with what is found.
fn none(what: &str, found: BTreeSet<String>) {
    let lines: String = found.iter().map(|name| format!("  {name}\n")).collect();
    assert!(found.is_empty(), "{what}:\n{lines}");
}

#[test]
fn every_room_has_its_row_and_every_row_its_room() {
    let rows: BTreeSet<String> = table().into_iter().map(|(room, _)| room).collect();
    let there: BTreeSet<String> = rooms().into_iter().map(|room| room.name).collect();
    assert_eq!(rows, there, "rows of the table in DEVELOPERS.md, and crates under src");
}

/// A dependency is one that the table allows, of a room further up, and the room's sources use it.
#[test]
fn rooms_depend_on_what_the_table_allows() {
    let table = table();
    let mut faults = Vec::new();
    let mut above = BTreeSet::new();
    for (name, allowed) in &table {
        let upwards = allowed.iter().filter(|other| !above.contains(*other));
        faults.extend(upwards.map(|other| format!("{name}: the table lets it use {other}, which is not above it")));
        above.insert(name.clone());
    }
    let allowed: BTreeMap<String, BTreeSet<String>> = table.into_iter().collect();
    let all = rooms();
    for room in &all {
        let Some(allowed) = allowed.get(&room.name) else { continue };
        for other in all.iter().map(|other| &other.name).filter(|other| **other != room.name) {
            let (declared, used) = (room.dependencies.contains(other), room.uses(other));
            if declared && !allowed.contains(other) {
                faults.push(format!("{} depends on {other}", room.name));
            }
            if declared && !used {
                faults.push(format!("{} declares {other} and does not use it", room.name));
            }
            if used && !declared {
                faults.push(format!("{} uses {other} and does not declare it", room.name));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn no_two_files_of_a_room_use_each_other() {
    let found = rooms().iter().flat_map(circles::circles).collect();
    none("files that use each other", found);
}

#[test]
fn files_are_short() {
    let long = |room: &Room| -> Vec<String> {
        let long = room.files.iter().filter(|file| file.text.lines().count() > MOST_LINES);
        long.map(|file| file.path.clone()).collect()
    };
    none("files of more than 420 lines", rooms().iter().flat_map(long).collect());
}

/// The types of one file, a line for each method and field.
type Sizes = Vec<(String, Size)>;

/// A type that several files add methods to hides what depends on what, so it stays small.
#[test]
fn a_type_shared_by_files_is_small() {
    let mut large = BTreeSet::new();
    for room in rooms() {
        let sizes: Vec<(&Source, Sizes)> = room.files.iter().map(|file| (file, sources::sizes(file))).collect();
        let declares = |name: &str, found: &Sizes| found.iter().any(|(n, size)| n == name && size.fields > 0);
        // Private types of one name are distinguished by the file that declares the fields: the nearest one.
        let owner = |file: &Source, name: &str| {
            let declaring = sizes.iter().filter(|(_, found)| declares(name, found)).map(|(at, _)| *at);
            let shared = |at: &&Source| at.module.iter().zip(&file.module).take_while(|(a, b)| a == b).count();
            let own = |at: &&Source| (at.path == file.path, shared(at));
            declaring.max_by_key(own).map_or_else(String::new, |at| at.path.clone())
        };
        let mut types: BTreeMap<(String, String), (BTreeSet<&str>, Size)> = BTreeMap::new();
        for (file, found) in &sizes {
            for (name, size) in found {
                let (files, sum) = types.entry((name.clone(), owner(file, name))).or_default();
                if size.methods > 0 {
                    files.insert(&file.path);
                }
                sum.methods += size.methods;
                sum.fields += size.fields;
            }
        }
        for ((name, _), (files, sum)) in types {
            if files.len() > 1 && sum.methods.max(sum.fields) > MOST_SHARED {
                let Size { methods, fields } = sum;
                large.insert(format!(
                    "{}: {name}, {methods} methods and {fields} fields in {} files",
                    room.name,
                    files.len()
                ));
            }
        }
    }
    none("large types shared by files", large);
}

#[test]
fn a_public_type_means_one_thing() {
    let mut by_name: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for room in rooms() {
        for name in room.files.iter().flat_map(sources::public_types) {
            by_name.entry(name).or_default().insert(room.name.clone());
        }
    }
    let twice = by_name.into_iter().filter(|(_, rooms)| rooms.len() > 1);
    let line = |(name, rooms): (String, BTreeSet<String>)| {
        format!("{name} in {}", rooms.into_iter().collect::<Vec<String>>().join(", "))
    };
    none("public types of one name in several rooms", twice.map(line).collect());
}

/// `pest` 2.9 compiles a stack guard for 20 s, and an update of any package can bring it back. We only print DOT, so `pest`
/// stays at 2.8: `cargo update -p pest_generator --precise 2.8.3`, then the same with `pest_meta` and `pest`.
#[test]
fn the_lock_file_keeps_pest_without_its_stack_guard() {
    assert!(LOCK.contains("name = \"pest\""), "the lock file has no pest at all: this test is out of date");
    assert!(!LOCK.contains("name = \"stacker\""), "Cargo.lock has `stacker` again: keep pest at 2.8");
}

/// A type that is renamed by a script must not take printed words along: no sheet, page or list of the demos has the name of
/// a type in it.
#[test]
fn no_type_of_the_program_is_printed() {
    let two_words = |name: &String| name.chars().skip(1).any(char::is_uppercase) && name.contains(char::is_lowercase);
    let types: BTreeSet<String> =
        (rooms().iter().flat_map(|room| &room.files)).flat_map(sources::public_types).filter(two_words).collect();
    assert!(types.contains("StateCondition") && types.len() > 100, "{types:?}");
    let mut found = BTreeSet::new();
    for demo in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/demo-builds")).unwrap() {
        for file in std::fs::read_dir(demo.unwrap().path()).unwrap() {
            let path = file.unwrap().path();
            // The PDF says what the page says, and the workbook what the lists say.
            if path.extension().is_some_and(|ending| ending == "pdf" || ending == "xlsx") {
                continue;
            }
            let text = std::fs::read_to_string(&path).unwrap();
            let words: BTreeSet<&str> = text.split(|c: char| !c.is_alphanumeric()).collect();
            let printed = types.iter().filter(|name| words.contains(name.as_str()));
            found.extend(printed.map(|name| format!("{name} in {}", path.display())));
        }
    }
    none("type names in print", found);
}
