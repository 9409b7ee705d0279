//! Writes a scene as SVG 1.1.
//!
//! In a file of its own, letters are outlines (`<path>` in `<defs>`, set by `<use>`), so that a browser, paper and a
//! telephone show the same; each text carries its words in `aria-label`, each label group in `data-text`. No scripts, no
//! style sheets, and nothing refers outside the file. Inside a page that embeds the font, letters are text: it can be
//! searched, and the page holds each glyph once. There, styles are classes of the page's style sheet, and paths have
//! relative coordinates: both take half of the bytes.

use super::font;
use super::number::{mm, push_mm};
use super::page_styles::PageStyles;
use super::relative::relative_steps;
use super::scene::*;
use super::xml::{Xml, XmlElement};
use quantity::decimal::{fixed, push_fixed};
use std::collections::BTreeMap;
use std::sync::{LazyLock, OnceLock};

/// Letters are written in thousandths of the font size.
const EM: f64 = 1000.0;
/// Width of a halo on each side of a letter's line, as a share of the font size.
pub(super) const HALO: f64 = 0.12;

/// The scene as an SVG file.
pub fn write(scene: &Scene) -> String {
    let glyphs = Glyphs::of(scene);
    document(scene, "", &mut Lettering::Outlined(glyphs))
}

/// The scene as part of an HTML page that embeds the font (see [`super::font::css`]) and has the rules of `styles`.
/// `prefix` stands before every `id`, so that several drawings can share the page.
pub fn write_in_page(scene: &Scene, prefix: &str, styles: &mut PageStyles) -> String {
    let ids: String = prefix.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
    document(scene, &ids, &mut Lettering::Embedded(styles))
}

/// How letters and styles are written.
enum Lettering<'s> {
    /// Letters as outlines, which the file defines; styles at each element.
    Outlined(Glyphs),
    /// Letters as text in the font that the page embeds; styles as classes of the page.
    Embedded(&'s mut PageStyles),
}

fn document(scene: &Scene, ids: &str, lettering: &mut Lettering) -> String {
    let mut xml = Xml::default();
    let (width, height) = (mm(scene.size.width), mm(scene.size.height));
    let inherited = matches!(lettering, Lettering::Embedded(_));
    xml.element("svg")
        .attr("xmlns", "http://www.w3.org/2000/svg")
        .attr("width", format!("{width}mm"))
        .attr("height", format!("{height}mm"))
        .attr("viewBox", format!("0 0 {width} {height}"))
        .attr_if("fill", inherited.then_some("none"))
        .attr_if("stroke-linejoin", inherited.then_some("round"))
        .attr("role", "graphics-document document")
        .attr("aria-labelledby", format!("{ids}title {ids}description"))
        .inside(|xml| {
            xml.line();
            xml.element("title").attr("id", format!("{ids}title")).inside(|xml| xml.text(&scene.title));
            xml.line();
            xml.element("desc").attr("id", format!("{ids}description")).inside(|xml| xml.text(&scene.description));
            xml.line();
            if let Lettering::Outlined(glyphs) = lettering {
                glyphs.define(xml);
            }
            let paper = Path::rect(&scene.sheet()).filled(super::colour::PAPER);
            path(xml, &paper, None, lettering);
            write_items(xml, &scene.items, lettering);
        });
    xml.line();
    xml.finish()
}

/// The letters a drawing uses, by weight and glyph number, each with its identifier.
struct Glyphs {
    used: BTreeMap<(bool, u16), String>,
}

impl Glyphs {
    fn of(scene: &Scene) -> Self {
        let mut glyphs = Self { used: BTreeMap::new() };
        scene.walk(|item| {
            if let Item::Text(text) = item {
                for letter in font::place(&text.text, text.height, text.bold) {
                    let key = (text.bold, letter.glyph);
                    let weight = if text.bold { 'b' } else { 'r' };
                    glyphs.used.entry(key).or_insert_with(|| format!("{weight}{}", letter.glyph));
                }
            }
        });
        glyphs
    }

    fn id(&self, bold: bool, glyph: u16) -> &str {
        self.used.get(&(bold, glyph)).map_or("", String::as_str)
    }

    fn define(&self, xml: &mut Xml) {
        if self.used.is_empty() {
            return;
        }
        xml.element("defs").inside(|xml| {
            for (&(bold, glyph), id) in &self.used {
                let d = outline(bold, glyph);
                xml.line();
                xml.element("path").attr("id", id).attr_if("d", (!d.is_empty()).then_some(d)).done();
            }
        });
        xml.line();
    }
}

