//! The styles of drawings in a page, as classes of its style sheet.

use std::collections::BTreeMap;

/// The classes of all drawings of a page, in the order of their first use.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PageStyles {
    classes: BTreeMap<(char, String), usize>,
}

impl PageStyles {
    /// The class with these properties; those without a value are left out. `kind` is the first letter of its name: `f` for
    /// shapes that are filled, `s` for lines alone, `t` for text.
    pub fn class(&mut self, kind: char, properties: &[(&str, Option<String>)]) -> String {
        let given = properties.iter().filter_map(|(name, value)| Some(format!("{name}:{}", value.as_ref()?)));
        let next = self.classes.len();
        let number = *self.classes.entry((kind, given.collect::<Vec<_>>().join(";"))).or_insert(next);
        format!("{kind}{number}")
    }

    /// The rules for the page's style sheet. They apply to drawings only.
    pub fn css(&self) -> String {
        let mut rules: Vec<(usize, String)> = self
            .classes
            .iter()
            .map(|((kind, properties), number)| (*number, format!("svg .{kind}{number}{{{properties}}}\n")))
            .collect();
        rules.sort_by_key(|(number, _)| *number);
        rules.into_iter().map(|(_, rule)| rule).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_styles_are_one_class() {
        let mut styles = PageStyles::default();
        let red = [("fill", Some("#f00".to_string())), ("stroke", None)];
        let line = [("stroke", Some("#000".to_string())), ("stroke-width", Some("0.25".to_string()))];
        assert_eq!([styles.class('f', &red), styles.class('s', &line), styles.class('f', &red)], ["f0", "s1", "f0"]);
        assert_eq!(styles.css(), "svg .f0{fill:#f00}\nsvg .s1{stroke:#000;stroke-width:0.25}\n");
    }
}
