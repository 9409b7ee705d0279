//! Everything with pins becomes a part: here grounds, splices and the parts' own entries.

use super::{Resolver, Space};
use crate::{Element, ElementId, ElementKind, GROUND_RESISTANCE, Part, PartId, PartKind, Pin, PinId};
use catalogue::part_form::{Domain, Family, Inside, PartForm, PinRole};
use catalogue::{Catalogue, pin_names};
use form::place::suggestion;
use form::{Entries, Name, Placed, Problem};
use quantity::{Amps, Ohms, Seconds};
use spec::PartEntry;
use std::sync::Arc;

/// Impedance of outputs and inputs of pictures: composite video is 1 V peak to peak across 75 Ω (SMPTE 170M and
/// ITU-R BT.470, from memory).
const VIDEO_IMPEDANCE: Ohms = Ohms::new(75.0);

impl Resolver<'_> {
    /// Takes a name of the one space; a second use is reported.
    pub(super) fn take_name(&mut self, name: &Placed<Name>) -> bool {
        if let Some(first) = self.names.get(&name.value) {
            let problem = Problem::at(name.place, format!("two things are named `{}`", name.value))
                .also(*first, "first here")
                .hint("supplies, grounds, inputs, parts, connectors and splices each need a different name");
            self.report(problem);
            return false;
        }
        self.names.insert(name.value.clone(), name.place);
        true
    }

    /// Notes the names of entries that could not be read in full.
    pub(super) fn note_broken<T>(&mut self, entries: &Entries<T>) {
        self.broken.extend(entries.0.iter().filter(|e| e.incomplete).map(|e| e.name.value.clone()));
    }

    pub(super) fn kind(&mut self, name: &Placed<Name>) -> Option<Arc<PartForm>> {
        let found = self.catalogue.get(name).cloned();
        let excused = self.parts_missing || self.broken_kinds.contains(&name.value) || self.unread.holds(name);
        if found.is_none() && !excused {
            let hint = suggestion(name, self.catalogue.names(), "kinds of part");
            let hint =
                if hint.ends_with(" more") { "`loomwright parts` lists every kind of part".into() } else { hint };
            let problem = Problem::at(name.place, format!("`{}` is not a kind of part", name.value)).hint(hint);
            self.report_unknown(Space::Kinds, name, problem);
        }
        found
    }

    /// Adds a part with its pins; what is inside comes later, when every pin and input is known.
    pub(super) fn add_part(
        &mut self,
        name: &Placed<Name>,
        kind: PartKind,
        use_name: &str,
        form: Arc<PartForm>,
    ) -> PartId {
        let id = PartId(self.model.parts.len());
        let default = match kind {
            PartKind::Ground => Domain::Ground,
            PartKind::Supply => Domain::Power,
            _ => Domain::Trigger,
        };
        let mut pins = Vec::new();
        for pin_name in pin_names(&form) {
            let given = form.pins.get(&pin_name);
            pins.push(PinId(self.model.pins.len()));
            self.model.pins.push(Pin {
                part: id,
                title: given.and_then(|p| p.title.as_ref()).map_or_else(|| pin_name.to_string(), |t| t.0.clone()),
                domain: given.map_or(default, |p| p.domain),
                role: given.and_then(|p| p.is).unwrap_or(PinRole::Through),
                limit: given.and_then(|p| p.limit).or(form.terminal.as_ref().and_then(|t| t.current)),
                means: given.and_then(|p| p.means),
                optional: given.is_none_or(|p| p.optional.0),
                impedance: given.and_then(|p| p.impedance.or((p.domain == Domain::Video).then_some(VIDEO_IMPEDANCE))),
                side: given.and_then(|p| p.side),
                minus_of: None,
                least_load: given.and_then(|p| p.least_load),
                name: pin_name,
            });
        }
        self.model.parts.push(Part {
            name: name.value.clone(),
            title: form.title.0.clone(),
            kind,
            use_name: use_name.to_string(),
            at: None,
            pins,
            elements: Vec::new(),
            rating: form.rating,
            rating_open: None,
            formats: form.formats.clone(),
            start_up: form.start_up.unwrap_or(Seconds::new(0.0)),
            existing: false,
            order: None,
            note: None,
            place: name.place,
            form,
        });
        id
    }

    pub(super) fn add_element(&mut self, part: PartId, kind: ElementKind) -> ElementId {
        let id = ElementId(self.model.elements.len());
        self.model.elements.push(Element { part, kind });
        self.model.parts[part.0].elements.push(id);
        id
    }

    /// The pin of a supply or a feed of the vehicle: their built-in kinds have one.
    pub(super) fn first_pin(&self, part: PartId) -> PinId {
        self.model.part(part).pins[0]
    }
}

