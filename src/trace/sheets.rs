//! Sheets by symptom: for what a screen or a part with a promise does wrongly in a setting, the first probes of the same
//! strategy as a tree.

use super::belief::Belief;
use super::dictionary::{Dictionary, code_of_picture, picture_of_code};
use super::fault::Failure;
use super::group::SuspectGroup;
use super::observable::Observable;
use super::probe::Probe;
use super::seen::WorksSeen;
use super::shown::ShownFault;
use super::skipped::Skipped;
use super::step::Steps;
use super::text::{set_words, what};
use facts::Facts;
use model::ScreenId;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Probes on a sheet.
const PROBES: usize = 5;

/// Faults that sheets leave out: wires and plugs in each other's places.
const EXCHANGED: [&str; 5] =
    ["wrong-cavity", "wrong-terminal", "wires-exchanged", "picture-exchanged", "plug-exchanged"];

/// Whether sheets name a fault: nothing changes its place in a vehicle by itself.
pub(crate) fn names(fault: &Failure) -> bool {
    !EXCHANGED.contains(&fault.kind)
}

/// Suspects named behind an answer.
const NAMED: usize = 4;

/// What a screen or a part with a promise does that it should not.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Symptom {
    /// The screen or the part.
    pub screen: String,
    /// `shows` for a screen, `is` for a part.
    pub does: &'static str,
    /// What it does: `black`, `off`.
    pub seen: String,
    /// What it should do.
    pub wanted: String,
    /// The state.
    pub state: String,
}

/// What to do about a symptom.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SymptomSheet {
    /// The symptom.
    #[serde(flatten)]
    pub symptom: Symptom,
    /// Faults that show this.
    pub faults: usize,
    /// How many of them the probes name, each by itself or with those that nothing separates from it.
    pub resolved: usize,
    /// How probable it is that the fault is among them, from 0 to 1.
    pub share: f64,
    /// How many suspects the probes leave on average; what the same repair mends is one.
    pub left: f64,
    /// The most frequent faults that show this.
    pub causes: Vec<String>,
    /// The probes, the first one first.
    pub probes: Vec<SheetProbe>,
}

/// A probe of a sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SheetProbe {
    /// The state to set; empty where it does not matter.
    pub state: String,
    /// Where to look or probe.
    pub probe: Probe,
    /// Minutes that it takes.
    pub minutes: f64,
    /// What to mind.
    pub cautions: Vec<String>,
    /// What each answer leads to.
    pub answers: Vec<SheetAnswer>,
}

/// An answer of a sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SheetAnswer {
    /// The answer in words, with its limits.
    pub shows: String,
    /// The number of the next probe, from 1; `None` where the sheet ends.
    pub then: Option<usize>,
    /// The suspects where it ends, the most probable first; a few of them.
    pub suspects: Vec<String>,
    /// How many more suspects there are.
    pub more: usize,
}

/// Faults that are left after some answers, and the probe and answer that lead there.
struct Branch {
    faults: Vec<usize>,
    from: Option<(usize, usize)>,
    now: usize,
}

/// What a look shows with some faults that it does not show without one.
struct WrongObservable {
    setting: usize,
    look: Observable,
    /// What it shows, as a code of the dictionary.
    code: u16,
    /// What it should show.
    wanted: u16,
    faults: Vec<usize>,
}

/// Where the sheets are made.
pub(crate) struct SheetMaker<'s, 'm> {
    pub facts: &'s Facts<'m>,
    pub faults: &'s [Failure],
    pub dictionary: &'s Dictionary,
}

