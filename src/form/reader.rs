//! Reads the tree into typed forms and collects every problem. Reading does not stop at the first one: a value that
//! can't be read is reported, left out of its form, and reading goes on.

use super::node::{Kind, Node};
use super::place::{Place, Placed, Problem, nearest, suggestion};
use serde_json::{Map, Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::str::FromStr;

/// A type that can be read from a file, with the JSON Schema of the text it accepts.
pub trait Form: Sized {
    /// Reads a value; `None` after reporting why it can't be read.
    fn read(node: &Node, reader: &mut Reader) -> Option<Self>;
    /// What a missing key means; `None` if it may not be missing.
    fn absent() -> Option<Self> {
        None
    }
    /// The value of a required key that is missing, once that has been reported.
    fn missing() -> Option<Self> {
        None
    }
    /// The JSON Schema of this form.
    fn schema(schemas: &mut Schemas) -> Value;
}

/// Most unknown keys that are reported for one map.
const MOST_UNKNOWN: usize = 20;

/// Most malformed names that are searched for in a condition; a real spec has a few.
const MOST_LOOKED_FOR: usize = 100;

/// Most further places that are shown of one malformed name.
const MOST_SAME: usize = 3;

/// The words of the subject that the forms are about.
#[derive(Debug)]
pub struct Vocabulary {
    /// Keys that people write, each with the key that a form may have for it.
    pub synonyms: &'static [(&'static str, &'static str)],
    /// Keys whose value is the name of something.
    pub naming_keys: &'static [&'static str],
    /// The ranges of quantities.
    pub ranges: &'static [Allowed],
}

/// The range that a quantity may have, ends included. A key that takes two quantities has two of these.
#[derive(Debug)]
pub struct Allowed {
    /// Name of the form.
    pub form: &'static str,
    /// Its key.
    pub key: &'static str,
    /// The lowest value, as it is written in a file.
    pub lowest: &'static str,
    /// The highest.
    pub highest: &'static str,
}

/// No words.
const NO_WORDS: &Vocabulary = &Vocabulary { synonyms: &[], naming_keys: &[], ranges: &[] };

impl Vocabulary {
    /// The key among `known` that a key is a synonym of.
    fn meant<'k>(&self, key: &str, known: &[&'k str]) -> Option<&'k str> {
        let meant = self.synonyms.iter().filter(|(written, _)| *written == key).map(|(_, meant)| *meant);
        meant.filter_map(|meant| known.iter().find(|k| **k == meant).copied()).next()
    }

    /// The ranges of a key.
    pub fn ranges_of(&self, form: &str, key: &str) -> impl Iterator<Item = &'static Allowed> {
        self.ranges.iter().filter(move |range| range.form == form && range.key == key)
    }
}

/// The key that is being read.
#[derive(Debug, Clone, Default)]
struct Field {
    form: &'static str,
    key: String,
    /// Whether it may be left out.
    optional: bool,
}

/// Collects problems while forms are read.
#[derive(Debug)]
pub struct Reader {
    /// Every problem, in the order of reading.
    pub problems: Vec<Problem>,
    /// Names inside values that could not be read.
    pub unread: UnreadNames,
    vocabulary: &'static Vocabulary,
    field: Field,
    /// For each malformed name, the index of the problem that reports it.
    malformed: BTreeMap<String, usize>,
    /// For each unknown key, by its place, the known key that it seems to mean.
    taken_for: BTreeMap<Place, String>,
    /// Count of reports, further places of a problem included.
    reported: usize,
}

impl Default for Reader {
    fn default() -> Self {
        Reader::new(NO_WORDS)
    }
}

/// Names that stand in values that could not be read. A reference to one of them is not a second mistake.
#[derive(Debug, Clone, Default)]
pub struct UnreadNames(BTreeSet<String>);

impl UnreadNames {
    /// Whether a name is among them; case, hyphens and blanks don't count.
    pub fn holds(&self, name: &str) -> bool {
        self.0.contains(&bare(name))
    }

    /// Whether every value could be read.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Adds the names that a value may hold: keys, items of lists, and values of `naming_keys`.
    fn add(&mut self, node: &Node, naming_keys: &[&str]) {
        match &node.kind {
            Kind::Empty => {}
            Kind::Scalar(text) => {
                self.0.insert(bare(text));
                self.0.extend(text.split([',', ' ', '\t', '\n', '\r']).map(bare));
            }
            Kind::List(items) => items.iter().for_each(|item| self.add(item, naming_keys)),
            Kind::Map(entries) => {
                for (key, value) in entries {
                    self.0.insert(bare(&key.value));
                    let named = naming_keys.contains(&key.as_str());
                    if named || !matches!(value.kind, Kind::Scalar(_)) {
                        self.add(value, naming_keys);
                    }
                }
            }
        }
    }
}

