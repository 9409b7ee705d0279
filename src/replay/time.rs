//! Time on the timeline: whole nanoseconds, so that sums are exact and two things at the same moment are really at the
//! same moment.

use quantity::Seconds;
use std::fmt;
use std::ops::{Add, Mul, Sub};

/// A moment counted from the start of a drive, or a lapse between two moments, in whole nanoseconds.
///
/// ```
/// use quantity::Seconds;
/// use replay::Time;
/// let lapse = Time::of(Seconds::new(0.35));
/// assert_eq!(lapse + lapse, Time::of(Seconds::new(0.7)));
/// assert_eq!(lapse.to_string(), "0.350 s");
/// assert_eq!(lapse.seconds().to_string(), "350 ms");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Time(i64);

/// Nanoseconds in a second.
const PER_SECOND: f64 = 1e9;

impl Time {
    /// The start of a drive; no time at all.
    pub const ZERO: Time = Time(0);
    /// Later than anything.
    pub const NEVER: Time = Time(i64::MAX);

    /// From whole nanoseconds.
    pub const fn nanoseconds(count: i64) -> Time {
        Time(count)
    }

    /// From whole milliseconds.
    pub const fn milliseconds(count: i64) -> Time {
        Time(count * 1_000_000)
    }

    /// From seconds, to the nearest nanosecond; what is beyond some 290 years is cut there.
    pub fn of(seconds: Seconds) -> Time {
        // OK because: a cast from a float stops at the ends of the range.
        Time((seconds.value() * PER_SECOND).round() as i64)
    }

    /// In seconds.
    pub fn seconds(self) -> Seconds {
        Seconds::new(self.0 as f64 / PER_SECOND)
    }

    /// In whole nanoseconds.
    pub const fn count(self) -> i64 {
        self.0
    }

    /// A share of it, to the nearest nanosecond.
    pub fn share(self, share: f64) -> Time {
        Time((self.0 as f64 * share).round() as i64)
    }

    /// The next whole multiple of `step`, this one if it is one.
    pub fn up_to_next(self, step: Time) -> Time {
        Time(self.0.div_euclid(step.0) * step.0 + if self.0.rem_euclid(step.0) == 0 { 0 } else { step.0 })
    }
}

impl Add for Time {
    type Output = Time;
    /// Stops at the ends of the range.
    fn add(self, other: Time) -> Time {
        Time(self.0.saturating_add(other.0))
    }
}

impl Sub for Time {
    type Output = Time;
    /// Stops at the ends of the range.
    fn sub(self, other: Time) -> Time {
        Time(self.0.saturating_sub(other.0))
    }
}

impl Mul<i64> for Time {
    type Output = Time;
    /// Stops at the ends of the range.
    fn mul(self, times: i64) -> Time {
        Time(self.0.saturating_mul(times))
    }
}

impl fmt::Display for Time {
    /// Seconds with milliseconds: `4.250 s`. Finer than that only where it would be lost: `0.000 04 s` is `40 µs`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0 != 0 && self.0.abs() < 500_000 {
            return f.pad(&format!("{} µs", self.0 / 1000));
        }
        let milliseconds = (self.0 as f64 / 1e6).round() as i64;
        let sign = if milliseconds < 0 { "−" } else { "" };
        let size = milliseconds.unsigned_abs();
        f.pad(&format!("{sign}{}.{:03} s", size / 1000, size % 1000))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_are_exact() {
        let tenth = Time::of(Seconds::new(0.1));
        assert_eq!((0..10).fold(Time::ZERO, |sum, _| sum + tenth), Time::of(Seconds::new(1.0)));
        assert_eq!(Time::of(Seconds::new(1e300)), Time::NEVER);
        assert_eq!(Time::NEVER + tenth, Time::NEVER);
    }

    #[test]
    fn prints_milliseconds() {
        assert_eq!(Time::milliseconds(-1250).to_string(), "−1.250 s");
        assert_eq!(Time::nanoseconds(857_142_857).to_string(), "0.857 s");
        assert_eq!(Time::nanoseconds(40_000).to_string(), "40 µs");
        assert_eq!(Time::ZERO.to_string(), "0.000 s");
    }

    #[test]
    fn rounds_up_to_steps() {
        let step = Time::milliseconds(50);
        assert_eq!(Time::milliseconds(701).up_to_next(step), Time::milliseconds(750));
        assert_eq!(Time::milliseconds(750).up_to_next(step), Time::milliseconds(750));
    }
}