impl<'m> SheetMaker<'_, 'm> {
    /// A sheet for every wrong picture of every screen in every setting, and for each way in which a part with a promise works
    /// wrongly, in the simplest setting that shows it.
    pub fn sheets(&self) -> Vec<SymptomSheet> {
        let model = self.facts.model;
        let settings = 0..self.dictionary.settings.len();
        let screens = (0..model.screens.len()).map(|at| Observable::Screen(ScreenId(at)));
        let pairs = settings.clone().flat_map(|setting| screens.clone().map(move |look| (setting, look)));
        let mut symptoms: Vec<WrongObservable> = pairs.flat_map(|(setting, look)| self.wrong(setting, look)).collect();
        for look in (0..model.works.len()).map(Observable::Works) {
            let mut met = BTreeSet::new();
            let all = settings.clone().flat_map(|setting| self.wrong(setting, look));
            symptoms.extend(all.filter(|wrong| met.insert(wrong.code)));
        }
        threads::each(&symptoms, |wrong| self.sheet(wrong))
    }

    /// What a look shows with faults that it does not show without one.
    fn wrong(&self, setting: usize, look: Observable) -> Vec<WrongObservable> {
        let dictionary = self.dictionary;
        let code = |shown: &ShownFault| match look {
            Observable::Screen(screen) => code_of_picture(shown.screens[screen.0]),
            Observable::Works(promise) => shown.works[promise] as u16,
            _ => 0,
        };
        let Some(wanted) = dictionary.whole(setting).map(code) else { return Vec::new() };
        let mut of: BTreeMap<u16, Vec<usize>> = BTreeMap::new();
        for fault in 0..self.faults.len() {
            let seen = dictionary.present(fault, setting).map(code);
            if let Some(seen) = seen.filter(|seen| *seen != wanted) {
                of.entry(seen).or_default().push(fault);
            }
        }
        of.into_iter().map(|(code, faults)| WrongObservable { setting, look, code, wanted, faults }).collect()
    }

    /// The symptom in words.
    fn symptom(&self, wrong: &WrongObservable) -> Symptom {
        let model = self.facts.model;
        let (screen, does) = match wrong.look {
            Observable::Screen(screen) => (model.screens[screen.0].name.to_string(), "shows"),
            Observable::Works(promise) => (model.part(model.works[promise].part).name.to_string(), "is"),
            _ => (String::new(), ""),
        };
        let words = |code: u16| match wrong.look {
            Observable::Screen(_) => picture_of_code(code).words(model),
            _ => WorksSeen::from_code(code).words().to_string(),
        };
        let state = self.dictionary.settings[wrong.setting].name.clone();
        Symptom { screen, does, seen: words(wrong.code), wanted: words(wrong.wanted), state }
    }

    fn sheet(&self, wrong: &WrongObservable) -> SymptomSheet {
        let (setting, faults) = (wrong.setting, &wrong.faults);
        let mut sheet = SymptomSheet {
            symptom: self.symptom(wrong),
            faults: faults.len(),
            resolved: 0,
            share: 0.0,
            left: 0.0,
            causes: self.most_frequent(faults),
            probes: Vec::new(),
        };
        // The symptom itself is known.
        let known = Skipped { looks: vec![(wrong.look, sheet.symptom.state.clone())], ..Skipped::NOTHING };
        let mut open = vec![Branch { faults: faults.to_vec(), from: None, now: setting }];
        let mut closed: Vec<Branch> = Vec::new();
        while let Some(branch) = self.most_probable(&mut open) {
            let more = if sheet.probes.len() < PROBES { self.probe(&branch, &known, &mut sheet) } else { None };
            match more {
                Some(branches) => open.extend(branches),
                None => closed.push(branch),
            }
        }
        let total: f64 = self.weight(faults);
        closed.iter().for_each(|branch| self.close(branch, &known, total, &mut sheet));
        sheet
    }

    fn weight(&self, faults: &[usize]) -> f64 {
        faults.iter().map(|fault| self.faults[*fault].complained_of()).sum()
    }

    fn most_probable(&self, open: &mut Vec<Branch>) -> Option<Branch> {
        let weight = |branch: &Branch| self.weight(&branch.faults);
        let best = (0..open.len()).max_by(|a, b| weight(&open[*a]).total_cmp(&weight(&open[*b])).then(b.cmp(a)))?;
        Some(open.remove(best))
    }

    /// Adds the best probe for a branch, and gives a branch for each answer; `None` if nothing separates its faults.
    fn probe(&self, branch: &Branch, known: &Skipped, sheet: &mut SymptomSheet) -> Option<Vec<Branch>> {
        let dictionary = self.dictionary;
        let belief = Belief::prior(self.faults, &branch.faults);
        let steps = self.steps(branch, known, &belief);
        let groups = steps.groups();
        let chosen = steps.choose(&groups)?;
        let step = steps.step(&groups, &chosen);
        let number = sheet.probes.len();
        let place = dictionary.looks.iter().position(|look| *look == chosen.look)?;
        let mut split: BTreeMap<u16, Vec<usize>> = BTreeMap::new();
        for alike in groups.iter().flat_map(|group| &group.alike) {
            let code = dictionary.code(alike.example(), chosen.at, place);
            split.entry(code).or_default().extend(&alike.faults);
        }
        let words = super::probe::Words { model: self.facts.model, drain_limit: self.dictionary.drain_limit };
        let is_between = |faults: &[usize]| {
            matches!(chosen.look, Observable::Meter(_)) && faults.iter().all(|fault| dictionary.is_sized(*fault))
        };
        let shows = |code: u16, faults: &[usize]| {
            let shows = words.shows(dictionary, &[], code, faults, chosen.at, chosen.look);
            // A bad contact may have any resistance.
            if is_between(faults) {
                format!("anything between, such as {}", shows.trim_start_matches("about "))
            } else {
                shows
            }
        };
        let answer = |(code, faults): (&u16, &Vec<usize>)| SheetAnswer {
            shows: shows(*code, faults),
            then: None,
            suspects: Vec::new(),
            more: 0,
        };
        sheet.probes.push(SheetProbe {
            state: step.state,
            probe: step.probe,
            minutes: step.minutes,
            cautions: step.cautions,
            answers: split.iter().map(answer).collect(),
        });
        if let Some((probe, answer)) = branch.from {
            sheet.probes[probe].answers[answer].then = Some(number + 1);
        }
        let branch = |(answer, faults)| Branch { faults, from: Some((number, answer)), now: chosen.at };
        Some(split.into_values().enumerate().map(branch).collect())
    }

    /// Names the suspects of a branch where the sheet ends.
    fn close(&self, branch: &Branch, known: &Skipped, total: f64, sheet: &mut SymptomSheet) {
        let belief = Belief::prior(self.faults, &branch.faults);
        let groups: Vec<SuspectGroup> = self.steps(branch, known, &belief).groups();
        sheet.left += groups.len() as f64 * self.weight(&branch.faults) / total;
        if groups.len() == 1 {
            sheet.resolved += branch.faults.len();
            sheet.share += self.weight(&branch.faults) / total;
        }
        if let Some((probe, answer)) = branch.from {
            let answer = &mut sheet.probes[probe].answers[answer];
            answer.suspects = self.most_frequent(&branch.faults);
            answer.more = branch.faults.len() - answer.suspects.len();
        }
    }

    /// A few faults in words, the most frequent first; of those that the same repair mends, the first.
    fn most_frequent(&self, faults: &[usize]) -> Vec<String> {
        let mut faults = faults.to_vec();
        let often = |fault: &usize| self.faults[*fault].complained_of();
        faults.sort_by(|a, b| often(b).total_cmp(&often(a)).then(a.cmp(b)));
        let mut repairs = BTreeSet::new();
        faults.retain(|fault| repairs.insert(self.faults[*fault].repair));
        faults.into_iter().take(NAMED).map(|fault| self.faults[fault].words.clone()).collect()
    }

    fn steps<'b>(&'b self, branch: &'b Branch, known: &'b Skipped, belief: &'b Belief) -> Steps<'b, 'm> {
        Steps {
            facts: self.facts,
            faults: self.faults,
            dictionary: self.dictionary,
            now: Some(&self.dictionary.settings[branch.now]),
            now_is_set: branch.from.is_some(),
            likely: &branch.faults,
            belief,
            skipped: known,
            observations: &[],
            extra: &[],
        }
    }
}

