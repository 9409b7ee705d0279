//! The ground floor of reading: YAML text in, a tree of values with their places out, and the means to say which
//! forms a file may have.
//!
//! [`node`] makes the tree and refuses hostile input; [`reader`] walks it into typed forms and collects every problem
//! on the way; [`macros`] declares a form once, from which reading and the JSON Schema both follow.

pub mod colour;
pub mod condition;
mod entries;
pub mod file_kind;
mod insert;
pub mod macros;
pub mod node;
pub mod place;
pub mod reader;
pub mod texts;
pub mod values;

pub use colour::Colour;
pub use condition::{Condition, Expr};
pub use entries::{Entries, Entry, Needed};
pub use insert::{Addition, AdditionKind, with_additions};
pub use node::{Kind, Node};
pub use place::{Place, Placed, Problem, SourceFile, Sources};
pub use reader::{Allowed, Form, Reader, Schemas, UnreadNames, Vocabulary};
pub use texts::{TextMap, Texts};
pub use values::{End, Name, Range, Text, YesNo};
