//! The paper that a drawing is printed on at its true size: the smallest usual paper that holds it, or a size of its own.

use kit::scene::Size;
use kit::sheet::Papers;
use serde::Serialize;
use std::collections::BTreeSet;

/// A page of the printed book.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Leaf {
    /// Its name in the style sheet: `a3-lying`.
    pub name: String,
    /// What to put into the printer: `A3`.
    pub paper: String,
    /// Its size in the style sheet: `420mm 297mm`.
    #[serde(skip)]
    size: String,
}

/// Slack for rounding, millimetres.
const SLACK: f64 = 1e-6;

impl Leaf {
    /// For a drawing of this size.
    pub fn of(drawing: Size, papers: Papers) -> Self {
        let (name, paper, page) = choice(drawing, papers);
        Self { name, paper, size: format!("{}mm {}mm", page.width, page.height) }
    }

    /// The size of the page for a drawing of this size.
    pub fn page(drawing: Size, papers: Papers) -> Size {
        choice(drawing, papers).2
    }

    /// The rules that give every page its size and its drawing all of it, but for a sliver: browsers round pages to
    /// whole points, and what is higher than its page would take a second one.
    pub fn css<'a>(leaves: impl Iterator<Item = &'a Self>) -> String {
        let each: BTreeSet<&Self> = leaves.collect();
        let rules = each.into_iter().map(|Self { name, size, .. }| {
            let (_, height) = size.split_once(' ').unwrap_or((size, size));
            format!(
                "@page {name} {{ size: {size}; margin: 0; @bottom-left {{ content: none; }} @bottom-right {{ content: none; }} }}\n\
                 @media print {{ .{name} {{ page: {name}; height: calc({height} - 0.5mm); }} }}\n"
            )
        });
        rules.collect()
    }
}

/// Name, paper and size of the page for a drawing of this size.
fn choice(drawing: Size, papers: Papers) -> (String, String, Size) {
    let [small, large] = [papers.small(), papers.large()];
    let papers = [
        ("upright", small, small.upright()),
        ("lying", small, small.lying()),
        ("lying", large, large.lying()),
        ("upright", large, large.upright()),
    ];
    let holds = |page: &Size| drawing.width <= page.width + SLACK && drawing.height <= page.height + SLACK;
    let [width, height] = [drawing.width, drawing.height].map(f64::ceil);
    match papers.into_iter().find(|(.., page)| holds(page)) {
        Some((way, paper, page)) => (format!("{}-{way}", paper.title().to_lowercase()), paper.title().into(), page),
        None => (format!("own-{width}-{height}"), format!("{width} × {height} mm"), Size::new(width, height)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drawing_goes_on_the_smallest_paper_that_holds_it() {
        let name = |width, height| Leaf::of(Size::new(width, height), Papers::Iso).name;
        assert_eq!(name(210.0, 297.0), "a4-upright");
        assert_eq!(name(297.0, 210.0), "a4-lying");
        assert_eq!(name(210.1, 210.1), "a3-lying");
        assert_eq!(name(297.0, 297.1), "a3-upright");
        assert_eq!(name(420.5, 297.0), "own-421-297");
        let inch = |width, height| Leaf::of(Size::new(width, height), Papers::Inch);
        assert_eq!([inch(215.9, 279.4).name, inch(279.5, 215.0).name], ["letter-upright", "tabloid-lying"]);
        assert_eq!(inch(431.8, 279.4).size, "431.8mm 279.4mm");
        let rules = Leaf::css(
            [Leaf::of(Size::new(420.0, 297.0), Papers::Iso), Leaf::of(Size::new(300.0, 200.0), Papers::Iso)].iter(),
        );
        assert_eq!(rules.matches("@page").count(), 1);
        assert!(rules.contains("@page a3-lying { size: 420mm 297mm; margin: 0;"), "{rules}");
    }
}
