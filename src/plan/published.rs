//! Networks of contacts against published ones. Most are from C. E. Shannon, A symbolic analysis of relay and switching
//! circuits, Transactions of the AIEE 57, 1938, 713-723; the pages named here are those of his Collected Papers (IEEE Press,
//! 1993), 471-495, whose text was read.
//!
//! His networks conduct both ways, and his count has each contact that a letter stands for. Ours are trees with diodes, so
//! that no current flows backwards. An element of ours is a contact (a change-over contact counts twice if both its sides
//! are used), or a signal whose own wire begins a way, which is a contact in his count. Diodes are counted apart.

use crate::cover::cover;
use crate::network::{ContactNetwork, Nature, NetId, TargetTerms};
use std::collections::BTreeSet;

/// Elements, relays and diodes of a network.
#[derive(Debug, PartialEq, Eq)]
struct Counted {
    elements: usize,
    relays: usize,
    diodes: usize,
}

fn contacts(network: &ContactNetwork) -> usize {
    network.relays.iter().map(|relay| usize::from(relay.made) + usize::from(relay.rest)).sum()
}

fn counted(network: &ContactNetwork) -> Counted {
    let joined = || network.leaves.iter().chain(network.relays.iter().map(|relay| &relay.from));
    let begins: BTreeSet<NetId> = joined().flatten().copied().filter(|net| matches!(net, NetId::Signal(_))).collect();
    let diodes = joined().filter(|nets| nets.len() > 1).map(Vec::len).sum();
    Counted { elements: contacts(network) + begins.len(), relays: network.relays.len(), diodes }
}

/// A condition: whether it holds with these signals on, a bit for each.
type Holds<'a> = &'a dyn Fn(usize) -> bool;

/// The network for some conditions over the same signals.
fn network(signals: usize, conditions: &[Holds]) -> ContactNetwork {
    let points = |holds: Holds, wanted: bool| {
        let all = (0..1usize << signals).filter(|point| holds(*point) == wanted);
        all.map(|point| (0..signals).map(|s| point >> s & 1 == 1).collect()).collect::<Vec<Vec<bool>>>()
    };
    let target = |holds: &Holds| {
        let terms = cover(&points(*holds, true), &points(*holds, false), &vec![(1, 2); signals], &[]);
        TargetTerms { terms: terms.expect("distinct points"), supply: 0 }
    };
    let natures: Vec<Nature> = (0..signals).map(|group| Nature { rank: 1, gated: false, group }).collect();
    let targets: Vec<TargetTerms> = conditions.iter().map(target).collect();
    let network = ContactNetwork::build(&natures, &targets);
    for (holds, nets) in conditions.iter().zip(&network.leaves) {
        for point in 0..1usize << signals {
            let live = nets.iter().any(|net| is_live(&network, *net, point));
            assert_eq!(live, holds(point), "at {point:b}");
        }
    }
    network
}

fn is_live(network: &ContactNetwork, net: NetId, point: usize) -> bool {
    match net {
        NetId::Supply(_) => true,
        NetId::Signal(signal) => point >> signal & 1 == 1,
        NetId::Made(relay) | NetId::Rest(relay) => {
            let contact = &network.relays[relay];
            let energised = point >> contact.signal & 1 == 1;
            energised == matches!(net, NetId::Made(_)) && contact.from.iter().any(|from| is_live(network, *from, point))
        }
    }
}

fn of(signals: usize, condition: Holds) -> Counted {
    counted(&network(signals, &[condition]))
}

/// The symmetric function that holds when one of these numbers of signals is on.
fn symmetric(numbers: &[u32]) -> impl Fn(usize) -> bool {
    move |point| numbers.contains(&point.count_ones())
}

/// Pages 476 and 477: a circuit of 13 letters, simplified to W + X + Y + ZS'V, 6 elements. It conducts if W, X and Y operate,
/// and Z or V does or S does not.
#[test]
fn the_first_circuit_of_1938() {
    let on = |point: usize, letter: usize| point >> letter & 1 == 1;
    let [w, x, y, z, s, v] = [0, 1, 2, 3, 4, 5];
    let ours = of(6, &|p| on(p, w) && on(p, x) && on(p, y) && (on(p, z) || !on(p, s) || on(p, v)));
    assert_eq!(ours, Counted { elements: 6, relays: 4, diodes: 3 });
}

