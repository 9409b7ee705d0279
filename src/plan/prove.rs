//! A candidate as text, with its gauges and ratings, and what `check` says of it.

use crate::breaks::Breaks;
use crate::choice::Choice;
use crate::choose::Arranged;
use crate::complete::{complete, ratings};
use crate::conflict::Refusal;
use crate::costs::CostTable;
use crate::earlier::EarlierSpec;
use crate::explain::{PlannedReason, purposes};
use crate::figures::{AddedThings, ProposalFigures};
use crate::harness::{Assembled, NewFuse};
use crate::judge::{Further, Judgement, MarkedWire, SeriousFinding, has_gauges, judge};
use crate::kept::keep;
use crate::kinds::ProposalKind;
use crate::lay::{Laid, MOST, lay};
use crate::logic::LogicProof;
use crate::remedies::Passed;
use crate::signals::SignalOrigin;
use crate::targets::{PictureSlot, ScreenWish, Wanted};
use crate::write::{Additions, text};
use catalogue::part_form::Family;
use form::{Name, Placed, Problem, Texts};
use quantity::{Amps, Gauge};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Most wires in a splice where the usual number overfills it.
const FEWEST: usize = 4;
/// Texts of a candidate that are judged: a fuse that was found too small gets the next rating, and so on.
const ROUNDS: usize = 14;

/// The question of a search.
#[derive(Clone, Copy)]
pub struct AskedOf<'a> {
    /// The kind of proposal.
    pub kind: ProposalKind,
    /// A spec that was planned before, whose decisions stay where they can.
    pub earlier: Option<&'a EarlierSpec>,
    /// Whether each part and wire is explained.
    pub explains: bool,
    /// The costs, if the proposal is measured.
    pub costs: Option<&'a CostTable>,
    /// What another kind of proposal passed with: it is tried first.
    pub passed: Option<&'a Passed>,
}

/// A complete spec that every check passes.
#[derive(Debug, Clone)]
pub struct Proposal {
    /// The spec's text.
    pub text: String,
    /// Parts that were added, splices not counted.
    pub parts: usize,
    /// The family of each of them, in the words of the catalogue.
    pub families: Vec<String>,
    /// How few relays its logic needs; nothing for an earlier plan that stays as it stands.
    pub logic: Option<LogicProof>,
    /// Relays among them.
    pub relays: usize,
    /// Wires that were added.
    pub wires: usize,
    /// Splices that were added.
    pub splices: usize,
    /// States in which it was solved.
    pub states: usize,
    /// Notes of `check`.
    pub notes: usize,
    /// Warnings of `check` that any wiring of this wish has.
    pub warnings: Vec<String>,
    /// What each part and wire is for, if that was asked.
    pub reasons: Vec<PlannedReason>,
    /// Its figures, if they were asked.
    pub figures: Option<ProposalFigures>,
    /// What it passed with.
    pub(crate) passed: Option<Passed>,
}
/// A candidate with gauges and ratings chosen, judged.
///
/// # Errors
/// What plan can't do for it.
pub fn proved(
    texts: &dyn Texts,
    path: &Path,
    choice: &Choice,
    asked: &AskedOf,
) -> Result<(Judgement, Proposal), Refusal> {
    let placed = |problems: Vec<Problem>| {
        let first = choice.wish.form.harness.place;
        let at = |problem: Problem| Problem { place: problem.place.or(Some(first)), ..problem };
        Refusal::Beyond(problems.into_iter().map(at).collect())
    };
    let mut assembled = complete(choice).map_err(placed)?;
    if let Some(earlier) = asked.earlier {
        keep(earlier, choice.wish, &mut assembled);
    }
    let mut sizes = Sizes {
        most: MOST,
        up: vec![0; assembled.fuses.len()],
        verbatim: asked.earlier.is_some(),
        current: Amps::new(0.0),
        thicker: BTreeMap::new(),
        pigtails: BTreeSet::new(),
    };
    for last in (0..ROUNDS).rev() {
        let round = Round { texts, path, choice, asked, assembled: &assembled, sizes: &sizes };
        let (verdict, proposal) = round.run()?;
        if verdict.findings.is_empty() || last == 0 || !sizes.change(&assembled, &verdict) {
            return Ok((verdict, proposal));
        }
    }
    Err(Refusal::Interrupted)
}

/// What is tried again where a check does not pass.
struct Sizes {
    /// Most wires in a splice.
    most: usize,
    /// For each fuse, how many ratings above the smallest.
    up: Vec<usize>,
    /// Whether what an earlier plan has is written as it stands there.
    verbatim: bool,
    /// What the terminals of connectors carry at least.
    current: Amps,
    /// Wires, by number, that lose too much at the gauge that is chosen for them, each with a larger one.
    thicker: BTreeMap<String, Gauge>,
    /// Pins whose terminals don't take the wire that they need: a splice beside them does.
    pigtails: BTreeSet<String>,
}

/// What the terminals of connectors carry at least, where those of the smallest are overloaded.
const STRONG: Amps = Amps::new(12.0);

