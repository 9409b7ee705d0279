//! Typed quantities: a number and its unit are one thing, from the spec's text to the last printed figure.
//!
//! Every type here holds one `f64` in the SI unit (or the trade's own unit where that is what tables use: mm², °C,
//! Ah, flashes per minute), is read from text that must name its unit, and prints itself in the trade's usual form.
//!
//! ```
//! use quantity::{Amps, Volts, Ohms};
//! let draw: Amps = "250 mA".parse().unwrap();
//! assert_eq!(draw, Amps::new(0.25));
//! assert_eq!(draw.to_string(), "250 mA");
//! assert_eq!((draw * Ohms::new(10.0)).to_string(), "2.5 V");
//! assert!("250".parse::<Amps>().is_err()); // a bare number has no meaning
//! ```

pub mod decimal;

use serde::{Serialize, Serializer};
use std::fmt;
use std::ops::{Add, Div, Mul, Neg, Sub};
use std::str::FromStr;

/// A quantity could not be read from text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum QuantityError {
    /// No number stands at the start.
    NotANumber,
    /// A number without a unit.
    NoUnit,
    /// A unit that this quantity is not measured in.
    WrongUnit(String),
    /// Not a finite number, or outside what the quantity can be.
    OutOfRange,
}

/// What every quantity type offers to the spec reader: its accepted units and an example.
pub trait Quantity: Sized + Copy + FromStr<Err = QuantityError> + fmt::Display {
    /// What is measured, for messages: `a current`.
    const NAME: &'static str;
    /// Units that are read, the usual one first.
    const UNITS: &'static [&'static str];
    /// A well-formed example.
    const EXAMPLE: &'static str;
    /// Regular expression of the numbers that are read, for the schema.
    const NUMBER: &'static str = "[+-]?[0-9]*\\.?[0-9]+";
    /// The value in the type's own unit.
    fn value(self) -> f64;
}

/// A number as people write it down: with its unit in any case, or in the usual unit; with a comma or a point.
///
/// ```
/// # use quantity::{Volts, read_loosely};
/// assert_eq!(read_loosely("11,9v"), Some(Volts::new(11.9)));
/// assert_eq!(read_loosely("11.9"), Some(Volts::new(11.9)));
/// assert_eq!(read_loosely::<Volts>("much"), None);
/// ```
pub fn read_loosely<Q: Quantity>(read: &str) -> Option<Q> {
    let text = read.replace(',', ".");
    let digits = text.trim_end_matches(|c: char| !c.is_ascii_digit());
    let unit = text[digits.len()..].trim().to_lowercase();
    // As it is written first: milli and mega differ by case alone.
    let units = Q::UNITS.iter().filter(|known| known.to_lowercase() == unit).take(1);
    let usual = Q::UNITS.iter().filter(|_| unit.is_empty()).take(1);
    let as_written = text.parse().ok();
    as_written.or_else(|| units.chain(usual).find_map(|unit| format!("{digits} {unit}").parse().ok()))
}

/// Splits `1.2 m` into its number and its unit text. Thousands separators and exponents are not part of the form.
/// The unit comes back with the ohm and micro signs in one spelling each (U+03A9, U+00B5).
fn split(text: &str) -> Result<(f64, String), QuantityError> {
    let text = text.trim();
    let end = text
        .char_indices()
        .find(|&(i, c)| !(c.is_ascii_digit() || c == '.' || (i == 0 && (c == '-' || c == '+'))))
        .map_or(text.len(), |(i, _)| i);
    let number: f64 = text[..end].parse().map_err(|_| QuantityError::NotANumber)?;
    if !number.is_finite() || number.abs() > 1e12 {
        return Err(QuantityError::OutOfRange);
    }
    Ok((number, text[end..].trim().replace('\u{2126}', "\u{3a9}").replace('\u{3bc}', "\u{b5}")))
}

/// Rounds to four significant digits and drops trailing zeros: `12.6`, `0.25`, `1234`.
pub fn significant(value: f64, digits: usize) -> String {
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 { "0".into() } else { "∞".into() };
    }
    let magnitude = value.abs().log10().floor() as i32;
    let decimals = (digits as i32 - 1 - magnitude).clamp(0, 12) as usize;
    let mut text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" { "0".into() } else { text }
}

