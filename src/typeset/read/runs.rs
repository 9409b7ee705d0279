//! Texts: what stands inside a paragraph, a cell or a heading, as atoms.

use crate::blocks::{Atom, AtomShown};
use crate::letters::{DEEP, LIVE, Letters, PICTURE, WARNING};
use kit::colour::{ALERT, INK, PAPER, Rgb, SOFT_INK};
use roxmltree::Node;

/// Whether an element has a class.
pub fn class(node: Node, name: &str) -> bool {
    node.attribute("class").is_some_and(|all| all.split_whitespace().any(|one| one == name))
}

/// The colours in a style, in order.
pub fn colours(style: &str) -> Vec<Rgb> {
    let number = |after: &str| u32::from_str_radix(after.get(..6)?, 16).ok().map(Rgb::hex);
    style.split('#').skip(1).filter_map(number).collect()
}

/// Atoms as they are read.
#[derive(Default)]
pub struct TextRun {
    /// So far.
    pub atoms: Vec<Atom>,
    /// Whether a space stands before the next one.
    space: bool,
    /// Whether a line may end before the next one although there is no space.
    soft: bool,
    /// Whether what comes belongs to the atom before: no line ends there.
    glued: bool,
}

/// What holds for an element and all that is in it.
#[derive(Clone, Copy)]
struct Look<'a> {
    letters: Letters,
    whole: bool,
    leads_to: Option<&'a str>,
}

impl TextRun {
    /// All of an element.
    pub fn of(node: Node, letters: Letters) -> Self {
        let mut run = Self::default();
        run.inside(node, Look { letters, whole: false, leads_to: None });
        run
    }

    /// All of an element, on one line.
    pub fn whole(node: Node, letters: Letters) -> Self {
        let mut run = Self::default();
        run.inside(node, Look { letters, whole: true, leads_to: None });
        run
    }

    /// Appends a node.
    pub fn read(&mut self, node: Node, letters: Letters) {
        self.node(node, Look { letters, whole: false, leads_to: None });
    }

    /// Appends a space.
    pub fn space(&mut self) {
        self.space = true;
    }

    /// The words, with single spaces.
    pub fn plain(&self) -> String {
        let mut out = String::new();
        for atom in &self.atoms {
            if !out.is_empty() && (atom.spaced || atom.shown == AtomShown::NewLine) {
                out.push(' ');
            }
            if let AtomShown::Word(text) | AtomShown::Badge { text, .. } = &atom.shown {
                out.push_str(text);
            }
        }
        out
    }

    fn push(&mut self, shown: AtomShown, look: Look) {
        let first = self.atoms.is_empty();
        self.atoms.push(Atom {
            shown,
            letters: look.letters,
            spaced: self.space && !first,
            breaks: (self.space || self.soft) && !self.glued && !first,
            leads_to: look.leads_to.map(str::to_string),
        });
        (self.space, self.soft, self.glued) = (false, false, look.whole);
    }

    fn node(&mut self, node: Node, look: Look) {
        if let Some(text) = node.text().filter(|_| node.is_text()) {
            self.text(text, look);
        } else if node.is_element() {
            self.element(node, look);
        }
    }

    fn text(&mut self, text: &str, look: Look) {
        self.space |= text.starts_with(|c: char| c.is_ascii_whitespace());
        for (i, word) in text.split_ascii_whitespace().enumerate() {
            self.space |= i > 0;
            self.push(AtomShown::Word(word.to_string()), look);
        }
        self.space |= text.ends_with(|c: char| c.is_ascii_whitespace());
    }

    fn inside(&mut self, node: Node, look: Look) {
        node.children().for_each(|child| self.node(child, look));
    }

    fn element(&mut self, node: Node, look: Look) {
        match node.tag_name().name() {
            "br" => {
                self.push(AtomShown::NewLine, look);
                self.glued = false;
                return;
            }
            "wbr" => {
                self.soft = true;
                return;
            }
            "input" => return self.push(AtomShown::Tick, look),
            _ => {}
        }
        if class(node, "hidden") || class(node, "skip") {
            return;
        }
        if class(node, "swatch") {
            let shades = colours(node.attribute("style").unwrap_or_default());
            if let [base, tracer, ..] = shades[..] {
                self.push(AtomShown::Swatch([base, tracer]), look);
            }
            return;
        }
        if let Some((ground, colour)) = badge(node) {
            let text = Self::of(node, look.letters).plain();
            let letters = look.letters.bold().coloured(colour);
            return self.push(AtomShown::Badge { text, ground }, Look { letters, ..look });
        }
        let inside = Look {
            letters: letters(node, look.letters),
            whole: look.whole || ["pin", "code", "change"].iter().any(|name| class(node, name)),
            leads_to: node.attribute("href").map(|to| to.trim_start_matches('#')).or(look.leads_to),
        };
        self.inside(node, inside);
        if inside.whole && !look.whole {
            self.glued = false;
        }
        // A page sets it in a column of its own.
        self.space |= class(node, "number");
    }
}

/// For a badge: the colour of its ground, `None` for a frame, and the colour of its letters.
fn badge(node: Node) -> Option<(Option<Rgb>, Rgb)> {
    let parent = |name: &str| node.parent().is_some_and(|parent| parent.has_tag_name(name));
    if class(node, "name") {
        return Some(if parent("h4") { (None, INK) } else { (Some(DEEP), PAPER) });
    }
    if class(node, "weight") {
        let severity = [("error", ALERT), ("warning", WARNING)];
        let known = severity.into_iter().find(|(name, _)| class(node, name));
        return Some((None, known.map_or(SOFT_INK, |(_, colour)| colour)));
    }
    if class(node, "kind") && parent("h4") {
        let kinds = [("live", LIVE), ("dead", ALERT), ("picture", PICTURE)];
        let chain = node.ancestors().find(|other| class(*other, "chain"))?;
        let (_, colour) = kinds.into_iter().find(|(name, _)| class(chain, name))?;
        return Some((None, colour));
    }
    None
}

/// The letters inside an element.
fn letters(node: Node, outside: Letters) -> Letters {
    let bold = ["strong", "pin", "code"].iter().any(|name| class(node, name))
        || ["strong", "code"].contains(&node.tag_name().name());
    let plain = ["for", "when", "number"].iter().any(|name| class(node, name));
    let soft = ["soft", "for", "number"].iter().any(|name| class(node, name));
    Letters { bold: (outside.bold || bold) && !plain, colour: if soft { SOFT_INK } else { outside.colour }, ..outside }
}
