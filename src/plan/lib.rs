//! From what the driver should see to wiring that does it. In: a wish, which is a spec with holes; out: a complete spec
//! that the same checks as on the command line pass, or why there is none.
//!
//! `wish` reads it. `combos` lists every combination of positions. `targets` says what each trigger and each load must do,
//! as sets of combinations. `signals` are what the vehicle offers. `cover` makes terms of these, `network` contacts of the
//! terms, `assemble` and `complete` parts and nets of the contacts, `lay` wires, `write` text. `search` tries candidates,
//! and `judge` has the last word: nothing goes out that `check` does not pass without errors and warnings.

mod again;
mod assemble;
mod attempts;
mod awake;
mod bound;
mod breaks;
mod changes;
mod choice;
mod choose;
mod combos;
mod comparison;
mod complete;
mod conditions;
mod conflict;
mod contradict;
mod costs;
mod cover;
mod distances;
mod earlier;
mod explain;
mod feeds;
mod figures;
mod harness;
mod judge;
mod kept;
mod kinds;
mod kit;
mod lay;
mod left;
mod logic;
mod minimal;
mod network;
mod page;
mod pictures;
mod prove;
#[cfg(test)]
mod published;
mod remedies;
mod search;
mod sections;
mod selector;
mod signals;
mod sound;
mod start;
mod targets;
mod texts;
mod wish;
mod words;
mod write;

pub use again::{Replanned, plan_again};
pub use changes::{ChangeKind, PlanChange};
pub use comparison::comparison;
pub use conflict::Refusal;
pub use costs::{CostTable, WrongCosts};
pub use explain::PlannedReason;
pub use figures::{FailureFigure, FeedFigure, ProposalFigures};
pub use kinds::ProposalKind;
pub use logic::LogicProof;
pub use page::{choices_page, proposal_table};
pub use prove::Proposal;
pub use start::{StartAnswers, wish_text};

use catalogue::Catalogue;
use form::{Sources, Texts};
use model::Unreadable;
use prove::AskedOf;
use std::path::Path;
use wish::WishRead;

/// Why there is no proposal.
#[derive(Debug)]
pub enum Unplanned {
    /// The wish can't be read.
    Unreadable(Unreadable),
    /// The earlier spec can't be read.
    Earlier(Unreadable),
    /// It can be read, but not granted; with the texts, to show the lines.
    Refused(Sources, Refusal),
}

/// Plans the wish at `path`, which `texts` finds. `builtin` is the program's own catalogue. If `explains`, the spec says
/// for what each part and wire is.
///
/// # Errors
/// Why there is no proposal.
pub fn plan(texts: &dyn Texts, path: &Path, builtin: &Catalogue, explains: bool) -> Result<Proposal, Unplanned> {
    let wish = WishRead::read(texts, path, builtin).map_err(Unplanned::Unreadable)?;
    let asked = AskedOf { kind: ProposalKind::FewestParts, earlier: None, explains, costs: None, passed: None };
    searched(texts, path, &wish, &asked)
}

fn searched(texts: &dyn Texts, path: &Path, wish: &WishRead, asked: &AskedOf) -> Result<Proposal, Unplanned> {
    let sources = || spec::read(texts, path).sources;
    search::search(texts, path, wish, asked).map_err(|refusal| Unplanned::Refused(sources(), refusal))
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

/// The title of the wish at `path`; nothing if it can't be read.
pub fn title(texts: &dyn Texts, path: &Path) -> Option<String> {
    let job = spec::read(texts, path).form?.job.0?;
    Some(job.title.0?.value.0)
}

/// The proposals of a wish, the one with the fewest parts first, and the kinds that are not among them.
#[derive(Debug, Clone)]
pub struct ProposalChoices {
    /// Up to `MOST`, each with another wiring.
    pub offered: Vec<ProposalChoice>,
    /// Each other kind, and why it is left out.
    pub left_out: Vec<(ProposalKind, String)>,
}

/// Plans the wish at `path` in every kind.
///
/// # Errors
/// Why there is not even the first.
pub fn choices(
    texts: &dyn Texts,
    path: &Path,
    builtin: &Catalogue,
    costs: &CostTable,
) -> Result<ProposalChoices, Unplanned> {
    let wish = WishRead::read(texts, path, builtin).map_err(Unplanned::Unreadable)?;
    let mut all = ProposalChoices { offered: Vec::new(), left_out: Vec::new() };
    for kind in ProposalKind::ALL {
        if all.offered.len() == MOST {
            all.left_out.push((kind, format!("not planned: {MOST} proposals are enough")));
            continue;
        }
        // What the first one passed with is tried first.
        let passed = all.offered.first().and_then(|first| first.proposal.passed.clone());
        let asked = AskedOf { kind, earlier: None, explains: true, costs: Some(costs), passed: passed.as_ref() };
        let proposal = match searched(texts, path, &wish, &asked) {
            Ok(proposal) => proposal,
            Err(why) if all.offered.is_empty() => return Err(why),
            Err(why) => {
                all.left_out.push((kind, refused(&why)));
                continue;
            }
        };
        if let Some(same) = all.offered.iter().position(|known| known.proposal.text == proposal.text) {
            all.left_out.push((kind, format!("the same wiring as proposal {}", same + 1)));
            continue;
        }
        let Some(figures) = proposal.figures.clone() else {
            return Err(Unplanned::Refused(spec::read(texts, path).sources, Refusal::Interrupted));
        };
        all.offered.push(ProposalChoice { kind, proposal, figures });
    }
    Ok(all)
}

/// Why a kind can't be planned: its first problem.
fn refused(why: &Unplanned) -> String {
    let Unplanned::Refused(
        _,
        Refusal::Conflict(problems) | Refusal::Beyond(problems) | Refusal::Unproved { problems, .. },
    ) = why
    else {
        return "cannot be planned".to_string();
    };
    problems.first().map_or_else(String::new, |problem| format!("cannot be planned: {}", problem.message))
}

/// Proposals that are offered.
pub const MOST: usize = 3;
