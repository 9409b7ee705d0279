//! Ten thousand specs, each a sound one with some things changed at random: a pin exchanged, a wire gone, a value a
//! thousand times too large, a condition turned round, a letter lost. Whatever the text says, a run ends in time and
//! without a panic, and every place that a problem names is in the text.

use form::TextMap;
use job::Job;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// Specs that are mutated; together they use every section of the form.
const SOUND: [&str; 5] = [
    include_str!("drawings/one-camera.yaml"),
    include_str!("replay/pulsed.yaml"),
    include_str!("replay/side-cameras.yaml"),
    include_str!("../harness-specs/first-harness.yaml"),
    include_str!("ranges/every-quantity.yaml"),
];

/// A spec without the marks around its quantities: `«Form.key 12 V»` becomes `12 V`.
fn unmarked(text: &str) -> String {
    let mut parts = text.split('«');
    let first = parts.next().unwrap_or_default().to_string();
    parts.fold(first, |sum, part| {
        let (mark, rest) = part.split_once('»').unwrap();
        sum + mark.split_once(' ').unwrap().1 + rest
    })
}

/// Longest that a run may take.
const LONGEST: Duration = Duration::from_secs(5);

/// Values that replace a value of the spec, with units of every kind.
const VALUES: [&str; 24] = [
    "0", "0 V", "12 V", "24 V", "1000 V", "-1 V", "0 A", "1 mA", "500 A", "0 W", "5 W", "5 kW", "0 Ω", "1 MΩ", "0 s",
    "1 ms", "100 h", "0 m", "900 m", "0 %", "100 %", "10 mm²", "on", "~",
];

/// Numbers that look random and are the same each time.
struct Dice(u64);

impl Dice {
    fn below(&mut self, bound: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % bound.max(1) as u64) as usize
    }

    fn one_of<'t, T: ?Sized>(&mut self, all: &[&'t T]) -> Option<&'t T> {
        (!all.is_empty()).then(|| all[self.below(all.len())])
    }
}

/// Words of a text that look like names, pins or values, as byte ranges.
fn words(text: &str, keep: impl Fn(&str) -> bool) -> Vec<(usize, usize)> {
    let is_part = |c: char| c.is_alphanumeric() || "._-+/²µΩ%".contains(c);
    let mut found = Vec::new();
    let mut start = None;
    for (at, c) in text.char_indices().chain([(text.len(), ' ')]) {
        match (is_part(c), start) {
            (true, None) => start = Some(at),
            (false, Some(from)) => {
                if keep(&text[from..at]) {
                    found.push((from, at));
                }
                start = None;
            }
            _ => {}
        }
    }
    found
}

/// Replaces one word by another of the same sort.
fn exchange(text: &str, dice: &mut Dice, sort: impl Fn(&str) -> bool) -> Option<String> {
    let found = words(text, sort);
    if found.is_empty() {
        return None;
    }
    let (to, from) = (found[dice.below(found.len())], found[dice.below(found.len())]);
    Some(format!("{}{}{}", &text[..to.0], &text[from.0..from.1], &text[to.1..]))
}

fn is_pin(word: &str) -> bool {
    word.split_once('.').is_some_and(|(part, pin)| part.starts_with(char::is_alphabetic) && !pin.is_empty())
}

