//! The tree walked into typed forms. Nothing stops at the first problem: a part of the file that can't be read is
//! left out of its form and told, and reading goes on.

use super::habits::habit;
use super::node::{Kind, Node};
use super::place::{Place, Problem, nearest, suggestion};
use super::values::Name;
use serde_json::{Map, Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Deref;

/// A type that stands in a file: how it is read, and the JSON Schema of what it accepts.
pub trait Form: Sized {
    /// Reads a value; `None` after telling the reader why not.
    fn read(node: &Node, reader: &mut Reader) -> Option<Self>;
    /// What a missing key means; `None` if it may not be missing.
    fn absent() -> Option<Self> {
        None
    }
    /// What stands in for a key that must be there and isn't, after that has been told.
    fn missing() -> Option<Self> {
        None
    }
    /// The JSON Schema of this form.
    fn schema(schemas: &mut Schemas) -> Value;
}

/// Unknown keys told of one map.
const MOST_UNKNOWN: usize = 20;

/// Malformed names that are looked for in a condition; a real spec has a few.
const MOST_LOOKED_FOR: usize = 100;

/// Places of one malformed name that are shown, beside its first.
const MOST_SAME: usize = 3;

/// Collects problems while forms are read.
#[derive(Debug, Default)]
pub struct Reader {
    /// All that was wrong, in the order met.
    pub problems: Vec<Problem>,
    /// Names that stand where nothing could be read.
    pub lost: Lost,
    /// For each malformed name, the problem that tells it.
    malformed: BTreeMap<String, usize>,
    /// For each unknown key, by its place, the key that it was taken for.
    taken_for: BTreeMap<Place, String>,
    /// How often something was told, further places of one problem counted.
    told: usize,
}

/// Names that were written, but where they could not be read: what refers to them is no further mistake.
#[derive(Debug, Clone, Default)]
pub struct Lost(BTreeSet<String>);

impl Lost {
    /// Whether a name, or one that differs from it in its case and its joints alone, is among them.
    pub fn holds(&self, name: &str) -> bool {
        self.0.contains(&bare(name))
    }

    /// Whether nothing was lost.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Takes up the names that an unreadable value may hold: keys, items of lists, and what stands under `name`.
    fn add(&mut self, node: &Node) {
        match &node.kind {
            Kind::Empty => {}
            Kind::Scalar(text) => {
                self.0.insert(bare(text));
                self.0.extend(text.split([',', ' ', '\t', '\n', '\r']).map(bare));
            }
            Kind::List(items) => items.iter().for_each(|item| self.add(item)),
            Kind::Map(entries) => {
                for (key, value) in entries {
                    self.0.insert(bare(&key.value));
                    let named = matches!(key.as_str(), "name" | "relay");
                    if named || !matches!(value.kind, Kind::Scalar(_)) {
                        self.add(value);
                    }
                }
            }
        }
    }
}

/// Letters and digits alone: `engine bay`, `Engine-Bay` and `engine_bay` are one.
fn bare(name: &str) -> String {
    name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

impl Reader {
    /// Notes a problem.
    pub fn tell(&mut self, problem: Problem) {
        self.told += 1;
        self.problems.push(problem);
    }

    /// How often something was told so far: what is read while this grows is dented.
    pub fn told(&self) -> usize {
        self.told
    }

    /// Takes a value as unreadable: names in it count as lost.
    pub fn lose(&mut self, node: &Node) {
        self.lost.add(node);
    }

    /// Tells of a malformed name. The same name again is no further problem, but a further place of the first.
    pub fn malformed(&mut self, text: &str, problem: Problem) {
        match (self.malformed.get(text), problem.place) {
            (Some(&first), Some(place)) => {
                self.told += 1;
                let also = &mut self.problems[first].also;
                if also.len() < MOST_SAME {
                    also.push((place, "again here".to_string()));
                }
            }
            _ => {
                self.malformed.insert(text.to_string(), self.problems.len());
                self.lost.0.insert(bare(text));
                self.tell(problem);
            }
        }
    }

    /// Whether a text holds a malformed name that has been told; it is then one more place of that.
    pub fn told_in(&mut self, text: &str, place: Place) -> bool {
        let within = |name: &&String| name.contains(char::is_alphanumeric) && text.contains(name.as_str());
        let Some(name) = self.malformed.keys().take(MOST_LOOKED_FOR).find(within).cloned() else { return false };
        self.malformed(&name, Problem::at(place, ""));
        true
    }

    /// The text of a scalar, or a problem that says what was expected.
    pub fn scalar<'n>(&mut self, node: &'n Node, expected: &str) -> Option<&'n str> {
        match &node.kind {
            Kind::Scalar(text) => Some(text),
            _ => {
                self.tell(Problem::at(node.place, format!("{expected} is needed here, not {}", node.shape())));
                None
            }
        }
    }

    /// The entries of a map, or a problem.
    pub fn map<'n>(&mut self, node: &'n Node, what: &str) -> Option<&'n [(Placed<String>, Node)]> {
        match &node.kind {
            Kind::Map(entries) => Some(entries),
            _ => {
                self.tell(
                    Problem::at(node.place, format!("{what} is a map of `key: value`, not {}", node.shape()))
                        .hint("indent its keys under it, or write {key: value, …}"),
                );
                None
            }
        }
    }

    /// Tells every key of a map that is none of `known`; of a map that has nothing but such keys, the first few.
    pub fn unknown_keys(&mut self, entries: &[(Placed<String>, Node)], known: &[&str], what: &str) {
        let unknown = entries.iter().filter(|(key, _)| !known.contains(&key.as_str()));
        for (key, value) in unknown.take(MOST_UNKNOWN) {
            self.lose(value);
            let habit = habit(key, known);
            if let Some(near) = habit.or_else(|| nearest(&key.value, known.iter().copied())) {
                self.taken_for.insert(key.place, near.to_string());
            }
            let hint = match value.kind {
                _ if habit.is_some() => format!("did you mean `{}`?", habit.unwrap_or_default()),
                _ if what == "a screen" && matches!(key.as_str(), "use" | "at" | "title") => {
                    "write the part itself under `parts`, and name it here: part: HU1".to_string()
                }
                Kind::Empty if key.value.starts_with(|c: char| c.is_ascii_digit()) => {
                    "if it belongs to the number before the comma, write a point: `3.5 m`".to_string()
                }
                // `{title: Plug, left side}`: the comma ends the title, and `left side` becomes a key without a value.
                Kind::Empty => "if it belongs to the text before the comma, put that text in quotes".to_string(),
                _ => suggestion(&key.value, known.iter().copied(), "its keys"),
            };
            self.tell(
                Problem::at(key.place, format!("`{}` is not a key of {what}", key.value))
                    .label("unknown key")
                    .hint(hint),
            );
        }
    }

    /// Reads one key of a map; a missing key is a problem unless the type says what missing means.
    pub fn field<T: Form>(
        &mut self,
        entries: &[(Placed<String>, Node)],
        key: &str,
        at: Place,
        what: &str,
    ) -> Option<T> {
        match entries.iter().find(|(k, _)| k.value == key) {
            // A form that can be absent falls back to that when its value can't be read, so that the rest of the
            // entry is still looked at; the problem has been told.
            Some((_, node)) => T::read(node, self).or_else(T::absent),
            None => T::absent().or_else(|| {
                let taken_for = |k: &Placed<String>| self.taken_for.get(&k.place).is_some_and(|near| near == key);
                if entries.iter().any(|(k, _)| taken_for(k)) {
                    return T::missing(); // Misspelt, which has been told.
                }
                self.tell(Problem::at(at, format!("{what} needs `{key}`")).label(format!("`{key}` is missing")));
                T::missing()
            }),
        }
    }
}

