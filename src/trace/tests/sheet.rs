//! Sheets by symptom: every fault that shows a symptom is reached by its answers, and the count of resolved faults is true.

use super::*;

#[test]
fn a_sheet_has_five_probes_and_ends_at_every_fault_that_shows_the_symptom() {
    let model = sample::demo("first-harness");
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let tracer = FaultTracer::new(&facts, &Rates::typical());
    let sheets = tracer.sheets();
    assert!(sheets.len() >= 3, "{sheets:#?}");
    for sheet in &sheets {
        assert!(sheet.probes.len() <= 5 && sheet.resolved <= sheet.faults, "{sheet:#?}");
        // Every probe but the first is reached by one answer; faults at the ends add up to all.
        let answers: Vec<&SheetAnswer> = sheet.probes.iter().flat_map(|probe| &probe.answers).collect();
        let mut reached: Vec<usize> = answers.iter().filter_map(|answer| answer.then).collect();
        reached.sort_unstable();
        assert_eq!(reached, (2..=sheet.probes.len()).collect::<Vec<_>>(), "{sheet:#?}");
        let ends = answers.iter().filter(|answer| answer.then.is_none());
        let named: usize = ends.map(|answer| answer.suspects.len() + answer.more).sum();
        assert!(sheet.probes.is_empty() || named == sheet.faults, "{named} {sheet:#?}");
    }
}

/// What the same repair mends, or no probe separates, is one suspect. The probes leave a fifth of them where many faults show
/// a symptom.
#[test]
fn the_probes_leave_few_suspects() {
    for name in ["first-harness", "wheelchair-van"] {
        let model = sample::demo(name);
        let solved = Solved::new(&model);
        let facts = Facts::new(&solved);
        let tracer = FaultTracer::new(&facts, &Rates::typical());
        let sheets = tracer.sheets();
        assert!(sheets.iter().all(|sheet| sheet.left >= 1.0 - 1e-9 && sheet.left <= sheet.faults as f64 + 1e-9));
        let many: Vec<_> = sheets.iter().filter(|sheet| sheet.faults >= 12).collect();
        assert!(!many.is_empty());
        for sheet in many {
            assert!(sheet.left < sheet.faults as f64 / 4.0, "{name}: {sheet:#?}");
        }
    }
}