/// Prints with the largest of the scales that keeps the number at 1 or above.
fn scaled(value: f64, scales: &[(f64, &str)], f: &mut fmt::Formatter<'_>) -> fmt::Result {
    // Far below the smallest unit there is nothing that anyone could measure.
    let least = scales.iter().map(|(factor, _)| *factor).fold(f64::INFINITY, f64::min);
    let value = if value.abs() < least * 0.005 { 0.0 } else { value };
    let (factor, unit) = scales
        .iter()
        .find(|(factor, _)| value.abs() >= factor * 0.999_95)
        .or_else(|| scales.iter().find(|(factor, _)| value == 0.0 && *factor == 1.0))
        .or(scales.last())
        .copied()
        .unwrap_or((1.0, ""));
    f.pad(&format!("{} {unit}", significant(value / factor, 3)))
}

macro_rules! quantities {
    ($( $(#[$meta:meta])* $name:ident: $what:literal, example $example:literal,
        read { $($unit:literal = $factor:expr),+ $(,)? }, print { $($pf:expr => $pu:literal),+ $(,)? }
        $(, up_to $most:expr)? );+ $(;)?) => {$(
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            /// From a number in the type's own unit.
            #[inline]
            pub const fn new(value: f64) -> Self { Self(value) }
            /// The number in the type's own unit.
            #[inline]
            pub const fn value(self) -> f64 { self.0 }
            /// The magnitude without its sign.
            pub fn abs(self) -> Self { Self(self.0.abs()) }
            /// The smaller of two.
            pub fn min(self, other: Self) -> Self { if other.0 < self.0 { other } else { self } }
            /// The greater of two.
            pub fn max(self, other: Self) -> Self { if other.0 > self.0 { other } else { self } }
        }

        impl Quantity for $name {
            const NAME: &'static str = $what;
            const UNITS: &'static [&'static str] = &[$($unit),+];
            const EXAMPLE: &'static str = $example;
            fn value(self) -> f64 { self.0 }
        }

        impl FromStr for $name {
            type Err = QuantityError;
            fn from_str(text: &str) -> Result<Self, QuantityError> {
                let (number, unit) = split(text)?;
                match unit.as_str() {
                    $($unit => Ok(Self(number * $factor)),)+
                    "" => Err(QuantityError::NoUnit),
                    other => Err(QuantityError::WrongUnit(other.to_string())),
                }
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                $(if self.0.abs() > $most.0 {
                    return f.pad(&format!("more than {}", $most));
                })?
                scaled(self.0, &[$(($pf, $pu)),+], f)
            }
        }

        impl Serialize for $name {
            /// As text with its unit, so that no reader of the output has to guess.
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }

        impl Add for $name { type Output = Self; fn add(self, o: Self) -> Self { Self(self.0 + o.0) } }
        impl Sub for $name { type Output = Self; fn sub(self, o: Self) -> Self { Self(self.0 - o.0) } }
        impl Neg for $name { type Output = Self; fn neg(self) -> Self { Self(-self.0) } }
        impl Mul<f64> for $name { type Output = Self; fn mul(self, k: f64) -> Self { Self(self.0 * k) } }
        impl Div<f64> for $name { type Output = Self; fn div(self, k: f64) -> Self { Self(self.0 / k) } }
        impl Div for $name { type Output = f64; fn div(self, o: Self) -> f64 { self.0 / o.0 } }
        impl std::iter::Sum for $name { fn sum<I: Iterator<Item = Self>>(i: I) -> Self { Self(i.map(|q| q.0).sum()) } }
    )+};
}

/// Above this a current is printed as more than this. No battery of a vehicle gives as much (a starter battery of some
/// milliohms gives thousands of amperes); such a value depends on the lowest resistance that the solver takes in place
/// of none, and says nothing.
pub const MOST_AMPS: Amps = Amps::new(100_000.0);

