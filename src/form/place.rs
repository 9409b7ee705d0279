//! Where something stands in a file, and what is wrong there.

use std::ops::Deref;
use std::path::{Path, PathBuf};

/// A stretch of one source file. Lines and columns count from 1, columns in characters; offsets are bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Place {
    /// Index into [`Sources`].
    pub file: usize,
    /// First byte.
    pub start: usize,
    /// Byte after the last.
    pub end: usize,
    /// Line of the first character.
    pub line: usize,
    /// Column of the first character.
    pub column: usize,
}

impl Place {
    /// From the start of this place to the end of another in the same file.
    pub fn to(self, other: Place) -> Place {
        Place { end: other.end.max(self.start), ..self }
    }
}

/// One file as it was read.
#[derive(Debug, Clone)]
pub struct SourceFile {
    /// As the user named it, or as an include names it.
    pub path: PathBuf,
    /// Its whole text.
    pub text: String,
}

/// Every file that took part, in the order in which it was read.
#[derive(Debug, Clone, Default)]
pub struct Sources {
    /// The files; [`Place::file`] indexes here.
    pub files: Vec<SourceFile>,
}

impl Sources {
    /// Adds a file and says which number it got.
    pub fn add(&mut self, path: &Path, text: String) -> usize {
        self.files.push(SourceFile { path: path.to_path_buf(), text });
        self.files.len() - 1
    }

    /// The file's name as shown in messages, with forward slashes.
    pub fn name(&self, file: usize) -> String {
        self.files.get(file).map_or_else(String::new, |f| f.path.display().to_string().replace('\\', "/"))
    }
}

/// Something in a file that keeps it from being read: what, where, and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Where; `None` if the file as a whole can't be read.
    pub place: Option<Place>,
    /// One clause: what is wrong.
    pub message: String,
    /// Short words under the marked text.
    pub label: String,
    /// What to do.
    pub hint: Option<String>,
    /// Other places that belong to it, each with a word.
    pub also: Vec<(Place, String)>,
}

impl Problem {
    /// A problem at a place.
    pub fn at(place: Place, message: impl Into<String>) -> Self {
        Problem { place: Some(place), message: message.into(), label: String::new(), hint: None, also: Vec::new() }
    }

    /// A problem with a file as a whole.
    pub fn whole(message: impl Into<String>) -> Self {
        Problem { place: None, message: message.into(), label: String::new(), hint: None, also: Vec::new() }
    }

    /// Adds what to do.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }

    /// Adds words under the marked text.
    pub fn label(mut self, label: impl Into<String>) -> Self {
        self.label = label.into();
        self
    }

    /// Adds a second place.
    pub fn also(mut self, place: Place, word: impl Into<String>) -> Self {
        self.also.push((place, word.into()));
        self
    }
}

/// Text longer than this, in bytes, is no mistyped name.
const LONGEST_SLIP: usize = 80;

/// Names compared with what was written; a real spec has fewer.
const MOST_CANDIDATES: usize = 500;

/// The candidate nearest to what was written, when it is near enough to be a typing mistake: a few letters off, its
/// last word alone (`drop` for `load/drop`), or with words too many at its end (`fuse-blade-5a` for `fuse-blade`).
pub fn nearest<'a>(written: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    if written.len() > LONGEST_SLIP {
        return None;
    }
    let lower = written.to_lowercase();
    let distance = |candidate: &str| {
        let candidate = candidate.to_lowercase();
        let too_long = lower.strip_prefix(&candidate).is_some_and(|rest| rest.starts_with('-'));
        if too_long || candidate.rsplit_once('/').is_some_and(|(_, last)| last == lower) {
            return 0;
        }
        strsim::damerau_levenshtein(&lower, &candidate)
    };
    candidates
        .into_iter()
        .take(MOST_CANDIDATES)
        .map(|c| (distance(c), c))
        .filter(|(distance, c)| *distance <= 1 + c.chars().count().max(lower.chars().count()) / 4)
        .min_by_key(|(distance, c)| (*distance, std::cmp::Reverse(if *distance == 0 { c.len() } else { 0 })))
        .map(|(_, c)| c)
}

/// Number of letters that a first word may differ by and still count as a misspelling.
const WORD_SLIP: usize = 1;

/// The candidates whose first word is the written one, or differs by a letter.
fn kin<'a>(written: &str, candidates: &[&'a str]) -> Vec<&'a str> {
    let first = |text: &str| text.split(['-', '/', ' ']).next().unwrap_or_default().to_lowercase();
    let word = first(written);
    if word.len() > LONGEST_SLIP || word.chars().count() < 3 {
        return Vec::new();
    }
    let near = |c: &&&str| strsim::damerau_levenshtein(&word, &first(c)) <= WORD_SLIP;
    candidates.iter().take(MOST_CANDIDATES).filter(near).copied().collect()
}

