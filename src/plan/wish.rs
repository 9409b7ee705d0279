//! A wish as read: its form, its text, the parts that it names, and the buttons whose parts are still open.

use crate::combos::{Combos, InputPositions};
use catalogue::Catalogue;
use catalogue::part_form::{Family, Inside, PartForm, SwitchForm};
use form::{Name, Placed, Problem, Text, Texts, YesNo};
use model::Unreadable;
use spec::{ButtonAction, InputForm, InputKind, PartEntry, SpecForm, Works};
use std::path::Path;
use std::sync::Arc;

/// A wish that reads without a mistake.
pub struct WishRead {
    /// Its form, with a part for every button.
    pub form: SpecForm,
    /// Its own text.
    pub text: String,
    /// Every kind of part that it can use.
    pub catalogue: Catalogue,
    /// The buttons and toggles that get a part.
    pub buttons: Vec<Button>,
    /// Every combination of positions.
    pub combos: Combos,
}

/// A button or toggle without a part in the wish.
#[derive(Debug, Clone)]
pub struct Button {
    /// The input.
    pub input: Name,
    /// The name of the part that it gets.
    pub part: Name,
    /// Its kind of part.
    pub kind: String,
    /// Its place.
    pub at: Name,
    /// Whether the part keeps its position, so that the input becomes a toggle.
    pub stays: bool,
    /// Its entry in an earlier plan.
    pub kept: Option<Vec<String>>,
}

/// A kind of button that stays in after a push: the shop's usual one. Without it in the catalogue, the first switch with the
/// right positions.
const STAYS: &str = "push-latching";

impl WishRead {
    /// Reads a wish from where `texts` finds it.
    ///
    /// # Errors
    /// Every problem, at its place.
    pub fn read(texts: &dyn Texts, path: &Path, builtin: &Catalogue) -> Result<WishRead, Unreadable> {
        let mut read = spec::read(texts, path);
        let text = read.sources.files.first().map(|file| file.text.clone()).unwrap_or_default();
        let mut catalogue = builtin.clone();
        read.parts.0.iter().rev().for_each(|parts| catalogue.add(parts));
        let Some(form) = read.form.as_mut() else {
            return Err(Unreadable { sources: read.sources, problems: read.problems });
        };
        catalogue.add(&form.own_parts);
        let mut problems = Vec::new();
        let buttons = open_buttons(form, &catalogue, &mut problems);
        if form.views.0.is_empty() && !has_works(form) {
            problems.push(
                Problem::whole(
                    "a wish needs `views` or `works`: what should each screen show, and when should parts work?",
                )
                .hint("add `views`; FORM.md shows an example"),
            );
        }
        problems.extend(shared_screens(form));
        let (form, sources) = (form.clone(), read.sources.clone());
        read.problems.append(&mut problems);
        model::resolve(read, builtin)?;
        let unknown = unknown_pins(&form, &catalogue);
        if !unknown.is_empty() {
            return Err(Unreadable { sources, problems: unknown });
        }
        let positions = positions(&form, &catalogue);
        let Some(combos) = Combos::new(positions, &form.inputs) else {
            let problem =
                Problem::whole("the inputs have more than 16,384 combinations of positions: plan can't list them")
                    .hint("split the wish in two, or rule combinations out with `needs` and `excludes`");
            return Err(Unreadable { sources, problems: vec![problem] });
        };
        Ok(WishRead { form, text, catalogue, buttons, combos })
    }

    /// A part that the wish names, and its kind.
    pub fn part(&self, name: &str) -> Option<(&PartEntry, &Arc<PartForm>)> {
        let entry = entries(&self.form).find(|(n, _)| n.as_str() == name)?.1;
        Some((entry, self.catalogue.get(&entry.use_.value)?))
    }

    /// The switch element that an input moves, with its kind of part.
    pub fn switch(&self, input: &InputForm) -> Option<&SwitchForm> {
        let (_, kind) = self.part(&input.part.as_ref()?.value)?;
        switch_of(kind)
    }

    /// The index of a place.
    pub fn place(&self, name: &str) -> usize {
        self.form.places.iter().position(|place| place.as_str() == name).unwrap_or(0)
    }
}

