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
use super::rig::Sight;
use super::time::Time;
use catalogue::part_form::{Idle, OnLoss};
use model::{Model, PartId, ScreenId, Shown};
use states::{Arrival, Picture, arriving};

/// What a screen displays.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Glass {
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

impl Glass {
    /// Whether this is what the view asks for. As in a table of states, a screen without power can't show its home
    /// page, and that is no fault; a screen that goes home or black because its picture went does show home or black.
    pub fn agrees(&self, shown: Shown) -> bool {
        match shown {
            Shown::Any => true,
            Shown::Source(part) => *self == Glass::Live(part),
            Shown::Home => matches!(self, Glass::Home | Glass::Dark | Glass::Lost(OnLoss::Home)),
            Shown::Black => matches!(self, Glass::Black | Glass::Dark | Glass::Lost(OnLoss::Black)),
        }
    }

    /// Whether it is a source's picture, live or frozen, alone or with others.
    pub fn is_of(&self, part: PartId) -> bool {
        match self {
            Glass::Live(p) | Glass::Frozen(p) => *p == part,
            Glass::Mixed(parts) => parts.contains(&part),
            _ => false,
        }
    }

    /// In words.
    pub fn words(&self, model: &Model) -> String {
        let name = |part: &PartId| model.part(*part).name.to_string();
        match self {
            Glass::Live(part) => name(part),
            Glass::Frozen(part) => format!("{}, frozen", name(part)),
            Glass::Home => "home".into(),
            Glass::Black => "black".into(),
            Glass::Lost(OnLoss::Blue) => "no picture (blue)".into(),
            Glass::Lost(OnLoss::Home) => "no picture (home)".into(),
            Glass::Lost(OnLoss::Black | OnLoss::Freeze) => "no picture (black)".into(),
            Glass::Mixed(parts) => format!("{} at once", parts.iter().map(name).collect::<Vec<_>>().join(" and ")),
            Glass::Unreadable(part) => format!("{} in a format it can't take", name(part)),
            Glass::Flickers => "flickering with pulses".into(),
            Glass::Changing => "switching over".into(),
            Glass::Starting => "starting".into(),
            Glass::Dark => "dark (no power)".into(),
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
    /// What is on the glass.
    pub glass: Glass,
    /// When it shows its choice.
    pub due: Option<Time>,
}

impl ScreenMotion {
    pub fn new() -> Self {
        ScreenMotion { choice: None, since: Time::ZERO, up: false, glass: Glass::Dark, due: None }
    }

    /// Whether it is in the same state as another one, with nothing due.
    pub fn stands_like(&self, other: &ScreenMotion) -> bool {
        (&self.choice, self.up, &self.glass) == (&other.choice, other.up, &other.glass)
    }

    /// Counts all its times from another moment.
    pub fn shift(&mut self, by: Time) {
        self.since = self.since - by;
        self.due = self.due.map(|due| due - by);
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
            (self.glass, self.due) = (Glass::Starting, None);
            return;
        }
        if !changed && was_up {
            return;
        }
        if let (Picture::NoSignal(_), Some(before)) =
            (&choice.picture, before.filter(|b| was_up && b.rule == choice.rule))
        {
            let had = matches!(before.picture, Picture::Source(_));
            (self.glass, self.due) = (lost(plan.on_loss, Some(&self.glass).filter(|_| had)), None);
            return;
        }
        let at = self.since + plan.switch_over;
        if at <= now {
            (self.glass, self.due) = (settled(&choice.picture, plan.on_loss), None);
        } else {
            let first = matches!(self.glass, Glass::Starting | Glass::Dark);
            self.glass = if first { Glass::Starting } else { Glass::Changing };
            self.due = Some(at);
        }
    }

    /// What it would display without start-up and switch-over times.
    pub fn pick(&self, plan: &ScreenPlan) -> Glass {
        self.choice.as_ref().map_or(Glass::Dark, |choice| settled(&choice.picture, plan.on_loss))
    }

    /// Completes a switch-over that is due.
    pub fn show(&mut self, plan: &ScreenPlan) {
        self.due = None;
        if let Some(choice) = &self.choice {
            self.glass = settled(&choice.picture, plan.on_loss);
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
            let arrivals: Vec<Arrival> = open.map(|&(source, way)| Arrival { source, way }).collect();
            arriving(model, plan.part, input, &arrivals)
        }
    };
    Choice { rule: sight.rule, picture }
}

/// What a screen shows of a picture once it has changed over.
fn settled(picture: &Picture, on_loss: OnLoss) -> Glass {
    match picture {
        Picture::Source(part) => Glass::Live(*part),
        Picture::Home => Glass::Home,
        Picture::Black => Glass::Black,
        Picture::Dark => Glass::Dark,
        Picture::NoSignal(_) => lost(on_loss, None),
        Picture::Clash(parts) => Glass::Mixed(parts.clone()),
        Picture::WrongFormat(part) => Glass::Unreadable(*part),
        Picture::Flickers(_) => Glass::Flickers,
    }
}

/// What a screen shows when its picture goes. A screen that keeps the last frame is black if it has none.
fn lost(on_loss: OnLoss, last: Option<&Glass>) -> Glass {
    match (on_loss, last) {
        (OnLoss::Freeze, Some(Glass::Live(part) | Glass::Frozen(part))) => Glass::Frozen(*part),
        (OnLoss::Freeze, _) => Glass::Lost(OnLoss::Black),
        (other, _) => Glass::Lost(other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn glass_agrees_with_what_is_asked() {
        let (rear, left) = (PartId(1), PartId(2));
        assert!(Glass::Live(rear).agrees(Shown::Source(rear)) && !Glass::Live(left).agrees(Shown::Source(rear)));
        assert!(
            !Glass::Frozen(rear).agrees(Shown::Source(rear)),
            "a frozen picture hides what moves behind the vehicle"
        );
        assert!(Glass::Dark.agrees(Shown::Home) && Glass::Changing.agrees(Shown::Any));
        assert!(!Glass::Changing.agrees(Shown::Home));
        assert!(Glass::Mixed(vec![left, rear]).is_of(rear) && !Glass::Home.is_of(rear));
    }
}
