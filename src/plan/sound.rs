//! Sound: from a source to what plays it. Line level goes through shielded cables, side by side; a loudspeaker gets both
//! wires.

use crate::assemble::Assembler;
use crate::harness::{Terminal, WireLook};
use crate::wish::entries;
use catalogue::part_form::{Domain, PartForm, PinForm, PinRole, Side};
use form::{Name, Placed, Problem};
use spec::PartEntry;
use std::collections::BTreeSet;

/// A pin of sound, and its side.
type SoundPin = (Name, Option<Side>);

/// Wires the sound of every part that plays another's. `done` are the pins that have their wire.
pub fn wire(assembly: &mut Assembler, done: &mut BTreeSet<String>) {
    let wish = assembly.wish;
    for (name, entry) in entries(&wish.form) {
        let Some(source) = &entry.plays else { continue };
        let (Some((_, kind)), Some((from, outputs))) = (wish.part(&name.value), wish.part(&source.value)) else {
            continue;
        };
        let title = from.title.as_ref().map_or_else(|| source.value.to_string(), |title| title.0.to_lowercase());
        let one = SoundLine { part: &name.value, entry, source, title };
        let wired = match minus(kind) {
            Some(minus) => one.loudspeaker(assembly, done, outputs, (kind, minus)),
            None => one.line(assembly, done, outputs, kind),
        };
        if !wired {
            let message = format!("{} has no sound output left for {}", source.value, name.value);
            assembly.missing.push(Problem::at(source.place, message).hint("name another part, or remove `plays`"));
        }
    }
}

/// A part that plays, and what it plays.
struct SoundLine<'a> {
    part: &'a Name,
    entry: &'a PartEntry,
    source: &'a Placed<Name>,
    /// Title of the source.
    title: String,
}

impl SoundLine<'_> {
    /// Both wires of a loudspeaker: from a free output, back to that output's own return or to ground.
    fn loudspeaker(
        &self,
        assembly: &mut Assembler,
        done: &mut BTreeSet<String>,
        outputs: &PartForm,
        (kind, minus): (&PartForm, Name),
    ) -> bool {
        let Some((plus, _)) = pins(kind, PinRole::Input).into_iter().next() else { return false };
        let Some(output) = self.free(assembly, done, outputs, self.entry.side) else { return false };
        let back = outputs.pins.iter().find(|(_, pin)| pin.minus_of.as_ref().is_some_and(|of| of.value == output));
        let group = format!("sound of {}", self.part);
        let (plus, minus) = (assembly.given(self.part, &plus), assembly.given(self.part, &minus));
        let from = assembly.given(&self.source.value, &output);
        done.extend([&plus, &minus, &from].map(|terminal: &Terminal| terminal.end.clone()));
        assembly.built.signal_net(&group, vec![from, plus]);
        match back {
            Some((pin, _)) => {
                let to = assembly.given(&self.source.value, &pin.value);
                done.insert(to.end.clone());
                assembly.built.signal_net(&group, vec![to, minus]);
            }
            None => assembly.ground_beside(&group, minus, &self.source.value),
        }
        true
    }

    /// A cable to each input that has an output of its side.
    fn line(&self, assembly: &mut Assembler, done: &mut BTreeSet<String>, outputs: &PartForm, kind: &PartForm) -> bool {
        let mut wired = false;
        for (input, side) in pins(kind, PinRole::Input) {
            let to = assembly.given(self.part, &input);
            let free = if done.contains(&to.end) { None } else { self.free(assembly, done, outputs, side) };
            let Some(output) = free else { continue };
            let from = assembly.given(&self.source.value, &output);
            done.extend([from.end.clone(), to.end.clone()]);
            let net = assembly.built.net("sound", WireLook::Picture, vec![from, to]);
            let side = side.map_or_else(String::new, |side| format!("{side} "));
            assembly.built.nets[net].signal = format!("{side}sound of {}", self.title);
            wired = true;
        }
        wired
    }

    /// The first output without a wire, of this side if it has one.
    fn free(
        &self,
        assembly: &Assembler,
        done: &BTreeSet<String>,
        outputs: &PartForm,
        side: Option<Side>,
    ) -> Option<Name> {
        let open = |(pin, of): &SoundPin| {
            let fits = side.is_none() || of.is_none() || side == *of;
            fits && !done.contains(&assembly.given(&self.source.value, pin).end)
        };
        pins(outputs, PinRole::Output).into_iter().find(open).map(|(pin, _)| pin)
    }
}

fn pins(kind: &PartForm, role: PinRole) -> Vec<SoundPin> {
    let own = |pin: &PinForm| pin.domain == Domain::Audio && pin.is == Some(role);
    kind.pins.iter().filter(|(_, pin)| own(pin)).map(|(name, pin)| (name.value.clone(), pin.side)).collect()
}

/// The return of a loudspeaker: of a part with one sound input and one return.
fn minus(kind: &PartForm) -> Option<Name> {
    let returns = pins(kind, PinRole::Return);
    match (&pins(kind, PinRole::Input)[..], &returns[..], &pins(kind, PinRole::Output)[..]) {
        ([_], [(minus, _)], []) => Some(minus.clone()),
        _ => None,
    }
}
