//! The first wish, from a few answers: a commented text that its reader can change.

use catalogue::Catalogue;
use catalogue::part_form::Family;
use quantity::Volts;
use std::fmt::Write;

/// What a new wish is made of. Each text is as it was typed.
#[derive(Debug, Clone, Default)]
pub struct StartAnswers {
    /// Nominal voltage of the vehicle: `12` or `24`.
    pub volts: String,
    /// Kind of the screen.
    pub screen: String,
    /// Place of the screen and its distance from the fuse panel: `dash 1.2 m`.
    pub at: String,
    /// Further places, each with its distance from the screen: `tail 4.5 m`.
    pub places: Vec<String>,
    /// Triggers: `NAME KIND PLACE LIMIT`, without a limit for buttons.
    pub triggers: Vec<String>,
    /// Cameras: `NAME PLACE CONDITION`, the one that wins first.
    pub cameras: Vec<String>,
    /// Sources that the screen shows too: `NAME KIND PLACE CONDITION`, behind the cameras.
    pub sources: Vec<String>,
    /// Accessories: `NAME KIND PLACE CONDITION`, with `plays SOURCE` behind it for one that plays its sound; a loudspeaker
    /// needs no condition.
    pub accessories: Vec<String>,
    /// What the supply that the key switches may give: `10 A`.
    pub limit: String,
}

/// The kinds of trigger, what the wish says for each, and whether it has a limit.
const TRIGGERS: [(&str, &str, bool); 8] = [
    ("reverse-lamp", "kind: lamp-feed, lamps: 21 W, needs: key, means: reverse-gear", true),
    ("lamp", "kind: lamp-feed, lamps: 21 W, needs: key", true),
    ("turn-lamp", "kind: flasher-feed, lamps: 42 W", true),
    ("feed", "kind: switched-feed, needs: key", true),
    ("module-output", "kind: module-output, needs: key", true),
    ("ground-switch", "kind: ground-switch", true),
    ("button-held", "kind: push, acts: held", false),
    ("button-toggles", "kind: push, acts: toggles", false),
];

/// The wish as text.
///
/// # Errors
/// An answer that can't be used, and what to write.
pub fn wish_text(answers: &StartAnswers, catalogue: &Catalogue) -> Result<String, String> {
    let volts = match answers.volts.trim().trim_end_matches('V').trim() {
        "12" => 12.0,
        "24" => 24.0,
        other => return Err(format!("`{other}` is not a voltage of a vehicle: write 12 or 24")),
    };
    let screen = catalogue.get(answers.screen.trim()).filter(|kind| kind.family == Family::Screen);
    let screen = screen.ok_or_else(|| {
        format!("`{}` is no screen of the catalogue; `loomwright parts` lists them", answers.screen.trim())
    })?;
    let camera = catalogue.iter().find(|(_, kind)| {
        kind.family == Family::Camera
            && kind.nominal == Some(Volts::new(volts))
            && kind.formats.iter().any(|format| screen.formats.contains(format))
    });
    let camera = camera.map(|(name, _)| name).ok_or("no camera of the catalogue fits this screen and this voltage")?;
    let (dash, to_dash) = split(&answers.at, "PLACE DISTANCE, such as `dash 1.2 m`")?;
    let places: Vec<(&str, &str)> = answers
        .places
        .iter()
        .map(|place| split(place, "PLACE DISTANCE, such as `tail 4.5 m`"))
        .collect::<Result<_, _>>()?;
    let mut text = String::new();
    // OK because writing into a string does not fail.
    let accessory = answers.accessories.first().and_then(|answer| answer.split_whitespace().nth(2));
    _ = head(&mut text, volts, (dash, to_dash), (&places, accessory), answers.limit.trim());
    for trigger in &answers.triggers {
        text.push_str(&trigger_line(trigger)?);
    }
    if answers.cameras.is_empty() {
        return Err("a wish needs a camera: NAME PLACE CONDITION, such as `REAR tail reverse`".to_string());
    }
    text.push_str("# What the screen can show. `loomwright parts` lists other cameras.\ncameras:\n");
    let mut views = String::new();
    for answer in &answers.cameras {
        let form = "NAME PLACE CONDITION, such as `REAR tail reverse`";
        let (name, rest) = split(answer, form)?;
        let (place, condition) = split(rest, form)?;
        _ = writeln!(text, "  {name}: {{use: {camera}, at: {place}}}");
        _ = writeln!(views, "    - {{when: {condition}, show: {name}, within: 3 s}}");
    }
    if !answers.sources.is_empty() {
        text.push_str("sources:\n");
    }
    for answer in &answers.sources {
        let form = "NAME KIND PLACE CONDITION, such as `PLAYER media-player-12v dash film`";
        let (name, kind, place, condition) = four(answer, form)?;
        known(kind, catalogue)?;
        _ = writeln!(text, "  {name}: {{use: {kind}, at: {place}}}");
        _ = writeln!(views, "    - {{when: {condition}, show: {name}}}");
    }
    if !answers.accessories.is_empty() {
        text.push_str("# What else it feeds, and when.\naccessories:\n");
    }
    for answer in &answers.accessories {
        text.push_str(&accessory_line(answer, catalogue)?);
    }
    _ = writeln!(
        text,
        "parts:\n  HU1: {{use: {}, at: {dash}}}\nscreens:\n  screen: {{part: HU1}}",
        answers.screen.trim()
    );
    text.push_str("# What it should show. The first line that holds wins.\nviews:\n  screen:\n");
    text.push_str("    - {when: not key, show: black}\n");
    _ = writeln!(text, "{views}    - {{otherwise: home}}");
    Ok(text.trim_end().to_string() + "\n")
}

