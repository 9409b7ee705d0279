//! The build book on a screen: what its script does, in a browser.

mod jobs;
mod judges;

use jobs::demo;
use judges::{CHROMIUM, available};
use serde_json::Value;
use std::path::Path;
use std::process::Command;

/// The book of a demonstration job.
fn book_of(name: &str) -> String {
    let job = demo(name);
    let documents = job.documents(None).expect("the documents of a demonstration job");
    let book = documents.into_iter().find(|document| document.name == "build-book.html").expect("a book");
    String::from_utf8(book.bytes).unwrap()
}

/// What `steps` hands to `out` when they run in the page, one value each. The browser keeps what the page stores in
/// `profile`.
fn run(page: &str, profile: &Path, steps: &str) -> Vec<Value> {
    let driver = format!(
        "<pre id=\"driven\"></pre><script>//<![CDATA[\n\
         (async () => {{ const all = []; const out = value => all.push(value);\n\
         try {{ {steps} }} catch (e) {{ out('thrown: ' + e.stack); }}\n\
         document.getElementById('driven').textContent = btoa(unescape(encodeURIComponent(JSON.stringify(all)))); }})();\n\
         //]]></script></body>"
    );
    let file = profile.join("book.html");
    std::fs::write(&file, page.replacen("</body>", &driver, 1)).unwrap();
    let output = Command::new("chromium")
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--virtual-time-budget=4000", "--dump-dom"])
        .arg(format!("--user-data-dir={}", profile.join("profile").display()))
        .arg(format!("file://{}", file.display()))
        .output()
        .unwrap();
    let page = String::from_utf8_lossy(&output.stdout).into_owned();
    let (_, rest) = page.rsplit_once("<pre id=\"driven\">").expect("the page is loaded");
    let (coded, _) = rest.split_once("</pre>").expect("the page is whole");
    let decoded = base64::Engine::decode(&base64::engine::general_purpose::STANDARD, coded).expect("steps that end");
    serde_json::from_slice(&decoded).unwrap()
}

#[test]
fn ticks_and_readings_survive_and_travel_in_a_record() {
    if !available(&[CHROMIUM]) {
        return;
    }
    let page = book_of("wheelchair-van");
    let (here, there) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let set = "const boxes = [...document.querySelectorAll('main input[type=checkbox]')];\n\
               boxes.forEach((box, i) => { if (i % 3 == 0) box.click(); });\n\
               const fields = [...document.querySelectorAll('.reading')];\n\
               fields.forEach((field, i) => { field.value = `${i}, \"Ω\"`; });\n\
               fields[0].dispatchEvent(new Event('change', { bubbles: true }));\n\
               out(boxes.length); out(fields.length); out(record.text());";
    let state = "out([...document.querySelectorAll('main input[type=checkbox]')].map(box => box.checked));\n\
                 out([...document.querySelectorAll('.reading')].map(field => field.value));\n\
                 out(document.getElementById('progress').textContent);";
    let written = run(&page, here.path(), set);
    let [boxes, fields] = [0, 1].map(|i| written[i].as_u64().unwrap() as usize);
    assert!(boxes > 300 && fields > 300, "{boxes} boxes, {fields} readings");
    let right = |seen: &[Value]| {
        let ticks = seen[0].as_array().unwrap();
        assert!(ticks.len() == boxes && ticks.iter().enumerate().all(|(i, tick)| *tick == (i % 3 == 0)));
        let readings = seen[1].as_array().unwrap();
        assert_eq!(readings.len(), fields);
        for (i, reading) in readings.iter().enumerate() {
            assert_eq!(reading.as_str().unwrap(), format!("{i}, \"Ω\""));
        }
        assert_eq!(seen[2], format!("{} of {boxes} done", boxes.div_ceil(3)));
    };
    right(&run(&page, here.path(), state));
    let record = written[2].as_str().unwrap();
    assert_eq!(run(&page, there.path(), state)[2], format!("0 of {boxes} done"), "another device begins empty");
    let read = format!("record.read({}); {state}", serde_json::to_string(record).unwrap());
    right(&run(&page, there.path(), &read));
}