/// A glyph's outline as path data, written once for all drawings.
fn outline(bold: bool, glyph: u16) -> &'static str {
    static WRITTEN: LazyLock<[Vec<OnceLock<String>>; 2]> =
        LazyLock::new(|| [false, true].map(|bold| (0..font::count(bold)).map(|_| OnceLock::new()).collect()));
    let Some(written) = WRITTEN[usize::from(bold)].get(usize::from(glyph)) else { return "" };
    written.get_or_init(|| {
        let (mut d, scale) = (String::new(), EM / font::units(bold));
        steps(&mut d, &font::outline(glyph, bold), |d, v| push_fixed(d, v * scale, 0));
        d
    })
}

/// In a page, lines of one stroke that follow each other are one path.
fn write_items(xml: &mut Xml, items: &[Item], lettering: &mut Lettering) {
    let joined = |a: &Item, b: &Item| match (a, b) {
        (Item::Path(a), Item::Path(b)) => a.fill.is_none() && b.fill.is_none() && a.stroke == b.stroke,
        _ => false,
    };
    let in_page = matches!(lettering, Lettering::Embedded(_));
    for run in items.chunk_by(|a, b| in_page && joined(a, b)) {
        match run {
            [Item::Path(first), .., Item::Path(_)] => {
                let segs =
                    run.iter().flat_map(|item| if let Item::Path(path) = item { path.segs.as_slice() } else { &[] });
                path(xml, &Path { segs: segs.cloned().collect(), ..first.clone() }, None, lettering);
            }
            _ => run.iter().for_each(|item| write_item(xml, item, lettering)),
        }
    }
}

fn write_item(xml: &mut Xml, item: &Item, lettering: &mut Lettering) {
    match (item, lettering) {
        (Item::Group(g), lettering @ Lettering::Outlined(_)) => group(xml, g, lettering),
        (Item::Group(g), lettering @ Lettering::Embedded(_)) => short_group(xml, g, lettering),
        (Item::Path(p), lettering) => path(xml, p, None, lettering),
        (Item::Text(t), Lettering::Outlined(glyphs)) => outlined(xml, t, glyphs),
        (Item::Text(t), Lettering::Embedded(styles)) => embedded(xml, t, None, styles),
    }
}

fn group(xml: &mut Xml, group: &ItemGroup, lettering: &mut Lettering) {
    described(named(xml.element("g"), &group.tag), group).inside(|xml| {
        xml.line();
        if group.tag.hover.is_some() {
            hover(xml, &group.tag);
            xml.line();
        }
        write_items(xml, &group.items, lettering);
    });
    xml.line();
}

/// In a page: a group that names nothing is its items alone, and the name of a single item is written at the item. The rules
/// for live wires look for lines inside a wire's group.
fn short_group(xml: &mut Xml, group: &ItemGroup, lettering: &mut Lettering) {
    let tag = &group.tag;
    let names_nothing = tag.wire.is_none() && tag.part.is_none() && tag.pin.is_none();
    match (group.items.as_slice(), &mut *lettering) {
        (items, lettering) if names_nothing && tag.hover.is_none() => {
            write_items(xml, items, lettering);
        }
        ([Item::Path(p)], lettering) if tag.wire.is_none() && tag.hover.is_none() => path(xml, p, Some(tag), lettering),
        ([Item::Text(t)], Lettering::Embedded(styles)) if tag.hover.is_none() => embedded(xml, t, Some(tag), styles),
        (items, lettering) => named(xml.element("g"), tag).inside(|xml| {
            hover(xml, tag);
            write_items(xml, items, lettering);
        }),
    }
}

/// The wire, part and pin that an element shows.
fn named<'x>(element: XmlElement<'x>, tag: &Tag) -> XmlElement<'x> {
    element
        .attr_if("data-wire", tag.wire.as_ref())
        .attr_if("data-part", tag.part.as_ref())
        .attr_if("data-pin", tag.pin.as_ref())
}

fn hover(xml: &mut Xml, tag: &Tag) {
    if let Some(hover) = &tag.hover {
        xml.element("title").inside(|xml| xml.text(hover));
    }
}

/// The rest of a group's tag: a file of its own keeps it for programs that read drawings.
fn described<'x>(element: XmlElement<'x>, group: &ItemGroup) -> XmlElement<'x> {
    let tag = &group.tag;
    let mut element = element
        .attr_if("data-label", tag.label.as_ref().map(ToString::to_string).as_ref())
        .attr_if("data-text", tag.label.as_ref().map(|_| words(group)))
        .attr_if("data-kind", tag.kind.as_ref())
        .attr_if("data-at", tag.at.map(point))
        .attr_if("data-outline", tag.outline.map(|r| [r.left, r.top, r.right, r.bottom].map(mm).join(" ")));
    for (key, value) in &tag.data {
        let key: String = key.chars().filter(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || *c == '-').collect();
        element = element.attr(&format!("data-{key}"), value);
    }
    element
}

