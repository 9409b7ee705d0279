//! What a screen displays: its rule and the pictures that arrive, delayed by its start-up and its switch-over, and
//! what it does when a picture goes.
//!
//! Assumed behaviour of a screen, where its data don't say more:
//! - it changes over at once when its rule picks another input or another picture arrives, and the new one is there
//!   after its switch-over time, counted from when it was both picked and arriving (the screen has to lock on to it);
//!   a new change in between starts that time again;
//! - what it displays while it changes over is unknown, so it counts as neither picture;
//! - when the picture on the picked input goes, it does at once what it does on loss.

use super::plan::ScreenPlan;
use super::replay_circuit::Sight;
use super::time::Time;
use catalogue::part_form::{Idle, OnLoss};
use model::{Model, PartId, ScreenId, Shown};
use states::{ArrivingPicture, Picture, arriving};

/// What a screen displays.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Displayed {
    /// The live picture of a source.
    Live(PartId),
    /// The last frame of a source that has gone.
    Frozen(PartId),
    /// The home page.
    Home,
    /// Black, as the screen's rule says.
    Black,
    /// An input is picked on which no picture arrives: black, blue, or the home page.
    Lost(OnLoss),
    /// Several pictures at once on the picked input.
    Mixed(Vec<PartId>),
    /// A picture in a format that the screen doesn't take.
    Unreadable(PartId),
    /// Two things in turn, with each pulse of a pulsed feed; each pulse starts the switch-over again.
    Flickers,
    /// Between two pictures.
    Changing,
    /// The screen has power and is starting up.
    Starting,
    /// The screen has no power.
    Dark,
}

impl Displayed {
    /// Whether this is what the view asks for. As in a table of states, a screen without power can't show its home
    /// page, and that is no fault; a screen that goes home or black because its picture went does show home or black.
    pub fn agrees(&self, shown: Shown) -> bool {
        match shown {
            Shown::Any => true,
            Shown::Source(part) => *self == Displayed::Live(part),
            Shown::Home => matches!(self, Displayed::Home | Displayed::Dark | Displayed::Lost(OnLoss::Home)),
            Shown::Black => matches!(self, Displayed::Black | Displayed::Dark | Displayed::Lost(OnLoss::Black)),
        }
    }

    /// Whether it is a source's picture, live or frozen, alone or with others.
    pub fn is_of(&self, part: PartId) -> bool {
        match self {
            Displayed::Live(p) | Displayed::Frozen(p) => *p == part,
            Displayed::Mixed(parts) => parts.contains(&part),
            _ => false,
        }
    }

    /// In words.
    pub fn words(&self, model: &Model) -> String {
        let name = |part: &PartId| model.part(*part).name.to_string();
        match self {
            Displayed::Live(part) => name(part),
            Displayed::Frozen(part) => format!("{}, frozen", name(part)),
            Displayed::Home => "home".into(),
            Displayed::Black => "black".into(),
            Displayed::Lost(OnLoss::Blue) => "no picture (blue)".into(),
            Displayed::Lost(OnLoss::Home) => "no picture (home)".into(),
            Displayed::Lost(OnLoss::Black | OnLoss::Freeze) => "no picture (black)".into(),
            Displayed::Mixed(parts) => format!("{} at once", parts.iter().map(name).collect::<Vec<_>>().join(" and ")),
            Displayed::Unreadable(part) => format!("{} in a format it can't take", name(part)),
            Displayed::Flickers => "flickering with pulses".into(),
            Displayed::Changing => "switching over".into(),
            Displayed::Starting => "starting".into(),
            Displayed::Dark => "dark (no power)".into(),
        }
    }
}

/// What a screen is about to show: the line of its rule, and what arrives.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Choice {
    rule: Option<usize>,
    picture: Picture,
}

/// One screen in motion.
#[derive(Debug, Clone)]
pub(super) struct ScreenMotion {
    choice: Option<Choice>,
    /// Since when that has been the choice.
    since: Time,
    up: bool,
    /// What is on the display.
    pub display: Displayed,
    /// When it shows its choice.
    pub due: Option<Time>,
}

impl ScreenMotion {
    pub fn new() -> Self {
        ScreenMotion { choice: None, since: Time::ZERO, up: false, display: Displayed::Dark, due: None }
    }

    /// Whether it is in the same state as another one, with nothing due.
    pub fn stands_like(&self, other: &ScreenMotion) -> bool {
        (&self.choice, self.up, &self.display) == (&other.choice, other.up, &other.display)
    }

    /// Counts all its times from another moment.
    pub fn shift(&mut self, by: Time) {
        self.since = self.since - by;
        self.due = self.due.map(|due| due - by);
    }

    /// Counts its time from a later moment, if that moved since another moment.
    pub fn go_along(&mut self, then: &ScreenMotion, by: Time) {
        if self.since != then.since {
            self.since = self.since + by;
        }
    }

