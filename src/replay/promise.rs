//! Promises of the spec and whether they are kept: how soon a picture comes, whether it blinks, what a drive expects.

use super::display::Displayed;
use super::time::Time;
use super::timeline::{Lane, Record};
use form::Place;
use model::{Model, ScreenId, Shown, Step};
use states::shown_words;

/// A promise of a view or of a drive, with its result.
#[derive(Debug, Clone, PartialEq)]
pub struct Promise {
    /// The screen.
    pub screen: ScreenId,
    /// What should be shown.
    pub shown: Shown,
    /// What was promised.
    pub kind: PromiseKind,
    /// Whether it was kept.
    pub verdict: Verdict,
    /// Its start: the start of the view, or the moment of the expectation.
    pub from: Time,
    /// Its end: the end of the view, the moment by which the picture is due, or the moment of the expectation.
    pub to: Time,
    /// Its place in the spec.
    pub place: Place,
}

/// What was promised.
#[derive(Debug, Clone, PartialEq)]
pub enum PromiseKind {
    /// The picture is there within a time.
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

/// The moment from `from` to `to` at which a screen first shows what it should, for longer than zero time.
pub(super) fn first_shown(lane: &Lane<Displayed>, shown: Shown, from: Time, to: Time) -> Option<Time> {
    let mut spans = lane.spans(to).map(|(begin, end, display)| (begin.max(from), end.min(to), display));
    spans.find(|(begin, end, display)| display.agrees(shown) && end > begin).map(|(begin, ..)| begin)
}

/// Every time from `from` to `to` in which a screen doesn't show what it should; neighbours are one.
pub(super) fn gaps(lane: &Lane<Displayed>, shown: Shown, from: Time, to: Time) -> Vec<Gap> {
    let mut all: Vec<Gap> = vec![];
    for (begin, end, display) in lane.spans(to) {
        if display.agrees(shown) || end < from || begin >= to || (end == from && begin < from) {
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

/// Every promise of the views that came up in a record, then everything that the steps expect, each in order of time.
pub(super) fn promises(model: &Model, record: &Record, steps: &[Step]) -> Vec<Promise> {
    let mut all = vec![];
    for (i, screen) in model.screens.iter().enumerate() {
        for (from, to, view) in record.wanted[i].spans(record.to) {
            let Some(view) = view.map(|v| &screen.views[v]).filter(|v| v.show != Shown::Any && to > from) else {
                continue;
            };
            let there = first_shown(&record.screens[i], view.show, from, to);
            let make = |kind, verdict, to| Promise {
                screen: ScreenId(i),
                shown: view.show,
                kind,
                verdict,
                from,
                to,
                place: view.place,
            };
            if let Some(within) = view.within {
                let limit = Time::of(within);
                let verdict = match there {
                    Some(at) if at - from <= limit => Verdict::Kept,
                    None if to - from < limit => Verdict::Undecided,
                    _ => Verdict::Broken,
                };
                let there = there.map(|at| at - from);
                all.push(make(PromiseKind::Within { limit, there }, verdict, from + limit));
            }
            if view.steady {
                let gaps = there.map_or(vec![], |at| gaps(&record.screens[i], view.show, at, to));
                let verdict = match there {
                    None if to - from < LONG_ENOUGH => Verdict::Undecided,
                    None => Verdict::Broken,
                    Some(_) if gaps.is_empty() => Verdict::Kept,
                    Some(_) => Verdict::Broken,
                };
                all.push(make(PromiseKind::Steady { there: there.map(|at| at - from), gaps }, verdict, to));
            }
        }
    }
    for step in steps {
        let at = Time::of(step.at);
        let seen = record.looks.iter().find(|(when, _)| *when == at);
        for &(screen, shown, place) in &step.expect {
            let Some((_, seen)) = seen else { continue };
            let found = seen[screen.0].clone();
            let verdict = if found.agrees(shown) { Verdict::Kept } else { Verdict::Broken };
            all.push(Promise { screen, shown, kind: PromiseKind::Expect { found }, verdict, from: at, to: at, place });
        }
    }
    all.sort_by_key(|promise| (promise.from, promise.screen));
    all
}

/// A promise in words, with its moment: `dash: REAR asked for at 9.000 s, comes 0.300 s later, limit 2 s`.
pub fn promise_words(model: &Model, promise: &Promise) -> String {
    let screen = &model.screens[promise.screen.0].name;
    let (shown, from) = (shown_words(model, promise.shown), promise.from);
    match &promise.kind {
        PromiseKind::Within { limit, there } => {
            let limit = limit.seconds();
            match there {
                Some(there) => format!("{screen}: {shown} asked for at {from}, comes {there} later, limit {limit}"),
                None => format!("{screen}: {shown} asked for at {from}, doesn't come, limit {limit}"),
            }
        }
        PromiseKind::Steady { there: None, .. } => {
            format!("{screen}: {shown} asked for at {from}, doesn't come, should be steady")
        }
        PromiseKind::Steady { gaps, .. } => match gaps.iter().map(|gap| gap.length()).max() {
            None => format!("{screen}: {shown} from {from}, steady"),
            Some(worst) => {
                let (n, times) = (gaps.len(), if gaps.len() == 1 { "time" } else { "times" });
                format!("{screen}: {shown} from {from}, steady; gone {n} {times}, longest {worst}")
            }
        },
        PromiseKind::Expect { .. } if promise.verdict == Verdict::Kept => {
            format!("{screen}: {shown} expected at {from}")
        }
        PromiseKind::Expect { found } => {
            format!("{screen}: {shown} expected at {from}, but found {}", found.words(model))
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
        let shown = Shown::Source(rear);
        assert_eq!(first_shown(&lane, shown, ms(5), ms(100)), Some(ms(10)));
        assert_eq!(first_shown(&lane, shown, ms(15), ms(100)), Some(ms(15)));
        assert_eq!(first_shown(&lane, shown, ms(31), ms(100)), None);
        let found = gaps(&lane, shown, ms(10), ms(100));
        assert_eq!(found, [Gap { from: ms(20), to: ms(20) }, Gap { from: ms(30), to: ms(100) }]);
        assert_eq!(gaps(&lane, shown, ms(10), ms(30)), [Gap { from: ms(20), to: ms(20) }]);
    }
}