/// All texts of a group, in order, with spaces between.
fn words(group: &ItemGroup) -> String {
    let mut words: Vec<&str> = Vec::new();
    group.items.iter().for_each(|item| {
        item.walk(&mut |item| {
            if let Item::Text(text) = item {
                words.push(&text.text);
            }
        });
    });
    words.join(" ")
}

fn path(xml: &mut Xml, path: &Path, tag: Option<&Tag>, lettering: &mut Lettering) {
    let stroke = path.stroke;
    let dash = stroke.and_then(|s| s.dash);
    let looks = [
        ("fill", path.fill.map(|c| c.css())),
        ("stroke", stroke.map(|s| s.colour.css())),
        ("stroke-width", stroke.map(|s| mm(s.width))),
        ("stroke-dasharray", dash.map(|d| d.pattern.map(mm).join(" "))),
        ("stroke-dashoffset", dash.filter(|d| d.offset != 0.0).map(|d| mm(d.offset))),
    ];
    let element = xml.element("path");
    match lettering {
        // A page's drawing inherits the usual values.
        Lettering::Embedded(styles) => {
            let kind = if path.fill.is_some() { 'f' } else { 's' };
            let element = tag.into_iter().fold(element, named);
            element.attr_of("d", |d| relative_steps(d, &path.segs)).attr("class", styles.class(kind, &looks)).done();
            return;
        }
        Lettering::Outlined(_) => {
            let [(_, fill), colour, width, dashes @ ..] = looks;
            let element = element.attr_of("d", |d| steps(d, &path.segs, push_mm));
            let element = element.attr("fill", fill.unwrap_or_else(|| "none".into()));
            let joined = ("stroke-linejoin", stroke.map(|_| "round".to_string()));
            let rest = [colour, width, joined].into_iter().chain(dashes);
            rest.fold(element, |element, (name, value)| element.attr_if(name, value)).done();
        }
    }
    xml.line();
}

fn outlined(xml: &mut Xml, text: &TextItem, glyphs: &Glyphs) {
    let letters = font::place(&text.text, text.height, text.bold);
    let start = text.start();
    let turn = if text.turn == Turn::Up { " rotate(-90)" } else { "" };
    let scale = fixed(text.height / EM, 5);
    let set = |xml: &mut Xml| {
        for letter in &letters {
            let set = xml.element("use").attr_of("href", |href| {
                href.push('#');
                href.push_str(glyphs.id(text.bold, letter.glyph));
            });
            let x = letter.x / text.height * EM;
            match x.round() == 0.0 {
                true => set.done(),
                false => set.attr_of("x", |value| push_fixed(value, x, 0)).done(),
            }
        }
    };
    xml.element("g")
        .attr("role", "img")
        .attr("aria-label", &text.text)
        .attr("fill", text.colour.css())
        .attr("transform", format!("translate({}){turn} scale({scale})", point(start)))
        .inside(|xml| {
            if let Some(halo) = text.halo {
                xml.element("g")
                    .attr("stroke", halo.css())
                    .attr("stroke-width", fixed(2.0 * HALO * EM, 0))
                    .attr("stroke-linejoin", "round")
                    .inside(set);
            }
            set(xml);
        });
    xml.line();
}

fn embedded(xml: &mut Xml, text: &TextItem, tag: Option<&Tag>, styles: &mut PageStyles) {
    let start = text.start();
    let upright = text.turn != Turn::Up;
    // The letters that `font::place` sets, with its mark for those that the font lacks.
    let placed = font::place(&text.text, text.height, text.bold);
    styles.use_letters(&placed, text.bold);
    let letters: String = placed.iter().map(|placed| placed.letter).collect();
    let looks = [
        ("font-size", Some(format!("{}px", fixed(text.height, 3)))),
        ("font-weight", text.bold.then(|| "bold".to_string())),
        ("fill", Some(text.colour.css())),
        ("stroke", text.halo.map(|halo| halo.css())),
        ("stroke-width", text.halo.map(|_| fixed(2.0 * HALO * text.height, 2))),
    ];
    tag.into_iter()
        .fold(xml.element("text"), named)
        .attr_if("x", upright.then(|| fixed(start.x, 1)))
        .attr_if("y", upright.then(|| fixed(start.y, 1)))
        .attr_if("transform", (!upright).then(|| format!("translate({}) rotate(-90)", point(start))))
        .attr("class", styles.class('t', &looks))
        .inside(|xml| xml.text(&letters));
}

fn point(p: Point) -> String {
    format!("{} {}", mm(p.x), mm(p.y))
}

