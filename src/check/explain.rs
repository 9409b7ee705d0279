//! The explanation of each rule: Markdown with headings in a fixed order. The program prints the prose.

use super::{Rule, rules};

/// The headings of every explanation, in their order.
pub const HEADINGS: [&str; 6] = ["What it finds", "Why it matters", "What to do", "Fires", "Stays quiet", "Source"];

/// An explanation, by heading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Explanation<'t> {
    /// Its title: the fault, in one line.
    pub title: &'t str,
    text: &'t str,
}

impl<'t> Explanation<'t> {
    /// The explanation in a rule's Markdown.
    pub fn of(text: &'t str) -> Self {
        let title = text.lines().next().unwrap_or_default().trim_start_matches("# ");
        Explanation { title, text }
    }

    /// Its headings, in the order written.
    pub fn headings(&self) -> impl Iterator<Item = &'t str> + use<'t> {
        self.text.lines().filter_map(|line| line.strip_prefix("## "))
    }

    /// The text below a heading; empty if there is no such heading.
    pub fn section(&self, heading: &str) -> &'t str {
        let start = format!("\n## {heading}\n");
        let Some(at) = self.text.find(&start) else { return "" };
        let body = &self.text[at + start.len()..];
        body.split("\n## ").next().unwrap_or_default().trim()
    }

    /// The spec below a heading, as written between its fences.
    pub fn spec(&self, heading: &str) -> &'t str {
        let section = self.section(heading);
        let Some((_, fenced)) = section.split_once("```yaml\n") else { return "" };
        fenced.split("```").next().unwrap_or_default()
    }
}

/// A line for every rule: name, severity, title.
pub fn list() -> String {
    let widest = rules().map(|rule| rule.name.len()).max().unwrap_or(0);
    rules()
        .map(|rule| {
            format!("{:widest$}  {:7}  {}\n", rule.name, rule.severity, Explanation::of(rule.explanation).title)
        })
        .collect()
}

/// The explanation of a rule, with or without its specs.
pub fn explain(rule: &Rule, specs: bool) -> String {
    let explanation = Explanation::of(rule.explanation);
    let mut out = format!("{} ({})\n{}\n", rule.name, rule.severity, explanation.title);
    for heading in HEADINGS {
        let is_spec = !explanation.spec(heading).is_empty();
        if !is_spec {
            out.push_str(&format!("\n{heading}\n{}\n", indented(explanation.section(heading))));
        } else if specs {
            let prose = explanation.section(heading).split("```").next().unwrap_or_default().trim();
            out.push_str(&format!("\n{heading}\n"));
            if !prose.is_empty() {
                out.push_str(&format!("{}\n", indented(prose)));
            }
            out.push_str(&format!("\n{}\n", indented(explanation.spec(heading).trim_end())));
        }
    }
    out
}

fn indented(text: &str) -> String {
    let line = |line: &str| if line.is_empty() { String::new() } else { format!("  {line}") };
    text.lines().map(line).collect::<Vec<_>>().join("\n")
}
