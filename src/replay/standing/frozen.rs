//! Does a screen keep the last frame of a picture that has gone? The driver takes it for a live one.

use super::asker::{Asker, Case};
use crate::Row;
use crate::display::Displayed;
use crate::setting::Setting;
use crate::time::Time;
use catalogue::part_form::OnLoss;
use model::{PartId, ScreenId};

/// A last frame that stays on a screen.
#[derive(Debug, Clone, PartialEq)]
pub struct Frozen {
    /// The screen.
    pub screen: ScreenId,
    /// Whose last frame.
    pub source: PartId,
    /// Longest time; `None` if it stays.
    pub lasts: Option<Time>,
    /// The state before, in words.
    pub state: String,
    /// The move, in words.
    pub step: String,
    /// What happens around it.
    pub evidence: Vec<Row>,
}

pub fn ask(asker: &mut Asker) -> Vec<Frozen> {
    let model = asker.solved.model;
    let mut all = vec![];
    for screen in (0..model.screens.len()).map(ScreenId) {
        if model.screens[screen.0].on_loss == OnLoss::Freeze {
            all.extend(of_screen(asker, screen));
        }
    }
    all
}

/// The longest for each source, over every move from every state.
fn of_screen(asker: &mut Asker, screen: ScreenId) -> Vec<Frozen> {
    let subject = asker.screen(screen);
    let mut worst: Vec<(Frozen, Case, Time)> = vec![];
    for start in &subject.starts {
        for moved in asker.moves(&subject.concern, start) {
            let case = asker.case(start, &[moved], &Setting::default());
            let machine = asker.play(&case);
            let record = &machine.record;
            for (from, to, display) in record.screens[screen.0].spans(record.to) {
                let Displayed::Frozen(source) = display else { continue };
                let lasts = (to < record.to).then_some(to - from);
                let key = |lasts: Option<Time>| lasts.unwrap_or(Time::NEVER);
                let before = worst.iter().position(|(frozen, ..)| frozen.source == *source);
                if before.is_some_and(|at| key(worst[at].0.lasts) >= key(lasts)) || from == to {
                    continue;
                }
                let (state, step) = (start.name.clone(), asker.move_words(moved));
                let frozen = Frozen { screen, source: *source, lasts, state, step, evidence: vec![] };
                match before {
                    Some(at) => worst[at] = (frozen, case.clone(), from),
                    None => worst.push((frozen, case.clone(), from)),
                }
            }
        }
    }
    let mut reported = vec![];
    for (mut frozen, case, from) in worst {
        let machine = asker.play(&case);
        frozen.evidence = asker.evidence(&machine, from);
        reported.push(frozen);
    }
    reported
}
