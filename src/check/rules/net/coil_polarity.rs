use crate::evidence::{end_place, part_place};
use crate::{Finding, Finds, Repair, Rule, Severity};
use catalogue::part_form::Across;
use facts::Facts;
use facts::consumers::is_coil_crossed;
use model::{Coil, ElementKind, PartId};

pub const RULE: Rule = Rule {
    name: "net/coil-polarity",
    severity: Severity::Error,
    explanation: include_str!("coil_polarity.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let mut findings = Vec::new();
    for element in &facts.model.elements {
        if let ElementKind::Coil(coil) = &element.kind {
            findings.extend(built_in(facts, element.part, coil));
            findings.extend(outside(facts, element.part, coil));
        }
    }
    findings
}

/// The relay's own diode.
fn built_in(facts: &Facts, part: PartId, coil: &Coil) -> Option<Finding> {
    if coil.across != Across::Diode || !is_coil_crossed(facts.connectivity(), coil) {
        return None;
    }
    let name = &facts.model.part(part).name;
    let (feed, ground) = (&facts.model.pin(coil.feed).name, &facts.model.pin(coil.ground).name);
    let message = format!("`{ground}` and `{feed}` of `{name}` are swapped: its diode shorts the feed to ground");
    Some(
        RULE.finding(end_place(facts, coil.ground), message)
            .about(name.as_str())
            .label("the feed comes in here")
            .also(end_place(facts, coil.feed), "the ground is here")
            .hint(format!("swap the wires of `{feed}` and `{ground}`: feed to `{feed}`, ground to `{ground}`"))
            .repaired_by(Repair::Exchange(coil.feed, coil.ground)),
    )
}

/// Diodes of the harness across the coil.
fn outside(facts: &Facts, part: PartId, coil: &Coil) -> Vec<Finding> {
    let (feed, ground) =
        if is_coil_crossed(facts.connectivity(), coil) { (coil.ground, coil.feed) } else { (coil.feed, coil.ground) };
    let nets = &facts.nets();
    let (plus, minus) = (nets.of(feed), nets.of(ground));
    let mut findings = Vec::new();
    for element in &facts.model.elements {
        let ElementKind::Diode { anode, cathode, .. } = element.kind else { continue };
        if plus == minus || nets.of(anode) != plus || nets.of(cathode) != minus {
            continue;
        }
        let (relay, diode) = (&facts.model.part(part).name, &facts.model.part(element.part).name);
        let message = format!("`{diode}` across the coil of `{relay}` is reversed: it shorts the feed to ground");
        findings.push(
            RULE.finding(end_place(facts, anode), message)
                .about(diode.as_str())
                .label("the anode is on the feed side")
                .also(part_place(facts, part), "the relay")
                .hint(format!(
                    "turn the diode around: its ring (cathode) goes to the feed side, `{}`",
                    facts.model.pin_name(feed)
                ))
                .repaired_by(Repair::Exchange(anode, cathode)),
        );
    }
    findings
}