/// axe-core (MPL-2.0), unchanged: its rules hold the page to WCAG 2 A and AA and to common practice. Contrast is measured in
/// `contrast.rs`.
#[test]
fn the_page_breaks_no_rule_of_accessibility() {
    if !available(&[CHROMIUM]) {
        return;
    }
    let axe = include_str!("judges/axe.min.js");
    let page = book_of("first-harness");
    let steps = "const rules = { 'color-contrast': { enabled: false } };\n\
                 const found = await axe.run(document, { rules, resultTypes: ['violations'] });\n\
                 out(found.passes.length);\n\
                 found.violations.forEach(one => out([one.id, one.help, one.nodes[0].html.slice(0, 200)]));";
    let with = |page: &str| page.replace("</body>", &format!("<script>//<![CDATA[\n{axe}\n//]]></script></body>"));
    let judged = |page: &str| run(&with(page), tempfile::tempdir().unwrap().path(), steps);
    let seen = judged(&page);
    assert!(seen[0].as_u64().unwrap() > 30 && seen.len() == 1, "{seen:#?}");
    // It sees what breaks a rule.
    let broken = page.replacen("<html lang=\"en\">", "<html>", 1);
    assert!(judged(&broken)[1..].iter().any(|one| one[0] == "html-has-lang"));
}

#[test]
fn a_record_of_another_book_and_a_broken_one_change_nothing() {
    if !available(&[CHROMIUM]) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let other = run(&book_of("orchard-sprayer-pickup"), folder.path(), "out(record.text());");
    let other = other[0].as_str().unwrap();
    let bad = [other, &other[..other.len() / 2], "{}", "null", "[1]", "{\"form\":\"loomwright record 1\"}"];
    let steps = format!(
        "document.querySelector('main input[type=checkbox]').click();\n\
         for (const text of {}) {{ record.read(text); out(document.getElementById('note').textContent); }}\n\
         out(document.getElementById('progress').textContent.startsWith('1 of'));",
        serde_json::to_string(&bad).unwrap()
    );
    let said = run(&book_of("first-harness"), folder.path(), &steps);
    assert_eq!(said.len(), bad.len() + 1);
    assert!(said[0].as_str().unwrap().contains("another book or revision: Orchard sprayer"), "{}", said[0]);
    for line in &said[..bad.len()] {
        assert!(line.as_str().unwrap().ends_with("Nothing has changed."), "{line}");
    }
    assert_eq!(said[bad.len()], true);
}

/// Every wire and part is found by its name, and picking it marks each place that shows it: a line of a list and, for a
/// wire, a line of a drawing.
#[test]
fn every_wire_and_part_is_found_and_marked_everywhere() {
    if !available(&[CHROMIUM]) {
        return;
    }
    for name in ["first-harness", "refuse-truck"] {
        let job = demo(name);
        let wires: Vec<&str> = job.model().unwrap().wires.iter().map(|wire| wire.id.as_str()).collect();
        let steps = format!(
            "const all = names.index();\n\
             for (const wire of {}) {{\n\
               const known = all.filter(one => one.kind === 'wire' && one.name === wire).length;\n\
               picks.pick('wire', wire, '');\n\
               const [rows, lines] = ['tr.picked', 'svg .picked'].map(q => document.querySelectorAll(q).length);\n\
               const missed = document.querySelectorAll(`main [data-wire=\"${{wire}}\"]:not(.picked)`).length;\n\
               if (known !== 1 || rows < 2 || lines < 2 || missed) out([wire, known, rows, lines, missed]);\n\
             }}\n\
             document.querySelectorAll('svg [data-part]').forEach(shown => {{\n\
               const part = shown.dataset.part;\n\
               if (!all.some(one => one.name === part)) out('part ' + part);\n\
             }});\n\
             const line = document.querySelector('#connection-diagram svg [data-wire] path');\n\
             line.dispatchEvent(new MouseEvent('click', {{ bubbles: true }}));\n\
             out([document.querySelector('#picked b').textContent, 'wire ' + line.closest('[data-wire]').dataset.wire]);\n\
             picks.clear(); out(document.querySelectorAll('.picked').length);",
            serde_json::to_string(&wires).unwrap()
        );
        let folder = tempfile::tempdir().unwrap();
        let said = run(&book_of(name), folder.path(), &steps);
        let [faults @ .., tapped, left] = said.as_slice() else { panic!("{said:?}") };
        assert!(faults.is_empty(), "{name}: {faults:?}");
        assert_eq!(tapped[0], tapped[1]);
        assert_eq!(*left, 0);
    }
}