    /// Takes what its rule picks and what arrives now. `up` has, for each starter of the plan, whether it is up.
    pub fn look(&mut self, model: &Model, id: ScreenId, plan: &ScreenPlan, sight: &Sight, up: &[bool], now: Time) {
        if !sight.powered {
            *self = ScreenMotion { since: now, ..ScreenMotion::new() };
            return;
        }
        let choice = choose(model, id, plan, sight, up);
        let before = self.choice.replace(choice.clone());
        let changed = before.as_ref() != Some(&choice);
        if changed {
            self.since = now;
        }
        let was_up = std::mem::replace(&mut self.up, plan.starter.is_none_or(|s| up[s]));
        if !self.up {
            (self.display, self.due) = (Displayed::Starting, None);
            return;
        }
        if !changed && was_up {
            return;
        }
        if let (Picture::NoSignal(_), Some(before)) =
            (&choice.picture, before.filter(|b| was_up && b.rule == choice.rule))
        {
            let had = matches!(before.picture, Picture::Source(_));
            (self.display, self.due) = (lost(plan.on_loss, Some(&self.display).filter(|_| had)), None);
            return;
        }
        let at = self.since + plan.switch_over;
        if at <= now {
            (self.display, self.due) = (settled(&choice.picture, plan.on_loss), None);
        } else {
            let first = matches!(self.display, Displayed::Starting | Displayed::Dark);
            self.display = if first { Displayed::Starting } else { Displayed::Changing };
            self.due = Some(at);
        }
    }

    /// What it would display without start-up and switch-over times.
    pub fn pick(&self, plan: &ScreenPlan) -> Displayed {
        self.choice.as_ref().map_or(Displayed::Dark, |choice| settled(&choice.picture, plan.on_loss))
    }

    /// Completes a switch-over that is due.
    pub fn show(&mut self, plan: &ScreenPlan) {
        self.due = None;
        if let Some(choice) = &self.choice {
            self.display = settled(&choice.picture, plan.on_loss);
        }
    }
}

/// What a screen picks, and what arrives there from sources and through parts that are up.
fn choose(model: &Model, id: ScreenId, plan: &ScreenPlan, sight: &Sight, up: &[bool]) -> Choice {
    let screen = &model.screens[id.0];
    if let Some(flickers) = &sight.flickers {
        return Choice { rule: sight.rule, picture: flickers.clone() };
    }
    let picture = match sight.rule.map(|rule| screen.shows[rule].input) {
        None if screen.otherwise == Idle::Home => Picture::Home,
        None => Picture::Black,
        Some(input) => {
            let ready = |way: usize| plan.ways[&input][way].iter().all(|starter| up[*starter]);
            let open = sight.open.iter().filter(|(_, way)| ready(*way));
            let arrivals: Vec<ArrivingPicture> = open.map(|&(source, way)| ArrivingPicture { source, way }).collect();
            arriving(model, plan.part, input, &arrivals)
        }
    };
    Choice { rule: sight.rule, picture }
}

/// What a screen shows of a picture once it has changed over.
fn settled(picture: &Picture, on_loss: OnLoss) -> Displayed {
    match picture {
        Picture::Source(part) => Displayed::Live(*part),
        Picture::Home => Displayed::Home,
        Picture::Black => Displayed::Black,
        Picture::Dark => Displayed::Dark,
        Picture::NoSignal(_) => lost(on_loss, None),
        Picture::Clash(parts) => Displayed::Mixed(parts.clone()),
        Picture::WrongFormat(part) => Displayed::Unreadable(*part),
        Picture::Flickers(_) => Displayed::Flickers,
    }
}

/// What a screen shows when its picture goes. A screen that keeps the last frame is black if it has none.
fn lost(on_loss: OnLoss, last: Option<&Displayed>) -> Displayed {
    match (on_loss, last) {
        (OnLoss::Freeze, Some(Displayed::Live(part) | Displayed::Frozen(part))) => Displayed::Frozen(*part),
        (OnLoss::Freeze, _) => Displayed::Lost(OnLoss::Black),
        (other, _) => Displayed::Lost(other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn glass_agrees_with_what_is_asked() {
        let (rear, left) = (PartId(1), PartId(2));
        assert!(
            Displayed::Live(rear).agrees(Shown::Source(rear)) && !Displayed::Live(left).agrees(Shown::Source(rear))
        );
        assert!(
            !Displayed::Frozen(rear).agrees(Shown::Source(rear)),
            "a frozen picture hides what moves behind the vehicle"
        );
        assert!(Displayed::Dark.agrees(Shown::Home) && Displayed::Changing.agrees(Shown::Any));
        assert!(!Displayed::Changing.agrees(Shown::Home));
        assert!(Displayed::Mixed(vec![left, rear]).is_of(rear) && !Displayed::Home.is_of(rear));
    }
}
