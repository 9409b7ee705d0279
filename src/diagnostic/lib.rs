//! Messages for people: the source line, the marked place, and what to do.

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet, Title};
use form::values::is_reordering;
use form::{Place, Problem, Sources};

/// How messages are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Style {
    /// With colour, for a terminal.
    pub colour: bool,
    /// Letters in a line; longer texts are broken between words.
    pub width: Option<usize>,
}

impl Style {
    /// Without colour and line breaks, for files and pipes.
    pub const PLAIN: Style = Style { colour: false, width: None };

    fn renderer(self) -> Renderer {
        if self.colour { Renderer::styled() } else { Renderer::plain() }.decor_style(DecorStyle::Unicode)
    }

    /// A text behind `before` letters, broken where it is too long for the line.
    fn broken(self, text: &str, before: usize) -> String {
        let Some(room) = self.width.map(|width| width.saturating_sub(before).max(NARROWEST)) else {
            return text.into();
        };
        text.split('\n').map(|line| break_line(line, room)).collect::<Vec<_>>().join("\n")
    }
}

/// A text is never broken into shorter lines than this, in letters.
const NARROWEST: usize = 20;

/// Letters before a note or a hint: its branch of the tree and its name.
const NOTE: usize = 11;

/// Breaks a line between words.
fn break_line(line: &str, room: usize) -> String {
    let mut out = String::new();
    let mut used = 0;
    for word in line.split_inclusive(' ') {
        let letters = word.trim_end().chars().count();
        if used > 0 && used + letters > room {
            out.truncate(out.trim_end().len());
            out.push('\n');
            used = 0;
        }
        out.push_str(word);
        used += word.chars().count();
    }
    out
}

/// One message with its place, before it is drawn.
#[derive(Debug, Clone)]
pub struct Message<'a> {
    /// `error`, `warning` or `note`.
    pub level: &'a str,
    /// The rule's name, in brackets behind the level.
    pub rule: Option<&'a str>,
    /// One clause.
    pub text: &'a str,
    /// Where, with words under the mark.
    pub place: Option<(Place, &'a str)>,
    /// Other places, each with a word.
    pub also: Vec<(Place, &'a str)>,
    /// Facts below the snippet.
    pub notes: Vec<String>,
    /// What to do.
    pub hint: Option<&'a str>,
}

/// Strips what could move a terminal's cursor or reorder text; file content is shown in messages.
pub fn tame(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\t' | '\n' => c,
            c if c.is_control() => '\u{fffd}',
            c if is_reordering(c) => '\u{fffd}',
            c => c,
        })
        .collect()
}

/// Draws one message.
pub fn draw(sources: &Sources, message: &Message, style: Style) -> String {
    let title = title(message, style);
    let group = match message.place {
        Some((place, label)) => {
            let mut group = Group::with_title(title);
            let mut marks = vec![(place, label, AnnotationKind::Primary)];
            marks.extend(message.also.iter().map(|(p, word)| (*p, *word, AnnotationKind::Context)));
            let mut files: Vec<usize> = marks.iter().map(|(p, ..)| p.file).collect();
            files.dedup();
            for file in files {
                group = group.element(snippet(sources, file, &marks));
            }
            group
        }
        None => Group::with_title(title),
    };
    finish(group, message, style)
}

/// Draws one message without the lines of its place.
pub fn brief(sources: &Sources, message: &Message, style: Style) -> String {
    let mut group = Group::with_title(title(message, style));
    if let Some((place, _)) = message.place {
        let origin = Origin::path(tame(&sources.name(place.file))).line(place.line).char_column(place.column);
        group = group.element(origin);
    }
    finish(group, message, style)
}

/// The line with level, rule and text.
fn title<'a>(message: &Message, style: Style) -> Title<'a> {
    let level = match message.level {
        "error" => Level::ERROR,
        "warning" => Level::WARNING,
        _ => Level::NOTE,
    };
    let before = message.level.len() + message.rule.map_or(0, |rule| rule.len() + 2) + 2;
    let title = level.primary_title(tame(&style.broken(message.text, before)));
    match message.rule {
        Some(rule) => title.id(rule.to_string()),
        None => title,
    }
}

/// Adds notes and hint, and draws the whole.
fn finish(mut group: Group, message: &Message, style: Style) -> String {
    for note in &message.notes {
        group = group.element(Level::NOTE.message(tame(&style.broken(note, NOTE))));
    }
    if let Some(hint) = message.hint {
        group = group.element(Level::HELP.with_name(Some("do")).message(tame(&style.broken(hint, NOTE))));
    }
    style.renderer().render(&[group])
}

