//! Sessions: written and read back, bound to their spec, whole or refused at a place.

use crate::dialog::{self, DialogAnswer};
use crate::{NextStep, Probe, ProbePin, SessionAnswer, SessionEntry, TraceSession, TracedSpec};
use proptest::prelude::*;

fn of() -> TracedSpec {
    TracedSpec { checksum: "1f2e3d4c".into(), revision: "B \"2\"".into() }
}

fn entry(answer: SessionAnswer, when: &str) -> SessionEntry {
    SessionEntry { answer, when: when.into(), place: None }
}

fn example() -> TraceSession {
    let entries = vec![
        entry(SessionAnswer::Seen("dash black".into()), "key run, left"),
        entry(SessionAnswer::Read("K1.86 11.9 V".into()), "key run, left"),
        entry(SessionAnswer::Cannot("X2.3".into()), ""),
        entry(SessionAnswer::Unknown("K1.85".into()), "key run"),
    ];
    TraceSession { of: of(), entries }
}

fn without_places(mut session: TraceSession) -> TraceSession {
    session.entries.iter_mut().for_each(|entry| entry.place = None);
    session
}

#[test]
fn a_session_is_read_back_as_it_was_written_and_undone() {
    let mut session = example();
    let read = TraceSession::read(0, &session.text(), &of()).unwrap();
    assert_eq!(without_places(read), session);
    assert_eq!(session.undo().unwrap().answer, SessionAnswer::Unknown("K1.85".into()));
    assert_eq!(without_places(TraceSession::read(0, &session.text(), &of()).unwrap()), session);
}

/// Wherever the file is cut, it is refused at a place; nothing is read as a shorter session.
#[test]
fn a_truncated_session_is_refused() {
    let text = example().text();
    for at in 0..text.trim_end().len() {
        let cut = TraceSession::read(0, &text[..at], &of());
        let problems = cut.expect_err(&text[..at]);
        assert!(
            problems.iter().any(|problem| problem.place.is_some() || problem.message == "the file is empty"),
            "{problems:?}"
        );
    }
}

#[test]
fn another_spec_revision_or_version_is_refused_at_its_line() {
    let text = example().text();
    let refused = |text: &str, of: &TracedSpec| {
        let problem = TraceSession::read(0, text, of).unwrap_err().remove(0);
        let place = problem.place.unwrap();
        (text[..place.start].lines().count(), problem.message)
    };
    let other = TracedSpec { checksum: "0".into(), ..of() };
    assert!(matches!(refused(&text, &other), (3, message) if message.contains("another spec")));
    let later = TracedSpec { revision: "C".into(), ..of() };
    assert!(matches!(refused(&text, &later), (4, message) if message.contains("revision")));
    let newer = text.replace("version: 1", "version: 2");
    assert!(matches!(refused(&newer, &of()), (2, message) if message.contains("version 2")));
    let two = text.replace("{seen: \"dash black\"", "{seen: \"dash black\", read: \"x\"");
    assert!(TraceSession::read(0, &two, &of()).is_err());
}

proptest! {
    /// Any words come back, whatever characters they have.
    #[test]
    fn any_words_survive(what in "[ -~äöΩ]{1,60}", when in "[ -~]{0,60}") {
        let tidy = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        let (what, when) = (tidy(&what), tidy(&when));
        prop_assume!(!what.is_empty());
        let session = TraceSession { of: of(), entries: vec![entry(SessionAnswer::Read(what), &when)] };
        prop_assert_eq!(without_places(TraceSession::read(0, &session.text(), &of()).unwrap()), session);
    }
}

#[test]
fn a_line_of_the_dialog_is_an_answer_or_says_what_to_write() {
    let next = NextStep {
        state: "key run".into(),
        probe: Probe::Pin(ProbePin { pin: "K1.86".into(), place: "dash".into(), wires: vec![], by_wire: false }),
        ask: "K1.86".into(),
        again: false,
        minutes: 2.0,
        cautions: vec![],
        answers: vec![],
    };
    let meant = |line: &str| dialog::answer(Some(&next), line).unwrap();
    assert_eq!(meant("11.9"), DialogAnswer::Entry(entry(SessionAnswer::Read("K1.86 11.9".into()), "key run")));
    assert_eq!(meant("cannot"), DialogAnswer::Entry(entry(SessionAnswer::Cannot("K1.86".into()), "")));
    assert_eq!(meant(" ? "), DialogAnswer::Entry(entry(SessionAnswer::Unknown("K1.86".into()), "key run")));
    assert_eq!((meant("undo"), meant("Quit")), (DialogAnswer::Undo, DialogAnswer::Quit));
    assert!(dialog::answer(Some(&next), "").is_err());
    assert!(dialog::answer(None, "dash black").unwrap_err().hint.contains("when"));
    let complaint = dialog::answer(None, "dash black when key run").unwrap();
    assert_eq!(complaint, DialogAnswer::Entry(entry(SessionAnswer::Seen("dash black".into()), "key run")));
}
