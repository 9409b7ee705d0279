//! A screen whose feed and trigger are exchanged is dark where its home page is promised: planted at screens of every
//! demonstration.

use super::roots::{errors, report_of};
use super::*;
use crate::Repair;
use model::{ElementKind, PinId};

/// Most exchanges in one demonstration.
const MOST: usize = 2;

/// The feed and a wired trigger of each screen that has a promise of its home page.
fn exchanges(model: &Model) -> Vec<[PinId; 2]> {
    let is_wired = |pin: &PinId| model.wires_on(*pin).next().is_some();
    let has_home = |screen: &&model::Screen| screen.views.iter().any(|view| view.show == model::Shown::Home);
    let pairs = model.screens.iter().filter(has_home).flat_map(|screen| {
        let kinds = || model.part(screen.part).elements.iter().map(|id| &model.element(*id).kind);
        let triggers = kinds().filter_map(|kind| match kind {
            ElementKind::Sense { pin, .. } => Some(*pin),
            _ => None,
        });
        let feed = kinds().find_map(|kind| match kind {
            ElementKind::Load(load) => Some(load.feed),
            _ => None,
        });
        triggers.filter_map(move |trigger| Some([feed?, trigger])).collect::<Vec<_>>()
    });
    pairs.filter(|pair| pair.iter().all(is_wired)).collect()
}

fn assert_each_is_found(demo: &str, least: usize) {
    let model = sample::demo(demo);
    let all = exchanges(&model);
    let step = all.len().div_ceil(MOST).max(1);
    for [feed, trigger] in all.iter().step_by(step) {
        let report = report_of(&Repair::Exchange(*feed, *trigger).repaired(&model));
        let names = [feed, trigger].map(|pin| model.pin_name(*pin));
        assert!(!errors(&report).is_empty(), "{demo}: {names:?}");
    }
    assert!(all.len() >= least, "{demo}: {}", all.len());
}

#[test]
fn a_screen_fed_by_its_trigger_is_found_and_named() {
    assert_each_is_found("first-harness", 1);
    let model = sample::demo("first-harness");
    let [feed, trigger] = exchanges(&model)[0];
    let report = report_of(&Repair::Exchange(feed, trigger).repaired(&model));
    let words: Vec<&str> = errors(&report).iter().map(|root| root.message.as_str()).collect();
    assert_eq!(words, ["`REV` and `power` of `HU1` are swapped"]);
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_screen_fed_by_its_trigger_is_found_in_every_demo() {
    for (demo, least) in
        [("orchard-sprayer-pickup", 2), ("boat-tow-pickup", 2), ("wheelchair-van", 2), ("refuse-truck", 4)]
    {
        assert_each_is_found(demo, least);
    }
}

/// A screen behind a switch of the driver's, or with the ignition off, may be dark; on a lamp's feed it may not.
#[test]
fn what_switches_a_screen_off_on_purpose_is_no_fault() {
    let spec = |feed: &str| {
        format!(
            "harness: 1
job: {{title: A screen, nominal: 12 V}}
places: [dash]
supplies:
  battery: {{terminal: \"30\", at: dash, volts: [11.8 V, 12.6 V, 14.6 V]}}
  accessory: {{terminal: \"75\", at: dash, follows: key, limit: 10 A, fuse: 10 A}}
grounds: {{GND: {{at: dash}}}}
inputs:
  key: {{positions: [off, run]}}
  on: {{kind: toggle, part: SW1}}
  reverse: {{kind: lamp-feed, at: dash, limit: 3 A, fuse: 5 A, needs: key, means: reverse-gear}}
cameras: {{REAR: {{use: camera-cvbs-12v, at: dash, format: cvbs-pal}}}}
parts: {{F1: {{use: fuse-blade, rating: 3 A, at: dash}}, SW1: {{use: toggle-spst, at: dash}}, HU1: {{use: screen-2in-12v, at: dash}}}}
screens: {{dash: {{part: HU1, shows: [{{when: REV, input: cam1}}]}}}}
views: {{dash: [{{when: reverse and on, show: REAR, within: 4 s}}, {{otherwise: home}}]}}
wires:
  - {{id: 1, from: accessory, to: F1.1}}
  - {{id: 2, from: F1.2, to: SW1.common}}
  - {{id: 3, from: {feed}, to: HU1.power}}
  - {{id: 4, from: F1.2, to: REAR.power}}
  - {{id: 5, from: HU1.ground, to: GND}}
  - {{id: 6, from: REAR.ground, to: GND}}
  - {{id: 7, from: REAR.video, to: HU1.cam1, make: coax}}
  - {{id: 8, from: reverse, to: HU1.REV}}
"
        )
    };
    let dark = |feed: &str| {
        let (_, report) = specimens::report(&spec(feed)).unwrap();
        let is_dark = |finding: &&Finding| finding.involved.shown() == Some(&states::Picture::Dark);
        report.findings.iter().filter(is_dark).count()
    };
    assert_eq!([dark("SW1.on"), dark("F1.2"), dark("reverse")], [0, 0, 1]);
}