fn faults_show(count: usize) -> String {
    if count == 1 { "1 fault shows".to_string() } else { format!("{count} faults show") }
}

/// The sheets as text.
pub fn sheets_text(sheets: &[SymptomSheet]) -> String {
    let mut out = String::new();
    for sheet in sheets {
        out.push_str(&format!(
            "{} {} {}, not {}, when {}\n{} this; these probes leave {:.1} suspects on average and name the fault in {:.0} % of cases\n",
            sheet.symptom.screen,
            sheet.symptom.does,
            sheet.symptom.seen,
            sheet.symptom.wanted,
            sheet.symptom.state,
            faults_show(sheet.faults),
            sheet.left,
            sheet.share * 100.0
        ));
        if sheet.probes.is_empty() {
            out.push_str(&format!("  {}\n", sheet.causes.join("; ")));
        }
        for (at, probe) in sheet.probes.iter().enumerate() {
            let set = set_words(&probe.state);
            out.push_str(&format!("  {}. {set}{} ({:.1} min)\n", at + 1, what(&probe.probe), probe.minutes));
            probe.cautions.iter().for_each(|caution| out.push_str(&format!("       caution: {caution}\n")));
            for answer in &probe.answers {
                let more = if answer.more == 0 { String::new() } else { format!(", or one of {} more", answer.more) };
                let leads = match answer.then {
                    Some(next) => format!("go to {next}"),
                    None => format!("{}{more}", answer.suspects.join("; ")),
                };
                out.push_str(&format!("       {}: {leads}\n", answer.shows));
            }
        }
        out.push('\n');
    }
    out + super::text::CAUTION
}
