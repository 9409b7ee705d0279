//! Picture cables: from each source to the input that shows it; with several inputs, through splitters.

use crate::assemble::Assembler;
use crate::conflict::Refusal;
use crate::harness::{Terminal, WireLook};
use crate::kit::{Kit, SplitterKind};
use crate::targets::ScreenWish;
use crate::wish::{WishRead, entries};
use crate::words::sentence;
use catalogue::part_form::{Domain, PartForm, PinRole, VideoFormat};
use form::{Name, Placed, Problem};
use quantity::Amps;
use spec::PartEntry;
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
        let formats = sent(entry, kind);
        let isolator = assembly.kit.isolator(&formats).filter(|_| assembly.isolated.contains(&source.value));
        let from = match isolator {
            Some((name, pins)) => {
                let part = assembly.built.part("ISO", name, first.input.at, format!("Isolator for {title}"));
                let [to, out] = pins.map(|pin| assembly.built.pin(part, pin));
                cable(assembly, from, to, &title);
                out
            }
            None => from,
        };
        if others.is_empty() {
            cable(assembly, from, first.input.clone(), &title);
            continue;
        }
        // OK because `can_split` has asked for it.
        let Some(splitter) = assembly.kit.splitter(&formats) else { continue };
        split(assembly, &splitter, from, &own, &title);
    }
}

/// The formats that a camera or source sends: the one that the wish names, or every one of its kind.
pub fn sent(entry: &PartEntry, kind: &PartForm) -> Vec<VideoFormat> {
    entry.format.as_ref().map_or_else(|| kind.formats.clone(), |format| vec![format.value])
}

/// Checks that every picture that several screens show can be split.
///
/// # Errors
/// Each one that no splitter of the catalogue passes, with the views that ask for it.
pub fn can_split(wish: &WishRead, kit: &Kit, screens: &[&ScreenWish]) -> Result<(), Refusal> {
    let mut problems = Vec::new();
    for (name, entry) in entries(&wish.form) {
        let Some((_, kind)) = wish.part(&name.value) else { continue };
        let pictures = screens.iter().flat_map(|screen| &screen.pictures);
        let shown: Vec<&Placed<Name>> = pictures.filter(|picture| picture.value == name.value).collect();
        let formats = sent(entry, kind);
        if shown.len() < 2 || kit.splitter(&formats).is_some() {
            continue;
        }
        let words: Vec<&str> = formats.iter().map(|format| format.word()).collect();
        let message = format!(
            "{} screens show {}, and the catalogue has no splitter for {} at this voltage",
            shown.len(),
            name.value,
            words.join(" or ")
        );
        let mut problem = Problem::at(entry.use_.place, message).label("one picture for each");
        for view in shown {
            problem = problem.also(view.place, "this view needs it");
        }
        problems.push(problem.hint(splits(wish, kit, entry, kind)));
    }
    if problems.is_empty() { Ok(()) } else { Err(Refusal::Conflict(problems)) }
}

/// The smallest change after which a picture can be split.
fn splits(wish: &WishRead, kit: &Kit, entry: &PartEntry, kind: &PartForm) -> String {
    if let Some(format) = kind.formats.iter().find(|format| kit.splitter(&[**format]).is_some()) {
        return format!("write `format: {format}`, which a splitter passes, or show it on one screen");
    }
    let fits = |other: &PartForm| {
        other.family == kind.family && other.nominal == kind.nominal && kit.splitter(&other.formats).is_some()
    };
    match wish.catalogue.iter().find(|(name, other)| *name != entry.use_.as_str() && fits(other)) {
        Some((name, _)) => format!("write `use: {name}`, whose picture a splitter passes, or show it on one screen"),
        None => "show it on one screen, or add a splitter to `own-parts`".to_string(),
    }
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
