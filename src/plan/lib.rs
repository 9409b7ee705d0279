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
mod comparison;
mod complete;
mod conflict;
mod contradict;
mod costs;
mod cover;
mod explain;
mod figures;
mod harness;
mod judge;
mod kinds;
mod kit;
mod lay;
mod network;
mod search;
mod selector;
mod signals;
mod start;
mod targets;
mod wish;
mod words;
mod write;

pub use comparison::comparison;
pub use conflict::Refusal;
pub use costs::{CostTable, WrongCosts};
pub use explain::PlannedReason;
pub use figures::{FailureFigure, FeedFigure, ProposalFigures};
pub use kinds::ProposalKind;
pub use search::Proposal;
pub use start::{StartAnswers, wish_text};

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
    searched(texts, path, &wish, ProposalKind::FewestParts)
}

fn searched(texts: &dyn Texts, path: &Path, wish: &wish::WishRead, kind: ProposalKind) -> Result<Proposal, Unplanned> {
    let sources = || spec::read(texts, path).sources;
    search::search(texts, path, wish, kind).map_err(|refusal| Unplanned::Refused(sources(), refusal))
}

/// What each part and each wire of a proposal is for: what is lost without it. `path` is that of the wish.
pub fn explain(texts: &dyn Texts, path: &Path, proposal: &Proposal) -> Vec<PlannedReason> {
    judge::reasons_of(texts, path, &proposal.text).unwrap_or_default()
}

/// A proposal among others.
#[derive(Debug, Clone)]
pub struct ProposalChoice {
    /// Its kind.
    pub kind: ProposalKind,
    /// The proposal.
    pub proposal: Proposal,
    /// Its figures.
    pub figures: ProposalFigures,
}

/// Plans the wish at `path` in up to `MOST` ways that differ, the one with the fewest parts first.
///
/// # Errors
/// Why there is not even the first.
pub fn choices(
    texts: &dyn Texts,
    path: &Path,
    builtin: &Catalogue,
    costs: &CostTable,
) -> Result<Vec<ProposalChoice>, Unplanned> {
    let wish = wish::WishRead::read(texts, path, builtin).map_err(Unplanned::Unreadable)?;
    let mut all: Vec<ProposalChoice> = Vec::new();
    for kind in ProposalKind::ALL {
        let proposal = match searched(texts, path, &wish, kind) {
            Ok(proposal) => proposal,
            Err(why) if all.is_empty() => return Err(why),
            Err(_) => continue,
        };
        if all.len() == MOST || all.iter().any(|known| known.proposal.text == proposal.text) {
            continue;
        }
        let added = figures::AddedThings {
            families: proposal.families.clone(),
            wires: proposal.wires,
            splices: proposal.splices,
        };
        let Some(figures) = judge::figures(texts, path, &proposal.text, &added, costs) else {
            return Err(Unplanned::Refused(spec::read(texts, path).sources, Refusal::Interrupted));
        };
        all.push(ProposalChoice { kind, proposal, figures });
    }
    Ok(all)
}

/// Proposals that are offered.
pub const MOST: usize = 3;
