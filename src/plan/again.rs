//! Planning again: what an earlier spec decides stays, unless the wish forces a change.
//!
//! First the earlier parts and wires are taken as they stand, with the wish as it is now. If that passes, nothing changes.
//! If not, each kind of proposal is planned with the earlier decisions put first, and the one with the fewest changes is
//! taken.

use crate::changes::{ChangeKind, PlanChange, changes};
use crate::conflict::Refusal;
use crate::earlier::{EarlierSpec, PLANNED};
use crate::explain::purposes;
use crate::judge::{Further, Judgement, judge};
use crate::kept::keep_buttons;
use crate::kinds::ProposalKind;
use crate::prove::{AskedOf, Proposal};
use crate::search::search;
use crate::sections::entries;
use crate::wish::WishRead;
use crate::write::{retold, with_lines};
use crate::{Unplanned, searched};
use catalogue::Catalogue;
use catalogue::part_form::Family;
use form::Texts;
use std::path::Path;

/// A wish that was planned again.
#[derive(Debug, Clone)]
pub struct Replanned {
    /// The proposal.
    pub proposal: Proposal,
    /// What differs from the earlier plan.
    pub changes: Vec<PlanChange>,
    /// Parts, connectors and splices that stay, and wires that stay.
    pub kept: [usize; 2],
    /// What `check` finds in the earlier wiring with the wish as it is now.
    pub because: Vec<String>,
}

/// Plans the wish at `path` with an earlier spec's decisions. `kind`: of this kind only.
///
/// # Errors
/// Why there is no proposal; every problem of an earlier spec that does not read.
pub fn plan_again(
    texts: &dyn Texts,
    path: &Path,
    builtin: &Catalogue,
    earlier: &str,
    kind: Option<ProposalKind>,
) -> Result<Replanned, Unplanned> {
    let earlier = EarlierSpec::read(texts, path, earlier).map_err(|why| Unplanned::Earlier(*why))?;
    let mut wish = WishRead::read(texts, path, builtin).map_err(Unplanned::Unreadable)?;
    keep_buttons(&earlier, &mut wish);
    let asked = |kind, passed| AskedOf { kind, earlier: Some(&earlier), explains: true, costs: None, passed };
    let first = searched(texts, path, &wish, &asked(kind.unwrap_or(ProposalKind::FewestParts), None));
    if let Err(why @ Unplanned::Refused(_, Refusal::Conflict(_) | Refusal::Interrupted)) = first {
        return Err(why);
    }
    let allowed: Vec<String> = first.as_ref().map(|proposal| proposal.warnings.clone()).unwrap_or_default();
    let because = match as_it_stands(texts, path, &wish, &earlier, &allowed) {
        Ok(proposal) => return Ok(told(&wish, &earlier, proposal, Vec::new())),
        Err(because) => because,
    };
    let others = ProposalKind::ALL.into_iter().filter(|other| kind.is_none() && *other != ProposalKind::FewestParts);
    let passed = first.as_ref().ok().and_then(|proposal| proposal.passed.clone());
    let further = others.filter_map(|kind| search(texts, path, &wish, &asked(kind, passed.as_ref())).ok());
    let mut all = Vec::new();
    let first_error = match first {
        Ok(proposal) => {
            all.push(proposal);
            None
        }
        Err(why) => Some(why),
    };
    all.extend(further);
    let told = all.into_iter().map(|proposal| told(&wish, &earlier, proposal, because.clone()));
    match (told.min_by_key(|again| again.changes.len()), first_error) {
        (Some(again), _) => Ok(again),
        (None, Some(why)) => Err(why),
        (None, None) => Err(Unplanned::Refused(spec::read(texts, path).sources, Refusal::Interrupted)),
    }
}

fn told(wish: &WishRead, earlier: &EarlierSpec, proposal: Proposal, because: Vec<String>) -> Replanned {
    let (mut changes, kept) = changes(&wish.form, earlier, &proposal.text, &proposal.reasons);
    changes.extend(earlier.carried(wish).1.into_iter().map(|drive| PlanChange {
        kind: ChangeKind::Removed,
        what: format!("drive {}", drive.name),
        why: "it moves an input, or looks at a screen or a picture, that is no longer in the wish".to_string(),
    }));
    Replanned { proposal, changes, kept, because }
}

/// The earlier parts and wires in the wish, if `check` passes them; else what it finds. `allowed` are the warnings that any
/// wiring of the wish has.
fn as_it_stands(
    texts: &dyn Texts,
    path: &Path,
    wish: &WishRead,
    earlier: &EarlierSpec,
    allowed: &[String],
) -> Result<Proposal, Vec<String>> {
    let mut all = Vec::new();
    let mut counts = Vec::new();
    for section in PLANNED {
        let own = entries(&wish.text, section);
        let added: Vec<_> = earlier.written(section).iter().filter(|e| !own.iter().any(|o| o.name == e.name)).collect();
        counts.push(added.len());
        let lines: Vec<String> =
            added.iter().flat_map(|entry| entry.above.iter().chain(&entry.lines)).cloned().collect();
        all.push((section, lines));
    }
    all.extend(earlier.carried(wish).0);
    let text = with_lines(wish, &all);
    let then = |verdict: &mut Judgement, job: &dyn Further| {
        let found = std::mem::take(&mut verdict.findings).into_iter();
        let (caused, rest): (Vec<_>, Vec<_>) = found.partition(|finding| allowed.contains(&finding.message));
        verdict.findings = rest;
        let clean = verdict.solved && verdict.findings.is_empty();
        (caused, if clean { (job.notes(), job.reasons()) } else { (0, Vec::new()) })
    };
    let (verdict, (caused, (notes, reasons))) =
        judge(texts, path, &text, then).map_err(|said| said.lines().map(str::to_string).collect::<Vec<String>>())?;
    if !verdict.solved || !verdict.findings.is_empty() {
        let said = |f: crate::judge::SeriousFinding| format!("{} ({})", f.message, f.rule);
        return Err(verdict.findings.into_iter().map(said).collect());
    }
    let added = earlier.added(&wish.form).into_iter();
    let kinds: Vec<&str> = added.map(|(_, entry)| entry.use_.as_str()).collect();
    let families: Vec<Family> = kinds.iter().filter_map(|kind| Some(wish.catalogue.get(kind)?.family)).collect();
    let relays = families.iter().filter(|family| **family == Family::Relay).count();
    Ok(Proposal {
        text: retold(&text, &purposes(&reasons)),
        parts: counts[0] + counts[1],
        families: families.iter().map(|family| family.word().to_string()).collect(),
        relays,
        splices: counts[2],
        wires: counts[3],
        states: verdict.states,
        notes,
        warnings: caused.into_iter().map(|finding| finding.message).collect(),
        reasons,
        figures: None,
        logic: None,
        passed: None,
    })
}
