//! What passes a step of the bench test, as words for the tech and as data for the program that judges the results.

use quantity::{Amps, Ohms, Quantity, Seconds, Volts, read_loosely};

/// A reading up to this resistance counts as joined (common practice, no source).
const JOINED: Ohms = Ohms::new(2.0);
/// A reading from this resistance on counts as open (common practice, no source).
const OPEN: Ohms = Ohms::new(1e6);
/// Share by which a number may be off its limit because of its binary form.
const ROUNDING: f64 = 1e-9;

/// The limits of a reading.
#[derive(Debug, Clone, PartialEq)]
pub enum Limit {
    /// Nothing to measure: somebody confirms that it is so.
    Confirmed,
    /// Volts from the least to the most; without a least, of either sign.
    Volts { least: Option<Volts>, most: Volts },
    /// A current from the least to the most.
    Amps { least: Amps, most: Amps },
    /// A resistance from the least to the most.
    Ohms { least: Ohms, most: Ohms },
    /// A time from the least to the most.
    Time { least: Seconds, most: Seconds },
    /// Continuity.
    Joined,
    /// No continuity.
    Open,
    /// A picture, by any of its names; without a name, any picture.
    Picture(Vec<String>),
}

/// How a reading compares with its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Compared {
    /// Within the limits.
    Passed,
    /// Below the least.
    Low,
    /// Above the most.
    High,
    /// Not what it must be, where there is no low and high.
    Other,
}

/// Words that confirm, and words that deny.
const YES: [&str; 7] = ["ok", "yes", "y", "pass", "passed", "done", "good"];
const NO: [&str; 6] = ["no", "n", "fail", "failed", "bad", "wrong"];
/// What a meter shows, or a tech writes, for no connection.
const BROKEN: [&str; 7] = ["open", "ol", "o.l", "o.l.", "1.", "inf", "infinite"];
/// What a tech writes for a connection.
const CONTINUOUS: [&str; 5] = ["joined", "closed", "beep", "short", "shorted"];

/// What was read.
#[derive(Debug, Clone, PartialEq)]
pub enum BenchValue {
    /// A voltage.
    Volts(Volts),
    /// A current.
    Amps(Amps),
    /// A resistance; `None` for no connection.
    Ohms(Option<Ohms>),
    /// A time.
    Time(Seconds),
    /// What a screen shows, in lower case.
    Picture(String),
}

impl Limit {
    /// Compares what was written down.
    ///
    /// # Errors
    /// What a reading must look like, if this is none.
    pub fn compare(&self, read: &str) -> Result<Compared, String> {
        let (read, word) = (read.trim(), read.trim().to_lowercase());
        if YES.contains(&word.as_str()) {
            return Ok(Compared::Passed);
        }
        if NO.contains(&word.as_str()) {
            return Ok(Compared::Other);
        }
        // `12.5 V, no click`, `12.5 V, clicks`.
        let (read, beside) = read.split_once(", ").unwrap_or((read, ""));
        if beside.to_lowercase().split_whitespace().any(|word| NO.contains(&word) || word == "not" || word == "doesn't")
        {
            return Ok(Compared::Other);
        }
        let is_overflow = BROKEN.contains(&read.to_lowercase().as_str());
        if matches!(self, Limit::Volts { .. } | Limit::Amps { .. }) && is_overflow {
            return Ok(Compared::High);
        }
        Ok(self.compare_value(&match self {
            Limit::Confirmed => return Err("`ok` or `no`".to_string()),
            Limit::Volts { .. } => BenchValue::Volts(number(read)?),
            Limit::Amps { .. } => BenchValue::Amps(number(read)?),
            Limit::Time { .. } => BenchValue::Time(number(read)?),
            Limit::Ohms { .. } | Limit::Joined | Limit::Open => BenchValue::Ohms(resistance(read, &word)?),
            Limit::Picture(_) => BenchValue::Picture(word),
        }))
    }

    /// Compares a value; one of another kind of quantity does not pass. What is only confirmed has no value to fail by.
    pub fn compare_value(&self, value: &BenchValue) -> Compared {
        match (self, value) {
            (Limit::Confirmed, _) => Compared::Passed,
            (Limit::Volts { least: None, most }, BenchValue::Volts(volts)) => {
                between(volts.abs().value(), f64::MIN, most.value())
            }
            (Limit::Volts { least: Some(least), most }, BenchValue::Volts(volts)) => {
                between(volts.value(), least.value(), most.value())
            }
            (Limit::Amps { least, most }, BenchValue::Amps(amps)) => between(amps.value(), least.value(), most.value()),
            (Limit::Time { least, most }, BenchValue::Time(time)) => between(time.value(), least.value(), most.value()),
            (Limit::Ohms { least, most }, BenchValue::Ohms(Some(ohms))) => {
                between(ohms.value(), least.value(), most.value())
            }
            (Limit::Joined, BenchValue::Ohms(Some(ohms))) if *ohms <= JOINED => Compared::Passed,
            (Limit::Open, BenchValue::Ohms(Some(ohms))) if *ohms < OPEN => Compared::Low,
            (Limit::Open, BenchValue::Ohms(_)) => Compared::Passed,
            (Limit::Ohms { .. } | Limit::Joined, BenchValue::Ohms(_)) => Compared::High,
            (Limit::Picture(names), BenchValue::Picture(_)) if names.is_empty() => Compared::Passed,
            (Limit::Picture(names), BenchValue::Picture(word)) if names.iter().any(|name| same_picture(name, word)) => {
                Compared::Passed
            }
            _ => Compared::Other,
        }
    }
}

