//! The specimen sheet from outside: what is written reads back clean, and the same bytes every time.

use loomwright::draw::symbols::specimen;
use loomwright::draw::{audit, pdf, png, svg};

#[test]
fn the_specimen_sheet_is_clean() {
    let found = audit::audit(&svg::write(&specimen::sheet())).unwrap();
    assert!(found.clean() && found.texts > 70, "{found}");
}

#[test]
fn writers_give_the_same_bytes_every_time() {
    let scene = specimen::sheet();
    assert_eq!(svg::write(&scene), svg::write(&scene));
    assert_eq!(png::write(&scene, 2.0).unwrap(), png::write(&scene, 2.0).unwrap());
    let pages = [scene.clone(), scene];
    assert_eq!(pdf::write("Specimen", &pages), pdf::write("Specimen", &pages));
}
