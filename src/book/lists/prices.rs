//! The shop's prices: what each line of the order costs, and the whole order.

use crate::lists::amount::Amount;
use crate::lists::csv::{harmless, plain, reader, with_plain_ends};
use serde::{Serialize, Serializer};
use std::collections::BTreeMap;
use std::fmt;
use std::iter::Sum;

/// A sum of money in hundredths of the shop's currency: `1234.50`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Money {
    hundredths: u64,
}

/// Dearer than this is no price of a part.
const MOST: u64 = 100_000_000;

impl Money {
    /// From a text such as `12`, `12.5` or `12,50`; nothing above 1,000,000.
    fn read(text: &str) -> Option<Money> {
        let (whole, part) = text.split_once(['.', ',']).unwrap_or((text, ""));
        let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
        if whole.is_empty() || whole.len() > 7 || part.len() > 2 || !digits(whole) || !digits(part) {
            return None;
        }
        let hundredths = format!("{whole}{part:0<2}").parse().ok().filter(|sum| *sum <= MOST)?;
        Some(Money { hundredths })
    }

    /// For an amount, if this is the price of a piece or a metre; rounded to the hundredth.
    fn for_amount(self, amount: Amount) -> Money {
        let hundredths = match amount {
            Amount::Pieces(count) => self.hundredths.saturating_mul(count),
            Amount::Length(cut) => (self.hundredths.saturating_mul(cut.millimetres()).saturating_add(500)) / 1000,
        };
        Money { hundredths }
    }
}

impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{}.{:02}", self.hundredths / 100, self.hundredths % 100))
    }
}

impl Serialize for Money {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Money>>(sums: I) -> Money {
        Money { hundredths: sums.fold(0, |all, one| all.saturating_add(one.hundredths)) }
    }
}

/// What a line of the order costs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct LineCost {
    /// The price of a piece, or of a metre.
    pub price: Money,
    /// The price of all that is ordered.
    pub cost: Money,
}

/// What the order costs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OrderCost {
    /// The lines that have a price.
    pub total: Money,
    /// How many lines have none.
    pub without_price: usize,
}

/// Prices by what is ordered and its size, as `parts.csv` writes them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PriceList {
    of: BTreeMap<(String, String), Money>,
}

/// A price list that can't be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrongPrices {
    /// The line, from 1.
    pub line: u64,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub hint: String,
}

/// Headings that a price list has, in any order and among others.
const HEADINGS: [&str; 3] = ["What to order", "Size", "Price"];

impl PriceList {
    /// Reads a price list: CSV (RFC 4180) with the columns `What to order`, `Size` and `Price`, such as `parts.csv` with a
    /// column of prices. A line without a price is left out.
    ///
    /// # Errors
    /// The first line that is wrong: a heading that is missing, a price that is none, two prices for one thing.
    pub fn read(text: &str) -> Result<PriceList, WrongPrices> {
        let text = with_plain_ends(text);
        let mut rows = reader(&text);
        let unreadable = |error: csv::Error| WrongPrices {
            line: error.position().map_or(1, csv::Position::line),
            what: "this is no CSV text".into(),
            hint: "save the sheet as CSV, UTF-8".into(),
        };
        let headings = rows.headers().map_err(unreadable)?.clone();
        let column = |name: &str| {
            let same = |heading: &str| heading.trim().eq_ignore_ascii_case(name);
            headings.iter().position(same).ok_or_else(|| WrongPrices {
                line: 1,
                what: format!("there is no column `{name}`"),
                hint: format!("copy parts.csv and add a column: a price list has {}", HEADINGS.join(", ")),
            })
        };
        let [what, size, price] = [column(HEADINGS[0])?, column(HEADINGS[1])?, column(HEADINGS[2])?];
        let mut list = PriceList::default();
        for record in rows.records() {
            let record = record.map_err(unreadable)?;
            let line = record.position().map_or(1, csv::Position::line);
            let cell = |column: usize| record.get(column).unwrap_or_default().trim();
            if !cell(price).is_empty() {
                list.add((cell(what), cell(size)), cell(price), line)?;
            }
        }
        Ok(list)
    }

    fn add(&mut self, (what, size): (&str, &str), price: &str, line: u64) -> Result<(), WrongPrices> {
        let read = Money::read(price).ok_or_else(|| WrongPrices {
            line,
            what: format!("`{price}` is no price"),
            hint: "write a number such as 12.50, without a currency, at most 1000000".into(),
        })?;
        match self.of.insert((what.to_string(), size.to_string()), read) {
            Some(other) if other != read => Err(WrongPrices {
                line,
                what: format!("`{what}` {size} has two prices: {other} and {read}"),
                hint: "keep one of the two lines".into(),
            }),
            _ => Ok(()),
        }
    }

    /// What an amount of something in a size costs; nothing without a price.
    pub fn cost(&self, (what, size): (&str, &str), amount: Amount) -> Option<LineCost> {
        let key = (harmless(what).into_owned(), harmless(&plain(size)).into_owned());
        let price = self.of.get(&key).copied()?;
        Some(LineCost { price, cost: price.for_amount(amount) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prices_are_read() {
        for (text, hundredths) in [("12", 1200), ("12.5", 1250), ("0,05", 5), ("1000000", 100_000_000)] {
            assert_eq!(Money::read(text), Some(Money { hundredths }), "{text}");
        }
        for text in ["", ".5", "-1", "1.234", "1000000.01", "12 EUR", "1e3", "99999999999999999999", "٣"] {
            assert_eq!(Money::read(text), None, "{text}");
        }
    }

    #[test]
    fn wrong_lists_are_named_with_their_line() {
        let first = "What to order,Size,Price\r\n\"Fuse, blade\",5 A,0.40\r\n";
        for (text, line, word) in [
            ("Item,Price\nx,1\n".to_string(), 1, "What to order"),
            (format!("{first}Wire,,one\r\n"), 3, "`one`"),
            (format!("{first}\"Fuse, blade\",5 A,0.50\r\n"), 3, "0.40 and 0.50"),
        ] {
            let wrong = PriceList::read(&text).expect_err(&text);
            assert!(wrong.line == line && wrong.what.contains(word), "{wrong:?}");
        }
        let list = PriceList::read(&format!("{first}Wire,1 mm2,\r\n")).expect("it reads");
        assert_eq!(list.of.len(), 1);
    }
}
