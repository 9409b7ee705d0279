//! Loudspeakers on channels whose − never goes to ground: every exchange of two wires at them is one root, and its advice
//! repairs.

use super::*;
use crate::Repair;
use model::{Domain, PartId, PinId, PinRole};

/// Four loudspeakers on a radio, and two on an amplifier behind a player.
const BUILD: &str = "harness: 1
job: {title: Loudspeakers, nominal: 12 V}
places: [dash]
supplies:
  battery: {terminal: \"30\", at: dash, volts: [11.8 V, 12.6 V, 14.6 V]}
  accessory: {terminal: \"75\", at: dash, follows: key, fuse: 40 A}
grounds: {GND: {at: dash}}
inputs: {key: {positions: [off, run]}}
sources: {PL: {use: media-player-12v, at: dash}}
accessories:
  R: {use: radio-12v, at: dash}
  A: {use: amplifier-4ch, at: dash}
  FL: {use: speaker, at: dash, side: left}
  FR: {use: speaker, at: dash, side: right}
  RL: {use: speaker, at: dash, side: left}
  RR: {use: speaker, at: dash, side: right}
  AL: {use: speaker, at: dash, side: left}
  AR: {use: speaker, at: dash, side: right}
parts:
  F1: {use: fuse-blade, rating: 5 A, at: dash}
  F2: {use: fuse-blade, rating: 10 A, at: dash}
  F3: {use: fuse-blade, rating: 30 A, at: dash}
splices: {S1: {at: dash}}
wires:
  - {id: 1, from: accessory, to: F1.1}
  - {id: 2, from: F1.2, to: S1}
  - {id: 3, from: S1, to: R.A7}
  - {id: 4, from: S1, to: PL.power}
  - {id: 5, from: S1, to: A.remote}
  - {id: 6, from: battery, to: F2.1}
  - {id: 7, from: F2.2, to: R.A4}
  - {id: 8, from: R.A8, to: GND}
  - {id: 9, from: PL.ground, to: GND}
  - {id: 10, from: battery, to: F3.1, gauge: 6 mm²}
  - {id: 11, from: F3.2, to: A.power, gauge: 6 mm²}
  - {id: 12, from: A.ground, to: GND, gauge: 6 mm²}
  - {id: 13, from: PL.left, to: A.in-1, make: coax}
  - {id: 14, from: PL.right, to: A.in-2, make: coax}
  - {id: 20, from: R.B5, to: FL.plus}
  - {id: 21, from: R.B6, to: FL.minus}
  - {id: 22, from: R.B3, to: FR.plus}
  - {id: 23, from: R.B4, to: FR.minus}
  - {id: 24, from: R.B7, to: RL.plus}
  - {id: 25, from: R.B8, to: RL.minus}
  - {id: 26, from: R.B1, to: RR.plus}
  - {id: 27, from: R.B2, to: RR.minus}
  - {id: 28, from: A.out-1, to: AL.plus}
  - {id: 29, from: A.out-1-minus, to: AL.minus}
  - {id: 30, from: A.out-2, to: AR.plus}
  - {id: 31, from: A.out-2-minus, to: AR.minus}
";

fn build() -> Model {
    sample::of_text("loudspeakers", BUILD).unwrap()
}

/// Errors and warnings that follow from nothing.
fn roots(model: &Model) -> Vec<Finding> {
    let report = check(&Solved::new(model));
    report.roots().filter(|finding| finding.severity < Severity::Note).cloned().collect()
}

fn words(found: &[Finding]) -> Vec<&String> {
    found.iter().map(|finding| &finding.message).collect()
}

/// The pins of the loudspeakers.
fn poles(model: &Model) -> Vec<PinId> {
    let is_speaker = |part: PartId| model.part(part).use_name == "speaker";
    model.pin_ids().filter(|pin| is_speaker(model.pin(*pin).part)).collect()
}

#[test]
fn the_build_is_quiet() {
    assert!(roots(&build()).is_empty(), "{:?}", words(&roots(&build())));
}

/// Any two wires at the loudspeakers of one amplifier: one root, and its repair leaves nothing.
#[test]
fn two_exchanged_wires_are_one_root_that_repairs() {
    let model = build();
    let poles = poles(&model);
    let (mut planted, mut wrong) = (0, Vec::new());
    for (i, &a) in poles.iter().enumerate() {
        for &b in poles[i + 1..].iter().filter(|b| (b.0 < poles[8].0) == (a.0 < poles[8].0)) {
            let faulty = Repair::Exchange(a, b).repaired(&model);
            let found = roots(&faulty);
            let left =
                found.first().and_then(|root| root.repair.as_ref()).map(|repair| roots(&repair.repaired(&faulty)));
            planted += 1;
            if found.len() != 1 || found[0].rule != "net/sound-crossed" || !left.is_some_and(|left| left.is_empty()) {
                let [a, b] = [a, b].map(|pin| model.pin_name(pin));
                wrong.push(format!("{a} and {b}: {:?}", words(&found)));
            }
        }
    }
    assert!(wrong.is_empty(), "{} of {planted}:\n{}", wrong.len(), wrong.join("\n"));
    assert!(planted > 30, "{planted}");
}

/// Left and right exchanged with both wires of each loudspeaker: one root, which names both loudspeakers.
#[test]
fn exchanged_sides_are_one_root() {
    let model = build();
    let poles = poles(&model);
    for pair in [[0, 2], [4, 6], [8, 10], [0, 6]] {
        let once = Repair::Exchange(poles[pair[0]], poles[pair[1]]).repaired(&model);
        let faulty = Repair::Exchange(poles[pair[0] + 1], poles[pair[1] + 1]).repaired(&once);
        let found = roots(&faulty);
        assert_eq!(found.len(), 1, "{:?}", words(&found));
        let names = pair.map(|i| format!("`{}`", model.part(model.pin(poles[i]).part).name));
        assert!(names.iter().all(|name| found[0].hint.contains(name)), "{}", found[0].hint);
        assert!(found[0].message.starts_with("left and right are crossed"), "{}", found[0].message);
    }
}

/// Each − on the chassis instead: an error that names it.
#[test]
fn a_minus_on_the_chassis_is_found() {
    let model = build();
    let is_minus = |pin: &PinId| model.pin(*pin).role == PinRole::Return && model.pin(*pin).domain == Domain::Audio;
    let point = model.pin_ids().find(|pin| model.part(model.pin(*pin).part).name.as_str() == "GND").unwrap();
    let minuses: Vec<PinId> = poles(&model).into_iter().filter(is_minus).collect();
    assert_eq!(minuses.len(), 6);
    for minus in minuses {
        let wire = model.wires_on(minus).next().unwrap();
        let ends = model.wire(wire).ends;
        let far = ends[usize::from(ends[0] == minus)];
        let faulty = Repair::Moved(wire, far, point).repaired(&model);
        let found = roots(&faulty);
        assert_eq!(found.len(), 1, "{:?}", words(&found));
        assert_eq!((found[0].severity, found[0].about.as_str()), (Severity::Error, model.pin_name(minus).as_str()));
        let repair = found[0].repair.clone().unwrap();
        assert!(roots(&repair.repaired(&faulty)).is_empty(), "{}", found[0].hint);
        // The − of the channel itself on the chassis.
        let faulty = Repair::Joined(far, point).repaired(&model);
        assert_eq!(roots(&faulty).len(), 1, "{:?}", words(&roots(&faulty)));
    }
}

/// Every kind of loudspeaker on a channel of a radio (4 Ω) and of an amplifier (2 Ω): alone, beside another, and in series with
/// another. Parallel and series resistance by the textbook.
#[test]
fn a_channel_drives_no_less_than_its_least_load() {
    let kinds = [("speaker", 4.0), ("speaker-8ohm", 8.0), ("bass-box", 2.0)];
    let (mut tried, mut low) = (0, 0);
    for (name, plus, minus, least) in [("FL", "R.B5", "R.B6", 4.0), ("AL", "A.out-1", "A.out-1-minus", 2.0)] {
        for (kind, ohms) in kinds {
            for (other, more) in kinds {
                let base = BUILD.replace(
                    &format!("  {name}: {{use: speaker,"),
                    &format!("  X: {{use: {other}, at: dash}}\n  {name}: {{use: {kind},"),
                );
                let alone = base.replace(&format!("  X: {{use: {other}, at: dash}}\n"), "");
                let beside = format!(
                    "{base}  - {{id: 50, from: {name}.plus, to: X.plus}}\n  - {{id: 51, from: {name}.minus, to: X.minus}}\n"
                );
                let series =
                    base.replace(&format!("from: {minus}, to: {name}.minus"), &format!("from: {minus}, to: X.minus"));
                let series = format!("{series}  - {{id: 50, from: {name}.minus, to: X.plus}}\n");
                let cases = [(alone, ohms), (beside, 1.0 / (1.0 / ohms + 1.0 / more)), (series, ohms + more)];
                for (spec, total) in cases {
                    let found = roots(&sample::of_text("loudspeakers", &spec).unwrap());
                    let is_low = found.iter().any(|root| root.rule == "net/speaker-load" && root.about == plus);
                    assert_eq!(is_low, total < least, "{plus}: {kind}, {other}: {total}");
                    (tried, low) = (tried + 1, low + usize::from(is_low));
                }
            }
        }
    }
    assert!(tried == 54 && low > 10, "{low} of {tried}");
}

/// Each wire of a level converter left out: the half of an input is reported as well as the whole.
#[test]
fn half_an_input_for_loudspeakers_is_open() {
    let spec = |without: &str| {
        let with = BUILD
            .replace("parts:\n", "parts:\n  LC: {use: level-converter-2ch, at: dash}\n")
            .replace("R.B7, to: RL.plus}", "R.B7, to: LC.in-left, gauge: 0.5 mm²}")
            .replace("R.B8, to: RL.minus}", "R.B8, to: LC.in-left-minus, gauge: 0.5 mm²}")
            .replace("R.B1, to: RR.plus}", "R.B1, to: LC.in-right, gauge: 0.5 mm²}")
            .replace("R.B2, to: RR.minus}", "R.B2, to: LC.in-right-minus, gauge: 0.5 mm²}")
            .replace("PL.left, to: A.in-1", "LC.out-left, to: A.in-1")
            .replace("PL.right, to: A.in-2", "LC.out-right, to: A.in-2")
            .replace("sources: {PL: {use: media-player-12v, at: dash}}\n", "");
        let kept = |line: &&str| {
            let gone = [" PL.", " RL:", " RR:", "PL.power", "PL.ground"].iter().any(|word| line.contains(word));
            !gone && (without.is_empty() || !line.contains(without))
        };
        with.lines().filter(kept).collect::<Vec<_>>().join("\n")
    };
    let found = |without: &str| roots(&sample::of_text("level converter", &spec(without)).unwrap());
    let words = |all: &[Finding]| all.iter().map(|root| root.message.clone()).collect::<Vec<_>>();
    assert!(found("").is_empty(), "{:?}", words(&found("")));
    for pin in ["in-left-minus", "in-right-minus", "in-left,", "in-right,"] {
        let all = found(&format!("LC.{pin}"));
        assert!(all.iter().any(|root| root.rule == "net/sound-open"), "{pin}: {:?}", words(&all));
    }
}