impl Sizes {
    /// Changes what the findings ask for. Returns whether there was anything.
    fn change(&mut self, assembled: &Assembled, verdict: &Judgement) -> bool {
        let small = |rule: &str| rule == "load/fuse-loaded" || rule == "load/fuse-inrush";
        // Thicker wires fit in a splice only if they are fewer.
        let crowded = |f: &SeriousFinding| f.rule == "build/splice-overfilled" || f.rule == "load/drop";
        let mut changed = self.most > FEWEST && verdict.findings.iter().any(crowded);
        if changed {
            self.most = FEWEST;
            // The wires have other numbers then.
            self.thicker.clear();
        } else {
            changed = self.thicken(assembled, verdict);
        }
        for (index, fuse) in assembled.fuses.iter().enumerate() {
            let name = assembled.parts[fuse.part].name.as_str();
            if verdict.findings.iter().any(|f| small(&f.rule) && f.about == name) {
                self.up[index] += 1;
                changed = true;
            }
        }
        let overloaded = |f: &SeriousFinding| f.rule == "load/pin-overloaded" || f.rule == "build/terminal-size";
        if self.current < STRONG && verdict.findings.iter().any(overloaded) {
            self.current = STRONG;
            changed = true;
        }
        if !changed && self.verbatim {
            self.verbatim = false;
            changed = true;
        }
        changed
    }
}

/// Rules that ask for thicker wire.
const THIN: [&str; 4] = ["load/drop", "load/video-ground-lift", "load/ground-drop", "load/short-clears"];

impl Sizes {
    /// Gives each wire that a finding marks as too thin more copper; where that takes no more, another one on the path of the
    /// current. Returns whether anything changed.
    fn thicken(&mut self, assembled: &Assembled, verdict: &Judgement) -> bool {
        let thin = || verdict.findings.iter().filter(|finding| THIN.contains(&finding.rule.as_str()));
        let before = self.pigtails.len();
        let mut changed = false;
        for wire in thin().flat_map(|finding| &finding.wires) {
            changed |= self.thicken_one(assembled, wire);
        }
        for finding in thin() {
            changed = changed || finding.path.iter().any(|wire| self.thicken_one(assembled, wire));
        }
        if self.pigtails.len() > before {
            // The wires have other numbers then.
            self.thicker.clear();
        }
        changed
    }

    /// Gives a wire more copper. Where the terminals of a connector don't take that, its connectors get larger ones; where
    /// those of a part don't, its wire ends on a splice beside it. Returns whether anything changed.
    fn thicken_one(&mut self, assembled: &Assembled, wire: &MarkedWire) -> bool {
        let Some(more) = wire.thicker else { return false };
        let is_pin = |end: &String| assembled.nets.iter().any(|net| net.terminals.iter().any(|t| t.end == *end));
        if wire.tight.is_empty() {
            return self.thicker.insert(wire.id.clone(), more) != Some(more);
        }
        if wire.tight.iter().all(is_pin) {
            let before = self.pigtails.len();
            self.pigtails.extend(wire.tight.iter().cloned());
            return self.pigtails.len() > before;
        }
        let weak = self.current < STRONG;
        self.current = if weak { STRONG } else { self.current };
        weak
    }
}

/// One text of a candidate.
struct Round<'a> {
    texts: &'a dyn Texts,
    path: &'a Path,
    choice: &'a Choice<'a>,
    asked: &'a AskedOf<'a>,
    assembled: &'a Assembled,
    sizes: &'a Sizes,
}