/// The browser sets the drawings' text as wide as the program lays it out, but for its rounding to parts of a dot.
#[test]
fn letters_are_as_wide_as_the_program_says() {
    if !available(&[CHROMIUM]) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let steps = "await document.fonts.ready;\n\
                 for (const text of document.querySelectorAll('svg text')) {\n\
                   const {fontSize, fontWeight} = getComputedStyle(text);\n\
                   out([text.textContent, parseFloat(fontSize), Number(fontWeight) >= 600,\n\
                     text.getComputedTextLength()]);\n\
                 }";
    let all = run(&book_of("refuse-truck"), folder.path(), steps);
    assert!(all.len() > 1000);
    for one in &all {
        let (text, size, bold) = (one[0].as_str().unwrap(), one[1].as_f64().unwrap(), one[2].as_bool().unwrap());
        let (wanted, set) = (kit::font::width(text, size, bold), one[3].as_f64().unwrap());
        assert!((wanted - set).abs() < 0.02 * wanted + 0.02, "`{text}` at {size}: {set}, laid out as {wanted}");
    }
}

/// What the tech types into the book comes back to `bench`, by either file that the book saves.
#[test]
fn the_saved_results_are_judged() {
    if !available(&[CHROMIUM]) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let steps = "document.querySelectorAll('tr[data-step] .reading').forEach((field, i) => { field.value = i ? 'ok' : 'OL'; });\n\
                 out(record.results()); out(record.text());";
    let saved = run(&book_of("wheelchair-van"), folder.path(), steps);
    for (text, name) in saved.iter().zip(["results.csv", "record.json"]) {
        let file = folder.path().join(name);
        std::fs::write(&file, text.as_str().unwrap()).unwrap();
        let mut command = assert_cmd::cargo::cargo_bin_cmd!("loomwright");
        let spec = jobs::root().join("harness-specs/wheelchair-van.yaml");
        let output = command.arg("bench").arg(spec).arg(&file).output().unwrap();
        let said = String::from_utf8(output.stdout).unwrap();
        assert!(
            said.starts_with("one of these alone explains every result:\n") && said.contains("\nfailed 1.1 "),
            "{name}: {said}{}",
            String::from_utf8_lossy(&output.stderr)
        );
        assert!(said.contains(" passed, 1 failed, 0 missing\n"), "{name}: {said}");
    }
}

/// In every printed state, each drawing shows each wire as the solved circuit has it.
#[test]
fn a_chosen_state_is_shown_in_every_drawing() {
    if !available(&[CHROMIUM]) {
        return;
    }
    let name = "wheelchair-van";
    let folder = tempfile::tempdir().unwrap();
    let steps = "const chooser = document.getElementById('state');\n\
                 for (const option of [...chooser.options].slice(1)) {\n\
                   chooser.value = option.value; chooser.dispatchEvent(new Event('change'));\n\
                   const shown = {};\n\
                   document.querySelectorAll('#connection-diagram [data-wire], #current-path-diagram [data-wire]')\n\
                     .forEach(line => { (shown[line.dataset.wire] ||= new Set()).add(line.dataset.live); });\n\
                   out([option.textContent, Object.entries(shown).map(([wire, kinds]) => [wire, ...kinds])]);\n\
                 }\n\
                 chooser.value = '-1'; chooser.dispatchEvent(new Event('change'));\n\
                 out(document.querySelectorAll('[data-live]').length);";
    let mut said = run(&book_of(name), folder.path(), steps);
    assert_eq!(said.pop().unwrap(), 0, "as drawn again");
    let job = demo(name);
    let model = job.model().unwrap();
    assert!(said.len() > 20, "{} states", said.len());
    for line in &said {
        let state = line[0].as_str().unwrap().trim_end_matches(" (for a time)");
        let live = job.live(state).unwrap();
        for shown in line[1].as_array().unwrap() {
            let wire =
                model.wire_ids().find(|id| model.wire(*id).id.to_string() == shown[0].as_str().unwrap()).unwrap();
            let wanted = (live.liveness(wire) as u8).to_string();
            assert_eq!(shown.as_array().unwrap()[1..], [Value::from(wanted)], "{state}: wire {}", shown[0]);
        }
    }
}