/// One mutation of a text.
fn mutate(text: &str, dice: &mut Dice) -> String {
    let lines: Vec<&str> = text.lines().collect();
    let line = dice.below(lines.len());
    let without =
        |skip: usize| lines.iter().enumerate().filter(|(i, _)| *i != skip).map(|(_, l)| format!("{l}\n")).collect();
    let mutated = match dice.below(9) {
        0 | 1 => exchange(text, dice, is_pin),
        2 if dice.below(3) == 0 => exchange(text, dice, |word| word.starts_with(char::is_alphabetic)),
        3 => exchange(text, dice, |word| word.starts_with(|c: char| c.is_ascii_digit())),
        4 => {
            // A number and its unit.
            let numbers = words(text, |word| word.starts_with(|c: char| c.is_ascii_digit()));
            dice.one_of(&VALUES).filter(|_| !numbers.is_empty()).map(|value| {
                let (from, to) = numbers[dice.below(numbers.len())];
                let unit = text[to..].strip_prefix(' ').map_or(0, |rest| {
                    let end = rest.find(|c: char| !(c.is_alphabetic() || c == '²' || c == '%')).unwrap_or(rest.len());
                    end + 1
                });
                format!("{}{value}{}", &text[..from], &text[to + unit..])
            })
        }
        5 => Some(without(line)),
        6 => {
            let other = lines[dice.below(lines.len())];
            Some(
                lines
                    .iter()
                    .enumerate()
                    .map(|(i, l)| if i == line { format!("{l}\n{other}\n") } else { format!("{l}\n") })
                    .collect(),
            )
        }
        7 => {
            let (from, to) =
                [(" and ", " or "), (" or ", " and not "), ("when: ", "when: not "), (" = ", " = not ")][dice.below(4)];
            Some(text.replacen(from, to, 1))
        }
        8 if dice.below(3) == 0 => {
            let at: Vec<usize> = text.char_indices().map(|(at, _)| at).collect();
            let at = at[dice.below(at.len())];
            let length = text[at..].chars().next().map_or(0, char::len_utf8);
            Some(format!("{}{}", &text[..at], &text[at + length..]))
        }
        _ => exchange(text, dice, |word| is_pin(word) && word.ends_with(|c: char| c.is_ascii_digit())),
    };
    mutated.unwrap_or_else(|| text.to_string())
}

/// A sound spec with one to three mutations.
fn mutant(number: usize) -> String {
    let mut dice = Dice((number as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
    let mut text = unmarked(SOUND[number % SOUND.len()]);
    // Most have one mutation: a mutant that cannot be read reaches no rule.
    for _ in 0..[1, 1, 1, 2, 3][dice.below(5)] {
        text = mutate(&text, &mut dice);
    }
    text
}

/// How far a run came.
#[derive(Debug, Clone, Copy, PartialEq)]
enum End {
    Refused,
    Checked,
}

/// Runs a mutant; every 40th that can be read is built, too.
fn run(number: usize, text: &str) -> Result<End, String> {
    let start = Instant::now();
    let whole = || match Job::read(&TextMap::new([("spec.yaml", text)]), Path::new("spec.yaml")) {
        Ok(job) => {
            let _ = job.report();
            if number.is_multiple_of(40) {
                let _ = job.documents(None);
            }
            Ok(End::Checked)
        }
        Err(unreadable) => {
            let lines = text.lines().count() + 1;
            let astray = unreadable.problems.iter().find(|p| p.place.is_some_and(|place| place.line > lines));
            astray.map_or(Ok(End::Refused), |problem| Err(format!("a place beyond the text: {problem:?}")))
        }
    };
    let end = catch_unwind(AssertUnwindSafe(whole)).unwrap_or_else(|_| Err("panics".into()))?;
    let took = start.elapsed();
    if took > LONGEST { Err(format!("takes {took:?}")) } else { Ok(end) }
}

/// Runs mutants on two threads.
fn run_all(numbers: std::ops::Range<usize>) {
    let next = Mutex::new(numbers);
    let results = Mutex::new((0, 0, Vec::new()));
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                loop {
                    let Some(number) = next.lock().unwrap().next() else { return };
                    let text = mutant(number);
                    let end = run(number, &text);
                    let mut results = results.lock().unwrap();
                    match end {
                        Ok(End::Checked) => results.0 += 1,
                        Ok(End::Refused) => results.1 += 1,
                        Err(why) => results.2.push((number, why)),
                    }
                }
            });
        }
    });
    let (checked, refused, faults) = results.into_inner().unwrap();
    println!("{checked} checked, {refused} refused");
    if let Some((number, why)) = faults.first() {
        panic!("{} faults: {faults:?}\nnumber {number} {why}:\n{}", faults.len(), mutant(*number));
    }
    // Mutants that are all refused would not reach the rules.
    assert!(checked * 4 > checked + refused, "only {checked} of {} could be read", checked + refused);
}

#[test]
fn three_hundred_mutants_end_well() {
    run_all(0..300);
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn ten_thousand_mutants_end_well() {
    run_all(300..10_000);
}
