//! What parts and work cost. The figures are typical: common practice, no source. A shop replaces them with its own.

use std::collections::BTreeMap;

/// The built-in figures: cost in whole units of the shop's currency, without tax; minutes at the bench.
const TYPICAL: &str = include_str!("costs.csv");

/// What a part of each family, a wire and a splice cost, and the minutes that each takes at the bench.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CostTable {
    of: BTreeMap<String, [u32; 2]>,
}

/// A file of costs that can't be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrongCosts {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong, and what to write.
    pub why: String,
}

impl CostTable {
    /// The built-in figures.
    pub fn typical() -> CostTable {
        let mut table = CostTable { of: BTreeMap::new() };
        // OK because a test reads them.
        table.add(TYPICAL, true).map_or_else(|wrong| unreachable!("line {}: {}", wrong.line, wrong.why), |()| table)
    }

    /// Figures from a CSV text: a heading, then `thing,cost,minutes` in each line. What it leaves out keeps the built-in
    /// figures.
    ///
    /// # Errors
    /// A thing that does not exist, or a figure that is no whole number.
    pub fn read(text: &str) -> Result<CostTable, WrongCosts> {
        let mut table = CostTable::typical();
        table.add(text, false)?;
        Ok(table)
    }

    fn add(&mut self, text: &str, is_new: bool) -> Result<(), WrongCosts> {
        for (i, text) in text.lines().enumerate().skip(1).filter(|(_, line)| !line.trim().is_empty()) {
            let wrong = |why: String| WrongCosts { line: i + 1, why };
            let [thing, cost, minutes] = text.split(',').map(str::trim).collect::<Vec<_>>()[..] else {
                return Err(wrong("write `thing,cost,minutes`".to_string()));
            };
            if !is_new && !self.of.contains_key(thing) {
                let things = self.of.keys().cloned().collect::<Vec<_>>().join(", ");
                return Err(wrong(format!("`{thing}` has no figures here; the things are {things}")));
            }
            let number = |text: &str| {
                let small = text.parse().ok().filter(|number: &u32| *number <= 1_000_000);
                small.ok_or_else(|| wrong(format!("`{text}` is not a whole number from 0 to 1,000,000")))
            };
            self.of.insert(thing.to_string(), [number(cost)?, number(minutes)?]);
        }
        Ok(())
    }

    /// Cost and minutes of one thing.
    pub(crate) fn one(&self, thing: &str) -> [u32; 2] {
        self.of.get(thing).or_else(|| self.of.get("other")).copied().unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::CostTable;

    #[test]
    fn a_shop_replaces_some_figures() {
        let table = CostTable::read("thing,cost,minutes\nrelay, 12, 6\n").expect("it reads");
        assert_eq!((table.one("relay"), table.one("wire")), ([12, 6], CostTable::typical().one("wire")));
        assert_eq!(table.one("lathe"), table.one("other"));
    }

    #[test]
    fn wrong_lines_are_named() {
        for (line, word) in
            [("relay,12", "write"), ("lathe,1,2", "lathe"), ("relay,x,1", "`x`"), ("relay,-1,1", "`-1`")]
        {
            let wrong = CostTable::read(&format!("thing,cost,minutes\nwire,1,1\n{line}\n")).expect_err(line);
            assert!(wrong.line == 3 && wrong.why.contains(word), "{wrong:?}");
        }
    }
}
