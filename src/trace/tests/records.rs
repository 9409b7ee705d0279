//! Records: nothing is lost when a visit is added, and a trace begins with what the vehicle has.

use super::*;
use crate::record::{NewVisit, VehicleRecord, VisitDate};
use proptest::prelude::*;

fn day(date: &str) -> VisitDate {
    VisitDate::from_words(date).unwrap()
}

fn visit(date: &str, changes: &[&str]) -> NewVisit {
    let changes = changes.iter().map(ToString::to_string).collect();
    NewVisit { date: day(date), distance: "84000 km".into(), findings: Vec::new(), changes, remains: Vec::new() }
}

proptest! {
    /// Whatever the words, each old text is the beginning of the new one, and every visit is read back.
    #[test]
    fn adding_a_visit_loses_nothing(finds in prop::collection::vec("[ -~äΩ]{1,40}", 1..5)) {
        let mut text = String::new();
        for (at, find) in finds.iter().enumerate() {
            let new = NewVisit { findings: vec![find.clone()], ..visit(&format!("2026-05-{:02}", at + 1), &[]) };
            let longer = VehicleRecord::with_visit(&text, &new).unwrap();
            prop_assert!(longer.starts_with(&text));
            text = longer;
        }
        let read = VehicleRecord::read(0, &text).unwrap();
        prop_assert_eq!(read.visits.len(), finds.len());
        for (visit, find) in read.visits.iter().zip(&finds) {
            prop_assert_eq!(&visit.findings[0].0, &find.split_whitespace().collect::<Vec<_>>().join(" "));
        }
    }
}

#[test]
fn a_record_that_cannot_take_a_visit_is_refused() {
    let whole = VehicleRecord::with_visit("", &visit("2026-05-01", &[])).unwrap();
    assert!(VehicleRecord::with_visit(&whole.replace("version: 1", "version: 9"), &visit("2026-06-01", &[])).is_err());
    let reversed = "visits:\n  - date: 2026-05-01\nversion: 1\n";
    assert!(VehicleRecord::with_visit(reversed, &visit("2026-06-01", &[])).is_err());
    assert!(VehicleRecord::read(0, &whole[..whole.len() / 2]).is_err());
    let twice = VehicleRecord::with_visit(&whole, &visit("2026-05-01", &[])).unwrap_err();
    assert!(twice[0].message.contains("already"), "{twice:?}");
    assert!(VehicleRecord::with_visit(&whole, &visit("2026-05-01", &["removed wire 7"])).is_ok());
}

/// A day of the calendar, written as ISO 8601 writes it, and nothing else; a record with another is refused at its place.
#[test]
fn a_visit_has_a_date() {
    for wrong in ["yesterday", "1.5.2026", "2026-13-01", "2026-02-29", "20260501", "2026-05-01T10:00", "2026-5-1", ""] {
        let refused = VisitDate::from_words(wrong).unwrap_err();
        assert!(refused.what.contains(wrong) && refused.hint.contains("2026-05-01"), "{refused:?}");
        let text = VehicleRecord::with_visit("", &visit("2026-05-01", &[])).unwrap();
        let problems = VehicleRecord::read(0, &text.replace("2026-05-01", wrong)).err().unwrap();
        assert!(problems[0].place.is_some(), "{problems:?}");
    }
    assert_eq!(day("2028-02-29").to_string(), "2028-02-29");
}

/// A vehicle whose reverse wire was taken off on purpose shows its home page in reverse: that is no symptom of it, and
/// no fault of that wire is suspected.
#[test]
fn a_trace_begins_with_what_the_vehicle_has() {
    let model = sample::demo("first-harness");
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let text = VehicleRecord::with_visit("", &visit("2026-05-01", &["removed wire 7"])).unwrap();
    let record = VehicleRecord::read(0, &text).unwrap();
    let plan = FaultTracer::new(&facts, &Rates::typical());
    let vehicle = FaultTracer::of_vehicle(&facts, &Rates::typical(), &record).unwrap();
    let reverse = plan.setting("key run, reverse").unwrap().clone();
    let shows = |tracer: &FaultTracer| tracer.seen(std::slice::from_ref(&reverse), None)[0].clone().unwrap().0[0];
    assert!(matches!(shows(&plan), ScreenSeen::Picture(_)));
    assert_eq!(shows(&vehicle), ScreenSeen::Home);
    assert!(plan.faults().iter().any(|fault| fault.words.contains("wire 7 ")));
    assert!(!vehicle.faults().iter().any(|fault| fault.words.contains("wire 7 ")));
    let wrong = VehicleRecord::read(0, &text.replace("wire 7", "wire 99")).unwrap();
    let problem = FaultTracer::of_vehicle(&facts, &Rates::typical(), &wrong).err().unwrap();
    assert!(problem.message.contains("99") && problem.place.is_some(), "{problem:?}");
}
