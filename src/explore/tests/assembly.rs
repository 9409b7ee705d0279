//! From a spec to solved states.

use crate::*;
use circuit::*;
use model::Model;

fn model() -> Model {
    sample::file("src/explore/tests/relay.yaml")
}

#[test]
fn a_relay_feeds_its_camera() {
    let model = model();
    let assembly = assemble(&model);
    let exploration = explore(&assembly.circuit, Corner::NOMINAL);
    // Key off; key on; key on and reverse. Reverse without the key is excluded.
    assert_eq!(exploration.count(), 3);
    assert_eq!(exploration.excluded.len(), 1);
    let camera = model.part_named("REAR").unwrap();
    let feed = assembly.pin(model.pin_named(camera, "plus").unwrap()).unwrap();
    assert!(assembly.pin(model.pin_named(camera, "video").unwrap()).is_none());
    let mut seen = vec![];
    exploration.visit(&assembly.circuit, &mut |solution| {
        let on = solution.position(assembly.circuit.input_named("reverse").unwrap()) == 1;
        let wire = assembly.wire(model::WireId(4)).unwrap();
        seen.push((on, solution.volts(feed).value() > 9.0, solution.amps(wire).to_string()));
        // The camera's current, on one wire after the other, and no more than that in the fuse.
        let fuse = assembly.circuit.branch_named("F1 1-2").unwrap();
        assert!((solution.amps(fuse) - solution.amps(wire)).value().abs() < 1e-6);
    });
    assert_eq!(seen.iter().filter(|one| one.0 && one.1 && one.2 == "120 mA").count(), 1);
    assert_eq!(seen.iter().filter(|one| !one.0 && !one.1).count(), 2);
}

/// Worked by hand: 18 AWG has at least 1537 circular mils (SAE J1128), 0.7788 mm², so 0.02214 Ω/m.
#[test]
fn wires_have_their_resistance() {
    let assembly = assemble(&model());
    let wire = &assembly.circuit.branches[assembly.circuit.branch_named("wire 4").unwrap().index()];
    let Law::Conductor { ohms, copper: true } = wire.law else { panic!("{wire:?}") };
    // Both ends are at the tail, so it has the length of a wire within one place, 300 mm.
    assert!((ohms.value() - 0.3 * 0.02214).abs() < 5e-6, "{ohms}");
}
