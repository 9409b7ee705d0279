//! Picture cables: from each source to the input that shows it; with several inputs, through splitters.

use crate::assemble::Assembler;
use crate::harness::{Terminal, WireLook};
use crate::kit::SplitterKind;
use crate::wish::{WishRead, entries};
use crate::words::sentence;
use catalogue::part_form::{Domain, PartForm, PinRole, VideoFormat};
use form::{Name, Problem};
use quantity::Amps;
use std::collections::BTreeSet;

/// An input that shows the picture of a source.
#[derive(Debug, Clone)]
pub struct PictureNeed {
    /// The camera or source.
    pub source: Name,
    /// The input of a screen or selector.
    pub input: Terminal,
    /// The supply of the screen.
    pub supply: Name,
}

/// The picture output of a kind of part.
pub fn output(kind: &PartForm) -> Option<Name> {
    let video = |pin: &catalogue::part_form::PinForm| pin.domain == Domain::Video && pin.is == Some(PinRole::Output);
    kind.pins.iter().find(|(_, pin)| video(pin)).map(|(name, _)| name.value.clone())
}

/// Wires the pictures of all sources. `done` are the pins that have their wire.
pub fn wire(assembly: &mut Assembler, needs: &[PictureNeed], done: &BTreeSet<String>) {
    let wish = assembly.wish;
    for (source, entry) in entries(&wish.form) {
        let own: Vec<&PictureNeed> = needs.iter().filter(|need| need.source == source.value).collect();
        let Some((_, kind)) = wish.part(&source.value) else { continue };
        let (Some(pin), [first, others @ ..]) = (output(kind), &own[..]) else { continue };
        let from = assembly.given(&source.value, &pin);
        if done.contains(&from.end) {
            let message = format!(
                "the picture of {source} has its own wires, and this wish needs it elsewhere too",
                source = source.value
            );
            let hint = "remove its wires, so that plan adds a splitter, or wire the picture there by hand";
            assembly.missing.push(Problem::at(entry.use_.place, message).hint(hint));
            continue;
        }
        let title = entry.title.as_ref().map_or_else(|| source.value.to_string(), |title| title.0.to_lowercase());
        if others.is_empty() {
            cable(assembly, from, first.input.clone(), &title);
            continue;
        }
        let formats = entry.format.as_ref().map_or_else(|| kind.formats.clone(), |format| vec![format.value]);
        let Some(splitter) = assembly.kit.splitter(&formats) else {
            assembly.missing.push(no_splitter(entry.use_.place, &source.value, &formats));
            continue;
        };
        split(assembly, &splitter, from, &own, &title);
    }
}

fn no_splitter(place: form::Place, source: &Name, formats: &[VideoFormat]) -> Problem {
    let words: Vec<&str> = formats.iter().map(|format| format.word()).collect();
    let message = format!(
        "this wish needs the picture of {source} at two places, and the catalogue has no splitter for {} at this voltage",
        words.join(" or ")
    );
    Problem::at(place, message).hint("add one to `own-parts`, or show this picture on one screen")
}

/// A chain of splitters: each feeds an input, and the last one two.
fn split(assembly: &mut Assembler, kind: &SplitterKind, from: Terminal, needs: &[&PictureNeed], title: &str) {
    let supplies: Vec<Name> = needs.iter().map(|need| need.supply.clone()).collect();
    let supply = supply(assembly.wish, &supplies).unwrap_or_else(|| assembly.logic.clone());
    let (mut from, mut left) = (from, needs);
    while let [first, rest @ ..] = left {
        if rest.is_empty() {
            cable(assembly, from, first.input.clone(), title);
            return;
        }
        let group = format!("splitter of {title}");
        let part = assembly.built.part("SP", &kind.name, first.input.at, sentence(&group));
        let net = assembly.supply(&supply, "");
        let (power, ground) = (assembly.built.pin(part, &kind.power), assembly.built.pin(part, &kind.ground));
        assembly.feed((&group, kind.lower), power, net, Amps::new(0.1));
        assembly.ground(&group, ground);
        let input = assembly.built.pin(part, &kind.input);
        cable(assembly, from, input, title);
        let [one, two] = kind.outputs.clone().map(|pin| assembly.built.pin(part, &pin));
        cable(assembly, one, first.input.clone(), title);
        (from, left) = (two, rest);
    }
}

/// The supply that is live whenever one of these is: the one that is live least of all such.
pub fn supply(wish: &WishRead, supplies: &[Name]) -> Option<Name> {
    let form = &wish.form.supplies;
    let live = |name: &Name| {
        let follows = form.get(name).and_then(|supply| supply.follows.as_ref());
        crate::targets::live(&wish.combos, follows)
    };
    let sets: Vec<Vec<bool>> = supplies.iter().map(live).collect();
    let covers = |set: &[bool]| sets.iter().all(|other| other.iter().zip(set).all(|(on, live)| *live || !on));
    let names = supplies.iter().cloned().chain(form.names().map(|name| name.value.clone()));
    let fitting = names.filter(|name| covers(&live(name)));
    fitting.min_by_key(|name| live(name).iter().filter(|on| **on).count())
}

fn cable(assembly: &mut Assembler, from: Terminal, to: Terminal, title: &str) {
    let net = assembly.built.net("pictures", WireLook::Picture, vec![from, to]);
    assembly.built.nets[net].signal = title.to_string();
}
