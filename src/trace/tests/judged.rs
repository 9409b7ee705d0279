//! What a service tech found wrong, each as the class of cases that it belongs to.

use super::*;

/// Nothing that contradicts an answer is almost certain, whatever follows the complaint: with each fault's complaint, one
/// reading at each ground of a harness that reads as without a fault.
#[test]
fn what_contradicts_an_answer_is_never_almost_certain() {
    let model = sample::demo("first-harness");
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let mut tracer = FaultTracer::new(&facts, &Rates::typical());
    let faults = tracer.faults().to_vec();
    let whole = Harm::default();
    let mut judged = 0;
    for fault in &faults {
        let oracle = Oracle::new(&facts, fault);
        let Some(first) = complaint(&oracle) else { continue };
        let Some(shown) = oracle.shown(&first.setting, &whole) else { continue };
        for pin in model.pin_ids().filter(|pin| facts.solved.assembly.pin(*pin).is_some()).step_by(3) {
            let reading = Answered::Meter(Measure::Volts(pin), shown.voltage(pin));
            let seen = [first.clone(), Observation::new(first.setting.clone(), reading)];
            let diagnosis = tracer.diagnose(&seen, &Skipped::default());
            let is_sure = diagnosis.verdict == TraceVerdict::AlmostCertain;
            assert!(!(is_sure && diagnosis.doubtful.contains(&2)), "{}: {diagnosis:#?}", fault.words);
            judged += 1;
        }
    }
    assert!(judged > 100, "{judged}");
}

/// A new fuse that blows in a state excludes what would have blown it on the way there.
#[test]
fn a_fuse_that_blows_late_did_not_blow_early() {
    let model = sample::demo("wheelchair-van");
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let mut tracer = FaultTracer::new(&facts, &Rates::typical());
    let settings = tracer.settings().to_vec();
    let faults = tracer.faults().to_vec();
    let blowing = |fault: &Failure| with_blown_fuses(&facts, &fault.harm, &settings).blows_in.first().copied();
    let mut judged = 0;
    for late in faults.iter().filter(|fault| fault.harm.shorts) {
        let Some((fuse, at)) = blowing(late) else { continue };
        if !settings.iter().any(|early| early.leads_to(&settings[at])) {
            continue;
        }
        let blown = Observation::new(settings[at].clone(), Answered::Fuse(fuse, true)).without_state();
        let new = Observation::new(settings[at].clone(), Answered::NewFuse(fuse, true));
        let diagnosis = tracer.diagnose(&[blown, new], &Skipped::default());
        let first = &diagnosis.suspects[0].faults;
        let is_early = |words: &String| {
            let fault = faults.iter().find(|fault| fault.words == *words).unwrap();
            blowing(fault).is_some_and(|(_, first)| settings[first].leads_to(&settings[at]))
        };
        assert!(!first.iter().any(is_early), "{}: {diagnosis:#?}", late.words);
        judged += 1;
        if judged == 6 {
            return;
        }
    }
    assert!(judged > 0);
}

/// What was mended explains one complaint; the other, which it does not explain, is named.
#[test]
fn a_second_complaint_is_not_forgotten() {
    let model = sample::demo("wheelchair-van");
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let mut tracer = FaultTracer::new(&facts, &Rates::typical());
    let faults = tracer.faults().to_vec();
    let camera = faults.iter().find(|fault| fault.kind == "camera-dead").unwrap();
    let load = faults.iter().find(|fault| fault.kind == "load-dead").unwrap();
    let [one, other] = [camera, load].map(|fault| complaint(&Oracle::new(&facts, fault)).unwrap());
    let words = format!("mended {} works", camera.repair.words(&model));
    let mended = Observation::seen(&facts, &words, one.setting.clone()).unwrap();
    let diagnosis = tracer.diagnose(&[one.clone(), other, mended.clone()], &Skipped::default());
    assert_eq!((diagnosis.verdict, &diagnosis.doubtful[..]), (TraceVerdict::MendedInPart, &[2][..]));
    let alone = tracer.diagnose(&[one, mended], &Skipped::default());
    assert_eq!(alone.verdict, TraceVerdict::Mended);
}

/// A contact that is burnt is named, by its pins, from the drop across it.
#[test]
fn a_burnt_contact_is_named() {
    let model = sample::demo("wheelchair-van");
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let mut tracer = FaultTracer::new(&facts, &Rates::typical());
    let burnt: Vec<Failure> = tracer.faults().iter().filter(|fault| fault.kind == "contact-burnt").cloned().collect();
    let printed = Printed::new(&facts);
    let mut judged = 0;
    for fault in &burnt {
        if complaint(&Oracle::new(&facts, fault)).is_none() {
            continue;
        }
        let traced = traced(&mut tracer, fault, None, false, Usual::Ours, &printed).unwrap();
        assert!(traced.found && !traced.falsely_sure, "{}: {}", fault.words, traced.first);
        judged += 1;
    }
    assert!(judged > 1, "{judged} of {}", burnt.len());
}

/// A blown fuse is traced to its end: a new one holds, the complaint is looked at again, and the trace is over. A tech who
/// reads on after the new fuse reads a whole harness, and the fuse stays the first suspect.
#[test]
fn a_new_fuse_that_holds_ends_the_trace() {
    for name in ["first-harness", "wheelchair-van"] {
        let model = sample::demo(name);
        let solved = Solved::new(&model);
        let facts = Facts::new(&solved);
        let mut tracer = FaultTracer::new(&facts, &Rates::typical());
        let blown: Vec<Failure> = tracer.faults().iter().filter(|fault| fault.kind == "fuse-blown").cloned().collect();
        let mut judged = 0;
        for fault in &blown {
            let fuse = fault.harm.blown[0];
            let Some(complaint) = complaint(&Oracle::new(&facts, fault)) else { continue };
            let setting = complaint.setting.clone();
            let blown = Observation::new(setting.clone(), Answered::Fuse(fuse, true)).without_state();
            let holds = Observation::new(setting.clone(), Answered::NewFuse(fuse, false)).without_state();
            let mut seen = vec![complaint.clone(), blown, holds];
            let skipped = Skipped::default();
            let next = tracer.diagnose(&seen, &skipped).next.unwrap();
            assert!(!next.again && next.state == setting.name, "{}: {next:#?}", fault.words);
            let whole = Oracle::new(&facts, &Failure { harm: Harm::default(), ..fault.clone() });
            let shown = whole.shown(&setting, &whole.harm).unwrap();
            for pin in model.pin_ids().filter(|pin| facts.solved.assembly.pin(*pin).is_some()).step_by(7).take(4) {
                let reading = Answered::Meter(Measure::Volts(pin), shown.voltage(pin));
                seen.push(Observation::new(setting.clone(), reading));
                let diagnosis = tracer.diagnose(&seen, &skipped);
                let ask = diagnosis.next.as_ref().map_or("", |next| &next.ask);
                let name = &model.part(model.element(fuse).part).name;
                assert!(diagnosis.suspects[0].faults.contains(&fault.words), "{}: {diagnosis:#?}", fault.words);
                assert!(ask != name.as_str() && ask != format!("{name} new"), "{ask}");
            }
            seen.push(whole.answer(&Meter::new(&facts), &next).unwrap());
            let diagnosis = tracer.diagnose(&seen, &skipped);
            assert_eq!((diagnosis.verdict, diagnosis.next), (TraceVerdict::Mended, None), "{}", fault.words);
            judged += 1;
        }
        assert!(judged > 0);
    }
}
