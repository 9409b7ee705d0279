//! Small harnesses in motion, against calculations by hand, against a slow simulation of fixed steps, and against the
//! states that they settle to.

mod closed_form;
mod fixed_step;
mod questions;

use super::*;
use model::Model;
use states::Solved;

/// A harness of the test's own parts, all at one place: a battery `battery` of 12 V, with a key `acc` that
/// follows it, a ground `G1`, and what is given.
pub(super) fn harness(body: &str) -> Model {
    let keyed = body.contains("key:").then_some("  acc: {terminal: \"75\", at: bench, follows: key}\n");
    let supplies = keyed.unwrap_or_default();
    let text = format!(
        "harness: 1\njob: {{title: Test, nominal: 12 V}}\ninclude: [parts.yaml]\nplaces: [bench]\n\
         supplies:\n  battery: {{terminal: \"30\", at: bench, volts: [11 V, 12.6 V, 14.6 V], resistance: 15 mΩ}}\n{supplies}\
         grounds: {{G1: {{at: bench, use: stud}}}}\n{body}"
    );
    sample::with_parts(&text, include_str!("parts.yaml"))
}

/// Wires from pin to pin, numbered from 1: `battery HU.plus, G1 HU.minus`.
pub(super) fn wires(ends: &str) -> String {
    let wires = ends.split(',').map(str::trim).enumerate().map(|(i, wire)| {
        let (from, to) = wire.split_once(' ').unwrap();
        format!("  - {{id: {}, from: {from}, to: {to}, gauge: 0.75 mm²}}\n", i + 1)
    });
    format!("wires:\n{}", wires.collect::<String>())
}

/// A turn signal, through a module, onto the screen's first trigger; its camera always has power.
pub(super) fn flasher_through(module: &str) -> Model {
    harness(&format!(
        "inputs: {{left: {{kind: flasher-feed, at: bench}}}}\n\
         screens: {{dash: {{part: HU}}}}\n\
         views: {{dash: [{{when: left, show: CAM, within: 2 s, steady: yes}}, {{otherwise: home}}]}}\n\
         cameras: {{CAM: {{use: camera, at: bench}}}}\n\
         parts: {{HU: {{use: screen, at: bench}}, M: {module}}}\n\
         drives: {{signal: [{{at: 1 s, left: on}}, {{at: 20 s, left: off}}]}}\n{}",
        wires(
            "battery HU.plus, HU.minus G1, battery CAM.plus, CAM.minus G1, CAM.video HU.video1, \
             left M.in, battery M.plus, M.minus G1, M.out HU.one"
        )
    ))
}

/// The only steady promise of a harness' first drive.
pub(super) fn steady(model: &Model, setting: &Setting) -> Promise {
    let solved = Solved::new(model);
    let timeline = replay(&solved, &model.drives[0], setting);
    assert_eq!(timeline.stopped, None);
    let mut found = timeline.promises.into_iter().filter(|p| matches!(p.kind, PromiseKind::Steady { .. }));
    let first = found.next().unwrap();
    assert!(found.next().is_none());
    first
}
