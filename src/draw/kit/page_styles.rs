//! The styles of drawings in a page, as classes of its style sheet, and the letters that they use.

use super::font::{self, PlacedGlyph};
use std::collections::{BTreeMap, BTreeSet};

/// The classes of all drawings of a page, in the order of their first use, and their letters.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PageStyles {
    classes: BTreeMap<(char, String), usize>,
    /// How often each class is used.
    uses: Vec<usize>,
    /// Glyphs of the regular and of the bold font.
    glyphs: [BTreeSet<u16>; 2],
}

impl PageStyles {
    /// The class with these properties; those without a value are left out. `kind` is the first letter of its name: `f` for
    /// shapes that are filled, `s` for lines alone, `t` for text.
    pub fn class(&mut self, kind: char, properties: &[(&str, Option<String>)]) -> String {
        let given = properties.iter().filter_map(|(name, value)| Some(format!("{name}:{}", value.as_ref()?)));
        let next = self.classes.len();
        let number = *self.classes.entry((kind, given.collect::<Vec<_>>().join(";"))).or_insert(next);
        self.uses.resize(self.classes.len(), 0);
        self.uses[number] += 1;
        format!("{kind}{number}")
    }

    /// Keeps the letters of a text, so that the page's font has them.
    pub(super) fn use_letters(&mut self, letters: &[PlacedGlyph], bold: bool) {
        self.glyphs[usize::from(bold)].extend(letters.iter().map(|letter| letter.glyph));
    }

    /// The rules for the page's style sheet, its font among them. They apply to drawings only.
    pub fn css(&self) -> String {
        let [regular, bold] = &self.glyphs;
        font::css(regular, bold) + &self.classes_css()
    }

    /// Drawings of the page without the class of the text that is most frequent: it is the rule for every text. A text with
    /// other properties overrides all of it.
    pub fn without_usual(&self, drawings: impl Iterator<Item = String>) -> Vec<String> {
        let Some((_, number)) = self.usual_text() else { return drawings.collect() };
        let class = format!(" class=\"t{number}\">");
        drawings.map(|svg| svg.replace(&class, ">")).collect()
    }

    /// The properties and the number of the most frequent text of those with a size and a colour only.
    fn usual_text(&self) -> Option<(&str, usize)> {
        let plain = |properties: &str| !properties.contains("weight") && !properties.contains("stroke");
        let texts = self.classes.iter().filter(|((kind, properties), _)| *kind == 't' && plain(properties));
        let most = texts.max_by_key(|(_, number)| (self.uses[**number], std::cmp::Reverse(**number)));
        most.map(|((_, properties), number)| (properties.as_str(), *number))
    }

    pub(super) fn classes_css(&self) -> String {
        let mut rules: Vec<(usize, String)> = self
            .classes
            .iter()
            .map(|((kind, properties), number)| (*number, format!("svg .{kind}{number}{{{properties}}}\n")))
            .collect();
        rules.sort_by_key(|(number, _)| *number);
        let usual = self.usual_text().map(|(properties, _)| format!("svg text{{{properties}}}\n"));
        usual.into_iter().chain(rules.into_iter().map(|(_, rule)| rule)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_text_has_no_class() {
        let mut styles = PageStyles::default();
        let size = |size: &str, weight: Option<&str>| {
            [("font-size", Some(size.to_string())), ("font-weight", weight.map(str::to_string))]
        };
        let texts = [("2px", None), ("3px", None), ("3px", None), ("3px", Some("bold")), ("3px", Some("bold"))];
        let svg: String =
            texts.map(|(of, weight)| format!("<text class=\"{}\">", styles.class('t', &size(of, weight)))).concat();
        assert_eq!(
            styles.without_usual([svg].into_iter()),
            ["<text class=\"t0\"><text><text><text class=\"t2\"><text class=\"t2\">"]
        );
        assert!(styles.classes_css().starts_with("svg text{font-size:3px}\nsvg .t0{font-size:2px}\n"));
    }

    #[test]
    fn equal_styles_are_one_class() {
        let mut styles = PageStyles::default();
        let red = [("fill", Some("#f00".to_string())), ("stroke", None)];
        let line = [("stroke", Some("#000".to_string())), ("stroke-width", Some("0.25".to_string()))];
        assert_eq!([styles.class('f', &red), styles.class('s', &line), styles.class('f', &red)], ["f0", "s1", "f0"]);
        assert_eq!(styles.classes_css(), "svg .f0{fill:#f00}\nsvg .s1{stroke:#000;stroke-width:0.25}\n");
    }
}
