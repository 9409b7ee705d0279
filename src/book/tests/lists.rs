//! The lists.

use super::*;
use crate::book::order::{Amount, Group};
use crate::book::wires::Cut;
use crate::model::Limits;
use crate::quantity::{Metres, Share};

#[test]
fn every_list_of_a_small_job() {
    let (_, documents) = spreader();
    for document in documents {
        if document.name.ends_with(".csv") {
            // Line ends are looked at elsewhere.
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
        assert_eq!(Cut::of(Metres::new(length), &limits).millimetres(), cut);
    }
}

/// Counted on the spec with a pencil.
#[test]
fn the_order_counts_what_the_spec_uses() {
    let (book, _) = spreader();
    let amount = |group: Group, what: &str| {
        let mut lines = book.order.iter().filter(|line| line.group == group && line.what.starts_with(what));
        let line = lines.next().unwrap_or_else(|| panic!("no {what}"));
        assert!(lines.next().is_none(), "{what} stands in several lines");
        line.amount
    };
    // The rear camera is in the vehicle before; the disc camera is ordered in the shop's words.
    assert_eq!(amount(Group::Parts, "the flat one"), Amount::Pieces(1));
    assert!(!book.order.iter().any(|line| line.used_for.iter().any(|name| name == "REAR")));
    // Cavities 1 to 3 of both plugs are wired, cavity 4 of each is not.
    assert_eq!(amount(Group::Terminals, "1.5 mm round terminal"), Amount::Pieces(6));
    assert_eq!(amount(Group::Seals, "wire seal"), Amount::Pieces(6));
    assert_eq!(amount(Group::Plugs, "cavity plug"), Amount::Pieces(2));
    // Wires 3, 7, 11, 14, 31 on G1; wire 17 on G2, where wire 26 is in the vehicle before.
    assert_eq!(amount(Group::Terminals, "ring terminal M6"), Amount::Pieces(5));
    assert_eq!(amount(Group::Terminals, "ring terminal M8"), Amount::Pieces(1));
    // Two conductors, one lead.
    assert_eq!(amount(Group::Leads, "Lead from"), Amount::Pieces(1));
    // Two labels for each of 31 wires that are new.
    assert_eq!(amount(Group::Labels, "Wire label"), Amount::Pieces(62));
    let wire: u64 = book.wires.iter().filter_map(|w| w.cut).map(Cut::millimetres).sum();
    let ordered = book.order.iter().filter(|line| line.group == Group::Wire).map(|line| match line.amount {
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
        let named = |step: &crate::book::bench::Step| step.what.split([' ', ',']).any(|word| word == wire.id.as_str());
        assert!(steps.iter().any(named), "wire {}", wire.id);
    }
}
