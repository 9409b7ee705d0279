//! Small currents in words.

use quantity::Amps;

/// A current below this is leakage: no load takes it (common practice, no source).
pub const LEAKAGE: Amps = Amps::new(1e-3);

/// Below this nothing flows that anyone could measure in a harness.
const NO_CURRENT: Amps = Amps::new(1e-6);

/// A current of a path in words: below a microampere nothing flows.
pub fn or_no_current(amps: Amps) -> String {
    if amps.abs() < NO_CURRENT { "no current".to_string() } else { amps.to_string() }
}

/// A current in words: leakage has no figure.
pub fn current_words(amps: Amps) -> String {
    match amps.abs() {
        small if (NO_CURRENT..LEAKAGE).contains(&small) => format!("under {LEAKAGE}"),
        _ => or_no_current(amps),
    }
}
