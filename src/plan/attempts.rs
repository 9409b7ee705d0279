//! What is tried with a candidate where its first wiring does not pass.

use crate::choice::Choice;
use crate::conflict::Refusal;
use crate::judge::Judgement;
use crate::prove::{AskedOf, Proposal, proved};
use crate::remedies::Remedies;
use crate::wish::WishRead;
use form::{Name, Texts};
use std::path::Path;

/// Arrangements of the pictures that are judged at most.
pub const CANDIDATES: usize = 4;

/// Rules that a ground point for large loads alone may satisfy.
const GROUNDS: [&str; 4] = ["safety/ground-lost", "load/drop", "load/video-ground-lift", "load/ground-drop"];

/// Rules that a picture breaks which is lost while contacts change over.
const RACES: [&str; 2] = ["time/relay-race", "time/hazards"];

/// Whether nothing but such rules is broken.
pub fn races(verdict: &Judgement) -> bool {
    verdict.findings.iter().all(|finding| RACES.contains(&finding.rule.as_str()))
}

fn lifted(verdict: &Judgement) -> bool {
    verdict.findings.iter().any(|finding| GROUNDS.contains(&finding.rule.as_str()))
}

/// The best wiring of a candidate so far.
struct Improved<'a> {
    texts: &'a dyn Texts,
    path: &'a Path,
    asked: &'a AskedOf<'a>,
    choice: Choice<'a>,
    verdict: Judgement,
    proposal: Proposal,
    /// What the best has; `choice` has what is tried next.
    remedies: Remedies,
}

impl Improved<'_> {
    fn is_clean(&self) -> bool {
        self.verdict.findings.is_empty()
    }

    /// Tries other remedies. They stay if fewer findings are left, or as few of none. Returns whether they do.
    fn attempt(&mut self, remedies: Remedies) -> Result<bool, Refusal> {
        let choice = Choice { remedies, ..self.choice.clone() };
        let (verdict, proposal) = proved(self.texts, self.path, &choice, self.asked)?;
        let better = verdict.findings.len() < self.verdict.findings.len() || verdict.findings.is_empty();
        if better {
            (self.verdict, self.proposal, self.remedies) = (verdict, proposal, choice.remedies);
        }
        Ok(better)
    }

    fn run(&mut self) -> Result<(), Refusal> {
        let mut next = self.remedies.clone();
        if !self.is_clean() && !next.relayed && !self.choice.loads.is_empty() {
            next.relayed = self.attempt(Remedies { relayed: true, ..next.clone() })?;
        }
        if races(&self.verdict) && !self.is_clean() {
            next.awake = self.attempt(Remedies { awake: true, ..next.clone() })?;
        }
        let repeated = overloaded(self.choice.wish, &self.verdict);
        if !repeated.is_empty() {
            next.repeated = repeated;
            self.attempt(next.clone())?;
        }
        if lifted(&self.verdict) && !next.own_grounds {
            next.own_grounds = true;
            self.attempt(next.clone())?;
        }
        if lifted(&self.verdict) && !self.choice.loads.is_empty() {
            self.attempt(Remedies { reserve: true, ..next.clone() })?;
        }
        if lifted(&self.verdict) {
            self.attempt(Remedies { one_ground: true, ..next.clone() })?;
        }
        if lifted(&self.verdict) && !self.choice.network.relays.is_empty() {
            let blocked = Remedies { blocked: true, ..next.clone() };
            if !self.attempt(blocked.clone())? {
                self.attempt(Remedies { one_ground: true, ..blocked })?;
            }
        }
        if lifted(&self.verdict) { self.isolate(next) } else { Ok(()) }
    }

    /// Isolators in the picture cables that join two ground points; then without those that nothing needs.
    fn isolate(&mut self, mut next: Remedies) -> Result<(), Refusal> {
        next.isolated = self.choice.isolable();
        if next.isolated.is_empty() || !self.attempt(next.clone())? {
            return Ok(());
        }
        for one in next.isolated.clone() {
            let others = next.isolated.iter().filter(|other| **other != one).cloned().collect();
            let fewer = Remedies { isolated: others, ..next.clone() };
            if self.is_clean() && self.attempt(fewer.clone())? {
                next = fewer;
            }
        }
        Ok(())
    }
}

/// A candidate, and what is tried where its first wiring does not pass: each change stays that leaves fewer findings.
pub fn improved<'a>(
    texts: &'a dyn Texts,
    path: &'a Path,
    asked: &'a AskedOf,
    choice: Choice<'a>,
) -> Result<(Judgement, Proposal, Remedies), Refusal> {
    let (verdict, proposal) = proved(texts, path, &choice, asked)?;
    let remedies = choice.remedies.clone();
    let mut best = Improved { texts, path, asked, choice, verdict, proposal, remedies };
    best.run()?;
    Ok((best.verdict, best.proposal, best.remedies))
}

/// Switched supplies that give more than they may, where a battery can do it for them.
fn overloaded(wish: &WishRead, verdict: &Judgement) -> Vec<Name> {
    let supplies = &wish.form.supplies;
    let battery = supplies.iter().any(|(_, form)| form.follows.is_none());
    let switched = supplies.iter().filter(|(_, form)| battery && form.follows.is_some());
    let over = |name: &Name| verdict.feeds.iter().any(|feed| feed.feed == name.as_str() && feed.is_over());
    switched.map(|(name, _)| name.value.clone()).filter(over).collect()
}
