//! The catalogue held to published standards.

use super::{catalogue, coils, part};
use crate::part_form::{Domain, Family, Inside, LoadKind};
use form::values::Draw;
use quantity::Amps;

fn amps(list: &[f64]) -> Vec<Amps> {
    list.iter().copied().map(Amps::new).collect()
}

/// ISO 8820-3: type C (medium), F (miniature) and E (high current). The ratings of C and F and those of E up to 80 A as
/// public lists of blade fuses agree; E goes to 100 A because the scope of the standard does.
#[test]
fn blade_fuses_have_the_ratings_of_iso_8820_3() {
    let medium = [1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0];
    assert_eq!(part("fuse-blade").ratings, amps(&medium));
    assert_eq!(part("fuse-blade-mini").ratings, amps(&medium[1..11]));
    let high = [20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0];
    assert_eq!(part("fuse-blade-maxi").ratings, amps(&high));
}

/// ISO 8820-3 colours, as public lists of blade fuses agree.
#[test]
fn blade_fuses_have_their_colours() {
    let known =
        [("3 A", "violet"), ("5 A", "tan"), ("10 A", "red"), ("15 A", "blue"), ("20 A", "yellow"), ("30 A", "green")];
    for name in ["fuse-blade", "fuse-blade-mini"] {
        let fuse = part(name);
        for (rating, colour) in known {
            let at = fuse.ratings.iter().position(|r| r.to_string() == rating).unwrap();
            assert_eq!(fuse.colours[at].0, colour, "{name} {rating}");
        }
    }
    let maxi = part("fuse-blade-maxi");
    let colours: Vec<&str> = maxi.colours.iter().map(|c| c.0.as_str()).collect();
    assert_eq!(colours, ["yellow", "green", "orange", "red", "blue", "brown", "clear", "violet"]);
}

/// ISO 8820-3 opening times, from memory; the medium and miniature types share their windows.
#[test]
fn blade_fuses_open_in_the_windows_of_iso_8820_3() {
    let windows = |name: &str| -> Vec<(f64, Option<f64>, Option<f64>)> {
        let seconds = |s: Option<quantity::Seconds>| s.map(|s| s.value());
        part(name).opens.iter().map(|o| ((o.at.value() * 100.0).round(), seconds(o.least), seconds(o.most))).collect()
    };
    let medium = [
        (110.0, Some(360_000.0), None),
        (135.0, Some(0.75), Some(600.0)),
        (200.0, Some(0.15), Some(5.0)),
        (350.0, Some(0.04), Some(0.5)),
        (600.0, Some(0.02), Some(0.1)),
    ];
    assert_eq!(windows("fuse-blade"), medium);
    assert_eq!(windows("fuse-blade-mini"), medium);
}

#[test]
fn opening_times_fall_as_current_grows() {
    for (name, part) in catalogue().iter().filter(|(_, p)| matches!(p.family, Family::Fuse | Family::Breaker)) {
        assert!(part.opens.len() >= 3, "{name}");
        for pair in part.opens.windows(2) {
            assert!(pair[0].at < pair[1].at, "{name}");
            assert!(pair[1].most.is_some(), "{name}");
            assert!(pair[0].most.is_none_or(|most| most > pair[1].most.unwrap()), "{name}");
        }
        assert!(part.opens.iter().all(|o| o.least.is_none() || o.most.is_none_or(|most| most > o.least.unwrap())));
    }
}

/// DIN 72552: 30, 85, 86, 87, 87a; as listed in public encyclopaedias.
#[test]
fn relays_have_the_terminals_of_din_72552() {
    for (name, part) in catalogue().iter().filter(|(_, p)| p.family == Family::Relay) {
        for coil in coils(part) {
            assert!(coil.feed.value.starts_with("86") && coil.ground.value.as_str() == "85", "{name}");
        }
        for contact in super::contacts(part) {
            assert!(contact.common.value.starts_with("30"), "{name}");
            assert!(contact.made.as_ref().unwrap().value.starts_with("87"), "{name}");
            assert!(contact.rest.as_ref().is_none_or(|rest| rest.value.starts_with("87a")), "{name}");
        }
        for pin in part.pins.names() {
            assert!(["30", "85", "86", "87"].contains(&&pin.value[..2]), "{name} has a pin {}", pin.value);
        }
    }
}