/// Page 479: the bridge, 5 elements; its branch T conducts both ways, which a vehicle must not have, since a signal would reach
/// another one. Without it, ours has 8. It conducts if R and S operate, or U and V, or R, T and V, or U, T and S.
#[test]
fn the_bridge_of_1938() {
    let on = |point: usize, letters: &[usize]| letters.iter().all(|letter| point >> letter & 1 == 1);
    let [r, s, t, u, v] = [0, 1, 2, 3, 4];
    let ours = of(5, &|p| [&[r, s][..], &[u, v], &[r, t, v], &[u, t, s]].iter().any(|way| on(p, way)));
    assert_eq!(ours, Counted { elements: 8, relays: 5, diodes: 5 });
}

/// Pages 492 and 493: the selective circuit, which operates with one, three or four of four relays: 20 elements in series and
/// parallel, 15 as a symmetric function, 14 at best.
#[test]
fn the_selective_circuit_of_1938() {
    let ours = of(4, &symmetric(&[1, 3, 4]));
    assert_eq!(ours, Counted { elements: 14, relays: 8, diodes: 10 });
}

/// Pages 494 and 495: a column of the adder: the sum holds with one or three of its digits, 4 (3 - 1) = 8 elements by the
/// text; the carry with two or three, at most 3 × 3 = 9.
#[test]
fn the_adder_of_1938() {
    assert_eq!(of(3, &symmetric(&[1, 3])), Counted { elements: 8, relays: 5, diodes: 6 });
    assert_eq!(of(3, &symmetric(&[2, 3])), Counted { elements: 4, relays: 2, diodes: 4 });
    let both = counted(&network(3, &[&symmetric(&[1, 3]), &symmetric(&[2, 3])]));
    assert_eq!(both, Counted { elements: 9, relays: 5, diodes: 8 });
}

/// Page 489: a light that each of n switches turns on and off takes 4 (n - 1) elements.
#[test]
fn the_light_from_several_places_of_1938() {
    for signals in 2..=6usize {
        let ours = of(signals, &|point| point.count_ones() % 2 == 1);
        assert!(ours.elements <= 4 * (signals - 1), "{signals}: {ours:?}");
    }
}

/// Page 490: no symmetric function of n variables takes more than n² elements, and of more than two, none takes that many.
#[test]
fn every_symmetric_function_keeps_to_the_bound_of_1938() {
    for signals in 2..=5usize {
        for set in 1..(1usize << (signals + 1)) - 1 {
            let numbers: Vec<u32> = (0..=signals as u32).filter(|n| set >> n & 1 == 1).collect();
            let ours = of(signals, &symmetric(&numbers));
            let most = signals * signals - usize::from(signals > 2);
            assert!(ours.elements <= most, "{numbers:?} of {signals}: {ours:?}");
        }
    }
}

/// Page 489: the example for shifting down, which holds with none, three or six of six. The text gives no number but the
/// bound for any such function, 35; the figure was not read.
#[test]
fn none_three_or_six_of_six() {
    let ours = of(6, &symmetric(&[0, 3, 6]));
    assert!(ours.elements <= 35, "{ours:?}");
}

/// Every function of two and three signals takes no more contacts than the best two-terminal network of the hardest one: 4
/// and 8 (C. E. Shannon, The synthesis of two-terminal switching networks, Bell System Technical Journal 28, 1949, 59-98;
/// the numbers as sequence A058759 of the On-Line Encyclopedia of Integer Sequences lists them). Of four signals, the hardest
/// takes 13; every 397th function is tried, and with the signals' own wires one has 14 elements.
#[test]
fn no_function_takes_more_contacts_than_the_hardest_in_the_books() {
    for (signals, most, step) in [(2, 4, 1), (3, 8, 1), (4, 13, 397)] {
        for function in (1..(1usize << (1 << signals)) - 1).step_by(step) {
            let network = network(signals, &[&|point| function >> point & 1 == 1]);
            let contacts = contacts(&network);
            assert!(contacts <= most, "function {function:b} of {signals}: {contacts} contacts");
            let elements = counted(&network).elements;
            assert!(elements <= most + usize::from(signals == 4), "function {function:b} of {signals}: {elements}");
        }
    }
}
