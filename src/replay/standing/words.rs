//! Answers in words, one clause each, for findings and for `replay`.

use super::{
    Arrival, Bounce, Cure, EngineStart, Frozen, Gap, Hazards, MOST_STARTS, Race, RaceEffect, Rear, Standing, Steady,
    Wear, Within, WorksInTime,
};
use crate::{Promised, Time, promised_words};
use model::{Model, ScreenId, Shown};
use states::shown_words;

/// `screen dash`.
pub fn screen_words(model: &Model, screen: ScreenId) -> String {
    format!("screen {}", model.screens[screen.0].name)
}

/// A picture on a screen: `REAR on screen dash`.
pub fn picture_words(model: &Model, shown: Shown, screen: ScreenId) -> String {
    format!("{} on {}", shown_words(model, shown), screen_words(model, screen))
}

impl Steady {
    /// Whether it blinks, and how.
    pub fn words(&self, model: &Model) -> String {
        let picture = picture_words(model, self.shown, self.screen);
        match &self.blink {
            None if self.tried == 0 => format!("{picture}: no flasher is on while its view applies"),
            None => format!("{picture} is steady at every allowed flash ({} cases)", self.tried),
            Some(blink) => {
                let how = match blink.away {
                    Some(away) => format!("blinks, gone for up to {away}"),
                    None => "is lost and doesn't come back".to_string(),
                };
                format!("{picture} {how}, in state {}", blink.state)
            }
        }
    }
}

impl Cure {
    /// What to do.
    pub fn words(&self, model: &Model) -> String {
        match self {
            Cure::Add(time) => {
                format!(
                    "bridge the dark part of the flash with a hold module that holds for at least {time}, its tolerance deducted"
                )
            }
            Cure::Set(timers, time) => {
                let names: Vec<&str> = timers.iter().map(|id| model.signals[id.0].name.as_str()).collect();
                format!(
                    "set {} to {time} (confirmed at every flash, supply voltage and tolerance)",
                    names.join(" and ")
                )
            }
        }
    }
}

impl Arrival {
    /// The input change, the state before and the setting: `reverse on in state key run, at lowest supply, hot copper`.
    pub fn words(&self) -> String {
        let state = if self.state == "at rest" { "at rest".to_string() } else { format!("in state {}", self.state) };
        format!("{} {state}, at {}", self.step, self.setting)
    }

    fn took_words(&self) -> String {
        self.took.map_or_else(|| "doesn't come".to_string(), |took| format!("comes after at most {took}"))
    }
}

impl Within {
    /// Whether the promise holds.
    pub fn holds(&self) -> bool {
        [&self.worst, &self.cold].into_iter().all(|arrival| self.late(arrival.as_ref()).is_none())
    }

    /// An arrival that breaks the promise.
    pub fn late<'a>(&self, arrival: Option<&'a Arrival>) -> Option<&'a Arrival> {
        arrival.filter(|late| late.took.is_none_or(|took| took > self.limit))
    }

    /// The worst time with the screen up, and when it has to start up first.
    pub fn words(&self, model: &Model) -> Vec<String> {
        let picture = picture_words(model, self.shown, self.screen);
        let limit = self.limit.seconds();
        if self.worst.is_none() && self.cold.is_none() {
            return vec![format!("{picture} within {limit}: no single input change leads to it")];
        }
        let line = |late: &Arrival, with: &str| {
            format!("{picture} {}{with}, limit {limit}: {}", late.took_words(), late.words())
        };
        let warm = self.worst.as_ref().map(|late| line(late, ""));
        let cold = self.cold.as_ref().map(|late| line(late, ", with the screen's start-up"));
        warm.into_iter().chain(cold).collect()
    }
}

impl Rear {
    /// The answers that concern the law, one clause each.
    pub fn words(&self, model: &Model) -> Vec<String> {
        let picture = picture_words(model, self.shown, self.screen);
        let mut all = vec![];
        if let Some(arrival) = &self.response {
            all.push(format!("{picture} {}: {} (S5.5.3: 2.0 s)", arrival.took_words(), arrival.words()));
        }
        if let Some(arrival) = &self.after_start {
            let words = arrival.took_words();
            all.push(format!(
                "{picture} {words} if reverse follows 4 s after switching on: {} (S5.5.3)",
                arrival.words()
            ));
        }
        if let Some(arrival) = &self.linger.worst {
            let stays = match arrival.took {
                Some(took) => format!("may stay for {took} after its view ends"),
                None => "stays after its view ends".to_string(),
            };
            all.push(format!("{picture} {stays}: {} (S5.5.4: not after the backing event)", arrival.words()));
        }
        if let Some(arrival) = &self.other_default {
            all.push(format!("backing up doesn't start with {picture}: {} (S5.5.6)", arrival.words()));
        }
        all
    }
}

impl EngineStart {
    /// The effect of an engine start.
    pub fn words(&self, model: &Model) -> String {
        let picture = picture_words(model, self.shown, self.screen);
        let away = match self.away {
            Some(Time::ZERO) => return format!("{picture} stays during engine start"),
            Some(away) => format!("is back {away} after the starter engages"),
            None => "doesn't come back after engine start".to_string(),
        };
        let mut words = format!("{picture} {away}, in state {}", self.state);
        if !self.restarts.is_empty() {
            let parts: Vec<&str> = self.restarts.iter().map(|p| model.part(*p).name.as_str()).collect();
            words.push_str(&format!("; restarts: {}", parts.join(", ")));
        }
        if !self.forgets.is_empty() {
            words.push_str(&format!("; loses its state: {}", self.forgets.join(", ")));
        }
        words
    }
}