impl Round<'_> {
    /// Judges it as it stands; where it passes, writes the gauges that were chosen and what each thing is for.
    fn run(&self) -> Result<(Judgement, Proposal), Refusal> {
        let Round { texts, path, choice, asked, sizes, .. } = self;
        let mut assembled = self.assembled.clone();
        let mut breaks = Breaks::new(choice.wish, asked.earlier, sizes.current);
        let Some(laid) = lay(&mut assembled, choice.distances, (sizes.most, &sizes.pigtails), &mut breaks) else {
            let run = choice.wish.form.runs.iter().find_map(|run| run.breaks_at.as_ref());
            let message =
                "this wish needs connectors where a run comes apart, and the catalogue has none for these wires";
            let problem = run.map_or_else(|| Problem::whole(message), |run| Problem::at(run.place, message));
            return Err(Refusal::Beyond(vec![problem.hint("add one to `own-parts`, or write these wires by hand")]));
        };
        let kept = |fuse: &NewFuse| assembled.parts[fuse.part].kept.as_ref()?.rating.filter(|_| sizes.verbatim);
        let kept: Vec<Option<Amps>> = assembled.fuses.iter().map(kept).collect();
        let ratings = ratings(choice.kit, &assembled.fuses, &sizes.up, &kept);
        let numbers: Vec<String> =
            asked.earlier.iter().flat_map(|e| &e.form.wires).map(|wire| wire.id.value.to_string()).collect();
        let carried = asked.earlier.map(|earlier| earlier.carried(choice.wish).0).unwrap_or_default();
        let written = |gauges: &BTreeMap<String, Gauge>, purposes: &BTreeMap<String, String>| {
            let (assembled, laid) = (&assembled, &laid);
            let (ratings, numbers, carried) = (&ratings, &numbers, &carried[..]);
            let verbatim = sizes.verbatim;
            text(choice.wish, &Additions { assembled, ratings, laid, gauges, verbatim, numbers, carried, purposes })
        };
        let families = families(choice, &assembled, &laid);
        let added = AddedThings { families: families.clone(), wires: laid.wires.len(), splices: laid.splices.len() };
        let mut spec = written(&sizes.thicker, &BTreeMap::new());
        let unread = |spec: &str, said: String| Refusal::Unproved {
            spec: spec.to_string(),
            problems: vec![Problem::whole(format!("the planned spec does not read: {said}"))],
        };
        let further = |verdict: &mut Judgement, job: &dyn Further| {
            let (caused, rest) =
                std::mem::take(&mut verdict.findings).into_iter().partition(|f| caused_by_wish(choice, f));
            verdict.findings = rest;
            let clean = verdict.solved && verdict.findings.is_empty();
            let notes = if clean { job.notes() } else { 0 };
            let figures = asked.costs.filter(|_| clean).and_then(|costs| job.figures(&added, costs));
            (caused, notes, figures, if asked.explains && clean { job.reasons() } else { Vec::new() })
        };
        let (verdict, (caused, notes, figures, reasons)) =
            judge(*texts, path, &spec, further).map_err(|said| unread(&spec, said))?;
        if verdict.solved && verdict.findings.is_empty() {
            spec = written(&verdict.gauges, &purposes(&reasons));
            if !has_gauges(*texts, path, &spec, &verdict.gauges) {
                return Err(unread(&spec, "its gauges differ from those that were judged".to_string()));
            }
        }
        let proposal = Proposal {
            text: spec,
            parts: families.len(),
            relays: families.iter().filter(|family| *family == Family::Relay.word()).count(),
            wires: laid.wires.len(),
            splices: laid.splices.len(),
            logic: Some(choice.proof),
            states: verdict.states,
            notes,
            warnings: caused.into_iter().map(|finding: SeriousFinding| finding.message).collect(),
            reasons,
            figures,
            families,
            passed: None,
        };
        Ok((verdict, proposal))
    }
}

/// The family of each part that a proposal adds.
fn families(choice: &Choice, assembled: &Assembled, laid: &Laid) -> Vec<String> {
    let connectors = laid.connectors.iter().map(|connector| connector.kind.as_str());
    let parts = assembled.parts.iter().map(|part| part.kind.as_str()).chain(connectors);
    let kinds = parts.chain(choice.wish.buttons.iter().map(|button| button.kind.as_str()));
    kinds.filter_map(|kind| Some(choice.wish.catalogue.get(kind)?.family.word().to_string())).collect()
}

/// Whether a warning is there whatever the wiring is: an input that nothing needs to know, or a supply that must feed
/// something with everything at rest.
fn caused_by_wish(choice: &Choice, finding: &SeriousFinding) -> bool {
    let rest = |set: &[bool]| set.first().copied().unwrap_or(false);
    match finding.rule.as_str() {
        "logic/input-unused" => {
            let mut used = choice.signals.iter().zip(&choice.network.used).filter(|(_, used)| **used);
            !used.any(|(signal, _)| signal.name.as_str() == finding.about)
        }
        // A camera that has power only while it shows goes dark before its screen changes.
        "time/relay-race" if finding.blank => {
            let works = |picture: &Placed<Name>| choice.loads.iter().any(|load| load.part == picture.value);
            let own = |screen: &ScreenWish| finding.about == format!("screen {}", screen.name);
            choice.screens.iter().any(|(screen, ..)| own(screen) && screen.pictures.iter().any(works))
        }
        "load/key-off-drain" => {
            let shows = |(screen, ..): &(ScreenWish, Vec<PictureSlot>, Arranged)| {
                let at_rest = screen.wanted.first().is_some_and(|(w, _)| !matches!(w, Wanted::Black | Wanted::Any));
                screen.supply.as_str() == finding.about && (at_rest || shows_without_switch(choice, screen))
            };
            choice.screens.iter().any(shows) || choice.loads.iter().any(|load| rest(&load.target.on))
        }
        _ => false,
    }
}

/// Whether a screen must show something where no supply is live but those that always are: then one of these feeds it.
fn shows_without_switch(choice: &Choice, screen: &ScreenWish) -> bool {
    let switched = choice.signals.iter().filter(|signal| signal.origin == SignalOrigin::Supply);
    let live: Vec<&Vec<bool>> = switched.map(|signal| &signal.set).collect();
    let dark = |combo: usize| live.iter().all(|set| !set[combo]);
    let shows = |wanted: Wanted| !matches!(wanted, Wanted::Black | Wanted::Any);
    screen.wanted.iter().enumerate().any(|(combo, (wanted, _))| shows(*wanted) && dark(combo))
}
