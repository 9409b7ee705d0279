use crate::{Finding, Finds, Repair, Rule, Severity};
use facts::Facts;
use replay::standing::{Blink, Cure, Steady, picture_words};

pub const RULE: Rule = Rule {
    name: "time/blinks",
    severity: Severity::Error,
    explanation: include_str!("blinks.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let blinks =
        facts.standing().steady.iter().filter(|steady| !facts.screens().differs_at(steady.screen, steady.view));
    blinks.filter_map(|steady| Some(finding(facts, steady, steady.blink.as_ref()?))).collect()
}

fn finding(facts: &Facts, steady: &Steady, blink: &Blink) -> Finding {
    let model = facts.model;
    let picture = picture_words(model, steady.shown, steady.screen);
    let how = match blink.away {
        Some(away) => format!("{picture} blinks, gone for up to {} at a time", away.seconds()),
        None => format!("{picture} is lost while a flasher runs and doesn't come back"),
    };
    let finding = RULE
        .finding(model.screens[steady.screen.0].views[steady.view].place, how)
        .about(picture)
        .label("should be steady")
        .shown_in(blink.state.clone(), &blink.setting)
        .value("times lost in the period played", blink.times)
        .value("longest dark part of a flash", blink.dark.seconds())
        .timeline(model, &blink.evidence);
    match &blink.cure {
        Some(cure) => {
            let finding = finding.hint(cure.words(model));
            match cure {
                Cure::Set(timers, time) if timers.len() == 1 => {
                    finding.repaired_by(Repair::Timed(timers[0], time.seconds()))
                }
                _ => finding,
            }
        }
        None => finding.hint(
            "no timer setting makes it steady: feed the camera and its modules from wires that don't flash, and bridge \
             a flashing trigger with a hold module",
        ),
    }
}
