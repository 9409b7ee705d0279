//! How often faults happen, in relation to each other. The figures are typical: common practice, no source. A shop
//! replaces them with its own.

use std::collections::BTreeMap;

/// The built-in rates.
const TYPICAL: &str = include_str!("rates.csv");

/// How often each kind of fault happens, in relation to the others.
#[derive(Debug, Clone, PartialEq)]
pub struct Rates {
    of: BTreeMap<String, f64>,
}

/// A file of rates that can't be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrongRates {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong, and what to write.
    pub why: String,
}

impl Rates {
    /// The built-in rates.
    pub fn typical() -> Rates {
        // OK because a test reads them.
        entries(TYPICAL).map_or_else(
            |wrong| unreachable!("line {}: {}", wrong.line, wrong.why),
            |of| Rates { of: of.into_iter().map(|entry| (entry.kind.to_string(), entry.rate)).collect() },
        )
    }

    /// Rates from a CSV text: a heading, then `fault,rate` in each line. Kinds that it leaves out keep the built-in rate.
    ///
    /// # Errors
    /// A kind that does not exist, or a rate that is no number above 0.
    pub fn read(text: &str) -> Result<Rates, WrongRates> {
        let mut rates = Rates::typical();
        for Entry { line, kind, rate } in entries(text)? {
            let kinds = || rates.of.keys().cloned().collect::<Vec<_>>().join(", ");
            if !rates.of.contains_key(kind) {
                let why = format!("`{kind}` is not a kind of fault; the kinds are {}", kinds());
                return Err(WrongRates { line, why });
            }
            rates.of.insert(kind.to_string(), rate);
        }
        Ok(rates)
    }

    /// The rate of a kind of fault.
    pub(crate) fn of(&self, word: &str) -> f64 {
        self.of.get(word).copied().unwrap_or(1.0)
    }
}

/// A line of a file of rates.
struct Entry<'t> {
    line: usize,
    kind: &'t str,
    rate: f64,
}

fn entries(text: &str) -> Result<Vec<Entry<'_>>, WrongRates> {
    let mut found = Vec::new();
    for (i, text) in text.lines().enumerate().skip(1).filter(|(_, line)| !line.trim().is_empty()) {
        let line = i + 1;
        let wrong = |why: String| WrongRates { line, why };
        let (kind, given) = text.split_once(',').ok_or_else(|| wrong("write `fault,rate`".to_string()))?;
        let rate: Option<f64> = given.trim().parse().ok().filter(|rate: &f64| rate.is_finite() && *rate > 0.0);
        let why = || format!("`{}` is not a rate; write a number above 0", given.trim());
        found.push(Entry { line, kind: kind.trim(), rate: rate.ok_or_else(|| wrong(why()))? });
    }
    Ok(found)
}