impl Race {
    /// What the wiring asks for, and what the screen does.
    pub fn words(&self, model: &Model) -> String {
        let (gets, relays) = (self.gets.words(model), self.relays.join(" and "));
        let then = self.then.words(model);
        let does = match self.effect {
            RaceEffect::None => "and doesn't show it".to_string(),
            RaceEffect::Blinks(time) => format!("and {then} is gone for {time}"),
            RaceEffect::Shows(time) => format!("and shows it for {time}"),
            RaceEffect::Later(time) => format!("and {then} comes {time} later"),
        };
        format!(
            "{} gets {gets} before {then} for up to {} while {relays} moves, {does}: {} in state {}",
            screen_words(model, self.screen),
            self.lasts.seconds(),
            self.step,
            self.state,
        )
    }
}

impl Gap {
    /// What the wiring asks for, and what the screen does.
    pub fn words(&self, model: &Model) -> String {
        let then = self.then.words(model);
        let does = match self.effect {
            RaceEffect::Later(time) => format!("{then} comes {time} later"),
            RaceEffect::None => "doesn't show it".to_string(),
            RaceEffect::Blinks(time) | RaceEffect::Shows(time) => format!("{then} is gone for {time}"),
        };
        format!(
            "{} gets {} while the contact of {} is open for up to {} as it moves, and {does}: {} in state {}",
            screen_words(model, self.screen),
            self.gets.words(model),
            self.relay,
            self.open.seconds(),
            self.step,
            self.state,
        )
    }
}

impl Bounce {
    /// What a bounce does.
    pub fn words(&self, model: &Model) -> String {
        let name = &model.inputs[self.input.0].name;
        format!(
            "{name} bouncing for up to {} leaves {}, unlike a clean contact: {} in state {}",
            self.bounce.seconds(),
            self.otherwise.join(", "),
            self.step,
            self.state
        )
    }
}

impl Hazards {
    /// How the screen is disturbed.
    pub fn words(&self, model: &Model) -> String {
        let times = if self.times == 1 { "once".to_string() } else { format!("{} times", self.times) };
        format!(
            "hazards disturb {} {times}, up to {} of {} instead of {}: from state {}",
            screen_words(model, self.screen),
            self.longest,
            self.instead.join(", then "),
            shown_words(model, self.shown),
            self.state
        )
    }
}

impl Frozen {
    /// How long the last frame stays.
    pub fn words(&self, model: &Model) -> String {
        let lasts = self.lasts.map_or("for good".to_string(), |lasts| format!("for {lasts}"));
        format!(
            "{} freezes on the last frame of {} {lasts}: {} in state {}",
            screen_words(model, self.screen),
            model.part(self.source).name,
            self.step,
            self.state
        )
    }
}

impl Wear {
    /// How often, and how long.
    pub fn words(&self, model: &Model) -> String {
        let name = &model.signals[self.relay.0].name;
        let used_up = |life| format!(", mechanical life of {life} used up after {} h of flashing", self.hours(life));
        let used_up = self.mechanical.map(used_up).unwrap_or_default();
        format!("{name} operates {} times per hour of flashing at {}{used_up}", self.operations, self.rate)
    }
}

impl WorksInTime {
    /// How late it comes on, and whether it is steady.
    pub fn words(&self, model: &Model) -> Vec<String> {
        let it = promised_words(model, Promised::Works(self.id));
        let within = self.within.as_ref().map(|(limit, worst)| match worst {
            None => format!("{it} within {}: no single input change asks for it", limit.seconds()),
            Some(late) => format!("{it} {}, limit {}: {}", late.took_words(), limit.seconds(), late.words()),
        });
        let steady = model.works[self.id.0].steady.then(|| match &self.gap {
            None => format!("{it} is steady"),
            Some(gap) => format!("{it} stops for up to {} in state {}, at {}", gap.longest, gap.state, gap.setting),
        });
        within.into_iter().chain(steady).collect()
    }
}

impl Standing {
    /// Every answer, with a word for its question.
    pub fn lines(&self, model: &Model) -> Vec<(&'static str, String)> {
        let mut all: Vec<(&'static str, String)> = vec![];
        for answer in &self.steady {
            all.push(("steady", answer.words(model)));
            let cure = answer.blink.as_ref().and_then(|blink| blink.cure.as_ref());
            all.extend(cure.map(|cure| ("", format!("do: {}", cure.words(model)))));
        }
        all.extend(self.within.iter().flat_map(|a| a.words(model)).map(|words| ("within", words)));
        for answer in &self.held_over {
            let picture = picture_words(model, answer.shown, answer.screen);
            let limit = answer.limit.seconds();
            let words = answer.worst.words();
            let took = answer.worst.took_words();
            all.push(("held over", format!("{picture} {took}, limit {limit}: {words}")));
        }
        all.extend(self.rear.iter().flat_map(|a| a.words(model)).map(|words| ("rear view", words)));
        all.extend(self.crank.iter().map(|a| ("engine start", a.words(model))));
        all.extend(self.races.iter().map(|a| ("race", a.words(model))));
        all.extend(self.gaps.iter().map(|a| ("gap", a.words(model))));
        all.extend(self.bounces.iter().map(|a| ("bounce", a.words(model))));
        all.extend(self.hazards.iter().map(|a| ("hazards", a.words(model))));
        all.extend(self.wear.iter().map(|a| ("wear", a.words(model))));
        all.extend(self.frozen.iter().map(|a| ("last frame", a.words(model))));
        all.extend(self.works.iter().flat_map(|a| a.words(model)).map(|words| ("works", words)));
        for (screen, states) in &self.left_out {
            let name = screen_words(model, *screen);
            all.push(("left out", format!("{name} has {states} states; only the {MOST_STARTS} simplest were checked")));
        }
        all
    }
}