/// The named parts of a JSON Schema, filled while forms describe themselves.
#[derive(Debug, Default)]
pub struct Schemas {
    definitions: BTreeMap<String, Value>,
}

impl Schemas {
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

/// A value with the place where it was written.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Placed<T> {
    /// The value.
    pub value: T,
    /// Where it stands.
    pub place: Place,
}

impl<T> Deref for Placed<T> {
    type Target = T;
    fn deref(&self) -> &T {
        &self.value
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

impl<T: Form> Form for Vec<T> {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        match &node.kind {
            Kind::List(items) => {
                let mut all = Vec::new();
                for item in items {
                    match T::read(item, reader) {
                        Some(value) => all.push(value),
                        None => reader.lose(item),
                    }
                }
                Some(all)
            }
            Kind::Empty => Some(Vec::new()),
            _ => {
                reader.lose(node);
                reader.tell(
                    Problem::at(node.place, format!("a list is needed here, not {}", node.shape()))
                        .hint("start each item with `- `, or write [a, b]"),
                );
                None
            }
        }
    }
    fn absent() -> Option<Self> {
        Some(Vec::new())
    }
    fn schema(schemas: &mut Schemas) -> Value {
        json!({ "type": "array", "items": T::schema(schemas) })
    }
}

/// A key that must be there, in a form whose other keys are worth looking at even where this one can't be read.
#[derive(Debug, Clone)]
pub struct Needed<T>(pub Option<T>);

impl<T: Form> Form for Needed<T> {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        Some(Needed(T::read(node, reader)))
    }
    fn missing() -> Option<Self> {
        Some(Needed(None))
    }
    fn schema(schemas: &mut Schemas) -> Value {
        T::schema(schemas)
    }
}

