//! Every part of the catalogue, held to its form, and to published figures; `tests/part_circuits.rs` solves the circuit that each becomes.

mod published;
mod sourced;

use super::part_form::{Acts, CoilForm, ContactForm, Family, Inside, PartForm, PartSymbol};
use super::{Catalogue, FILES, pin_names};
use diagnostic::{Style, problems};
use std::collections::BTreeSet;
use std::sync::OnceLock;

/// Read once for all tests.
fn catalogue() -> &'static Catalogue {
    static READ: OnceLock<Catalogue> = OnceLock::new();
    READ.get_or_init(|| {
        Catalogue::builtin().unwrap_or_else(|(sources, found)| panic!("{}", problems(&sources, &found, Style::PLAIN)))
    })
}

fn part(name: &str) -> PartForm {
    catalogue().get(name).unwrap_or_else(|| panic!("no part `{name}`")).as_ref().clone()
}

fn coils(part: &PartForm) -> Vec<&CoilForm> {
    part.inside.iter().filter_map(|i| if let Inside::Coil(c) = i { Some(c) } else { None }).collect()
}

fn contacts(part: &PartForm) -> Vec<&ContactForm> {
    part.inside.iter().filter_map(|i| if let Inside::Contact(c) = i { Some(c) } else { None }).collect()
}

#[test]
fn there_are_enough_parts_and_no_name_twice() {
    let catalogue = catalogue();
    let written: usize = FILES.iter().map(|(_, text)| text.lines().filter(|l| is_entry(l)).count()).sum();
    assert_eq!(catalogue.names().count(), written, "a part took the place of another");
    assert!(written >= 170, "{written}");
}

/// A part's own line: two blanks, a name, a colon.
fn is_entry(line: &str) -> bool {
    line.strip_prefix("  ").is_some_and(|rest| !rest.starts_with([' ', '#']) && rest.ends_with(':'))
}

/// Where parts of a family look different, no symbol is left to chance.
#[test]
fn every_kind_of_part_has_one_symbol() {
    let mut seen = BTreeSet::new();
    for (name, part) in catalogue().iter() {
        assert_eq!(part.names_symbol(), part.symbol.is_some(), "{name}: `symbol`");
        seen.insert(part.drawn_as());
    }
    for (word, symbol) in PartSymbol::ALL {
        assert!(seen.contains(symbol), "no part is drawn as {word}");
    }
}

#[test]
fn every_kind_of_thing_is_there() {
    let catalogue = catalogue();
    let families: BTreeSet<Family> = catalogue.iter().map(|(_, part)| part.family).collect();
    for (word, family) in Family::ALL {
        assert!(families.contains(family), "no part of family {word}");
    }
    let wanted = "relay-mini-spst-12v relay-mini-spdt-24v relay-mini-spdt-12v-diode relay-mini-spdt-12v-resistor \
        relay-dpdt-12v relay-latching-12v relay-latching-toggle-12v solid-state-relay-12v output-low-500ma diode-3a \
        fuse-blade breaker-auto toggle-dpdt push-spst camera-cvbs-12v camera-hd1080-12v screen-2in-12v screen-3in-12v \
        screen-4in selector-4in-24v hold-module-12v delay-module-12v latch-module-12v converter-24-12-10a amplifier-2ch \
        media-player-12v led-worklight dash-cam-12v connector-1 connector-24 connector-12-sealed splice-crimp ring-m8 \
        trailer-socket-7 trailer-socket-15 push-latching outlet-5v-12v amplifier-1ch amplifier-4ch amplifier-5ch radio-12v \
        level-knob speaker-plug speaker-box crossover-2way level-converter-2ch distribution-block-4 bus-bar-6 fuse-strip-30 \
        fuse-strip-51 splice-sleeve-50 ring-m10-120 ground-stud-m10 isolator-switch isolator-diode-2 isolator-voltage-12v \
        charger-12-12-40a power-socket-12v power-socket-small-24v wiper-motor-12v led-bar-120w horn-12v pressure-switch-no \
        proximity-pnp proximity-npn trailer-socket-7s trailer-socket-7n-24v trailer-socket-7s-24v";
    for name in wanted.split_whitespace() {
        assert!(catalogue.get(name).is_some(), "{name}");
    }
}

#[test]
fn families_stand_together() {
    let mut seen: Vec<Family> = Vec::new();
    for (name, part) in catalogue().iter() {
        if seen.last() != Some(&part.family) {
            assert!(!seen.contains(&part.family), "{name} stands apart from its family, {}", part.family);
            seen.push(part.family);
        }
    }
}

/// Small letters, digits and single dashes; a part for one system voltage says so.
#[test]
fn names_follow_the_convention() {
    for (name, part) in catalogue().iter() {
        let fits = name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-');
        assert!(fits && !name.contains("--") && !name.starts_with('-') && !name.ends_with('-'), "{name}");
        let volts = part.nominal.map(|v| format!("{}v", v.value()));
        let said = name.split('-').find(|word| *word == "12v" || *word == "24v");
        assert!(said.is_none() || said == volts.as_deref(), "{name} is made for {volts:?}");
        if matches!(part.family, Family::Relay) {
            assert!(name.starts_with("relay-") && said.is_some(), "{name}");
        }
    }
}