fn between(value: f64, least: f64, most: f64) -> Compared {
    if value < least - ROUNDING * least.abs() {
        Compared::Low
    } else if value > most + ROUNDING * most.abs() {
        Compared::High
    } else {
        Compared::Passed
    }
}

/// A number, with its unit or in the usual one.
fn number<Q: Quantity>(read: &str) -> Result<Q, String> {
    read_loosely(read).ok_or_else(|| format!("a number in {unit}, such as `1.2 {unit}`", unit = Q::UNITS[0]))
}

/// A resistance; `None` for no connection.
fn resistance(read: &str, word: &str) -> Result<Option<Ohms>, String> {
    if BROKEN.contains(&word) {
        return Ok(None);
    }
    if CONTINUOUS.contains(&word) {
        return Ok(Some(Ohms::new(0.0)));
    }
    let text = read.trim_start_matches(['>', ' ']).replace("ohms", "ohm");
    // `20M` on a meter is 20 MΩ.
    let text = match text.strip_suffix(['k', 'K', 'M']) {
        Some(digits) if text.ends_with('M') => format!("{} MΩ", digits.trim()),
        Some(digits) => format!("{} kΩ", digits.trim()),
        None => text,
    };
    let ohms = number::<Ohms>(&text);
    ohms.map(Some).map_err(|_| "a number in Ω, `joined` or `open`".to_string())
}

/// `dark` is enough for `dark (no power)`.
fn same_picture(name: &str, word: &str) -> bool {
    let name = name.to_lowercase();
    !word.is_empty() && (name == word || name.split(" (").next() == Some(word))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_are_taken_as_techs_write_them() {
        let volts = Limit::Volts { least: Some(Volts::new(12.4)), most: Volts::new(12.6) };
        for (read, wanted) in [
            ("12.5", "Passed"),
            ("12,41 V", "Passed"),
            ("12.4v", "Passed"),
            ("12.38", "Low"),
            ("13 V", "High"),
            ("ok", "Passed"),
            ("no", "Other"),
            ("12.5 V, clicks", "Passed"),
            ("12.5, no click", "Other"),
            ("OL", "High"),
        ] {
            assert_eq!(format!("{:?}", volts.compare(read).unwrap()), wanted, "{read}");
        }
        assert!(volts.compare("12.5 A").is_err() && volts.compare("twelve").is_err());
        let dead = Limit::Volts { least: None, most: Volts::new(0.4) };
        assert_eq!(dead.compare("-0.03"), Ok(Compared::Passed));
        assert_eq!(dead.compare("-12.1"), Ok(Compared::High));
        let amps = Limit::Amps { least: Amps::new(0.9), most: Amps::new(1.5) };
        assert_eq!(amps.compare("950 mA"), Ok(Compared::Passed));
        assert_eq!(amps.compare("950 ma"), Ok(Compared::Passed));
        assert_eq!(amps.compare("0.85"), Ok(Compared::Low));
        let wire = Limit::Ohms { least: Ohms::new(0.0), most: Ohms::new(0.12) };
        for (read, wanted) in [
            ("0.12", Compared::Passed),
            ("0.15 ohm", Compared::High),
            ("OL", Compared::High),
            ("joined", Compared::Passed),
            ("2 kΩ", Compared::High),
        ] {
            assert_eq!(wire.compare(read), Ok(wanted), "{read}");
        }
        for (read, wanted) in [
            ("open", Compared::Passed),
            ("> 2 MΩ", Compared::Passed),
            (">20M", Compared::Passed),
            ("0.3 Ω", Compared::Low),
            ("joined", Compared::Low),
        ] {
            assert_eq!(Limit::Open.compare(read), Ok(wanted), "{read}");
        }
        assert_eq!(Limit::Joined.compare("0.4"), Ok(Compared::Passed));
        assert_eq!(Limit::Joined.compare("OL"), Ok(Compared::High));
        let dark = Limit::Picture(vec!["dark (no power)".to_string(), "black".to_string()]);
        assert_eq!(dark.compare("Dark"), Ok(Compared::Passed));
        assert_eq!(dark.compare("REAR"), Ok(Compared::Other));
        assert!(Limit::Confirmed.compare("12").is_err());
    }
}
