//! The search for causes that no rule names: pins that are swapped, diodes or wires that are missing, a wire on
//! the wrong feed.

use super::crossed::{Crossed, crossed};
use super::diodes::{Junction, LEAST, is_fed_back, places, root};
use super::elsewhere::{Elsewhere, elsewhere};
use super::link::link;
use super::missing::{MissingWire, missing_wires};
use super::regions::Regions;
use super::rewired::{self, CrossedEnds};
use super::sources::{OnWrongFeed, on_wrong_feeds, on_wrong_inputs};
use super::suspects::{Explains, Suspect, suspects};
use super::trials::{Asks, Repaired, Trials};
use crate::{Finding, Repair, Severity, rules};
use explore::Interrupted;
use facts::Facts;

/// What is searched for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kinds {
    Crossed,
    All,
    Exchanges,
    Diodes,
}

/// A cause that may be the root of findings.
enum Cause {
    Exchange(Suspect),
    Diodes(Junction),
    Feed(OnWrongFeed),
    Missing(MissingWire),
    Crossed(Crossed),
    Elsewhere(Elsewhere),
    CrossedEnds(CrossedEnds),
}

impl Cause {
    fn repair(&self) -> Repair {
        match self {
            Cause::Exchange(suspect) => suspect.repair(),
            Cause::Diodes(place) => place.repair(),
            Cause::Feed(feed) => feed.repair(),
            Cause::Missing(wire) => wire.repair(),
            Cause::Crossed(crossed) => crossed.repair(),
            Cause::Elsewhere(wire) => wire.repair(),
            Cause::CrossedEnds(wires) => wires.repair(),
        }
    }

    /// Whether a finding counts: it must show the cause, not only vanish with it.
    fn counts(&self, finding: &Finding) -> bool {
        match self {
            Cause::Exchange(suspect) => suspect.counts(finding),
            Cause::Diodes(_) => is_fed_back(&finding),
            Cause::Feed(_) => OnWrongFeed::counts(finding),
            Cause::Missing(_) => MissingWire::counts(finding),
            Cause::Crossed(crossed) => crossed.counts(finding),
            Cause::Elsewhere(_) => Elsewhere::counts(finding),
            Cause::CrossedEnds(_) => rewired::shows(finding) || OnWrongFeed::counts(finding),
        }
    }

    /// Whether a finding that stays speaks against the cause.
    fn must_go(&self, facts: &Facts, finding: &Finding, regions: &Regions) -> bool {
        match self {
            Cause::Exchange(suspect) => suspect.must_go(finding, regions),
            Cause::Missing(wire) => wire.must_go(facts, finding, regions),
            Cause::Crossed(crossed) => crossed.must_go(facts, finding, regions),
            Cause::Elsewhere(wire) => wire.must_go(facts, finding, regions),
            Cause::Feed(feed) => feed.must_go(facts, finding, regions),
            Cause::CrossedEnds(wires) => {
                let parts = wires.ends.iter().flat_map(|(wire, _)| facts.model.wire(*wire).ends);
                let is_near = |pin| regions.may_reach(finding, facts.model.pin(pin).part);
                finding.severity == Severity::Error && parts.into_iter().any(is_near)
            }
            Cause::Diodes(_) => false,
        }
    }

    /// Whether the cause folds a finding that states its own cause: a part made for a higher voltage than its supply's. Only
    /// wires that are crossed in a plug or between parts can give it that.
    fn hides_measured(&self, open: &[Finding], before: &Repaired, after: &Repaired) -> bool {
        let is_measured = |finding: &Finding| {
            let is_rated = matches!(finding.repair, Some(Repair::Rated(..)));
            finding.severity == Severity::Error && finding.rule == "load/starved" && is_rated
        };
        let hides = |finding: &Finding| is_measured(finding) && !after.has(finding, before);
        !matches!(self, Cause::Crossed(_) | Cause::Diodes(_)) && open.iter().any(hides)
    }

    /// How many findings it has to explain.
    fn least(&self) -> usize {
        match self {
            Cause::Exchange(_) | Cause::Elsewhere(_) => 1,
            Cause::Diodes(_) | Cause::Feed(_) | Cause::Missing(_) | Cause::Crossed(_) | Cause::CrossedEnds(_) => LEAST,
        }
    }

