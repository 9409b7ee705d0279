//! Promises of the spec and whether they are kept: how soon a picture comes, whether it blinks, what a drive expects.

use super::display::Displayed;
use super::time::Time;
use super::timeline::{Lane, Record};
use form::Place;
use model::{Model, ScreenId, Shown, Step, WorksId, WorksPromise};
use quantity::Seconds;
use states::shown_words;

/// A promise of a view or of a drive, with its result.
#[derive(Debug, Clone, PartialEq)]
pub struct Promise {
    /// What it is about.
    pub promised: Promised,
    /// What was promised of it.
    pub kind: PromiseKind,
    /// Whether it was kept.
    pub verdict: Verdict,
    /// Its start: the start of the view, or the moment of the expectation.
    pub from: Time,
    /// Its end: the end of the view, the moment when the picture is due, or the moment of the expectation.
    pub to: Time,
    /// Its place in the spec.
    pub place: Place,
}

/// What a promise is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Promised {
    /// A screen shows something.
    Shows(ScreenId, Shown),
    /// A part works.
    Works(WorksId),
}

/// What was promised. In the following, what is promised is a picture or that a part works.
#[derive(Debug, Clone, PartialEq)]
pub enum PromiseKind {
    /// It is there within a time.
    Within {
        /// The time.
        limit: Time,
        /// When the picture came, counted from the start of the view; `None` if it never came.
        there: Option<Time>,
    },
    /// Once there, the picture doesn't blink.
    Steady {
        /// When the picture came, counted from the start of the view; `None` if it never came.
        there: Option<Time>,
        /// Every gap after that, until the view ended.
        gaps: Vec<Gap>,
    },
    /// A drive expects it at a moment.
    Expect {
        /// What the screen displayed.
        found: Displayed,
    },
}

/// A time in which a picture was away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Gap {
    /// From when.
    pub from: Time,
    /// Until when.
    pub to: Time,
}

impl Gap {
    /// How long.
    pub fn length(self) -> Time {
        self.to - self.from
    }
}

/// Whether a promise was kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Yes.
    Kept,
    /// No.
    Broken,
    /// Undecided: the view or the drive ended too early.
    Undecided,
}

/// A picture that must be steady and hasn't come by then never comes: twice the start-up of the slowest screens and
/// cameras in use (common practice, no source).
const LONG_ENOUGH: Time = Time::milliseconds(10_000);

/// The moment from `from` to `to` at which a lane is first as it should be, for longer than zero time.
pub(super) fn first<T: PartialEq>(lane: &Lane<T>, from: Time, to: Time, is_good: impl Fn(&T) -> bool) -> Option<Time> {
    let mut spans = lane.spans(to).map(|(begin, end, value)| (begin.max(from), end.min(to), value));
    spans.find(|(begin, end, value)| is_good(value) && end > begin).map(|(begin, ..)| begin)
}

/// Every time from `from` to `to` in which a lane isn't as it should be; neighbours are one.
pub(super) fn gaps<T: PartialEq>(lane: &Lane<T>, from: Time, to: Time, is_good: impl Fn(&T) -> bool) -> Vec<Gap> {
    let mut all: Vec<Gap> = vec![];
    for (begin, end, value) in lane.spans(to) {
        if is_good(value) || end < from || begin >= to || (end == from && begin < from) {
            continue;
        }
        let gap = Gap { from: begin.max(from), to: end.min(to) };
        match all.last_mut() {
            Some(last) if last.to == gap.from => last.to = gap.to,
            _ => all.push(gap),
        }
    }
    all
}

/// A promise of a view or of a part, over the time in which it counts.
struct Asked {
    promised: Promised,
    from: Time,
    to: Time,
    within: Option<Seconds>,
    steady: bool,
    place: Place,
    /// When it is first there.
    there: Option<Time>,
    /// The gaps after that.
    gaps: Vec<Gap>,
}

impl Asked {
    fn promises(self) -> Vec<Promise> {
        let Asked { promised, from, to, within, steady, place, there, gaps } = self;
        let make = |kind, verdict, to| Promise { promised, kind, verdict, from, to, place };
        let mut all = vec![];
        if let Some(within) = within {
            let limit = Time::of(within);
            let verdict = match there {
                Some(at) if at - from <= limit => Verdict::Kept,
                None if to - from < limit => Verdict::Undecided,
                _ => Verdict::Broken,
            };
            let there = there.map(|at| at - from);
            all.push(make(PromiseKind::Within { limit, there }, verdict, from + limit));
        }
        if steady {
            let verdict = match there {
                None if to - from < LONG_ENOUGH => Verdict::Undecided,
                None => Verdict::Broken,
                Some(_) if gaps.is_empty() => Verdict::Kept,
                Some(_) => Verdict::Broken,
            };
            all.push(make(PromiseKind::Steady { there: there.map(|at| at - from), gaps }, verdict, to));
        }
        all
    }
}