fn allocation(name: &str) -> Vec<String> {
    let part = part(name);
    part.pins.iter().map(|(pin, form)| format!("{} {}", pin.value, form.title.as_ref().unwrap())).collect()
}

/// ISO 1724, as two public listings agree.
#[test]
fn the_seven_pin_trailer_socket_is_allotted_as_in_iso_1724() {
    let wanted = [
        "1 L, left turn",
        "2 54g, rear fog lamp",
        "3 31, ground",
        "4 R, right turn",
        "5 58R, right tail",
        "6 54, stop",
        "7 58L, left tail",
    ];
    assert_eq!(allocation("trailer-socket-7"), wanted);
    assert_eq!(allocation("trailer-plug-7"), wanted);
}

/// ISO 12098, as a trailer-lighting maker lists it; ISO 11446, as two public listings agree.
#[test]
fn the_larger_trailer_sockets_are_allotted_as_in_their_standards() {
    let words = |name: &str, pins: &[(usize, &str)]| {
        let all = allocation(name);
        for (pin, word) in pins {
            assert!(
                all[pin - 1].starts_with(&format!("{pin} ")) && all[pin - 1].contains(word),
                "{name}: {}",
                all[pin - 1]
            );
        }
        all.len()
    };
    let fifteen = [
        (1, "left turn"),
        (2, "right turn"),
        (3, "fog"),
        (4, "ground"),
        (5, "left tail"),
        (6, "right tail"),
        (7, "stop"),
        (8, "reversing"),
        (9, "permanent supply"),
        (10, "lining"),
        (11, "spring brake"),
        (12, "axle lift"),
        (13, "ground of data"),
        (14, "CAN high"),
        (15, "CAN low"),
    ];
    assert_eq!(words("trailer-socket-15", &fifteen), 15);
    let thirteen = [
        (1, "left turn"),
        (2, "fog"),
        (3, "ground"),
        (4, "right turn"),
        (5, "right tail"),
        (6, "stop"),
        (7, "left tail"),
        (8, "reversing"),
        (9, "permanent"),
        (10, "switched"),
        (11, "ground"),
        (13, "ground"),
    ];
    assert_eq!(words("trailer-socket-13", &thirteen), 13);
    for name in ["trailer-socket-13", "trailer-socket-15"] {
        let grounds = part(name).pins.iter().filter(|(_, pin)| pin.domain == Domain::Ground).count();
        assert_eq!(grounds, if name.ends_with("13") { 3 } else { 2 });
    }
}

/// ISO 3732, as three public listings agree on 1, 3, 4, 6 and 7; ISO 1185 and ISO 3731 from memory: the pins with their
/// meaning, and the grounds.
#[test]
fn supplementary_and_24_v_sockets_are_allotted_as_in_their_standards() {
    let meanings = |name: &str| -> Vec<String> {
        let part = part(name);
        let of = |(pin, form): (&form::Placed<form::Name>, &crate::part_form::PinForm)| {
            let means = form.means.map(|means| means.to_string());
            let ground = (form.domain == Domain::Ground).then(|| "ground".to_string());
            Some(format!("{} {}", pin.value, means.or(ground)?))
        };
        part.pins.iter().filter_map(of).collect()
    };
    let normal = ["1 ground", "2 tail-lamps", "3 left-turn", "4 brake", "5 right-turn", "6 tail-lamps"];
    for half in ["socket", "plug"] {
        assert_eq!(meanings(&format!("trailer-{half}-7s")), ["1 reverse-gear", "3 ground", "7 ground"]);
        assert_eq!(meanings(&format!("trailer-{half}-7n-24v")), normal);
        assert_eq!(meanings(&format!("trailer-{half}-7s-24v")), ["1 ground", "3 reverse-gear", "7 rear-fog"]);
    }
    // The normal socket of 24 V has the lamps of the one of 12 V, on other pins.
    let lamps = |name: &str| {
        let mut all: Vec<String> = meanings(name).iter().map(|pin| pin[2..].to_string()).collect();
        all.sort();
        all
    };
    let mut seven = lamps("trailer-socket-7");
    seven.retain(|means| means != "rear-fog");
    assert_eq!(lamps("trailer-socket-7n-24v"), seven);
}

