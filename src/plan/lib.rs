//! From what the driver should see to wiring that does it. In: a wish, which is a spec with holes; out: a complete spec
//! that the same checks as on the command line pass, or why there is none.
//!
//! `wish` reads it. `combos` lists every combination of positions. `targets` says what each trigger and each load must do,
//! as sets of combinations. `signals` are what the vehicle offers. `cover` makes terms of these, `network` contacts of the
//! terms, `assemble` and `complete` parts and nets of the contacts, `lay` wires, `write` text. `search` tries candidates,
//! and `judge` has the last word: nothing goes out that `check` does not pass without errors and warnings.

mod assemble;
mod choose;
mod combos;
mod complete;
mod conflict;
mod contradict;
mod cover;
mod harness;
mod judge;
mod kit;
mod lay;
mod network;
mod search;
mod selector;
mod signals;
mod targets;
mod wish;
mod write;

pub use conflict::Refusal;
pub use search::Proposal;

use catalogue::Catalogue;
use form::{Sources, Texts};
use model::Unreadable;
use std::path::Path;

/// Why there is no proposal.
#[derive(Debug)]
pub enum Unplanned {
    /// The wish can't be read.
    Unreadable(Unreadable),
    /// It can be read, but not granted; with the texts, to show the lines.
    Refused(Sources, Refusal),
}

/// Plans the wish at `path`, which `texts` finds. `builtin` is the program's own catalogue.
///
/// # Errors
/// Why there is no proposal.
pub fn plan(texts: &dyn Texts, path: &Path, builtin: &Catalogue) -> Result<Proposal, Unplanned> {
    let wish = wish::WishRead::read(texts, path, builtin).map_err(Unplanned::Unreadable)?;
    let sources = || spec::read(texts, path).sources;
    search::search(texts, path, &wish).map_err(|refusal| Unplanned::Refused(sources(), refusal))
}
