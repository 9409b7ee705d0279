//! Loads of constant power: where the straight line of each is taken, and what its converter gives.
//!
//! A load has three lines: none below zero volts, a rising one up to its least voltage, and a falling one above (the
//! tangent of its constant power). A load that little feeds can swing: without its current it has enough voltage for the
//! falling line, and with the current of that line it has none. So from its second turn on it goes up one line at a
//! time, and from its third on only half the way; it then settles on the rising line.

use super::pass::Turns;

/// Change of voltage below which the voltage of a load counts as found; the error left is its square, relative.
const POWER_SLACK: f64 = 1e-6;

/// The same where the load was taken as a constant current, so that the error left is proportional to the change.
const CHORD_SLACK: f64 = 1e-10;

/// Voltages this close to zero count as zero, for loads that move freely and for loads that are damped.
const ZERO_SLACK: f64 = 1e-14;
const WIDE_ZERO_SLACK: f64 = 1e-12;

/// Times that a load may leave its line by the whole step.
const FREE_TURNS: u8 = 1;

/// Times that a load may leave its line by any step to another.
const LINE_TURNS: u8 = 2;

/// The largest share of the last error of a converter's power that may be left, for the next power to be extrapolated.
const MOST_LEFT: f64 = 0.8;

/// A load of constant power with less than this share of its least voltage is off, not starved: no source that could
/// feed it in full gives it so little (of two solutions the lower has x / (1 + x²/4) of the least voltage or more, x
/// being the source's voltage over the least one).
const STARVED_SHARE: f64 = 0.05;

/// Whether a load with this voltage draws less than its power although something feeds it.
pub(crate) fn is_starved(volts: f64, least: f64) -> bool {
    volts < least && volts > STARVED_SHARE * least
}

/// A load's power in watts and constant current in amperes above its least voltage, and the converter output whose
/// power, times a factor, it draws as well.
#[derive(Clone, Copy)]
pub(crate) struct PowerCurve {
    pub watts: f64,
    pub amps: f64,
    pub least: f64,
    pub output: Option<(usize, f64)>,
}

/// The loads of constant power of a network, by branch.
pub(crate) struct PowerLoads {
    /// Voltage at which the line was taken last; infinite before the first.
    operating: Vec<f64>,
    /// How often each load has left its line in this solution.
    turns: Turns,
    /// Converter outputs whose power has changed in this solution: the power taken last, and what it then was.
    outputs: Vec<(usize, [f64; 2])>,
    /// Power out of a regulated branch, for the converter's input.
    output_watts: Vec<f64>,
    /// Whether loads are constant currents, not tangents.
    chords: bool,
    /// Share of their power that loads draw for now.
    share: f64,
}

impl PowerLoads {
    pub(crate) fn new(branches: usize) -> PowerLoads {
        PowerLoads {
            operating: vec![f64::INFINITY; branches],
            turns: Turns::new(branches),
            outputs: vec![],
            output_watts: vec![0.0; branches],
            chords: false,
            share: 1.0,
        }
    }

    /// Starts from the highest voltages: loads draw nothing.
    pub(crate) fn forget(&mut self) {
        self.operating.fill(f64::INFINITY);
        self.output_watts.fill(0.0);
    }

    /// Begins a solution.
    pub(crate) fn begin(&mut self) {
        self.turns.begin();
        self.outputs.clear();
    }

    /// Takes loads as constant currents, or as tangents; `true` if they were not.
    pub(crate) fn take_by(&mut self, chords: bool) -> bool {
        std::mem::replace(&mut self.chords, chords) != chords
    }

    /// Lets loads draw this share of their power.
    pub(crate) fn set_share(&mut self, share: f64) {
        self.share = share;
    }

    /// Power that a converter's output gave last, in watts.
    pub(crate) fn output_watts(&self, branch: usize) -> f64 {
        self.output_watts[branch]
    }

    /// Slope and offset of a load that is there.
    pub(crate) fn line(&self, k: usize, curve: PowerCurve) -> [f64; 2] {
        let PowerCurve { watts, amps, least, output } = curve;
        let watts = self.share * (watts + output.map_or(0.0, |(of, factor)| factor * self.output_watts[of]));
        let at = self.operating[k];
        if at <= 0.0 {
            [0.0, 0.0]
        } else if at < least {
            [(watts / least + amps) / least, 0.0]
        } else if at.is_infinite() {
            [0.0, amps]
        } else if self.chords {
            [0.0, watts / at + amps]
        } else {
            [-watts / (at * at), 2.0 * watts / at + amps]
        }
    }

    /// Takes up the power that a converter's output gives; `true` if it has changed.
    ///
    /// The power depends on the power taken before. Where each change is a steady share of the last one, the sum of all
    /// changes to come is taken at once (Aitken's method, in any numerical analysis textbook).
    pub(crate) fn take_output(&mut self, of: usize, factor: f64, watts: f64) -> bool {
        let changed = (watts - self.output_watts[of]).abs() * factor > POWER_SLACK * 1e-3 * (1.0 + watts);
        if changed {
            let taken = self.output_watts[of];
            let left = self.left(of, [taken, watts]);
            let further = if left.abs() < MOST_LEFT { (watts - taken) / (1.0 - left) } else { watts - taken };
            self.output_watts[of] = (taken + further).max(0.0);
        }
        changed
    }

    /// The share of a change of an output's power that comes back as the next change; not a number at first.
    fn left(&mut self, of: usize, [taken, given]: [f64; 2]) -> f64 {
        match self.outputs.iter_mut().find(|output| output.0 == of) {
            Some((_, last)) => {
                let [taken_before, given_before] = std::mem::replace(last, [taken, given]);
                (given - given_before) / (taken - taken_before)
            }
            None => {
                self.outputs.push((of, [taken, given]));
                f64::NAN
            }
        }
    }

    /// Takes a load's line at the voltage found, or halfway there if `damped`; `true` if the voltage has changed.
    pub(crate) fn operate(&mut self, k: usize, least: f64, volts: f64, damped: bool) -> bool {
        let at = self.operating[k];
        // Around zero both lines carry almost nothing: rounding must not decide which of them it is on.
        let reversed = if damped { WIDE_ZERO_SLACK } else { ZERO_SLACK };
        let same_line = (at <= 0.0 && volts <= POWER_SLACK)
            || (at > 0.0 && at < least && volts > -reversed && volts < least + POWER_SLACK);
        let slack = if self.chords { CHORD_SLACK * (1.0 + volts.abs()) } else { POWER_SLACK };
        if same_line || (volts - at).abs() <= slack {
            return false;
        }
        let line = |volts: f64| (volts > 0.0, volts >= least);
        let turns = if at.is_finite() && line(at) != line(volts) { self.turns.count(k) } else { 0 };
        self.operating[k] = match at.is_finite() {
            true if turns > FREE_TURNS && volts >= least && at <= 0.0 => 0.5 * least,
            true if turns > LINE_TURNS && volts >= least => 0.5 * (at + volts.min(2.0 * least)),
            // From the falling line it only goes to the rising one: a constant current of a load that nothing feeds
            // gives a voltage that means nothing.
            true if at >= least && volts < least && damped => 0.5 * (at + volts.max(0.0)),
            true if at >= least && volts < least => 0.5 * least,
            true if damped => 0.5 * (at + volts),
            _ => volts,
        };
        true
    }
}
