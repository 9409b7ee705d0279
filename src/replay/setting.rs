//! What is free to vary while a drive is replayed: supply, copper, flash rate and on-time share, timers' tolerance.

use super::flash::Pattern;
use super::time::Time;
use circuit::{Copper, Corner, Supply};
use model::{Input, SignalId};
use quantity::{PerMinute, Share, Span};
use std::fmt;

/// One choice of everything that is free to vary while a drive is replayed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Setting {
    /// Supply and copper.
    pub corner: Corner,
    /// Flash rate of every flasher.
    pub rate: Pick<PerMinute>,
    /// On-time share of every flasher.
    pub duty: Pick<Share>,
    /// A pattern for every flasher, in place of rate and on-time share.
    pub pattern: Option<Pattern>,
    /// Where timers are in their tolerance.
    pub timers: Timing,
    /// Timers whose time replaces the one in the spec.
    pub times: Vec<(SignalId, Time)>,
}

/// A value out of its allowed range.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Pick<T> {
    /// The lower end.
    Least,
    /// The middle.
    #[default]
    Middle,
    /// The upper end.
    Greatest,
    /// This value, inside or outside the allowed range.
    Exactly(T),
}

/// Where timers are in their tolerance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Timing {
    /// As short as they may be.
    Short,
    /// As set.
    #[default]
    AsSet,
    /// As long as they may be.
    Long,
}

impl Timing {
    /// A timer's time at its setting.
    pub fn off(self, set: Time, tolerance: Share) -> Time {
        match self {
            Timing::Short => set.share((1.0 - tolerance.value()).max(0.0)),
            Timing::AsSet => set,
            Timing::Long => set.share(1.0 + tolerance.value()),
        }
    }
}

impl Setting {
    /// Every corner of supply, flash rate, on-time share and timers' tolerance: 3 · 2 · 2 · 2. The on time, the off
    /// time and the period of an even flash each have their minimum and maximum at one of the four corners of rate and
    /// on-time share. A question that compares one of them with a limit is therefore decided there.
    pub fn corners() -> Vec<Setting> {
        let mut all = vec![];
        for corner in Setting::supplies() {
            for rate in [Pick::Least, Pick::Greatest] {
                for duty in [Pick::Least, Pick::Greatest] {
                    for timers in [Timing::Short, Timing::Long] {
                        all.push(Setting { corner, rate, duty, timers, ..Setting::default() });
                    }
                }
            }
        }
        all
    }

    /// Lowest supply with hot copper, nominal, highest with cold copper: the worst for pulling in, the usual, the worst
    /// for dropping out.
    pub fn supplies() -> [Corner; 3] {
        [
            Corner { supply: Supply::Least, copper: Copper::Hot, ..Corner::NOMINAL },
            Corner::NOMINAL,
            Corner { supply: Supply::Greatest, copper: Copper::Cold, ..Corner::NOMINAL },
        ]
    }

    /// The pattern of a flasher feed; `None` for any other input.
    pub fn pattern(&self, input: &Input) -> Option<Pattern> {
        let rate = self.rate(input)?;
        Some(self.pattern.clone().unwrap_or_else(|| Pattern::even(rate, self.duty(input))))
    }

    fn rate(&self, input: &Input) -> Option<PerMinute> {
        input.flash.map(|span| self.rate.of(span, PerMinute::new))
    }

    fn duty(&self, input: &Input) -> Share {
        let half = Span { low: Share::new(0.5), high: Share::new(0.5) };
        self.duty.of(input.duty.unwrap_or(half), Share::new)
    }
}

impl<T: quantity::Quantity> Pick<T> {
    fn of(self, span: Span<T>, new: impl Fn(f64) -> T) -> T {
        match self {
            Pick::Least => span.low,
            Pick::Middle => new((span.low.value() + span.high.value()) / 2.0),
            Pick::Greatest => span.high,
            Pick::Exactly(value) => value,
        }
    }
}

impl Setting {
    /// In words, for an input's flash: `60 /min, on 30 %`.
    pub fn flash_words(&self, input: &Input) -> Option<String> {
        let rate = self.rate(input)?;
        Some(match &self.pattern {
            Some(pattern) => format!("{} on average, on {}", pattern.rate(), pattern.on_share()),
            None => format!("{rate}, on {}", self.duty(input)),
        })
    }
}

impl fmt::Display for Setting {
    /// `nominal supply, cold copper`, and the timers' tolerance if it isn't nominal.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.corner)?;
        f.write_str(match self.timers {
            Timing::Short => ", timers at their shortest",
            Timing::AsSet => "",
            Timing::Long => ", timers at their longest",
        })
    }
}
