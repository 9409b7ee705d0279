//! Specs as models, for the unit tests of rooms that come before `job`. No room depends on this one but for its tests.

use catalogue::Catalogue;
use diagnostic::Style;
use files::Disk;
use form::{TextMap, Texts};
use model::{Draft, Model};
use std::path::Path;
use std::sync::LazyLock;

static CATALOGUE: LazyLock<Catalogue> = LazyLock::new(|| Catalogue::builtin().expect("the program's own parts"));

/// The model of a spec and its parts files, as the spec says it: where no gauge is given, none is chosen.
///
/// # Errors
/// The problems, as people see them.
pub fn resolved(texts: &dyn Texts, spec: &str) -> Result<Draft, String> {
    model::resolve(spec::read(texts, Path::new(spec)), &CATALOGUE)
        .map_err(|unreadable| diagnostic::problems(&unreadable.sources, &unreadable.problems, Style::PLAIN))
}

/// The model of a spec's text, with every gauge chosen; messages call the text `name`.
///
/// # Errors
/// The problems, as people see them.
pub fn of_text(name: &str, text: &str) -> Result<Model, String> {
    resolved(&TextMap::new([(name, text)]), name).map(size::choose)
}

/// The model of a spec's text that includes `parts.yaml`, with every gauge chosen.
///
/// # Panics
/// With the problems, as people see them.
pub fn with_parts(text: &str, parts: &str) -> Model {
    let texts = TextMap::new([("spec.yaml", text), ("parts.yaml", parts)]);
    resolved(&texts, "spec.yaml").map(size::choose).unwrap_or_else(|problems| panic!("{problems}"))
}

/// The model of a spec of this repository, by its path from the top, with every gauge chosen.
///
/// # Panics
/// With the problems, as people see them.
pub fn file(path: &str) -> Model {
    let path = format!("{}/../../{path}", env!("CARGO_MANIFEST_DIR"));
    resolved(&Disk::default(), &path).map(size::choose).unwrap_or_else(|problems| panic!("{problems}"))
}

/// The demonstration jobs, by name.
pub const DEMOS: [&str; 5] =
    ["first-harness", "orchard-sprayer-pickup", "boat-tow-pickup", "wheelchair-van", "refuse-truck"];

/// The model of a demonstration job, with every gauge chosen.
///
/// # Panics
/// With the problems, as people see them.
pub fn demo(name: &str) -> Model {
    file(&format!("harness-specs/{name}.yaml"))
}
