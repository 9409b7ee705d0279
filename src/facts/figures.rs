//! Limits that facts are measured against, each with its source: `figures.csv`.

use quantity::{Amps, Quantity, Share, Volts};
use std::str::FromStr;
use std::sync::LazyLock;

static FIGURES: LazyLock<Figures> = LazyLock::new(|| Figures::read(include_str!("figures.csv")));

/// Named figures from a CSV text with the columns figure, value, source.
#[derive(Debug)]
pub struct Figures(Vec<[String; 3]>);

impl Figures {
    /// Reads a text. A row without three cells is left out; a test keeps that from happening.
    pub fn read(text: &str) -> Figures {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let row = |record: csv::StringRecord| {
            Some([record.get(0)?.to_string(), record.get(1)?.to_string(), record.get(2)?.to_string()])
        };
        Figures(reader.records().filter_map(|record| row(record.ok()?)).collect())
    }

    fn read_as<T: FromStr>(&self, name: &str) -> T {
        let text = self.0.iter().find(|[figure, ..]| figure == name).map(|[_, value, _]| value);
        match text.and_then(|text| text.parse().ok()) {
            Some(value) => value,
            None => panic!("the table has no usable figure `{name}`"),
        }
    }

    /// A figure with a unit.
    ///
    /// # Panics
    /// When the table has no such figure, or one of another quantity: nothing is measured against zero instead.
    pub fn quantity<Q: Quantity>(&self, name: &str) -> Q {
        self.read_as(name)
    }

    /// A figure without a unit.
    ///
    /// # Panics
    /// When the table has no such figure.
    pub fn number(&self, name: &str) -> f64 {
        self.read_as(name)
    }

    /// The figures, each with its value and its source.
    pub fn rows(&self) -> impl Iterator<Item = [&str; 3]> {
        self.0.iter().map(|row| row.each_ref().map(String::as_str))
    }

    /// Whether every figure names its source.
    pub fn are_sourced(&self) -> bool {
        !self.0.is_empty() && self.0.iter().all(|[.., source]| !source.is_empty())
    }
}

/// Every figure.
pub fn figures() -> &'static Figures {
    &FIGURES
}

/// Share of its voltage from which a filament glows.
pub fn glows_share() -> Share {
    FIGURES.quantity("glows-share")
}

/// Share of the current of a vehicle's own lamps below which another current beside them stays unnoticed.
pub fn lamp_notices_share() -> Share {
    FIGURES.quantity("lamp-notices-share")
}

/// Share of its nominal voltage from which a load counts as fed, well or badly.
pub fn fed_voltage_share() -> Share {
    FIGURES.quantity("fed-voltage-share")
}

/// Share of its usual current from which a load counts as fed.
pub fn fed_current_share() -> Share {
    FIGURES.quantity("fed-current-share")
}

/// What the shield of a coaxial cable and the shells of its plugs may carry.
pub fn shield_carries() -> Amps {
    FIGURES.quantity("shield-carries")
}

/// What a ground point may lose under load.
pub fn ground_drop() -> Volts {
    FIGURES.quantity("ground-drop")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_figure_is_there_with_a_source() {
        assert!(FIGURES.are_sourced());
        let shield: quantity::Ohms = FIGURES.quantity("shield-per-metre");
        assert_eq!((shield, shield_carries().to_string()), (model::conductor::SHIELD_PER_METRE, "2 A".into()));
        assert_eq!(
            [glows_share(), lamp_notices_share(), fed_voltage_share(), fed_current_share()].map(|s| s.to_string()),
            ["10 %", "1 %", "25 %", "5 %"]
        );
    }
}