/// A name's letters and digits: `engine bay`, `Engine-Bay` and `engine_bay` give the same.
fn bare(name: &str) -> String {
    name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

impl Reader {
    /// A reader that knows the words of a subject.
    pub fn new(vocabulary: &'static Vocabulary) -> Self {
        Reader {
            problems: Vec::new(),
            unread: UnreadNames::default(),
            vocabulary,
            field: Field::default(),
            malformed: BTreeMap::new(),
            taken_for: BTreeMap::new(),
            reported: 0,
        }
    }

    /// Adds a problem.
    pub fn report(&mut self, problem: Problem) {
        self.reported += 1;
        self.problems.push(problem);
    }

    /// Count of reports so far. A form is incomplete if this grows while it is read.
    pub fn reported(&self) -> usize {
        self.reported
    }

    /// Marks the names in a value that can't be read.
    pub fn mark_unread(&mut self, node: &Node) {
        self.unread.add(node, self.vocabulary.naming_keys);
    }

    /// Reports a malformed name. The same name elsewhere is added to that problem as a further place.
    pub fn malformed(&mut self, text: &str, problem: Problem) {
        match (self.malformed.get(text), problem.place) {
            (Some(&first), Some(place)) => {
                self.reported += 1;
                let also = &mut self.problems[first].also;
                if also.len() < MOST_SAME {
                    also.push((place, "again here".to_string()));
                }
            }
            _ => {
                self.malformed.insert(text.to_string(), self.problems.len());
                self.unread.0.insert(bare(text));
                self.report(problem);
            }
        }
    }

    /// Whether a text holds a malformed name that is already reported; if so, adds this place to that problem.
    pub fn reported_in(&mut self, text: &str, place: Place) -> bool {
        let within = |name: &&String| name.contains(char::is_alphanumeric) && text.contains(name.as_str());
        let Some(name) = self.malformed.keys().take(MOST_LOOKED_FOR).find(within).cloned() else { return false };
        self.malformed(&name, Problem::at(place, ""));
        true
    }

    /// The text of a scalar; reports what is expected if there is none.
    pub fn scalar<'n>(&mut self, node: &'n Node, expected: &str) -> Option<&'n str> {
        match &node.kind {
            Kind::Scalar(text) => Some(text),
            _ => {
                self.report(Problem::at(node.place, format!("{expected} is needed here, not {}", node.shape())));
                None
            }
        }
    }

    /// The entries of a map; reports if there is none.
    pub fn map<'n>(&mut self, node: &'n Node, what: &str) -> Option<&'n [(Placed<String>, Node)]> {
        match &node.kind {
            Kind::Map(entries) => Some(entries),
            _ => {
                self.report(
                    Problem::at(node.place, format!("{what} is a map of `key: value`, not {}", node.shape()))
                        .hint("put its keys on indented lines below it, or write {key: value, …}"),
                );
                None
            }
        }
    }

    /// Reports the keys of a map that are not `known`, up to [`MOST_UNKNOWN`]. `advice`: what to do about certain keys.
    pub fn unknown_keys(
        &mut self,
        entries: &[(Placed<String>, Node)],
        known: &[&str],
        what: &str,
        advice: &[(&str, &str)],
    ) {
        let unknown = entries.iter().filter(|(key, _)| !known.contains(&key.as_str()));
        for (key, value) in unknown.take(MOST_UNKNOWN) {
            self.mark_unread(value);
            let meant = self.vocabulary.meant(key, known);
            if let Some(near) = meant.or_else(|| nearest(&key.value, known.iter().copied())) {
                self.taken_for.insert(key.place, near.to_string());
            }
            let advised = advice.iter().find(|(of, _)| *of == key.as_str());
            let hint = match (&value.kind, meant, advised) {
                (_, Some(meant), _) => format!("did you mean `{meant}`?"),
                (_, _, Some((_, advice))) => advice.to_string(),
                (Kind::Empty, ..) if key.value.starts_with(|c: char| c.is_ascii_digit()) => {
                    "if it belongs to the number before the comma, write a point: `3.5 m`".to_string()
                }
                // `{title: Plug, left side}`: the comma ends the title, and `left side` becomes a key without a value.
                (Kind::Empty, ..) => "if it belongs to the text before the comma, put that text in quotes".to_string(),
                _ => suggestion(&key.value, known.iter().copied(), "its keys"),
            };
            self.report(
                Problem::at(key.place, format!("`{}` is not a key of {what}", key.value))
                    .label("unknown key")
                    .hint(hint),
            );
        }
    }

    /// Whether a quantity is within the range of the key being read; reports it if not.
    pub(crate) fn is_allowed<Q: FromStr + PartialOrd>(&mut self, value: &Q, text: &str, place: Place) -> bool {
        let Field { form, key, optional } = self.field.clone();
        let ends = |range: &Allowed| Some((range.lowest.parse::<Q>().ok()?, range.highest.parse::<Q>().ok()?));
        let mut ranges = self.vocabulary.ranges_of(form, &key);
        let Some((range, (lowest, highest))) = ranges.find_map(|range| Some((range, ends(range)?))) else {
            return true;
        };
        if lowest <= *value && *value <= highest {
            return true;
        }
        let (lowest, highest) = (range.lowest, range.highest);
        let message = format!("`{key}` is {text}: it must be from {lowest} to {highest}");
        let hint = match optional {
            true => "check the unit and the decimal point, or leave the key out",
            false => "check the unit and the decimal point",
        };
        self.report(Problem::at(place, message).label(format!("from {lowest} to {highest}")).hint(hint));
        false
    }

    /// Reads a value that stands at a key of a form.
    pub fn at_key<T>(&mut self, form: &'static str, key: &str, optional: bool, read: impl FnOnce(&mut Self) -> T) -> T {
        let outer = std::mem::replace(&mut self.field, Field { form, key: key.to_string(), optional });
        let value = read(self);
        self.field = outer;
        value
    }

    /// Reads one key of a map. A missing key is reported unless its type says what that means.
    pub fn field<T: Form>(
        &mut self,
        entries: &[(Placed<String>, Node)],
        key: &str,
        at: Place,
        (form, what): (&'static str, &str),
    ) -> Option<T> {
        match entries.iter().find(|(k, _)| k.value == key) {
            // Falls back to what an absent key means, so that the rest of the entry is still read.
            Some((_, node)) => {
                let optional = T::absent().is_some();
                self.at_key(form, key, optional, |reader| T::read(node, reader)).or_else(T::absent)
            }
            None => T::absent().or_else(|| {
                let taken_for = |k: &Placed<String>| self.taken_for.get(&k.place).is_some_and(|near| near == key);
                if entries.iter().any(|(k, _)| taken_for(k)) {
                    return T::missing(); // Misspelt: already reported.
                }
                self.report(Problem::at(at, format!("{what} needs `{key}`")).label(format!("`{key}` is missing")));
                T::missing()
            }),
        }
    }
}