quantities! {
    /// Electric potential difference, volts.
    Volts: "a voltage", example "12.6 V", read { "V" = 1.0, "mV" = 1e-3 }, print { 1.0 => "V", 1e-3 => "mV" };
    /// Electric current, amperes.
    Amps: "a current", example "250 mA", read { "A" = 1.0, "mA" = 1e-3, "µA" = 1e-6, "uA" = 1e-6 },
        print { 1.0 => "A", 1e-3 => "mA", 1e-6 => "µA" }, up_to MOST_AMPS;
    /// Resistance, ohms.
    Ohms: "a resistance", example "90 Ω", read { "Ω" = 1.0, "ohm" = 1.0, "mΩ" = 1e-3, "mohm" = 1e-3,
        "kΩ" = 1e3, "kohm" = 1e3, "MΩ" = 1e6 },
        print { 1e6 => "MΩ", 1e3 => "kΩ", 1.0 => "Ω", 1e-3 => "mΩ" };
    /// Power, watts.
    Watts: "a power", example "21 W", read { "W" = 1.0, "mW" = 1e-3, "kW" = 1e3 }, print { 1e3 => "kW", 1.0 => "W", 1e-3 => "mW" };
    /// Length, metres.
    Metres: "a length", example "1.2 m", read { "m" = 1.0, "cm" = 0.01, "mm" = 0.001, "ft" = 0.3048, "in" = 0.0254 },
        print { 1.0 => "m", 1e-3 => "mm" };
    /// Time, seconds.
    Seconds: "a time", example "300 ms", read { "s" = 1.0, "ms" = 1e-3, "min" = 60.0, "h" = 3600.0 },
        print { 1.0 => "s", 1e-3 => "ms" };
    /// Flash rate, flashes per minute.
    PerMinute: "a rate", example "90 /min", read { "/min" = 1.0, "Hz" = 60.0 }, print { 1.0 => "/min" };
    /// A share of a whole, 0 to 1.
    Share: "a share", example "80 %", read { "%" = 0.01 }, print { 0.01 => "%" };
    /// Temperature, degrees Celsius.
    Celsius: "a temperature", example "60 °C", read { "°C" = 1.0, "C" = 1.0 }, print { 1.0 => "°C" };
    /// Electric charge as batteries are rated, ampere-hours.
    AmpHours: "a charge", example "70 Ah", read { "Ah" = 1.0, "mAh" = 1e-3 }, print { 1.0 => "Ah", 1e-3 => "mAh" };
    /// Let-through energy per resistance, A²s (fuse and wire withstand).
    AmpSquaredSeconds: "an I²t", example "120 A²s", read { "A²s" = 1.0, "A2s" = 1.0 }, print { 1.0 => "A²s" };
}

/// An exponent: a number without a unit.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Exponent(f64);

impl Exponent {
    /// From a number.
    pub const fn new(value: f64) -> Self {
        Self(value)
    }
    /// The number.
    pub const fn value(self) -> f64 {
        self.0
    }
}

impl FromStr for Exponent {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        match split(text)? {
            (number, unit) if unit.is_empty() => Ok(Self(number)),
            (_, unit) => Err(QuantityError::WrongUnit(unit)),
        }
    }
}

/// A time of minutes to months in words: `40 min`, `7.5 h`, `32 days`, `over a year`.
pub fn long_time(time: Seconds) -> String {
    const DAY: f64 = 86_400.0;
    let (number, unit) = match time.value() {
        long if long > 365.0 * DAY => return "over a year".to_string(),
        days if days >= 2.0 * DAY => (days / DAY, "days"),
        hours if hours >= 3600.0 => (hours / 3600.0, "h"),
        minutes => (minutes / 60.0, "min"),
    };
    format!("{} {unit}", significant(number, 2))
}