/// ISO 10487: A4 permanent and A7 switched supply, A5 antenna, A6 illumination, A8 ground; B1 to B8 loudspeakers from right
/// rear to left rear, + before −. As two public listings agree.
#[test]
fn a_radio_has_the_contacts_of_iso_10487() {
    let all = allocation("radio-12v").join("; ");
    let wanted = "A1 speed signal; A4 30, permanent supply; A5 turn-on output; A6 illumination; A7 switched; \
        A8 31, ground; B1 right rear +; B2 right rear −; B3 right front +; B4 right front −; B5 left front +; \
        B6 left front −; B7 left rear +; B8 left rear −";
    assert_eq!(all, wanted);
    // Two public listings give 150 to 300 mA for the turn-on output.
    let radio = part("radio-12v");
    let limits = radio.inside.iter().filter_map(|i| if let Inside::Output(o) = i { o.limit } else { None });
    assert_eq!(limits.collect::<Vec<_>>(), amps(&[0.3]));
}

/// The scopes of ISO 8820, as public listings have them: part 4 up to 140 A, part 5 (strips) 30 to 500 A, part 6 (single
/// bolt) up to 300 A, part 10 (type L) up to 60 A, part 12 (type N) up to 30 A. The steps between are from memory.
#[test]
fn high_current_fuses_stay_within_the_scopes_of_iso_8820() {
    let ends = |name: &str| {
        let ratings = part(name).ratings;
        assert!(ratings.is_sorted_by(|a, b| a < b), "{name}");
        (ratings[0].value(), ratings[ratings.len() - 1].value())
    };
    assert_eq!((ends("fuse-strip-30").0, ends("fuse-strip-51").1), (30.0, 500.0));
    let scopes = [
        ("fuse-cartridge", 140.0),
        ("fuse-bolt-in", 140.0),
        ("fuse-single-bolt", 300.0),
        ("fuse-high-mini", 60.0),
        ("fuse-blade-sub", 30.0),
    ];
    for (name, most) in scopes {
        assert!(ends(name).1 <= most, "{name}");
    }
    // A terminal carries at least the highest rating of its fuse.
    for (name, part) in catalogue().iter().filter(|(name, _)| name.starts_with("fuse-")) {
        let most = part.ratings.last().unwrap();
        assert!(part.terminal.as_ref().unwrap().current.unwrap() >= *most, "{name}");
    }
}

/// UN R37 categories P21W and W5W, from memory: 21 W and 5 W; an incandescent lamp draws ten times that when cold, common practice.
#[test]
fn lamps_draw_what_their_category_says() {
    for (name, watts) in [("lamp-21w", 21.0), ("lamp-5w", 5.0), ("lamp-21w-24v", 21.0), ("lamp-5w-24v", 5.0)] {
        let lamp = part(name);
        let Inside::Load(load) = &lamp.inside[0] else { panic!("{name}") };
        let Draw::Power(power) = load.draws else { panic!("{name}") };
        assert_eq!((power.value(), load.kind), (watts, LoadKind::Lamp));
        let steady = power / lamp.nominal.unwrap();
        assert!((9.0..=11.0).contains(&(load.inrush.unwrap() / steady)), "{name}");
    }
}