#[test]
fn every_part_is_whole() {
    for (name, part) in catalogue().iter() {
        let pins = pin_names(part);
        assert!(!pins.is_empty(), "{name} has no pin");
        assert_eq!(part.body.len(), 2, "{name}: sides of its body");
        assert!(part.terminal.is_some(), "{name}: how a wire is put on");
        assert_eq!(
            part.rows.iter().sum::<u16>(),
            if part.rows.is_empty() { 0 } else { part.cavities.unwrap() },
            "{name}"
        );
        assert_eq!(part.colours.len(), if part.colours.is_empty() { 0 } else { part.ratings.len() }, "{name}");
        let shown: Vec<_> = part.shows.iter().map(|show| &show.input.value).collect();
        assert!(shown.iter().all(|pin| pins.contains(pin)), "{name}");
        match part.family {
            Family::Connector | Family::Splice | Family::Ground => assert!(part.inside.is_empty(), "{name}"),
            Family::Camera => assert!(!part.formats.is_empty() && part.start_up.is_some(), "{name}"),
            Family::Screen => {
                assert!(!part.shows.is_empty() && part.otherwise.is_some() && part.on_loss.is_some(), "{name}");
                assert!(!part.formats.is_empty() && part.switch_over.is_some(), "{name}");
            }
            Family::TrailerSocket => {}
            _ => assert!(!part.inside.is_empty(), "{name} has nothing inside"),
        }
        if part.family == Family::Splice {
            assert!(part.holds.is_some() && part.cavities == Some(1), "{name}");
        }
    }
}

/// A sealed terminal needs a wire seal and a plug for an empty cavity; an unsealed one has neither.
#[test]
fn sealed_connectors_have_seals() {
    for (name, part) in catalogue().iter().filter(|(_, part)| part.family == Family::Connector) {
        let terminal = part.terminal.as_ref().unwrap();
        let sealed = name.ends_with("-sealed");
        assert_eq!(terminal.sealed.0, sealed, "{name}");
        assert_eq!((terminal.seal.is_some(), terminal.plug.is_some()), (sealed, sealed), "{name}");
        assert!(terminal.current.is_some() && terminal.resistance.is_some(), "{name}");
    }
}

#[test]
fn relays_carry_every_figure() {
    for (name, part) in catalogue().iter().filter(|(_, part)| part.family == Family::Relay) {
        let nominal = part.nominal.unwrap();
        let (coils, contacts) = (coils(part), contacts(part));
        assert!(!coils.is_empty() && !contacts.is_empty(), "{name}");
        for coil in coils {
            // Common practice, no source: a relay pulls in at 55 to 75 % of its voltage and drops out at 5 to 20 %.
            assert!((0.55..=0.75).contains(&(coil.pull_in / nominal)), "{name} pulls in at {}", coil.pull_in);
            assert!((0.05..=0.2).contains(&(coil.drop_out / nominal)), "{name} drops out at {}", coil.drop_out);
            let watts = nominal * (nominal / coil.resistance);
            assert!((0.5..=3.5).contains(&watts.value()), "{name}: a coil of {watts}");
            assert!(coil.operate.is_some() && coil.release.is_some(), "{name}");
            assert_eq!(coil.across.is_some(), name.ends_with("-diode") || name.ends_with("-resistor"), "{name}");
            let latching = coil.acts.is_some_and(|acts| acts != Acts::Holds);
            assert_eq!(latching, name.contains("latching"), "{name}");
        }
        for contact in contacts {
            let rating = contact.rating.as_ref().unwrap();
            let (lamp, inductive, inrush) = (rating.lamp.unwrap(), rating.inductive.unwrap(), rating.inrush.unwrap());
            assert!(lamp < rating.resistive && inductive < rating.resistive && inrush > rating.resistive, "{name}");
            assert_eq!(contact.rest.is_some(), rating.rest.is_some() && rating.rest_inrush.is_some(), "{name}");
            assert!(rating.rest.is_none_or(|rest| rest <= rating.resistive), "{name}");
            assert!(contact.resistance.is_some(), "{name}");
            assert!(contact.mechanical_life > contact.electrical_life && contact.electrical_life.is_some(), "{name}");
        }
    }
}

/// A title that says `10 to 32 V` promises what the data say.
#[test]
fn a_range_of_voltages_in_a_title_is_in_the_data() {
    let mut found = 0;
    for (name, form) in catalogue().iter() {
        let Some((before, after)) = form.title.0.split_once(" to ") else { continue };
        let number = |text: Option<&str>| text.and_then(|text| text.parse::<f64>().ok());
        let low = number(before.rsplit(' ').next());
        let mut words = after.split([' ', ',']);
        let (high, unit) = (number(words.next()), words.next());
        if let (Some(_), Some(high), Some("V")) = (low, high, unit) {
            assert_eq!(form.highest.map(quantity::Volts::value), Some(high), "{name}: {}", form.title.0);
            found += 1;
        }
    }
    assert!(found >= 6, "{found}");
}