/// The few lines around the marks of one file. A whole file is never handed over: long ones would be slow to scan.
fn snippet<'a>(
    sources: &Sources,
    file: usize,
    marks: &[(Place, &str, AnnotationKind)],
) -> Snippet<'a, annotate_snippets::Annotation<'a>> {
    let text = sources.files.get(file).map_or("", |f| f.text.as_str());
    let mine: Vec<_> = marks.iter().filter(|(p, ..)| p.file == file).collect();
    let first = mine.iter().map(|(p, ..)| p.start).min().unwrap_or(0).min(text.len());
    let last = mine.iter().map(|(p, ..)| p.end).max().unwrap_or(0).min(text.len());
    let from = text[..first].rfind('\n').map_or(0, |i| i + 1);
    let to = text[last..].find('\n').map_or(text.len(), |i| last + i);
    let to = from.max(text[..to].trim_end_matches('\r').len());
    let line = text[..from].bytes().filter(|&b| b == b'\n').count() + 1;
    let mut snippet = Snippet::source(text[from..to].replace(|c: char| c.is_control() && c != '\n' && c != '\t', " "))
        .line_start(line)
        .path(tame(&sources.name(file)));
    for (place, label, kind) in mine {
        let start = place.start.clamp(from, to) - from;
        let end = (place.end.clamp(from, to) - from).max(start);
        let mark = kind.span(start..end);
        snippet = snippet.annotation(if label.is_empty() { mark } else { mark.label(tame(label)) });
    }
    snippet
}

/// Maximum number of problems shown.
const MOST_SHOWN: usize = 50;

/// Draws every problem of a spec that can't be used, and a closing line that counts them.
pub fn problems(sources: &Sources, problems: &[Problem], style: Style) -> String {
    problems_before(sources, problems, style, "anything can be built")
}

/// Draws every problem of a file, and a closing line that counts them and says what they are in the way of.
pub fn problems_before(sources: &Sources, problems: &[Problem], style: Style, before: &str) -> String {
    let mut out = String::new();
    for problem in problems.iter().take(MOST_SHOWN) {
        let message = Message {
            level: "error",
            rule: None,
            text: &problem.message,
            place: problem.place.map(|p| (p, problem.label.as_str())),
            also: problem.also.iter().map(|(p, word)| (*p, word.as_str())).collect(),
            notes: Vec::new(),
            hint: problem.hint.as_deref(),
        };
        out.push_str(&draw(sources, &message, style));
        out.push_str("\n\n");
    }
    let count = problems.len();
    if count > MOST_SHOWN {
        out.push_str(&format!("the first {MOST_SHOWN} are shown\n"));
    }
    out.push_str(&format!("{count} {} to correct before {before}\n", if count == 1 { "problem" } else { "problems" }));
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn message(text: &str) -> Message<'_> {
        Message {
            level: "error",
            rule: Some("load/drop"),
            text,
            place: None,
            also: Vec::new(),
            notes: vec!["in state: key run, reverse, left-turn, right-turn, brake, tail-lamps".to_string()],
            hint: Some("use a thicker wire, or move the fuse closer to the battery and shorten the wire"),
        }
    }

    #[test]
    fn no_line_is_wider_than_the_terminal() {
        let text = "the wires of `WL` drop 402 mV at rest, 3.35 % of 12 V, limit 3 %; most of it in wire 2";
        for width in [40, 60, 80, 200] {
            let style = Style { width: Some(width), ..Style::PLAIN };
            let drawn = brief(&Sources::default(), &message(text), style);
            assert!(drawn.lines().all(|line| line.chars().count() <= width), "{width}:\n{drawn}");
            let words = |text: &str| text.replace('│', " ").split_whitespace().map(str::to_string).collect::<Vec<_>>();
            let plain = brief(&Sources::default(), &message(text), Style::PLAIN);
            assert_eq!(words(&drawn), words(&plain), "no word is lost");
        }
    }

    #[test]
    fn colour_is_asked_for() {
        let coloured = Style { colour: true, width: None };
        assert!(brief(&Sources::default(), &message("a"), coloured).contains('\u{1b}'));
        assert!(!brief(&Sources::default(), &message("a"), Style::PLAIN).contains('\u{1b}'));
    }
}
