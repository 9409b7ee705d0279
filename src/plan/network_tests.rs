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
        crate::cover::cover(&pick(on), &pick(off), &[(1, 2); 3], &[]).expect("distinct points")
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