/// The candidates that have every written word and the fewest others (`relay-mini-spdt-12v-diode` for
/// `relay-spdt-12v-diode`).
fn with_all_words<'a>(written: &str, candidates: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let lower = written.to_lowercase();
    let words: Vec<&str> = lower.split('-').collect();
    if words.len() < 2 || written.len() > LONGEST_SLIP {
        return Vec::new();
    }
    let count = |c: &str| c.split('-').count();
    let has_all = |c: &&str| words.iter().all(|word| c.split('-').any(|of| of == *word));
    let mut found: Vec<&str> = candidates.into_iter().take(MOST_CANDIDATES).filter(has_all).collect();
    let fewest = found.iter().map(|c| count(c)).min();
    found.retain(|c| Some(count(c)) == fewest);
    found
}

/// As [`suggestion`], for pins: one number is no mistyping of another, and a wire on the wrong pin is a fault that
/// nobody sees. What differs in its digits is not proposed; the pins are listed.
pub fn pin_suggestion(written: &str, pins: &[&str]) -> String {
    let digits = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
    let alike = pins.iter().copied().filter(|pin| digits(pin) == digits(written));
    match nearest(written, alike) {
        Some(near) => format!("did you mean `{near}`?"),
        None if pins.is_empty() => "there are no pins to choose from".to_string(),
        None => format!("its pins: {}", pins.join(", ")),
    }
}

/// `did you mean …?` where something is near, else the choices themselves, those that begin alike if there are any.
pub fn suggestion<'a>(written: &str, candidates: impl IntoIterator<Item = &'a str> + Clone, what: &str) -> String {
    let worded = with_all_words(written, candidates.clone());
    if worded.len() > 1 {
        return format!(
            "did you mean one of {}?",
            worded.iter().map(|c| format!("`{c}`")).collect::<Vec<_>>().join(", ")
        );
    }
    if let Some(near) = worded.first().copied().or_else(|| nearest(written, candidates.clone())) {
        return format!("did you mean `{near}`?");
    }
    let mut all: Vec<&str> = candidates.into_iter().collect();
    let alike = kin(written, &all);
    match alike[..] {
        [only] => return format!("did you mean `{only}`?"),
        _ if !alike.is_empty() && alike.len() < all.len() => all = alike,
        _ => {}
    }
    let rest = all.len().saturating_sub(24);
    all.truncate(24);
    match (all.is_empty(), rest) {
        (true, _) => format!("there are no {what} to choose from"),
        (false, 0) if all.len() == 1 => format!("there is only `{}`", all[0]),
        (false, 0) => format!("{what}: {}", all.join(", ")),
        (false, n) => format!("{what}: {} and {n} more", all.join(", ")),
    }
}

/// A value with the place where it was written.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Placed<T> {
    /// The value.
    pub value: T,
    /// Where it stands.
    pub place: Place,
}

impl<T> Deref for Placed<T> {
    type Target = T;
    fn deref(&self) -> &T {
        &self.value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_meant_is_guessed_from_letters_last_words_and_first_words() {
        let names = ["push-spst", "push-spdt", "screen-4in", "screen-2in-12v", "load/drop"];
        assert_eq!(nearest("screen-4in-12v", names), Some("screen-4in"));
        assert_eq!(nearest("drop", names), Some("load/drop"));
        assert_eq!(nearest("push-sdpt", names), Some("push-spdt"));
        assert_eq!(suggestion("push-button", names, "kinds"), "kinds: push-spst, push-spdt");
        assert_eq!(suggestion("camera", ["relay", "fuse"], "kinds"), "kinds: relay, fuse");
        assert_eq!(
            suggestion("engine", ["cabin", "engine-space", "outside"], "choices"),
            "did you mean `engine-space`?"
        );
        let relays = ["relay-mini-spdt-12v", "relay-mini-spdt-12v-diode", "relay-micro-12v-diode"];
        assert_eq!(suggestion("relay-spdt-12v-diode", relays, "kinds"), "did you mean `relay-mini-spdt-12v-diode`?");
    }

    #[test]
    fn no_pin_is_taken_for_one_of_another_number() {
        assert_eq!(pin_suggestion("5", &["1", "2", "3", "4"]), "its pins: 1, 2, 3, 4");
        assert_eq!(pin_suggestion("in3", &["in1", "in2", "out"]), "its pins: in1, in2, out");
        assert_eq!(pin_suggestion("87A", &["87", "87a"]), "did you mean `87a`?");
        assert_eq!(pin_suggestion("powr", &["power", "ground"]), "did you mean `power`?");
    }
}