pub(super) fn grounds(resolver: &mut Resolver) {
    let form = resolver.form;
    resolver.note_broken(&form.grounds);
    for (name, ground) in form.grounds.iter() {
        if resolver.enough() {
            return;
        }
        let at = resolver.place(&ground.at);
        let use_name = ground.use_.clone().unwrap_or(Placed { value: Name::new("ring-m6"), place: name.place });
        let Some(kind) = resolver.kind(&use_name) else {
            resolver.broken.push(name.value.clone());
            continue;
        };
        if !resolver.take_name(name) {
            continue;
        }
        let part = resolver.add_part(name, PartKind::Ground, &use_name, kind);
        let pin = one_pin_part(resolver, part, &use_name);
        resolver.model.parts[part.0].at = at;
        if let Some(title) = &ground.title {
            resolver.model.parts[part.0].title = title.0.clone();
        }
        let resistance = ground.resistance.unwrap_or(GROUND_RESISTANCE);
        if let Some(pin) = pin {
            resolver.add_element(part, ElementKind::GroundPoint { pin, resistance });
        }
    }
}

pub(super) fn splices(resolver: &mut Resolver) {
    let form = resolver.form;
    resolver.note_broken(&form.splices);
    for (name, splice) in form.splices.iter() {
        if resolver.enough() {
            return;
        }
        let at = resolver.place(&splice.at);
        let use_name = splice.use_.clone().unwrap_or(Placed { value: Name::new("splice-crimp"), place: name.place });
        let Some(kind) = resolver.kind(&use_name) else {
            resolver.broken.push(name.value.clone());
            continue;
        };
        if !resolver.take_name(name) {
            continue;
        }
        let part = resolver.add_part(name, PartKind::Splice, &use_name, kind);
        one_pin_part(resolver, part, &use_name);
        resolver.model.parts[part.0].at = at;
        resolver.model.parts[part.0].note = splice.note.as_ref().map(|n| n.0.clone());
    }
}

/// The pin of a splice or a ground: wires name these bare, so their kind must have one pin. `None` if it has none, which is
/// reported.
fn one_pin_part(resolver: &mut Resolver, part: PartId, use_name: &Placed<Name>) -> Option<PinId> {
    if resolver.model.part(part).pins.len() != 1 && !resolver.model.part(part).form.incomplete {
        resolver.report(
            Problem::at(use_name.place, format!("`{}` must have exactly one pin", use_name.value))
                .hint("a splice or a ground needs a kind of part with `cavities: 1`"),
        );
    }
    resolver.model.part(part).pins.first().copied()
}

pub(super) fn device_entries(resolver: &mut Resolver) {
    let form = resolver.form;
    let sections: [(&Entries<PartEntry>, &[Family], &str); 4] = [
        (&form.cameras, &[Family::Camera], "cameras"),
        (&form.sources, &[Family::Player, Family::Recorder, Family::Camera], "sources"),
        (&form.accessories, &[], "accessories"),
        (&form.parts, &[], "parts"),
    ];
    for (entries, families, section) in sections {
        resolver.note_broken(entries);
        for (name, entry) in entries.iter() {
            if resolver.enough() {
                return;
            }
            let Some(kind) = resolver.kind(&entry.use_) else {
                resolver.broken.push(name.value.clone());
                continue;
            };
            if !families.is_empty() && !families.contains(&kind.family) {
                resolver.report(
                    Problem::at(entry.use_.place, format!("`{}` is not one of the {section}", entry.use_.value))
                        .label(format!("a part of family `{}`", kind.family))
                        .hint("put it under `parts`"),
                );
            }
            if matches!(kind.family, Family::Connector | Family::Splice | Family::Ground) {
                resolver.report(
                    Problem::at(entry.use_.place, format!("`{}` has a section of its own", entry.use_.value))
                        .hint("put it under `connectors`, `splices` or `grounds`"),
                );
            }
            if resolver.take_name(name) {
                device(resolver, name, entry, kind);
            }
        }
    }
}

