//! The search for causes that no rule names: pins that are swapped, diodes that are missing.

use super::diodes::{Junction, LEAST, is_fed_back, places, root};
use super::link::link;
use super::regions::Regions;
use super::suspects::{Suspect, suspects};
use super::trials::{Asks, Repaired, Trials};
use crate::{Finding, Repair, rules};
use explore::Interrupted;
use facts::Facts;

/// What is searched for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kinds {
    All,
    Exchanges,
    Diodes,
}

/// A cause that may be the root of findings.
enum Cause {
    Exchange(Suspect),
    Diodes(Junction),
}

impl Cause {
    fn repair(&self) -> Repair {
        match self {
            Cause::Exchange(suspect) => suspect.repair(),
            Cause::Diodes(place) => place.repair(),
        }
    }

    /// Whether a finding counts: it must show the cause, not only vanish with it.
    fn counts(&self, finding: &Finding) -> bool {
        match self {
            Cause::Exchange(suspect) => suspect.counts(finding),
            Cause::Diodes(_) => is_fed_back(&finding),
        }
    }

    /// Whether a finding that stays speaks against the cause.
    fn must_go(&self, finding: &Finding, regions: &Regions) -> bool {
        match self {
            Cause::Exchange(suspect) => !suspect.is_plain && regions.may_reach(finding, suspect.part),
            Cause::Diodes(_) => false,
        }
    }

    /// How many findings it has to explain.
    fn least(&self) -> usize {
        match self {
            Cause::Exchange(_) => 1,
            Cause::Diodes(_) => LEAST,
        }
    }

    /// Whether nothing else need be tried once it explains everything.
    fn is_plain(&self) -> bool {
        match self {
            Cause::Exchange(suspect) => suspect.is_plain,
            Cause::Diodes(_) => true,
        }
    }
}

/// Looks for the repair after which most findings are gone and nothing new is found; then for the next.
pub fn search(
    facts: &Facts,
    findings: &mut Vec<Finding>,
    kinds: Kinds,
    trials: &mut Trials,
    mut repaired: Repaired,
) -> Result<Repaired, Interrupted> {
    let regions = Regions::new(facts.model);
    loop {
        let mut best: Option<(usize, Cause, Repaired)> = None;
        let open = repaired.open(findings);
        for cause in causes(facts, &open, kinds) {
            let asks = Asks {
                open: &open,
                counts: &|finding| cause.counts(finding),
                must_go: &|finding| cause.must_go(finding, &regions),
            };
            let Some((next, gone)) = repaired.improved(&cause.repair(), &asks, trials)? else { continue };
            if gone >= cause.least() && gone > best.as_ref().map_or(0, |(most, ..)| *most) {
                let is_enough = gone == open.len() && cause.is_plain();
                best = Some((gone, cause, next));
                if is_enough {
                    break; // Nothing explains more.
                }
            }
        }
        let Some((_, cause, next)) = best else { return Ok(repaired) };
        let at = match cause {
            Cause::Exchange(suspect) => {
                findings.push(rules::swapped(facts, suspect.part, suspect.pins));
                findings.len() - 1
            }
            Cause::Diodes(place) => root(facts, findings, &place),
        };
        link(findings, at, &repaired, &next);
        repaired = next;
    }
}

/// What to try for open findings, in this order.
fn causes(facts: &Facts, open: &[Finding], kinds: Kinds) -> Vec<Cause> {
    let mut all = Vec::new();
    if kinds != Kinds::Exchanges {
        all.extend(places(facts, open).into_iter().map(Cause::Diodes));
    }
    if kinds != Kinds::Diodes {
        all.extend(suspects(facts, open).into_iter().map(Cause::Exchange));
    }
    all
}