/// Every part of a wish but connectors.
pub fn entries(form: &SpecForm) -> impl Iterator<Item = (&Placed<Name>, &PartEntry)> {
    [&form.cameras, &form.sources, &form.accessories, &form.parts].into_iter().flat_map(|entries| entries.iter())
}

/// Screens that are the same part as one before them.
fn shared_screens(form: &SpecForm) -> Vec<Problem> {
    let all: Vec<_> = form.screens.iter().collect();
    let twice = all.iter().enumerate().filter_map(|(i, (name, screen))| {
        let (first, before) = all[..i].iter().find(|(_, other)| other.part.value == screen.part.value)?;
        let message = format!("screen `{}` is the same part as screen `{}`", name.value, first.value);
        let problem = Problem::at(screen.part.place, message).also(before.part.place, "first here");
        Some(problem.hint("put the views of both under one screen, or add a part for the second"))
    });
    twice.collect()
}

/// Ends of the wish's own wires on pins that a part does not have.
fn unknown_pins(form: &SpecForm, catalogue: &Catalogue) -> Vec<Problem> {
    let ends = form.wires.iter().flat_map(|wire| [&wire.from, &wire.to].map(|end| (wire, end)));
    let unknown = ends.filter_map(|(wire, end)| {
        let (part, pin) = (&end.value.part, end.value.pin.as_ref()?);
        let entry = entries(form).find(|(name, _)| name.value == *part)?.1;
        let kind = catalogue.get(&entry.use_.value)?;
        let message = || format!("wire {} ends at `{}`, but {part} has no pin `{pin}`", wire.id.value, end.value);
        let names = || kind.pins.names().map(|name| format!("`{}`", name.value)).collect::<Vec<_>>().join(", ");
        let missing = kind.pins.get(pin).is_none();
        missing.then(|| Problem::at(end.place, message()).hint(format!("its pins are {}", names())))
    });
    unknown.collect()
}

fn has_works(form: &SpecForm) -> bool {
    entries(form).any(|(_, part)| !part.works.0.is_empty())
}

/// The first switch inside a kind of part.
fn switch_of(kind: &PartForm) -> Option<&SwitchForm> {
    kind.inside.iter().find_map(|inside| match inside {
        Inside::Switch(switch) => Some(switch),
        _ => None,
    })
}

fn positions(form: &SpecForm, catalogue: &Catalogue) -> Vec<InputPositions> {
    let of = |(name, input): (&Placed<Name>, &InputForm)| {
        let given: Vec<Name> = input.positions.iter().map(|position| position.value.clone()).collect();
        let kind = input.part.as_ref().and_then(|part| entries(form).find(|(n, _)| n.value == part.value));
        let switch = kind.and_then(|(_, entry)| catalogue.get(&entry.use_.value)).and_then(|kind| switch_of(kind));
        let of_switch = || match switch {
            Some(switch) if !switch.positions.is_empty() => switch.positions.iter().map(|p| p.value.clone()).collect(),
            _ => vec![Name::new("off"), Name::new("on")],
        };
        InputPositions { input: name.value.clone(), names: if given.is_empty() { of_switch() } else { given } }
    };
    form.inputs.iter().map(of).collect()
}

