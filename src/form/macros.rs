//! Declares a form once. The doc comments become the schema's descriptions and the reference's words.

// What the macro writes in other rooms; they need not depend on these.
#[doc(hidden)]
pub use {serde, serde_json};

/// A map with fixed keys: `form! { /// doc  pub struct Wire ("a wire") { /// doc  pub from: Placed<End>, … } }`.
/// A field's key is its name with `-` for `_`; a trailing `_` is dropped (`use_` is `use`). After the form's name may stand
/// advice: a slice of unknown keys, each with what to do about it.
#[macro_export]
#[doc(hidden)]
macro_rules! form {
    ($(#[doc = $doc:literal])* pub struct $name:ident ($what:literal $(, $advice:expr)?) {
        $( $(#[doc = $fdoc:literal])+ pub $field:ident : $ty:ty ),+ $(,)?
    }) => {
        $(#[doc = $doc])*
        #[derive(Debug, Clone)]
        pub struct $name {
            $( $(#[doc = $fdoc])+ pub $field: $ty, )+
            /// Whether a problem was reported in it and a value left out: what follows from that is not reported.
            pub incomplete: bool,
        }

        impl $crate::Form for $name {
            fn read(node: &$crate::Node, reader: &mut $crate::Reader) -> Option<Self> {
                let reported = reader.reported();
                let entries = reader.map(node, $what)?;
                let keys: Vec<String> = vec![$( $crate::macros::key(stringify!($field)) ),+];
                let known: Vec<&str> = keys.iter().map(String::as_str).collect();
                let advice: &[&[(&str, &str)]] = &[$( $advice )?];
                reader.unknown_keys(entries, &known, $what, &advice.concat());
                $( let $field: Option<$ty> =
                    reader.field(entries, &$crate::macros::key(stringify!($field)), node.place, (stringify!($name), $what)); )+
                Some($name { $( $field: $field?, )+ incomplete: reader.reported() > reported })
            }
            fn schema(schemas: &mut $crate::Schemas) -> $crate::macros::serde_json::Value {
                schemas.named(stringify!($name), |schemas| {
                    let mut object = $crate::macros::ObjectSchema::new(stringify!($name), &[$($doc),*]);
                    $( object.field::<$ty>(stringify!($field), &[$($fdoc),+], schemas); )+
                    object.finish()
                })
            }
        }
    };
    // One word out of a list.
    ($(#[doc = $doc:literal])* pub enum $name:ident ($what:literal) {
        $( $(#[doc = $vdoc:literal])+ $variant:ident = $word:literal ),+ $(,)?
    }) => {
        $(#[doc = $doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub enum $name { $( $(#[doc = $vdoc])+ $variant, )+ }

        impl $name {
            /// Every word with its variant.
            pub const ALL: &'static [(&'static str, $name)] = &[$( ($word, $name::$variant) ),+];
            /// The word in the file.
            pub fn word(self) -> &'static str {
                match self { $( $name::$variant => $word, )+ }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result { f.pad(self.word()) }
        }

        impl $crate::macros::serde::Serialize for $name {
            fn serialize<S: $crate::macros::serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.serialize_str(self.word())
            }
        }

        impl $crate::Form for $name {
            fn read(node: &$crate::Node, reader: &mut $crate::Reader) -> Option<Self> {
                let text = reader.scalar(node, $what)?;
                let found = $name::ALL.iter().find(|(word, _)| *word == text).map(|(_, variant)| *variant);
                if found.is_none() {
                    let words = $name::ALL.iter().map(|(word, _)| *word);
                    reader.report(
                        $crate::Problem::at(node.place, format!(concat!("`{}` is not ", $what), text))
                            .hint($crate::place::suggestion(text, words, "choices")),
                    );
                }
                found
            }
            fn schema(schemas: &mut $crate::Schemas) -> $crate::macros::serde_json::Value {
                schemas.named(stringify!($name), |_| {
                    let choices: Vec<$crate::macros::serde_json::Value> = vec![$(
                        $crate::macros::serde_json::json!({ "const": $word, "description": $crate::macros::prose(&[$($vdoc),+]) })
                    ),+];
                    $crate::macros::serde_json::json!({ "description": $crate::macros::prose(&[$($doc),*]), "oneOf": choices })
                })
            }
        }
    };
    // A map of exactly one key, which says which of several forms its value has.
    ($(#[doc = $doc:literal])* pub union $name:ident ($what:literal) {
        $( $(#[doc = $vdoc:literal])+ $variant:ident ($ty:ty) = $word:literal ),+ $(,)?
    }) => {
        $(#[doc = $doc])*
        #[derive(Debug, Clone)]
        pub enum $name { $( $(#[doc = $vdoc])+ $variant($ty), )+ }

        impl $crate::Form for $name {
            fn read(node: &$crate::Node, reader: &mut $crate::Reader) -> Option<Self> {
                let entries = reader.map(node, $what)?;
                let words = [$( $word ),+];
                let [(key, value)] = entries else {
                    reader.report($crate::Problem::at(node.place, concat!($what, " has exactly one key"))
                        .hint(format!("one of: {}", words.join(", "))));
                    return None;
                };
                match key.value.as_str() {
                    $( $word => <$ty as $crate::Form>::read(value, reader).map($name::$variant), )+
                    _ => { reader.unknown_keys(entries, &words, $what, &[]); None }
                }
            }
            fn schema(schemas: &mut $crate::Schemas) -> $crate::macros::serde_json::Value {
                schemas.named(stringify!($name), |schemas| {
                    let mut choices = Vec::new();
                    $( choices.push($crate::macros::serde_json::json!({
                        "type": "object", "required": [$word], "additionalProperties": false,
                        "description": $crate::macros::prose(&[$($vdoc),+]),
                        "properties": { $word: <$ty as $crate::Form>::schema(schemas) }
                    })); )+
                    $crate::macros::serde_json::json!({ "description": $crate::macros::prose(&[$($doc),*]), "oneOf": choices })
                })
            }
        }
    };
}

use super::reader::{Form, Schemas};
use serde_json::{Map, Value, json};

/// A field's key in the file.
pub fn key(field: &str) -> String {
    field.trim_end_matches('_').replace('_', "-")
}

/// Doc comment lines as running text.
pub fn prose(lines: &[&str]) -> String {
    lines.iter().map(|line| line.trim()).collect::<Vec<_>>().join(" ").trim().to_string()
}

/// Puts together the schema of a map with fixed keys.
pub struct ObjectSchema {
    form: &'static str,
    description: String,
    properties: Map<String, Value>,
    required: Vec<String>,
}

impl ObjectSchema {
    /// Starts with the form's own words.
    pub fn new(form: &'static str, doc: &[&str]) -> Self {
        ObjectSchema { form, description: prose(doc), properties: Map::new(), required: Vec::new() }
    }

    /// Adds a key.
    pub fn field<T: Form>(&mut self, field: &str, doc: &[&str], schemas: &mut Schemas) {
        let mut schema = T::schema(schemas);
        if let Value::Object(object) = &mut schema {
            let words = schemas.described(self.form, &key(field), &prose(doc));
            object.insert("description".into(), json!(words));
        }
        if T::absent().is_none() {
            self.required.push(key(field));
        }
        self.properties.insert(key(field), schema);
    }

    /// The finished schema.
    pub fn finish(self) -> Value {
        json!({
            "type": "object",
            "description": self.description,
            "additionalProperties": false,
            "required": self.required,
            "properties": self.properties,
        })
    }
}
