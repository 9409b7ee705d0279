//! The lists.

use super::*;
use crate::lists::amount::{Amount, CutLength};
use crate::lists::parts::OrderGroup;
use crate::lists::signal_names::SignalNames;
use model::Limits;
use quantity::{Metres, Share};

#[test]
fn every_list_of_a_small_job() {
    let (_, documents) = spreader();
    for document in documents {
        if document.name.ends_with(".csv") {
            // Another test checks line ends.
            let shown = text(documents, &document.name).replace("\r\n", "\n");
            insta::assert_snapshot!(document.name.replace('.', "_"), shown);
        }
    }
}

#[test]
fn a_cut_length_has_both_allowances_and_goes_up_to_a_step() {
    let mut limits: Limits = model(SPREADER).limits;
    limits.cut_allowance = Share::new(0.1);
    limits.end_allowance = Metres::new(0.05);
    // By hand: 4500 · 1.1 + 2 · 50 = 5050; 300 · 1.1 + 100 = 430; 1234 · 1.1 + 100 = 1457.4, so 1460.
    for (length, cut) in [(4.5, 5050), (0.3, 430), (1.234, 1460), (0.0, 100)] {
        assert_eq!(CutLength::of(Metres::new(length), &limits).millimetres(), cut);
    }
}

/// Counted by hand in the spec.
#[test]
fn the_order_counts_what_the_spec_uses() {
    let (book, _) = spreader();
    let amount = |group: OrderGroup, what: &str| {
        let mut lines = book.order.iter().filter(|line| line.group == group && line.what.starts_with(what));
        let line = lines.next().unwrap_or_else(|| panic!("no {what}"));
        assert!(lines.next().is_none(), "{what} stands in several lines");
        line.amount
    };
    // The rear camera is already in the vehicle; the disc camera is ordered in the shop's words.
    assert_eq!(amount(OrderGroup::Parts, "the flat one"), Amount::Pieces(1));
    let of_rear = |line: &&crate::lists::parts::OrderLine| line.used_for.iter().any(|name| name == "REAR");
    // Wire 27 is new, and needs a plug there.
    let ordered: Vec<&str> = book.order.iter().filter(of_rear).map(|line| line.what.as_str()).collect();
    assert_eq!(ordered, ["Video plug for 75 Ω coax, to fit the part's lead"]);
    // Cavities 1 to 3 of both plugs are wired, cavity 4 of each is not.
    // X1 has the live side: sockets, so that nothing live stands bare.
    assert_eq!(amount(OrderGroup::Terminals, "1.5 mm round terminal, sealed, socket"), Amount::Pieces(3));
    assert_eq!(amount(OrderGroup::Terminals, "1.5 mm round terminal, sealed, pin"), Amount::Pieces(3));
    assert_eq!(amount(OrderGroup::Connectors, "Connector, 4 cavities, sealed, receptacle half"), Amount::Pieces(1));
    assert_eq!(amount(OrderGroup::Connectors, "Connector, 4 cavities, sealed, plug half"), Amount::Pieces(1));
    // F1 and F2; K1.
    assert_eq!(amount(OrderGroup::Holders, "Holder for a medium blade fuse"), Amount::Pieces(2));
    assert_eq!(amount(OrderGroup::Holders, "Socket for a mini relay"), Amount::Pieces(1));
    // F1, F2: two each; K1: 30, 85, 86, 87, where wires 16 and 22 share one terminal.
    let flat: Vec<_> = book.order.iter().filter(|line| line.what == "6.3 mm flat receptacle").collect();
    let of_relay = |line: &&&crate::lists::parts::OrderLine| line.used_for.iter().any(|name| name == "K1");
    assert_eq!(flat.iter().filter(of_relay).count(), 1);
    // Wire 1 on the battery post, wire 4 and wire 24 spliced into the vehicle's.
    assert_eq!(amount(OrderGroup::Terminals, "ring on the battery post"), Amount::Pieces(1));
    assert_eq!(amount(OrderGroup::Seals, "wire seal"), Amount::Pieces(6));
    assert_eq!(amount(OrderGroup::Plugs, "cavity plug"), Amount::Pieces(2));
    // Wires 3, 7, 11, 14, 31 on G1; wire 17 on G2, where wire 26 is already in the vehicle.
    assert_eq!(amount(OrderGroup::Terminals, "ring terminal M6"), Amount::Pieces(5));
    assert_eq!(amount(OrderGroup::Terminals, "ring terminal M8"), Amount::Pieces(1));
    // Two conductors, one lead.
    assert_eq!(amount(OrderGroup::Leads, "Lead from"), Amount::Pieces(1));
    // Two labels for each of 31 wires that are new.
    assert_eq!(amount(OrderGroup::Labels, "Wire label"), Amount::Pieces(62));
    assert_eq!(amount(OrderGroup::Labels, "Label, for a connector"), Amount::Pieces(book.labels.len() as u64 - 62));
    let wire: u64 = book.wires.iter().filter_map(|w| w.cut).map(CutLength::millimetres).sum();
    let ordered = book.order.iter().filter(|line| line.group == OrderGroup::Wire).map(|line| match line.amount {
        Amount::Length(cut) => cut.millimetres(),
        Amount::Pieces(_) => panic!("wire is ordered by the metre"),
    });
    assert_eq!(ordered.sum::<u64>(), wire);
}

