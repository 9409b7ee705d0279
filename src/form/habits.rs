//! Keys that are no slip of the pen, but a habit from elsewhere.

/// Keys that people write out of habit, with the one that this form has for it.
const HABITS: [(&str, &str); 11] = [
    ("part", "use"),
    ("type", "use"),
    ("type", "kind"),
    ("size", "gauge"),
    ("area", "gauge"),
    ("awg", "gauge"),
    ("mm2", "gauge"),
    ("color", "colour"),
    ("place", "at"),
    ("location", "at"),
    ("name", "title"),
];

/// The key of a form that a key written out of habit stands for.
pub(super) fn habit<'k>(key: &str, known: &[&'k str]) -> Option<&'k str> {
    let meant = HABITS.iter().filter(|(written, _)| *written == key).map(|(_, meant)| *meant);
    meant.filter_map(|meant| known.iter().find(|k| **k == meant).copied()).next()
}