/// Kinds of part that open one or another video path to the same pin.
pub(super) fn picture_switches(catalogue: &Catalogue) -> Vec<Name> {
    let chosen = |kind: &PartForm| {
        let is_video = |pin: &Name| kind.pins.get(pin).is_some_and(|pin| pin.domain == Domain::Video);
        let ends = kind.inside.iter().filter_map(|inside| match inside {
            Inside::Passes(path) if path.when.is_some() && is_video(&path.to.value) => Some(path.to.value.clone()),
            _ => None,
        });
        let mut ends: Vec<Name> = ends.collect();
        let all = ends.len();
        ends.sort();
        ends.dedup();
        ends.len() < all
    };
    let kinds = catalogue.names().filter_map(|name| {
        let name = Name::new(name);
        catalogue.get(&name).is_some_and(|kind| chosen(kind)).then_some(name)
    });
    kinds.collect()
}

fn device(resolver: &mut Resolver, name: &Placed<Name>, entry: &PartEntry, kind: Arc<PartForm>) {
    if let Some(rating) = &entry.rating
        && !kind.ratings.is_empty()
        && !kind.ratings.contains(&rating.value)
    {
        let ratings: Vec<String> = kind.ratings.iter().map(Amps::to_string).collect();
        resolver.report(
            Problem::at(rating.place, format!("`{}` isn't made with a rating of {}", entry.use_.value, rating.value))
                .hint(format!("its ratings: {}", ratings.join(", "))),
        );
    }
    if let Some(format) = &entry.format
        && !kind.formats.contains(&format.value)
    {
        let formats: Vec<&str> = kind.formats.iter().map(|f| f.word()).collect();
        resolver.report(
            Problem::at(format.place, format!("`{}` has no format `{}`", entry.use_.value, format.value))
                .hint(format!("its formats: {}", formats.join(", "))),
        );
    }
    let needs_rating = matches!(kind.family, Family::Fuse | Family::Breaker) && kind.rating.is_none();
    let is_open = needs_rating && entry.rating.is_none();
    let highest = kind.ratings.last().copied().filter(|_| is_open && !entry.existing.0);
    if is_open && highest.is_none() && !entry.incomplete && !kind.incomplete {
        let hint = if entry.existing.0 {
            "read it on the fuse, then write for example rating: 5 A"
        } else {
            "for example rating: 5 A"
        };
        resolver.report(Problem::at(name.place, format!("`{}` needs a `rating`", name.value)).hint(hint));
    }
    let at = entry.at.as_ref().and_then(|at| resolver.place(at));
    let id = resolver.add_part(name, PartKind::Device, &entry.use_.value, kind);
    let part = &mut resolver.model.parts[id.0];
    part.at = at;
    part.rating = entry.rating.as_ref().map(|r| r.value).or(part.rating).or(highest);
    part.rating_open = highest.map(|_| entry.use_.place);
    if let Some(title) = &entry.title {
        part.title = title.0.clone();
    }
    if let Some(format) = &entry.format {
        part.formats = vec![format.value];
    }
    if let Some(start_up) = entry.start_up {
        part.start_up = start_up;
    }
    part.existing = entry.existing.0;
    part.order = entry.order.as_ref().map(|o| o.0.clone());
    part.note = entry.note.as_ref().map(|n| n.0.clone());
}