/// Every promise of the views and parts that came up in a record, then everything that the steps expect, each in order of
/// time.
pub(super) fn promises(model: &Model, record: &Record, steps: &[Step]) -> Vec<Promise> {
    let mut all = vec![];
    for (i, screen) in model.screens.iter().enumerate() {
        for (from, to, view) in record.wanted[i].spans(record.to) {
            let Some(view) = view.map(|v| &screen.views[v]).filter(|v| v.show != Shown::Any && to > from) else {
                continue;
            };
            let (lane, shown) = (&record.screens[i], view.show);
            let there = first(lane, from, to, |display| display.agrees(shown));
            let gaps = there.map_or(vec![], |at| gaps(lane, at, to, |display| display.agrees(shown)));
            let promised = Promised::Shows(ScreenId(i), shown);
            let (within, steady, place) = (view.within, view.steady, view.place);
            all.extend(Asked { promised, from, to, within, steady, place, there, gaps }.promises());
        }
    }
    for (i, promise) in model.works.iter().enumerate() {
        let asked = record.asked[i].spans(record.to).filter(|(from, to, asked)| **asked && to > from);
        for (from, to, _) in asked {
            let there = first(&record.works[i], from, to, |works| *works);
            let gaps = there.map_or(vec![], |at| gaps(&record.works[i], at, to, |works| *works));
            let promised = Promised::Works(WorksId(i));
            let (within, steady, place) = (promise.within, promise.steady, promise.place);
            all.extend(Asked { promised, from, to, within, steady, place, there, gaps }.promises());
        }
    }
    for step in steps {
        let at = Time::of(step.at);
        let seen = record.looks.iter().find(|(when, _)| *when == at);
        for &(screen, shown, place) in &step.expect {
            let Some((_, seen)) = seen else { continue };
            let found = seen[screen.0].clone();
            let verdict = if found.agrees(shown) { Verdict::Kept } else { Verdict::Broken };
            let (promised, kind) = (Promised::Shows(screen, shown), PromiseKind::Expect { found });
            all.push(Promise { promised, kind, verdict, from: at, to: at, place });
        }
    }
    all.sort_by_key(|promise| {
        let order = match promise.promised {
            Promised::Shows(screen, _) => (0, screen.0),
            Promised::Works(id) => (1, id.0),
        };
        (promise.from, order)
    });
    all
}

/// What a promise is about, in words: `dash: REAR`, `L3 working`.
pub fn promised_words(model: &Model, promised: Promised) -> String {
    match promised {
        Promised::Shows(screen, shown) => {
            format!("{}: {}", model.screens[screen.0].name, shown_words(model, shown))
        }
        Promised::Works(id) => works_words(model, &model.works[id.0]),
    }
}

/// A promised load in words: `L3 working`, `T1.stop working`.
fn works_words(model: &Model, promise: &WorksPromise) -> String {
    let load = promise.load.as_ref().map(|load| format!(".{load}")).unwrap_or_default();
    format!("{}{load} working", model.part(promise.part).name)
}

/// A promise in words, with its moment: `dash: REAR asked for at 9.000 s, comes 0.300 s later, limit 2 s`.
pub fn promise_words(model: &Model, promise: &Promise) -> String {
    let (it, from) = (promised_words(model, promise.promised), promise.from);
    match &promise.kind {
        PromiseKind::Within { limit, there } => {
            let limit = limit.seconds();
            match there {
                Some(there) => format!("{it} asked for at {from}, comes {there} later, limit {limit}"),
                None => format!("{it} asked for at {from}, doesn't come, limit {limit}"),
            }
        }
        PromiseKind::Steady { there: None, .. } => {
            format!("{it} asked for at {from}, doesn't come, should be steady")
        }
        PromiseKind::Steady { gaps, .. } => match gaps.iter().map(|gap| gap.length()).max() {
            None => format!("{it} from {from}, steady"),
            Some(worst) => {
                let (n, times) = (gaps.len(), if gaps.len() == 1 { "time" } else { "times" });
                format!("{it} from {from}, steady; gone {n} {times}, longest {worst}")
            }
        },
        PromiseKind::Expect { .. } if promise.verdict == Verdict::Kept => {
            format!("{it} expected at {from}")
        }
        PromiseKind::Expect { found } => {
            format!("{it} expected at {from}, but found {}", found.words(model))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::PartId;

    fn ms(count: i64) -> Time {
        Time::milliseconds(count)
    }

    #[test]
    fn a_gap_of_no_length_is_a_gap() {
        let rear = PartId(0);
        let points = vec![
            (ms(0), Displayed::Home),
            (ms(10), Displayed::Live(rear)),
            (ms(20), Displayed::Home),
            (ms(20), Displayed::Live(rear)),
            (ms(30), Displayed::Changing),
            (ms(35), Displayed::Home),
        ];
        let lane = Lane { points };
        let agrees = |display: &Displayed| display.agrees(Shown::Source(rear));
        assert_eq!(first(&lane, ms(5), ms(100), agrees), Some(ms(10)));
        assert_eq!(first(&lane, ms(15), ms(100), agrees), Some(ms(15)));
        assert_eq!(first(&lane, ms(31), ms(100), agrees), None);
        let found = gaps(&lane, ms(10), ms(100), agrees);
        assert_eq!(found, [Gap { from: ms(20), to: ms(20) }, Gap { from: ms(30), to: ms(100) }]);
        assert_eq!(gaps(&lane, ms(10), ms(30), agrees), [Gap { from: ms(20), to: ms(20) }]);
    }
}
