//! A part for 24 V in the place of its kind for 12 V, at every place of the demonstrations: a root names it, whether it works or
//! not. A kind that states its highest voltage is made for a range.

use super::*;

/// The demonstrations for 12 V that name kinds of the catalogue alone.
const DEMOS: [&str; 3] = ["first-harness", "orchard-sprayer-pickup", "wheelchair-van"];

/// A spec with one kind of part for 24 V, and the part's name; `None` for a line without a kind that has one.
fn replaced(text: &str, line: &str) -> Option<(String, String)> {
    let at = line.find("use: ")? + 5;
    let kind = line[at..].split([',', '}', ' ']).next().filter(|kind| kind.contains("-12v"))?;
    let name = line.trim_start().split(':').next()?;
    let other = line.replacen(kind, &kind.replace("-12v", "-24v"), 1);
    Some((name.to_string(), text.replacen(line, &other, 1)))
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_part_for_24_volts_is_named() {
    let (mut planted, mut missed) = (0, Vec::new());
    for demo in DEMOS {
        let path = format!("{}/../../harness-specs/{demo}.yaml", env!("CARGO_MANIFEST_DIR"));
        #[expect(clippy::disallowed_methods, reason = "a test may read a demonstration")]
        let text = std::fs::read_to_string(&path).unwrap();
        for (name, spec) in text.lines().filter_map(|line| replaced(&text, line)) {
            // Not every kind is made for both.
            let Ok(model) = sample::of_text(&path, &spec) else { continue };
            // A line in a list of one line names no part by itself.
            let Some(part) = model.part_named(&name).map(|part| model.part(part)) else { continue };
            if part.form.highest.is_some() {
                continue;
            }
            let report = check(&Solved::new(&model));
            planted += 1;
            let names = |finding: &&Finding| finding.about == name && finding.message.contains("24 V");
            if !report.roots().any(|root| names(&root)) {
                let words: Vec<&String> = report.roots().map(|root| &root.message).collect();
                missed.push(format!("{demo}: {name}, a {}: {words:?}", part.use_name));
            }
        }
    }
    assert!(missed.is_empty(), "{} of {planted}:\n{}", missed.len(), missed.join("\n"));
    assert!(planted > 4, "{planted}");
}