/// The four words of an answer; the last one goes to its end.
fn four<'t>(answer: &'t str, form: &str) -> Result<(&'t str, &'t str, &'t str, &'t str), String> {
    let (name, rest) = split(answer, form)?;
    let (kind, rest) = split(rest, form)?;
    let (place, condition) = split(rest, form)?;
    Ok((name, kind, place, condition))
}

fn known(kind: &str, catalogue: &Catalogue) -> Result<(), String> {
    match catalogue.get(kind) {
        Some(_) => Ok(()),
        None => Err(format!("no part of the catalogue is a `{kind}`; `loomwright parts` lists them")),
    }
}

fn accessory_line(answer: &str, catalogue: &Catalogue) -> Result<String, String> {
    let form = "NAME KIND PLACE CONDITION, such as `LIGHT led-worklight tail reverse`, or `AMP amplifier-2ch dash key plays PLAYER`";
    let (name, rest) = split(answer, form)?;
    let (kind, rest) = split(rest, form)?;
    known(kind, catalogue)?;
    let (before, plays) = match rest.split_once(" plays ") {
        Some((before, source)) => (before.trim(), format!(", plays: {}", source.trim())),
        None => (rest, String::new()),
    };
    // A loudspeaker works while it is played to.
    let (place, works) = match before.split_once(char::is_whitespace) {
        Some((place, condition)) => (place, format!(", works: {}", condition.trim())),
        None if plays.is_empty() => return Err(format!("`{answer}`: write {form}")),
        None => (before, String::new()),
    };
    Ok(format!("  {name}: {{use: {kind}, at: {place}{plays}{works}}}\n"))
}

fn split<'t>(text: &'t str, form: &str) -> Result<(&'t str, &'t str), String> {
    let parts = text.trim().split_once(char::is_whitespace).map(|(first, rest)| (first, rest.trim()));
    parts.ok_or_else(|| format!("`{}`: write {form}", text.trim()))
}

