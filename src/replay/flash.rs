//! Flashers: their pattern, and the rate that a standard counts for it.

use super::time::Time;
use quantity::{PerMinute, Seconds, Share, Span};

/// A flash pattern: lamps on, lamps off, repeated. Most flashers have one cycle; some repeat several.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pattern {
    cycles: Vec<Cycle>,
}

/// Lamps on, then off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cycle {
    /// Time on.
    pub on: Time,
    /// Time off after that.
    pub off: Time,
}

impl Cycle {
    /// From its start to that of the next.
    pub fn period(self) -> Time {
        self.on + self.off
    }
}

/// Shortest on or off time of a pattern: far below any flasher; it keeps a typing mistake from making a million
/// events of a second.
const SHORTEST: Time = Time::milliseconds(1);

impl Pattern {
    /// An even flash of a rate and an on-time share. The period and the on time are whole nanoseconds.
    pub fn even(rate: PerMinute, on: Share) -> Pattern {
        let period = Time::of(Seconds::new(60.0 / rate.value().max(1e-3))).max(SHORTEST + SHORTEST);
        let on = period.share(on.value().clamp(0.0, 1.0)).max(SHORTEST).min(period - SHORTEST);
        Pattern { cycles: vec![Cycle { on, off: period - on }] }
    }

    /// A pattern of several cycles; `None` for an empty one or a time below 1 ms.
    pub fn of(cycles: Vec<Cycle>) -> Option<Pattern> {
        let fit = !cycles.is_empty() && cycles.iter().all(|c| c.on >= SHORTEST && c.off >= SHORTEST);
        fit.then_some(Pattern { cycles })
    }

    /// Time after which it repeats.
    pub fn length(&self) -> Time {
        self.cycles.iter().fold(Time::ZERO, |sum, cycle| sum + cycle.period())
    }

    /// The longest time that the lamps are off.
    pub fn longest_off(&self) -> Time {
        self.cycles.iter().map(|c| c.off).max().unwrap_or(Time::ZERO)
    }

    /// Whether the lamps are on a time after the start, and when they change next (also counted from the start).
    pub fn at(&self, since_start: Time) -> (bool, Time) {
        let length = self.length().count();
        let mut edge = Time::nanoseconds(since_start.count().div_euclid(length) * length);
        for cycle in &self.cycles {
            for (on, time) in [(true, cycle.on), (false, cycle.off)] {
                edge = edge + time;
                if since_start < edge {
                    return (on, edge);
                }
            }
        }
        // OK because: the cycles add up to the length, so that the last edge is beyond any time within it.
        (false, edge)
    }

    /// The flash rate as SAE J945 counts it: the average over consecutive cycles, each with a rate of its own. That
    /// this is the mean of rates, not cycles over time, follows NHTSA's interpretation 01931ztv (2002) of 49 CFR
    /// 571.108.
    pub fn rate(&self) -> PerMinute {
        let rates = self.cycles.iter().map(|c| 60.0 / c.period().seconds().value());
        PerMinute::new(rates.sum::<f64>() / self.cycles.len() as f64)
    }

    /// The on-time share, averaged over the cycles in the same way.
    pub fn on_share(&self) -> Share {
        let shares = self.cycles.iter().map(|c| c.on.seconds() / c.period().seconds());
        Share::new(shares.sum::<f64>() / self.cycles.len() as f64)
    }

    /// Whether rate and on-time share are within what is allowed.
    pub fn within(&self, rates: Span<PerMinute>, shares: Span<Share>) -> bool {
        let (rate, share) = (self.rate(), self.on_share());
        rate >= rates.low && rate <= rates.high && share >= shares.low && share <= shares.high
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pattern(milliseconds: &[(i64, i64)]) -> Pattern {
        let cycle = |&(on, off)| Cycle { on: Time::milliseconds(on), off: Time::milliseconds(off) };
        Pattern::of(milliseconds.iter().map(cycle).collect()).unwrap()
    }

    /// SAE J945 for variable-load flashers: 60 to 120 flashes per minute (NHTSA interpretation GF006498), on for 30 %
    /// to 75 % (from memory).
    fn allowed(pattern: &Pattern) -> bool {
        let rates = Span { low: PerMinute::new(60.0), high: PerMinute::new(120.0) };
        pattern.within(rates, Span { low: Share::new(0.30), high: Share::new(0.75) })
    }

    /// NHTSA interpretation 01931ztv (2002): two cycles of 160 ms on and 200 ms off are 166.7 per minute each, one of
    /// 160 ms on and 620 ms off is 76.9; the three average 136.8, which is too fast.
    #[test]
    fn averages_as_the_interpretation_of_2002_does() {
        assert_eq!((pattern(&[(160, 200)]).rate().value() * 10.0).round(), 1667.0);
        assert_eq!((pattern(&[(160, 620)]).rate().value() * 10.0).round(), 769.0);
        let whole = pattern(&[(160, 200), (160, 200), (160, 620)]);
        assert_eq!((whole.rate().value() * 10.0).round(), 1368.0);
        assert!(!allowed(&whole));
    }

    /// NHTSA interpretation GF006498 (2003): 200/250, 200/250 and 200/850 ms 'is within the specified flash rate'.
    /// Worked:
    /// 133.3, 133.3 and 57.1 average 107.9.
    #[test]
    fn averages_as_the_interpretation_of_2003_does() {
        let whole = pattern(&[(200, 250), (200, 250), (200, 850)]);
        assert_eq!((whole.rate().value() * 10.0).round(), 1079.0);
        assert!(allowed(&whole));
    }

    #[test]
    fn an_even_pattern_keeps_its_edges_for_ever() {
        let even = Pattern::even(PerMinute::new(120.0), Share::new(0.3));
        assert_eq!(even.at(Time::ZERO), (true, Time::milliseconds(150)));
        assert_eq!(even.at(Time::milliseconds(150)), (false, Time::milliseconds(500)));
        // An hour later to the nanosecond.
        let hour = Time::of(Seconds::new(3600.0));
        assert_eq!(even.at(hour), (true, hour + Time::milliseconds(150)));
        assert_eq!(even.longest_off(), Time::milliseconds(350));
        // Half of 857 142 857 ns, to the nearest: 428 571 429 on, 428 571 428 off.
        let odd = Pattern::even(PerMinute::new(70.0), Share::new(0.5));
        assert_eq!(odd.length(), Time::nanoseconds(857_142_857));
        assert_eq!(odd.at(Time::ZERO).1, Time::nanoseconds(428_571_429));
    }

    #[test]
    fn several_cycles_follow_each_other() {
        let whole = pattern(&[(160, 200), (160, 620)]);
        let ms = Time::milliseconds;
        assert_eq!(whole.at(ms(359)), (false, ms(360)));
        assert_eq!(whole.at(ms(360)), (true, ms(520)));
        assert_eq!(whole.at(ms(1140 + 400)), (true, ms(1140 + 520)));
    }
}
