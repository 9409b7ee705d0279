use super::*;

/// Signals without feeds of their own.
fn plain(n: usize) -> Vec<Nature> {
    (0..n).map(|group| Nature { rank: 1, gated: false, group }).collect()
}

fn term(on: &[usize], off: &[usize]) -> Term {
    Term { on: on.to_vec(), off: off.to_vec() }
}

/// Whether a net is live with these signals on, by following its contacts down to the root.
fn live(network: &ContactNetwork, net: NetId, on: &[bool]) -> bool {
    match net {
        NetId::Supply(_) => true,
        NetId::Signal(signal) => {
            on[signal] && network.gates[signal].is_none_or(|gate| live(network, NetId::Signal(gate), on))
        }
        NetId::Made(relay) | NetId::Rest(relay) => {
            let contact = &network.relays[relay];
            let energised = live(network, NetId::Signal(contact.signal), on);
            energised == matches!(net, NetId::Made(_)) && contact.from.iter().any(|from| live(network, *from, on))
        }
    }
}

#[test]
fn a_change_over_contact_serves_a_condition_and_its_opposite() {
    let targets = [
        TargetTerms { terms: vec![term(&[0, 1], &[])], supply: 0 },
        TargetTerms { terms: vec![term(&[0], &[1])], supply: 0 },
    ];
    assert_eq!(ContactNetwork::build(&plain(2), &targets).relays.len(), 1);
}

#[test]
fn a_module_that_is_fed_by_a_switch_needs_no_contact_for_it() {
    let mut natures = plain(3);
    natures[1] = Nature { rank: 4, gated: true, group: 1 };
    natures[2] = Nature { rank: 4, gated: true, group: 2 };
    let targets = [
        TargetTerms { terms: vec![term(&[0, 1], &[2])], supply: 0 },
        TargetTerms { terms: vec![term(&[0, 2], &[1])], supply: 0 },
    ];
    let network = ContactNetwork::build(&natures, &targets);
    assert_eq!((network.relays.len(), network.gates.clone()), (2, vec![None, Some(0), Some(0)]));
}

/// The nets of every pair of functions of three signals are live exactly when their terms hold, whatever is gated.
#[test]
fn networks_do_what_their_terms_say() {
    let points: Vec<Vec<bool>> = (0..8usize).map(|n| (0..3).map(|s| n >> s & 1 == 1).collect()).collect();
    let terms = |function: usize| {
        let (on, off): (Vec<usize>, Vec<usize>) = (0..8).partition(|i| function >> i & 1 == 1);
        let pick = |of: Vec<usize>| of.into_iter().map(|i| points[i].clone()).collect::<Vec<_>>();
        crate::cover::cover(&pick(on), &pick(off), &[(1, 2); 3]).expect("distinct points")
    };
    for gated in 0..8usize {
        let nature = |s: usize| Nature { rank: s as u8, gated: gated >> s & 1 == 1, group: s };
        let natures: Vec<Nature> = (0..3).map(nature).collect();
        for (one, other) in (0..256).zip((0..256).map(|n| (n * 37 + 11) % 256)) {
            let targets = [one, other].map(|f| TargetTerms { terms: terms(f), supply: 0 });
            let network = ContactNetwork::build(&natures, &targets);
            for (function, nets) in [one, other].into_iter().zip(&network.leaves) {
                for (i, point) in points.iter().enumerate() {
                    let is = nets.iter().any(|net| live(&network, *net, point));
                    assert_eq!(is, function >> i & 1 == 1, "functions {one}, {other}, gated {gated}, at {point:?}");
                }
            }
        }
    }
}

/// Contacts of a network: a change-over contact counts twice if both its sides are used.
fn contacts(network: &ContactNetwork) -> usize {
    network.relays.iter().map(|relay| usize::from(relay.made) + usize::from(relay.rest)).sum()
}

/// The network for one function, given by its value at each point; bit `s` of a point is signal `s`.
fn of_function(signals: usize, holds: &dyn Fn(usize) -> bool) -> ContactNetwork {
    let points = |wanted: bool| {
        let all = (0..1usize << signals).filter(|point| holds(*point) == wanted);
        all.map(|point| (0..signals).map(|s| point >> s & 1 == 1).collect()).collect::<Vec<Vec<bool>>>()
    };
    let terms = crate::cover::cover(&points(true), &points(false), &vec![(1, 2); signals]).expect("distinct points");
    ContactNetwork::build(&plain(signals), &[TargetTerms { terms, supply: 0 }])
}

/// Every function of two and three signals takes no more contacts than the best two-terminal network of the hardest one: 4
/// and 8 (C. E. Shannon, The synthesis of two-terminal switching networks, Bell System Technical Journal 28, 1949, 59-98;
/// the numbers as sequence A058759 of the On-Line Encyclopedia of Integer Sequences lists them). Ours are trees with diodes,
/// so that no current flows backwards, which those networks allow; a signal's own net needs no contact here. Of four signals,
/// the hardest takes 13; every 97th function is tried.
#[test]
fn no_function_takes_more_contacts_than_the_hardest_in_the_books() {
    for (signals, most, step) in [(2, 4, 1), (3, 8, 1), (4, 13, 97)] {
        for function in (0..1usize << (1 << signals)).step_by(step) {
            let contacts = contacts(&of_function(signals, &|point| function >> point & 1 == 1));
            assert!(contacts <= most, "function {function:b} of {signals}: {contacts} contacts");
        }
    }
}

/// Symmetric functions: the general network of C. E. Shannon (A symbolic analysis of relay and switching circuits,
/// Transactions of the AIEE 57, 1938, 713-723, section IV) has n (n + 1) / 2 change-over contacts, twice as many contacts; his
/// sum modulo two has 4 (n - 1). Both numbers are from memory; only the section was looked up.
#[test]
fn symmetric_functions_keep_to_the_bounds_of_1938() {
    for signals in 2..=4usize {
        for numbers in 0..1usize << (signals + 1) {
            let holds = |point: usize| numbers >> point.count_ones() & 1 == 1;
            let contacts = contacts(&of_function(signals, &holds));
            assert!(contacts <= signals * (signals + 1), "{numbers:b} of {signals}: {contacts} contacts");
        }
        let parity = contacts(&of_function(signals, &|point| point.count_ones() % 2 == 1));
        assert!(parity <= 4 * (signals - 1), "sum modulo two of {signals}: {parity} contacts");
    }
}