    /// Index of the finding that names the cause. If no open finding names it, a new finding is added.
    fn root(&self, facts: &Facts, findings: &mut Vec<Finding>) -> usize {
        let new = match self {
            Cause::Exchange(Suspect { explains: Explains::Pictures, part, pins, .. }) => {
                rules::pictures_exchanged(facts, *part, *pins)
            }
            Cause::Exchange(suspect) => rules::swapped(facts, suspect.part, suspect.pins),
            Cause::Feed(feed) => rules::on_wrong_feed(facts, feed.wire, feed.from, feed.to),
            Cause::Crossed(Crossed::Pins(a, b) | Crossed::Cavities(a, b)) => rules::crossed(facts, [*a, *b]),
            Cause::Elsewhere(one) => rules::on_wrong_source(facts, one.wire, one.from, one.to),
            Cause::CrossedEnds(wires) => rules::ends_exchanged(facts, wires.ends),
            Cause::Crossed(Crossed::OffGround { wire, from, .. }) => rules::off_ground(facts, *wire, *from),
            Cause::Diodes(place) => return root(facts, findings, place),
            Cause::Missing(wire) => return wire.root(facts, findings),
        };
        findings.push(new);
        findings.len() - 1
    }
}

/// Looks for the repair after which most findings are gone and nothing new is found; then for the next.
pub fn search(
    facts: &Facts,
    findings: &mut Vec<Finding>,
    kinds: Kinds,
    trials: &mut Trials,
    mut repaired: Repaired,
    original: &Repaired,
) -> Result<Repaired, Interrupted> {
    let regions = Regions::new(facts.model);
    loop {
        let mut best: Option<(usize, Cause, Repaired)> = None;
        let open = repaired.open(findings);
        for cause in causes(facts, &open, kinds) {
            let asks = Asks {
                open: &open,
                counts: &|finding| cause.counts(finding),
                must_go: &|finding| cause.must_go(facts, finding, &regions),
            };
            let Some((next, gone)) = repaired.improved(&cause.repair(), &asks, trials)? else { continue };
            if cause.hides_measured(&open, &repaired, &next) {
                continue;
            }
            if gone >= cause.least() && gone > best.as_ref().map_or(0, |(most, ..)| *most) {
                let is_enough = gone == open.len();
                best = Some((gone, cause, next));
                if is_enough {
                    break; // Nothing explains more.
                }
            }
        }
        let Some((_, cause, next)) = best else { return Ok(repaired) };
        let at = cause.root(facts, findings);
        link(findings, at, &repaired, &next);
        fold_unneeded(findings, at, original, trials)?;
        repaired = next;
    }
}

/// Folds roots that were repaired before a cause was found, if the cause's repair alone removes them.
fn fold_unneeded(
    findings: &mut [Finding],
    cause: usize,
    original: &Repaired,
    trials: &mut Trials,
) -> Result<(), Interrupted> {
    let Some(repair) = findings[cause].repair.clone() else { return Ok(()) };
    let is_earlier = |i: usize, finding: &Finding| {
        i != cause && finding.follows_from.is_none() && finding.repair.as_ref().is_some_and(Repair::is_certain)
    };
    if !findings.iter().enumerate().any(|(i, finding)| is_earlier(i, finding)) {
        return Ok(());
    }
    let Some(alone) = original.with(&repair, trials)? else { return Ok(()) };
    let gone: Vec<usize> = (0..findings.len())
        .filter(|i| is_earlier(*i, &findings[*i]))
        .filter(|i| !alone.has(&findings[*i], original))
        .collect();
    for (i, finding) in findings.iter_mut().enumerate() {
        let follows = gone.contains(&i) || finding.follows_from.is_some_and(|root| gone.contains(&root));
        if follows {
            finding.follows_from = Some(cause);
        }
    }
    Ok(())
}

/// What to try for open findings, in this order.
fn causes(facts: &Facts, open: &[Finding], kinds: Kinds) -> Vec<Cause> {
    let mut all = Vec::new();
    if kinds == Kinds::Crossed {
        return crossed(facts, open).into_iter().map(Cause::Crossed).collect();
    }
    if kinds != Kinds::Exchanges {
        all.extend(places(facts, open).into_iter().map(Cause::Diodes));
    }
    if kinds != Kinds::Diodes {
        all.extend(on_wrong_feeds(facts, open).into_iter().map(Cause::Feed));
        all.extend(on_wrong_inputs(facts, open).into_iter().map(Cause::Feed));
        all.extend(suspects(facts, open).into_iter().map(Cause::Exchange));
        all.extend(missing_wires(facts, open).into_iter().map(Cause::Missing));
        let elsewhere = elsewhere(facts, open);
        let (pairs, moves) = rewired::rewired(facts, open);
        let moves = moves.into_iter().filter(|one| !elsewhere.contains(one)).collect::<Vec<_>>();
        all.extend(elsewhere.into_iter().map(Cause::Elsewhere));
        all.extend(moves.into_iter().map(Cause::Elsewhere));
        all.extend(pairs.into_iter().map(Cause::CrossedEnds));
    }
    all
}
