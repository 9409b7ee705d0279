//! Kinds of part: the program's own, and those that a shop or a spec adds.
//!
//! To add a part: write it in the file of its family under `data/`, with a source for every figure, or `typical`; look
//! at it with `loomwright parts NAME`; run the tests of this folder, which hold every part to its form, its sources and
//! its circuit.

pub mod figures;
pub mod part_form;
mod ranges;
mod vocabulary;

pub use vocabulary::VOCABULARY;

use form::{Entries, Form, Name, Problem, Reader, Sources};
use part_form::{PartForm, PartsFile};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// The program's own parts files, by name, in the order in which they are listed.
const FILES: &[(&str, &str)] = &[
    ("catalogue/relays.yaml", include_str!("data/relays.yaml")),
    ("catalogue/relays-more.yaml", include_str!("data/relays-more.yaml")),
    ("catalogue/solid-state.yaml", include_str!("data/solid-state.yaml")),
    ("catalogue/diodes.yaml", include_str!("data/diodes.yaml")),
    ("catalogue/protection.yaml", include_str!("data/protection.yaml")),
    ("catalogue/distribution.yaml", include_str!("data/distribution.yaml")),
    ("catalogue/switches.yaml", include_str!("data/switches.yaml")),
    ("catalogue/cameras.yaml", include_str!("data/cameras.yaml")),
    ("catalogue/screens.yaml", include_str!("data/screens.yaml")),
    ("catalogue/selectors.yaml", include_str!("data/selectors.yaml")),
    ("catalogue/modules.yaml", include_str!("data/modules.yaml")),
    ("catalogue/converters.yaml", include_str!("data/converters.yaml")),
    ("catalogue/audio.yaml", include_str!("data/audio.yaml")),
    ("catalogue/players-and-recorders.yaml", include_str!("data/players-and-recorders.yaml")),
    ("catalogue/loads.yaml", include_str!("data/loads.yaml")),
    ("catalogue/connectors.yaml", include_str!("data/connectors.yaml")),
    ("catalogue/splices-and-grounds.yaml", include_str!("data/splices-and-grounds.yaml")),
    ("catalogue/trailer.yaml", include_str!("data/trailer.yaml")),
];

/// Every kind of part that a spec can use.
#[derive(Debug, Clone, Default)]
pub struct Catalogue {
    parts: BTreeMap<String, Arc<PartForm>>,
    order: Vec<String>,
}

impl Catalogue {
    /// The program's own parts.
    ///
    /// # Errors
    /// Never for a released program; a test reads every file. The problems are handed on anyway, so that
    /// whoever edits a part sees what is wrong with it.
    pub fn builtin() -> Result<Catalogue, (Sources, Vec<Problem>)> {
        let mut catalogue = Catalogue::default();
        let mut sources = Sources::default();
        let mut reader = Reader::new(VOCABULARY);
        for (name, text) in FILES {
            let file = sources.add(Path::new(name), (*text).to_string());
            match form::node::parse(file, text) {
                Ok(root) => {
                    if let Some(parts) = PartsFile::read(&root, &mut reader) {
                        catalogue.add(&parts.parts);
                    }
                }
                Err(problems) => reader.problems.extend(problems),
            }
        }
        if reader.problems.is_empty() { Ok(catalogue) } else { Err((sources, reader.problems)) }
    }

    /// Adds parts; a part replaces an earlier one of the same name.
    pub fn add(&mut self, parts: &Entries<PartForm>) {
        for (name, part) in parts.iter() {
            if self.parts.insert(name.to_string(), Arc::new(part.clone())).is_none() {
                self.order.push(name.to_string());
            }
        }
    }

    /// A kind of part by name.
    pub fn get(&self, name: &str) -> Option<&Arc<PartForm>> {
        self.parts.get(name)
    }

    /// Every kind of part, families together, in the order of the files.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Arc<PartForm>)> {
        self.order.iter().map(|name| (name.as_str(), &self.parts[name]))
    }

    /// Every name.
    pub fn names(&self) -> impl Iterator<Item = &str> + Clone {
        self.order.iter().map(String::as_str)
    }
}

/// Names of a part's pins: those given, or the numbered cavities of a connector, splice or ground.
pub fn pin_names(form: &PartForm) -> Vec<Name> {
    let numbered = (1..=form.cavities.unwrap_or(0)).map(|n| Name::new(n.to_string()));
    form.pins.names().map(|n| n.value.clone()).chain(numbered).collect()
}

#[cfg(test)]
mod tests;