/// Writes path steps as SVG path data.
fn steps(d: &mut String, segs: &[Seg], number: impl Fn(&mut String, f64)) {
    let pair = |d: &mut String, before: char, p: &Point| {
        d.push(before);
        number(d, p.x);
        d.push(' ');
        number(d, p.y);
    };
    for seg in segs {
        match seg {
            Seg::Move(p) => pair(d, 'M', p),
            Seg::Line(p) => pair(d, 'L', p),
            Seg::Cubic(a, b, c) => {
                [('C', a), (' ', b), (' ', c)].into_iter().for_each(|(before, p)| pair(d, before, p))
            }
            Seg::Arc { radius, large, clockwise, to } => {
                d.push('A');
                number(d, *radius);
                d.push(' ');
                number(d, *radius);
                d.push_str(" 0 ");
                d.push(if *large { '1' } else { '0' });
                d.push(' ');
                d.push(if *clockwise { '1' } else { '0' });
                pair(d, ' ', to);
            }
            Seg::Close => d.push('Z'),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::colour::PAPER;
    use super::super::insulation::Insulation;
    use super::*;

    fn small(part: &str, words: &str) -> Scene {
        let mut scene = Scene::new(Size::new(60.0, 30.0), format!("Drawing of {part}"), "One box and one wire.");
        let body = Rect::sized(Point::new(5.0, 5.0), Size::new(12.5, 10.0));
        let shape = Path::rounded(&body, 1.0).stroked(super::super::lines::symbol()).filled(PAPER);
        let mut group = ItemGroup::of(Tag::part(part).hovered(words).outlined(body).with("Kind?", words), [shape]);
        group.push(TextItem::new(Point::new(11.25, 11.0), part, 3.5).anchored(Anchor::Middle).bold());
        scene.push(group);
        let line = Path::line(Point::new(17.5, 10.0), Point::new(55.0, 10.0));
        let paths = Insulation::of("YE/BK").unwrap().paint(&line, 0.9);
        scene.push(ItemGroup::of(Tag::wire("7").between("K1.87", "LAMP.1"), paths));
        let label = TextItem::new(Point::new(40.0, 8.0), words, 2.75).anchored(Anchor::Middle).haloed(PAPER);
        scene.push(ItemGroup::of(Tag::label("wire 7"), [label]));
        scene
    }

    #[test]
    fn a_small_drawing() {
        insta::assert_snapshot!(write(&small("K1", "7 YE/BK 1 mm²")));
    }

    #[test]
    fn a_small_drawing_in_a_page() {
        let mut styles = PageStyles::default();
        insta::assert_snapshot!(
            write_in_page(&small("K1", "7 YE/BK 1 mm²"), "first-", &mut styles) + &styles.classes_css()
        );
    }

    #[test]
    fn hostile_names_stay_names() {
        let hostile = "\"><script>alert('x')</script>\u{202e}\u{0}&amp;\u{ffff}";
        let in_page = write_in_page(&small(hostile, hostile), hostile, &mut PageStyles::default());
        assert!(roxmltree::Document::parse(&in_page).unwrap().descendants().all(|n| !n.has_tag_name("script")));
        let written = write(&small(hostile, hostile));
        let read = roxmltree::Document::parse(&written).unwrap();
        assert!(read.descendants().all(|n| !n.has_tag_name("script")));
        let seen = "\"><script>alert('x')</script>&amp;";
        assert!(read.descendants().any(|n| n.attribute("data-part") == Some(seen)));
        assert!(read.descendants().any(|n| n.attribute("data-text") == Some(seen)));
        assert!(read.descendants().any(|n| n.attribute("data-ind") == Some(seen)), "keys keep only safe letters");
        assert!(!written.contains('\u{202e}'));
    }

    #[test]
    fn nothing_refers_outside_the_file() {
        let written = write(&super::super::symbols::specimen::sheet());
        let read = roxmltree::Document::parse(&written).unwrap();
        for node in read.descendants().filter(|n| n.is_element()) {
            assert!(!["script", "style", "image", "foreignObject"].contains(&node.tag_name().name()));
            for attribute in node.attributes() {
                if attribute.name().ends_with("href") {
                    let id = attribute.value().strip_prefix('#').unwrap();
                    assert!(read.descendants().any(|n| n.attribute("id") == Some(id)), "{id}");
                }
            }
        }
    }

    #[test]
    fn two_drawings_can_share_a_page() {
        let ids = |svg: String| -> Vec<String> {
            let read = roxmltree::Document::parse(&svg).unwrap();
            read.descendants().filter_map(|n| n.attribute("id").map(Into::into)).collect()
        };
        let styles = &mut PageStyles::default();
        let [a, b] = ["a-", "b-"].map(|prefix| ids(write_in_page(&small("A", "a"), prefix, styles)));
        assert!(a.len() == 2 && a.iter().all(|id| !b.contains(id)));
    }
}