fn head(
    text: &mut String,
    volts: f64,
    (dash, to_dash): (&str, &str),
    (places, accessory): (&[(&str, &str)], Option<&str>),
    limit: &str,
) -> std::fmt::Result {
    let names: Vec<&str> = places.iter().map(|(name, _)| *name).collect();
    let range = if volts > 18.0 { "[23 V, 25.2 V, 28.8 V]" } else { "[11.8 V, 12.6 V, 14.6 V]" };
    writeln!(
        text,
        "# A wish: what the driver should see, and what the vehicle offers. `loomwright plan` adds the wiring."
    )?;
    writeln!(text, "harness: 1\njob: {{title: New wish, nominal: {volts} V}}")?;
    writeln!(text, "places: [{}]", [vec!["fuse-panel", dash], names].concat().join(", "))?;
    writeln!(text, "# Lengths along the way that the wires take.\nruns:")?;
    writeln!(text, "  - {{between: [fuse-panel, {dash}], length: {to_dash}}}")?;
    for (place, distance) in places {
        writeln!(text, "  - {{between: [{dash}, {place}], length: {distance}}}")?;
    }
    writeln!(text, "# The limit is what the vehicle's builder allows; its fuse is the vehicle's own.\nsupplies:")?;
    writeln!(text, "  battery:   {{terminal: \"30\", at: fuse-panel, volts: {range}}}")?;
    writeln!(text, "  accessory: {{terminal: \"75\", at: fuse-panel, follows: key, limit: {limit}, fuse: {limit}}}")?;
    writeln!(text, "# Clean points on the body. Measure them before the job.\ngrounds:\n  G1: {{at: {dash}}}")?;
    for (i, (place, _)) in places.iter().enumerate() {
        writeln!(text, "  G{}: {{at: {place}}}", i + 2)?;
    }
    if let Some(place) = accessory {
        writeln!(text, "  G{}: {{at: {place}}}   # for accessories, apart from pictures", places.len() + 2)?;
    }
    writeln!(text, "# What the driver and the vehicle move. Check each limit in the vehicle's papers.\ninputs:")?;
    writeln!(text, "  key: {{positions: [off, run]}}")
}

fn trigger_line(answer: &str) -> Result<String, String> {
    let kinds = || TRIGGERS.iter().map(|(kind, ..)| *kind).collect::<Vec<_>>().join(", ");
    let form = || format!("NAME KIND PLACE LIMIT, such as `reverse reverse-lamp tail 1 A`; the kinds are {}", kinds());
    let (name, rest) = split(answer, &form())?;
    let (word, rest) = split(rest, &form())?;
    let known = TRIGGERS.iter().find(|(kind, ..)| *kind == word);
    let (_, keys, limited) =
        known.ok_or_else(|| format!("`{word}` is no kind of trigger; the kinds are {}", kinds()))?;
    if !limited {
        return Ok(format!("  {name}: {{{keys}, at: {rest}}}\n"));
    }
    let (place, limit) = split(rest, &form())?;
    let fuse = if word == "ground-switch" { "" } else { ", fuse: 10 A" };
    Ok(format!("  {name}: {{{keys}, at: {place}, limit: {limit}{fuse}}}\n"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_that_cannot_be_used_say_what_to_write() {
        let catalogue = Catalogue::builtin().expect("the program's own parts");
        let good = StartAnswers {
            volts: "12".to_string(),
            screen: "screen-2in-12v".to_string(),
            at: "dash 1 m".to_string(),
            places: vec!["tail 4 m".to_string()],
            triggers: vec!["reverse reverse-lamp tail 1 A".to_string()],
            cameras: vec!["REAR tail reverse".to_string()],
            sources: vec!["PLAYER media-player-12v dash key".to_string()],
            accessories: vec!["AMP amplifier-2ch dash key plays PLAYER".to_string()],
            limit: "10 A".to_string(),
        };
        assert!(wish_text(&good, &catalogue).is_ok());
        let bad = |change: &dyn Fn(&mut StartAnswers)| {
            let mut answers = good.clone();
            change(&mut answers);
            wish_text(&answers, &catalogue).expect_err("it is wrong")
        };
        assert!(bad(&|a| a.volts = "13".to_string()).contains("12 or 24"));
        assert!(bad(&|a| a.screen = "relay".to_string()).contains("no screen"));
        assert!(bad(&|a| a.at = "dash".to_string()).contains("PLACE DISTANCE"));
        assert!(bad(&|a| a.triggers = vec!["reverse lamb tail 1 A".to_string()]).contains("reverse-lamp"));
        assert!(bad(&|a| a.triggers = vec!["reverse lamp tail".to_string()]).contains("LIMIT"));
        assert!(bad(&|a| a.cameras.clear()).contains("camera"));
        assert!(bad(&|a| a.sources = vec!["PLAYER dash key".to_string()]).contains("NAME KIND PLACE"));
        assert!(bad(&|a| a.accessories = vec!["AMP amplifire dash key".to_string()]).contains("amplifire"));
    }
}