/// One named thing of a map. Its name stands even where its body can't be read, so that what refers to it is not told
/// a second time.
#[derive(Debug, Clone)]
pub struct Entry<T> {
    /// The key.
    pub name: Placed<Name>,
    /// The value, if it could be read.
    pub body: Option<T>,
    /// Whether something of it was told.
    pub dented: bool,
}

/// A map from names to things, in the order written.
#[derive(Debug, Clone)]
pub struct Entries<T>(pub Vec<Entry<T>>);

impl<T> Default for Entries<T> {
    fn default() -> Self {
        Entries(Vec::new())
    }
}

impl<T> Entries<T> {
    /// Names and bodies of those that could be read.
    pub fn iter(&self) -> impl Iterator<Item = (&Placed<Name>, &T)> {
        self.0.iter().filter_map(|entry| entry.body.as_ref().map(|body| (&entry.name, body)))
    }

    /// Every name, whether or not its body could be read.
    pub fn names(&self) -> impl Iterator<Item = &Placed<Name>> + Clone {
        self.0.iter().map(|entry| &entry.name)
    }

    /// The body of a name.
    pub fn get(&self, name: &str) -> Option<&T> {
        self.iter().find(|(n, _)| n.as_str() == name).map(|(_, body)| body)
    }
}

impl<T: Form> Form for Entries<T> {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        if matches!(node.kind, Kind::Empty) {
            return Some(Entries::default());
        }
        let Some(entries) = reader.map(node, "this") else {
            reader.lose(node);
            return None;
        };
        let mut all = Vec::new();
        for (key, value) in entries {
            let name = Name::checked(&key.value, key.place, reader);
            let told = reader.told;
            // Read even where the name is of no use: what is wrong with the body is told in the same go.
            let body = T::read(value, reader);
            let dented = reader.told > told;
            let Some(name) = name else { continue };
            all.push(Entry { name: Placed { value: name, place: key.place }, body, dented });
        }
        Some(Entries(all))
    }
    fn absent() -> Option<Self> {
        Some(Entries::default())
    }
    fn schema(schemas: &mut Schemas) -> Value {
        json!({ "type": "object", "additionalProperties": T::schema(schemas) })
    }
}