impl Mul<Ohms> for Amps {
    type Output = Volts;
    fn mul(self, r: Ohms) -> Volts {
        Volts(self.0 * r.0)
    }
}
impl Div<Ohms> for Volts {
    type Output = Amps;
    fn div(self, r: Ohms) -> Amps {
        Amps(self.0 / r.0)
    }
}
impl Div<Amps> for Volts {
    type Output = Ohms;
    fn div(self, i: Amps) -> Ohms {
        Ohms(self.0 / i.0)
    }
}
impl Mul<Amps> for Volts {
    type Output = Watts;
    fn mul(self, i: Amps) -> Watts {
        Watts(self.0 * i.0)
    }
}
impl Div<Volts> for Watts {
    type Output = Amps;
    fn div(self, u: Volts) -> Amps {
        Amps(self.0 / u.0)
    }
}

/// Conductor size as written: a metric cross-section or an American gauge.
///
/// The two are kept apart because a bench orders what is printed; [`Gauge::area`] compares them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Gauge {
    /// Cross-section in mm².
    Metric(f64),
    /// American wire gauge number (ASTM B258). The sizes above 1 go on downwards: 0 is 1/0, −1 is 2/0, −3 is 4/0.
    Awg(i8),
}

/// The number of a size above 1 AWG, written `2/0` or `00`.
fn above_one(size: &str) -> Option<i8> {
    match size {
        "1/0" | "0" => Some(0),
        "2/0" | "00" => Some(-1),
        "3/0" | "000" => Some(-2),
        "4/0" | "0000" => Some(-3),
        _ => None,
    }
}

impl Gauge {
    /// Copper cross-section in mm². AWG diameters follow ASTM B258: d = 0.005 in · 92^((36 − n)/39).
    pub fn area(self) -> f64 {
        match self {
            Gauge::Metric(area) => area,
            Gauge::Awg(n) => {
                let diameter_mm = 0.127 * 92f64.powf((36.0 - f64::from(n)) / 39.0);
                std::f64::consts::FRAC_PI_4 * diameter_mm * diameter_mm
            }
        }
    }
}

impl PartialOrd for Gauge {
    /// By copper area.
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        self.area().partial_cmp(&other.area())
    }
}

impl Quantity for Gauge {
    const NAME: &'static str = "a conductor size";
    const UNITS: &'static [&'static str] = &["mm²", "mm2", "AWG"];
    const EXAMPLE: &'static str = "0.75 mm² or 18 AWG";
    const NUMBER: &'static str = "([+-]?[0-9]*\\.?[0-9]+|[1-4]\\/0)";
    fn value(self) -> f64 {
        self.area()
    }
}

impl FromStr for Gauge {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        if let Some(n) = text.trim().strip_suffix("AWG").and_then(|size| above_one(size.trim())) {
            return Ok(Gauge::Awg(n));
        }
        let (number, unit) = split(text)?;
        match unit.as_str() {
            "mm²" | "mm2" if number > 0.0 && number <= 240.0 => Ok(Gauge::Metric(number)),
            "AWG" if number.fract() == 0.0 && (1.0..=36.0).contains(&number) => Ok(Gauge::Awg(number as i8)),
            "mm²" | "mm2" | "AWG" => Err(QuantityError::OutOfRange),
            "" => Err(QuantityError::NoUnit),
            other => Err(QuantityError::WrongUnit(other.to_string())),
        }
    }
}

impl fmt::Display for Gauge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Gauge::Metric(area) => f.pad(&format!("{} mm²", significant(*area, 4))),
            Gauge::Awg(n @ ..=0) => f.pad(&format!("{}/0 AWG", 1 - n)),
            Gauge::Awg(n) => f.pad(&format!("{n} AWG")),
        }
    }
}

impl Serialize for Gauge {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// A closed range of one quantity, written `60..120 /min`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span<T> {
    /// Lower end.
    pub low: T,
    /// Upper end, not below the lower.
    pub high: T,
}

impl<T: Quantity + PartialOrd> FromStr for Span<T> {
    type Err = QuantityError;
    /// Reads `60..120 /min`, or a single value as a range of width zero.
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let Some((low, high)) = text.split_once("..") else {
            let only: T = text.parse()?;
            return Ok(Span { low: only, high: only });
        };
        let high_value: T = high.parse()?;
        let (_, unit) = split(high)?;
        let low_value: T =
            if split(low)?.1.is_empty() { format!("{} {unit}", low.trim()).parse()? } else { low.parse()? };
        if high_value < low_value {
            return Err(QuantityError::OutOfRange);
        }
        Ok(Span { low: low_value, high: high_value })
    }
}

