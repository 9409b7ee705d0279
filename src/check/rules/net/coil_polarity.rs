use crate::{Context, Finding, Finds, Rule, Severity};
use catalogue::part_form::Across;
use model::{Coil, ElementKind, PartId};

pub const RULE: Rule = Rule {
    name: "net/coil-polarity",
    severity: Severity::Error,
    explanation: include_str!("coil_polarity.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let mut findings = Vec::new();
    for element in &context.model.elements {
        if let ElementKind::Coil(coil) = &element.kind {
            findings.extend(built_in(context, element.part, coil));
            findings.extend(outside(context, element.part, coil));
        }
    }
    findings
}

/// The relay's own diode.
fn built_in(context: &Context, part: PartId, coil: &Coil) -> Option<Finding> {
    if coil.across != Across::Diode || !context.is_crossed(coil) {
        return None;
    }
    let name = &context.model.part(part).name;
    let (feed, ground) = (&context.model.pin(coil.feed).name, &context.model.pin(coil.ground).name);
    let message =
        format!("the coil of `{name}` is fed at `{ground}`, so the diode across it shorts the feed to ground");
    Some(
        RULE.finding(context.end_place(coil.ground), message)
            .about(name.as_str())
            .label("supply comes in here")
            .also(context.end_place(coil.feed), "ground is here")
            .hint(format!("swap the wires of `{feed}` and `{ground}`: feed to `{feed}`, ground to `{ground}`")),
    )
}

/// Diodes of the harness across the coil.
fn outside(context: &Context, part: PartId, coil: &Coil) -> Vec<Finding> {
    let (plus, minus) = if context.is_crossed(coil) { (coil.ground, coil.feed) } else { (coil.feed, coil.ground) };
    let nets = &context.nets;
    let (plus, minus) = (nets.of(plus), nets.of(minus));
    let mut findings = Vec::new();
    for element in &context.model.elements {
        let ElementKind::Diode { anode, cathode, .. } = element.kind else { continue };
        if plus == minus || nets.of(anode) != plus || nets.of(cathode) != minus {
            continue;
        }
        let (relay, diode) = (&context.model.part(part).name, &context.model.part(element.part).name);
        let message = format!("`{diode}` lies across the coil of `{relay}` the wrong way round and shorts its feed");
        findings.push(
            RULE.finding(context.end_place(anode), message)
                .about(diode.as_str())
                .label("the anode is on the feed side")
                .also(context.part_place(part), "the relay")
                .hint("turn the diode round: the ring (cathode) belongs to the feed side, 86"),
        );
    }
    findings
}