#[test]
fn every_pin_stands_in_the_pin_list_once_for_each_wire() {
    let model = model(SPREADER);
    let (book, _) = spreader();
    let rows: usize = book.pins.iter().map(|table| table.rows.len()).sum();
    let ends: usize = model.pin_ids().map(|pin| model.wires_on(pin).count().max(1)).sum();
    assert_eq!(rows, ends);
}

#[test]
fn every_built_wire_is_tested_from_end_to_end() {
    let (book, _) = spreader();
    let steps = &book.bench.groups[0].steps;
    for wire in book.wires.iter().filter(|wire| !wire.existing) {
        let named = |step: &crate::bench::BenchStep| step.what.split([' ', ',']).any(|word| word == wire.id.as_str());
        assert!(steps.iter().any(named), "wire {}", wire.id);
    }
}

/// K1.87 feeds the camera and the trigger's resistor: two wires, one terminal.
#[test]
fn wires_in_one_terminal_are_reported_with_each_other() {
    let (book, documents) = spreader();
    let end = |wire: &str| {
        let row = book.wires.iter().find(|row| row.id == wire).unwrap();
        [&row.from, &row.to].into_iter().find(|end| end.pin == "K1.87").unwrap().terminal.clone().unwrap()
    };
    assert_eq!(end("16"), "6.3 mm flat receptacle, with wire 22 in one terminal");
    assert_eq!(end("22"), "6.3 mm flat receptacle, with wire 16 in one terminal");
    assert!(text(documents, "pin-list.csv").contains("with wire 22 in one terminal"));
}

/// A net is called by where it comes from, and keeps its kind from there on.
#[test]
fn a_net_has_its_name_and_kind_from_its_source() {
    let (book, _) = spreader();
    let carries = |wire: &str| {
        let row = book.wires.iter().find(|row| row.id == wire).unwrap();
        (row.signal.as_str(), row.domain.to_string())
    };
    for wire in ["5", "6", "8", "32"] {
        assert_eq!(carries(wire), ("Screen (accessory, 3 A fuse F2)", "power".to_string()), "wire {wire}");
    }
    assert_eq!(carries("24"), ("reverse", "trigger".to_string()));
}

/// Through fuses and diodes the bench gets the pin before them; otherwise the part and its pin.
#[test]
fn what_a_wire_carries_is_reported_from_where_it_comes() {
    let (book, _) = spreader();
    let carries = |wire: &str| book.wires.iter().find(|row| row.id == wire).unwrap().signal.as_str();
    assert_eq!(carries("2"), "battery, 10 A fuse F1");
    assert_eq!(carries("13"), "T1 switched output, diode D1");
    assert_eq!(carries("18"), "disc picture");
    assert!(book.wires.iter().all(|row| !["F2.2", "D1.cathode", "T1.out"].contains(&row.signal.as_str())));
}

