//! Sound: channels without sound or without a loudspeaker, sides crossed, outputs on the wrong pin.

use super::*;

/// The build of `net/outputs-joined` that stays quiet: a player, two channels, two loudspeakers.
fn good() -> String {
    let page = include_str!("../rules/net/outputs_joined.md");
    let quiet = &page[page.find("## Stays quiet").unwrap()..];
    let start = quiet.find("harness:").unwrap();
    quiet[start..quiet[start..].find("```").unwrap() + start].to_string()
}

/// Rule and advice of each root that is no note, after one line of the good build is changed.
fn roots(from: &str, to: &str) -> Vec<(&'static str, String)> {
    let spec = good().replace(from, to);
    assert!(from.is_empty() || spec != good(), "{from} is not in the build");
    let report = specimens::report(&spec).unwrap().1;
    let roots = report.roots().filter(|finding| finding.severity != Severity::Note);
    roots.map(|finding| (finding.rule, finding.hint.clone())).collect()
}

#[test]
fn the_good_build_is_quiet() {
    assert_eq!(roots("", ""), []);
}

/// Each fault is one root, and its advice leads back to the good build.
#[test]
fn each_fault_of_sound_is_one_root_with_advice_that_repairs() {
    let one = |from: &str, to: &str, rule: &str, advice: &str| {
        let found = roots(from, to);
        assert_eq!(found.len(), 1, "{to}: {found:?}");
        assert_eq!((found[0].0, found[0].1.as_str()), (rule, advice), "{to}");
    };
    one(
        "AMP.out-right, to",
        "AMP.out-left, to",
        "net/sound-open",
        "move `SP2.plus` from `AMP.out-left` to `AMP.out-right`",
    );
    one(
        "  - {id: 9, from: PL.right, to: AMP.in-right, make: coax}\n",
        "",
        "net/sound-open",
        "wire `AMP.in-right` to the output of a player",
    );
    one(
        "PL.right, to: AMP.in-right",
        "PL.right, to: AMP.in-left",
        "net/outputs-joined",
        "move wire 9 from `AMP.in-left` to the free input `AMP.in-right`",
    );
    one(
        "PL.right, to: AMP.in-right",
        "PL.right, to: AMP.out-right",
        "net/outputs-joined",
        "move wire 9 from `AMP.out-right` to the free input `AMP.in-right`",
    );
    one(
        "AMP.out-left, to: SP1.plus",
        "AMP.out-left, to: GND",
        "net/mixed-kinds",
        "move wire 10 to the free pin `SP1.plus`",
    );
}

/// Both returns end at a splice without a ground.
#[test]
fn a_common_return_without_a_ground_is_found() {
    let spec = good().replace("splices: {S1: {at: dash}}", "splices: {S1: {at: dash}, SR: {at: dash}}");
    let spec = spec.replace("from: SP1.minus, to: GND", "from: SP1.minus, to: SR");
    let spec = spec.replace("from: SP2.minus, to: GND", "from: SP2.minus, to: SR");
    let report = specimens::report(&spec).unwrap().1;
    let roots: Vec<&Finding> = report.roots().filter(|finding| finding.severity == Severity::Error).collect();
    assert_eq!(roots.len(), 1, "{roots:?}");
    assert!(roots[0].message.starts_with("the common return of 2 loudspeakers"), "{roots:?}");
}

#[test]
fn sides_and_loudspeakers_the_wrong_way_round_are_named() {
    let crossed = good().replace("PL.left, to: AMP.in-left", "PL.left, to: AMP.in-X");
    let crossed = crossed.replace("AMP.in-right", "AMP.in-left").replace("AMP.in-X", "AMP.in-right");
    let reversed = good().replace("to: SP1.plus", "to: SP1.X").replace("from: SP1.minus", "from: SP1.plus");
    let reversed = reversed.replace("SP1.X", "SP1.minus");
    for (spec, named) in
        [(crossed, "left and right are crossed"), (reversed, "`plus` and `minus` of `SP1` are swapped")]
    {
        let report = specimens::report(&spec).unwrap().1;
        let roots: Vec<&Finding> = report.roots().filter(|finding| finding.severity != Severity::Note).collect();
        assert_eq!(roots.len(), 1, "{roots:?}");
        assert!(roots[0].rule == "net/sound-crossed" && roots[0].message.starts_with(named), "{:?}", roots[0]);
    }
}