/// The named parts of a JSON Schema, filled while forms describe themselves.
#[derive(Debug)]
pub struct Schemas {
    vocabulary: &'static Vocabulary,
    definitions: BTreeMap<String, Value>,
}

impl Schemas {
    /// None yet, of forms about a subject.
    pub fn new(vocabulary: &'static Vocabulary) -> Self {
        Schemas { vocabulary, definitions: BTreeMap::new() }
    }

    /// A key's description with the range of its quantity.
    pub fn described(&self, form: &str, key: &str, words: &str) -> String {
        let ranges = self.vocabulary.ranges_of(form, key);
        let ranges: Vec<String> = ranges.map(|range| format!("{} to {}", range.lowest, range.highest)).collect();
        if ranges.is_empty() { words.to_string() } else { format!("{words} From {}.", ranges.join(", or ")) }
    }

    /// A reference to a named schema, made on first use.
    pub fn named(&mut self, name: &str, make: impl FnOnce(&mut Self) -> Value) -> Value {
        if !self.definitions.contains_key(name) {
            self.definitions.insert(name.to_string(), Value::Null);
            let made = make(self);
            self.definitions.insert(name.to_string(), made);
        }
        json!({ "$ref": format!("#/$defs/{name}") })
    }

    /// The whole schema document, with `root` at its top.
    pub fn document(self, title: &str, root: Value) -> Value {
        let mut top = Map::new();
        top.insert("$schema".into(), json!("https://json-schema.org/draft/2020-12/schema"));
        top.insert("title".into(), json!(title));
        if let Value::Object(root) = root {
            top.extend(root);
        }
        top.insert("$defs".into(), json!(self.definitions));
        Value::Object(top)
    }
}

impl<T: Form> Form for Placed<T> {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        T::read(node, reader).map(|value| Placed { value, place: node.place })
    }
    fn schema(schemas: &mut Schemas) -> Value {
        T::schema(schemas)
    }
}

impl<T: Form> Form for Option<T> {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        T::read(node, reader).map(Some)
    }
    fn absent() -> Option<Self> {
        Some(None)
    }
    fn schema(schemas: &mut Schemas) -> Value {
        T::schema(schemas)
    }
}