impl<T: fmt::Display + PartialEq> fmt::Display for Span<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.low == self.high { write!(f, "{}", self.low) } else { write!(f, "{} to {}", self.low, self.high) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prints_in_the_trades_form() {
        assert_eq!(Volts::new(12.0).to_string(), "12 V");
        assert_eq!(Volts::new(0.0).to_string(), "0 V");
        assert_eq!(Amps::new(3e-15).to_string(), "0 A");
        assert_eq!(Volts::new(-0.0364).to_string(), "-36.4 mV");
        assert_eq!(Amps::new(0.999_99).to_string(), "1 A");
        assert_eq!(Amps::new(4_133_333.0).to_string(), "more than 100000 A");
        assert_eq!(Amps::new(f64::INFINITY).to_string(), "more than 100000 A");
        assert_eq!(Ohms::new(4700.0).to_string(), "4.7 kΩ");
        assert_eq!(Share::new(0.8).to_string(), "80 %");
        assert_eq!(Gauge::Awg(18).to_string(), "18 AWG");
    }

    #[test]
    fn a_unit_is_never_guessed() {
        assert_eq!("12".parse::<Volts>(), Err(QuantityError::NoUnit));
        assert_eq!("12 A".parse::<Volts>(), Err(QuantityError::WrongUnit("A".into())));
        assert_eq!("V".parse::<Volts>(), Err(QuantityError::NotANumber));
        assert_eq!("1e400 V".parse::<Volts>(), Err(QuantityError::WrongUnit("e400 V".into())));
    }

    #[test]
    fn ranges_share_their_unit() {
        let rate: Span<PerMinute> = "60..120 /min".parse().unwrap();
        assert_eq!((rate.low.value(), rate.high.value()), (60.0, 120.0));
        assert!("120..60 /min".parse::<Span<PerMinute>>().is_err());
    }

    /// ASTM B258: AWG 10 is 0.1019 in and 10 380 circular mils (5.261 mm²), AWG 18 is 0.8230 mm², AWG 36 is 5 mil.
    #[test]
    fn awg_areas_follow_astm_b258() {
        for (n, area) in [(10, 5.261), (18, 0.8231), (12, 3.309), (36, 0.012_67)] {
            assert!((Gauge::Awg(n).area() / area - 1.0).abs() < 2e-3, "AWG {n}");
        }
    }

    /// ASTM B258 sizes above 1, as wire tables list them: 1/0 53.5 mm², 2/0 67.4 mm², 3/0 85.0 mm², 4/0 107 mm² (0.46 in
    /// across, 211 600 circular mils).
    #[test]
    fn sizes_above_one_are_read_and_printed() {
        for (text, area) in [("1/0 AWG", 53.5), ("2/0 AWG", 67.4), ("3/0 AWG", 85.0), ("4/0 AWG", 107.2)] {
            let gauge: Gauge = text.parse().unwrap();
            assert!((gauge.area() / area - 1.0).abs() < 2e-3, "{text}: {}", gauge.area());
            assert_eq!(gauge.to_string(), text);
        }
        let same = [("0 AWG", "1/0 AWG"), ("00AWG", "2/0 AWG"), ("000 AWG", "3/0 AWG"), ("0000 AWG", "4/0 AWG")];
        for (text, printed) in same {
            assert_eq!(text.parse::<Gauge>().unwrap().to_string(), printed);
        }
        for text in ["5/0 AWG", "0/0 AWG", "00000 AWG", "-1 AWG", "2/0", "2/0 mm²"] {
            assert!(text.parse::<Gauge>().is_err(), "{text}");
        }
        let range: Span<Gauge> = "16 mm²..4/0 AWG".parse().unwrap();
        assert_eq!(range.high, Gauge::Awg(-3));
        assert!(Gauge::Awg(-3) > Gauge::Awg(0) && Gauge::Awg(0) > Gauge::Awg(1));
    }
}
