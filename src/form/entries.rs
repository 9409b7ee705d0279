//! Lists, required keys, and maps of named entries in the order written.

use super::node::{Kind, Node};
use super::place::Placed;
use super::place::Problem;
use super::reader::{Form, Reader, Schemas};
use super::values::Name;
use serde_json::{Value, json};

impl<T: Form> Form for Vec<T> {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        match &node.kind {
            Kind::List(items) => {
                let mut all = Vec::new();
                for item in items {
                    match T::read(item, reader) {
                        Some(value) => all.push(value),
                        None => reader.mark_unread(item),
                    }
                }
                Some(all)
            }
            Kind::Empty => Some(Vec::new()),
            _ => {
                reader.mark_unread(node);
                reader.report(
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

/// A required key of a form whose other keys are read even if this one can't be.
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

/// One named entry of a map. Its name is kept even if its body can't be read, so that a reference to it is not reported
/// as a second mistake.
#[derive(Debug, Clone)]
pub struct Entry<T> {
    /// The key.
    pub name: Placed<Name>,
    /// The value, if it could be read.
    pub body: Option<T>,
    /// Whether a problem was reported in it.
    pub incomplete: bool,
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
    /// Names and bodies of the entries that were read without error.
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
            reader.mark_unread(node);
            return None;
        };
        let mut all = Vec::new();
        for (key, value) in entries {
            let name = Name::checked(&key.value, key.place, reader);
            let reported = reader.reported();
            // Read the body even if the name is malformed, to report its problems in the same run.
            let body = T::read(value, reader);
            let incomplete = reader.reported() > reported;
            let Some(name) = name else { continue };
            all.push(Entry { name: Placed { value: name, place: key.place }, body, incomplete });
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
