use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use form::Place;
use model::{Drive, ScreenId};
use replay::{Promise, PromiseKind, Promised, Time, Timeline, Verdict, around, promise_words};

pub const RULE: Rule = Rule {
    name: "time/drive-broken",
    severity: Severity::Error,
    explanation: include_str!("drive_broken.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let drives = facts.model.drives.iter().zip(facts.drives());
    drives
        .filter(|(_, timeline)| !timeline.kept())
        .flat_map(|(drive, timeline)| of_drive(facts, drive, timeline))
        .collect()
}

fn of_drive(facts: &Facts, drive: &Drive, timeline: &Timeline) -> Vec<Finding> {
    let model = facts.model;
    let plan = replay::plan(facts.solved);
    let finding = |place, message: String, at: Time| {
        RULE.finding(place, message)
            .about(format!("drive {}", drive.name))
            .value("played at", &timeline.setting)
            .timeline(model, &around(facts.solved, &plan, &timeline.record, at))
    };
    let mut all = vec![];
    for (at, input, to) in &timeline.record.refused {
        let step = drive.steps.iter().find(|step| Time::of(step.at) == *at);
        let input = &model.inputs[input.0];
        let message = format!(
            "drive {} moves {} to {} at {at}, which is impossible",
            drive.name, input.name, input.positions[*to]
        );
        let hint = "let the drive first move the inputs that it `needs`, and end those that `excludes` names";
        all.push(finding(step.map_or(drive.place, |step| step.place), message, *at).label("impossible").hint(hint));
    }
    for promise in
        timeline.promises.iter().filter(|promise| promise.verdict == Verdict::Broken && !is_reported(facts, promise))
    {
        // The timeline shows where it fails: an expectation, the longest gap, or the start of the wait.
        let at = match &promise.kind {
            PromiseKind::Expect { .. } => promise.to,
            PromiseKind::Steady { gaps, .. } => {
                gaps.iter().max_by_key(|gap| gap.length()).map_or(promise.from, |gap| gap.from)
            }
            PromiseKind::Within { .. } => promise.from,
        };
        let message = format!("drive {} fails: {}", drive.name, promise_words(model, promise));
        let hint = "see in the timeline what happens instead; correct the wiring or the drive";
        let finding = finding(promise.place, message, at).label("not met").hint(hint);
        let mut finding = Finding { breaks_view: broken_view(facts, promise), ..finding };
        if let Promised::Shows(screen, _) = promise.promised {
            finding.involved.screen = Some(screen);
        }
        all.push(finding);
    }
    if let Some(why) = &timeline.stopped {
        let message = format!("drive {} can't be played beyond {}: {why}", drive.name, timeline.record.to);
        all.push(finding(drive.place, message, timeline.record.to).label("stops"));
    }
    all
}

/// A view of the same screen that asks for the same and that some state breaks.
fn broken_view(facts: &Facts, promise: &Promise) -> Option<Place> {
    let Promised::Shows(screen, shown) = promise.promised else { return None };
    let views = &facts.model.screens[screen.0].views;
    let of_screen = facts.screens().differs.keys().filter(|(of, ..)| *of == screen);
    let mut views = of_screen.map(|(_, view, _)| &views[*view]);
    views.find(|view| view.show == shown).map(|view| view.place)
}

/// Whether a timing check that needs no drive reports the same.
fn is_reported(facts: &Facts, promise: &Promise) -> bool {
    let standing = &facts.standing();
    let (screen, works) = match promise.promised {
        Promised::Shows(screen, _) => (Some(screen), None),
        Promised::Works(id) => (None, standing.works.iter().find(|works| works.id == id)),
    };
    let same =
        |of: ScreenId, view: usize| screen == Some(of) && facts.model.screens[of.0].views[view].place == promise.place;
    match promise.kind {
        PromiseKind::Within { .. } => {
            works.is_some_and(|works| works.late().is_some())
                || standing.within.iter().any(|w| same(w.screen, w.view) && !w.holds())
        }
        PromiseKind::Steady { .. } => {
            works.is_some_and(|works| works.gap.is_some())
                || standing.steady.iter().any(|s| same(s.screen, s.view) && s.blink.is_some())
        }
        PromiseKind::Expect { .. } => false,
    }
}