/// A fuse names the wires behind it, not those that feed it.
#[test]
fn no_wire_is_named_by_a_fuse_that_it_feeds() {
    let behind_a_relay = "harness: 1
job: {title: Two fuses behind a relay, nominal: 12 V}
places: [dash]
supplies: {battery: {terminal: \"30\", at: dash, volts: 12.6 V}, ignition: {terminal: \"15\", at: dash, follows: key}}
grounds: {G1: {at: dash}}
inputs: {key: {positions: [off, run]}}
splices: {S1: {at: dash}}
parts:
  F1: {use: fuse-blade, rating: 10 A, at: dash}
  F2: {use: fuse-blade, rating: 3 A, at: dash}
  F3: {use: fuse-blade, rating: 3 A, at: dash}
  F4: {use: fuse-blade, rating: 1 A, at: dash}
  K1: {use: relay-mini-spst-12v-diode, at: dash}
  B1: {use: buzzer-12v, at: dash}
  B2: {use: buzzer-12v, at: dash}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: F1.2, to: K1.30}
  - {id: 3, from: K1.87, to: S1}
  - {id: 4, from: S1, to: F2.1}
  - {id: 5, from: S1, to: F3.1}
  - {id: 6, from: F2.2, to: B1.power}
  - {id: 7, from: F3.2, to: B2.power}
  - {id: 8, from: ignition, to: F4.1}
  - {id: 9, from: F4.2, to: K1.86}
  - {id: 10, from: K1.85, to: G1}
  - {id: 11, from: B1.ground, to: G1}
  - {id: 12, from: B2.ground, to: G1}
";
    let relay = model(behind_a_relay);
    let names = SignalNames::new(&relay);
    let words = |id: &str| names.of(relay.wire_ids().find(|wire| relay.wire(*wire).id.as_str() == id).unwrap());
    assert_eq!(
        ["2", "3", "5", "7"].map(words),
        ["battery, 10 A fuse F1", "K1 make", "K1 make", "K1 make, 3 A fuse F3"]
    );
}

/// A coaxial cable's shield goes where a wire is already: both can't sit in one sealed terminal.
#[test]
fn a_shield_in_a_cavity_is_in_its_row() {
    let (book, _) = spreader();
    let table = book.pins.iter().find(|table| table.name == "X1").unwrap();
    let note = |pin: &str| table.rows.iter().find(|row| row.pin == pin).unwrap().wire.as_ref().unwrap().note.clone();
    let words = "and the shield of coax 18: join it to wire 17 in a splice, and run one wire into the cavity";
    assert_eq!(note("2").as_deref(), Some(words));
    assert_eq!(note("1"), None);
    let splices = book.order.iter().find(|line| line.what.starts_with("Crimp splice for a coaxial")).unwrap();
    assert_eq!(splices.used_for, ["X1", "X2"]);
}

/// What joins wires to leads that parts bring along is ordered: by hand from the spec.
#[test]
fn joints_to_leads_are_ordered() {
    let (book, _) = spreader();
    let line = |what: &str| book.order.iter().filter(|line| line.what.starts_with(what)).collect::<Vec<_>>();
    let [plug] = &line("Mating half for the camera lead")[..] else { panic!() };
    assert_eq!(plug.used_for, ["DISC"]);
    assert!(line("Butt splice").iter().any(|line| line.used_for.contains(&"T1".to_string())));
    assert!(line("Video plug for 75 Ω coax").iter().any(|line| line.used_for == ["HU1", "REAR"]));
    // Six rings on G1 and one on G2, where four on one stud are the most.
    let notes = |name: &str| book.pins.iter().find(|table| table.name == name).unwrap().notes.join("; ");
    assert!(notes("G1").contains("rings on one stud, where 4 are the most"), "{}", notes("G1"));
    assert_eq!(notes("G2"), "");
}

/// A wire has one fuse at most, no fuse carries its rating in a good job, and blade fuses have the colours of ISO 8820-3
/// (3 A violet, 5 A tan, 10 A red, as three public lists have them).
#[test]
fn the_fuse_chart_has_every_fuse_and_each_wire_once() {
    let (book, _) = spreader();
    let model = model(SPREADER);
    let fuses = model.elements.iter().filter(|e| matches!(e.kind, model::ElementKind::Fuse { .. })).count();
    assert!(fuses > 1 && book.fuses.len() == fuses);
    let mut wires: Vec<&String> = book.fuses.iter().flat_map(|fuse| &fuse.wires).collect();
    let all = wires.len();
    wires.sort();
    wires.dedup();
    assert_eq!(wires.len(), all, "a wire stands at two fuses");
    for fuse in &book.fuses {
        assert!(fuse.most < fuse.rating && fuse.wires.is_empty() == fuse.feeds.is_empty(), "{fuse:?}");
        let known = [("3 A", "violet"), ("5 A", "tan"), ("10 A", "red"), ("15 A", "blue"), ("20 A", "yellow")];
        if let Some((_, colour)) = known.iter().find(|(rating, _)| *rating == fuse.rating.to_string()) {
            assert_eq!(fuse.colour.as_deref(), Some(*colour), "{fuse:?}");
        }
    }
}