/// Gives every button without a part one, and clears what only a wish may say.
fn open_buttons(form: &mut SpecForm, catalogue: &Catalogue, problems: &mut Vec<Problem>) -> Vec<Button> {
    let mut buttons = Vec::new();
    let mut taken: Vec<String> = names(form);
    let at_first_screen = form.screens.iter().next().and_then(|(_, screen)| {
        let entry = entries(form).find(|(name, _)| name.value == screen.part.value)?.1;
        entry.at.as_ref().map(|at| at.value.clone())
    });
    for entry in &mut form.inputs.0 {
        let Some(input) = entry.body.as_mut() else { continue };
        let action = input.acts.take();
        let Some(kind) = input.kind.as_mut().filter(|kind| !kind.value.has_wire()) else {
            if let Some(action) = action {
                problems.push(
                    Problem::at(action.place, "`acts` is for a button of the harness")
                        .hint("remove it, or write `kind: push`"),
                );
            }
            continue;
        };
        if input.part.is_some() {
            if let Some(action) = action {
                problems.push(
                    Problem::at(
                        action.place,
                        "`acts` is for a button without a part: this one has a part, which says how it acts",
                    )
                    .hint("remove `acts`, or remove `part`"),
                );
            }
            continue;
        }
        let stays = kind.value == InputKind::Toggle || action.is_some_and(|a| a.value == ButtonAction::Toggles);
        let button_stays = kind.value == InputKind::Push && stays;
        let positions: Vec<&str> = input.positions.iter().map(|p| p.as_str()).collect();
        let Some(of_switch) = switch_kind(catalogue, &positions, stays, button_stays) else {
            problems.push(
                Problem::at(entry.name.place, "no switch in the catalogue has these positions")
                    .hint("`loomwright parts` lists the switches; name one with `part`"),
            );
            continue;
        };
        let Some(at) = input.at.as_ref().map(|at| at.value.clone()).or_else(|| at_first_screen.clone()) else {
            problems.push(Problem::at(entry.name.place, "where is this button?").hint("add `at` with its place"));
            continue;
        };
        let part = free_name("SW", &mut taken);
        kind.value = if stays { InputKind::Toggle } else { InputKind::Push };
        input.part = Some(Placed { value: part.clone(), place: entry.name.place });
        input.at = None;
        buttons.push(Button {
            input: entry.name.value.clone(),
            part,
            kind: of_switch,
            at,
            stays: button_stays,
            kept: None,
        });
    }
    for button in &buttons {
        let entry = part_entry(&button.kind, &button.at, form.harness.place);
        let name = Placed { value: button.part.clone(), place: form.harness.place };
        form.parts.0.push(form::Entry { name, body: Some(entry), incomplete: false });
    }
    buttons
}

fn switch_kind(catalogue: &Catalogue, positions: &[&str], stays: bool, button: bool) -> Option<String> {
    let fits = |kind: &PartForm| {
        let switches = kind.inside.iter().filter(|inside| matches!(inside, Inside::Switch(_))).count();
        let alone = switches == 1 && kind.inside.len() == 1 && kind.family == Family::Switch;
        let wanted: &[&str] = if positions.is_empty() { &["off", "on"] } else { positions };
        alone
            && kind.pins.iter().all(|(_, pin)| pin.domain == catalogue::part_form::Domain::Power)
            && switch_of(kind).is_some_and(|switch| {
                switch.momentary.0 != stays
                    && switch.throws.len() + 1 == wanted.len()
                    && switch.positions.iter().map(|p| p.as_str()).eq(wanted.iter().copied())
            })
    };
    if button && catalogue.get(STAYS).is_some_and(|kind| fits(kind)) {
        return Some(STAYS.to_string());
    }
    catalogue.iter().find(|(_, kind)| fits(kind)).map(|(name, _)| name.to_string())
}

fn part_entry(kind: &str, at: &Name, place: form::Place) -> PartEntry {
    let placed = |value: Name| Placed { value, place };
    PartEntry {
        use_: placed(Name::new(kind)),
        at: Some(placed(at.clone())),
        title: None::<Text>,
        draws: None,
        least: None,
        rating: None,
        resistance: None,
        time: None,
        format: None,
        start_up: None,
        side: None,
        plays: None,
        works: Works(Vec::new()),
        existing: YesNo(false),
        order: None,
        note: None,
        incomplete: false,
    }
}

/// Every name that a wire may end on, and the numbers of wires.
pub fn names(form: &SpecForm) -> Vec<String> {
    let mut all: Vec<String> = entries(form).map(|(name, _)| name.to_string()).collect();
    all.extend(form.supplies.names().map(|name| name.to_string()));
    all.extend(form.grounds.names().map(|name| name.to_string()));
    all.extend(form.inputs.names().map(|name| name.to_string()));
    all.extend(form.connectors.names().map(|name| name.to_string()));
    all.extend(form.splices.names().map(|name| name.to_string()));
    all
}

/// The first name with this prefix and a number that is not taken; it is taken then.
pub fn free_name(prefix: &str, taken: &mut Vec<String>) -> Name {
    let mut number = 1;
    while taken.contains(&format!("{prefix}{number}")) {
        number += 1;
    }
    taken.push(format!("{prefix}{number}"));
    Name::new(format!("{prefix}{number}"))
}
