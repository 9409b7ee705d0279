//! Writes scenes as the pages of a PDF.
//!
//! Text is set in the embedded font, so it can be searched and copied. There are no dates and no random identifiers:
//! the same scenes give the same bytes.

use super::colour::Rgb;
use super::font;
use super::geometry::cubics;
use super::number::rounded;
pub use super::outline::{Bookmark, PageLink, PageTarget};
use super::outline::{Numbered, bookmarks, link};
use super::pdf_refs::{POINTS_PER_MM, Refs};
use super::scene::*;
use super::svg::HALO;
use pdf_writer::types::{
    CidFontType, FontFlags, LineCapStyle, LineJoinStyle, SystemInfo, TextRenderingMode, UnicodeCmap,
};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Ref, Str, TextStr};
use std::collections::BTreeMap;

/// Names of the two weights inside a page.
const WEIGHTS: [&[u8]; 2] = [b"R", b"B"];

/// Pages with bookmarks and links.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Pages {
    /// What the document is called.
    pub title: String,
    /// The pages.
    pub scenes: Vec<Scene>,
    /// The bookmarks.
    pub outline: Vec<Bookmark>,
    /// The links between pages.
    pub links: Vec<PageLink>,
}

/// The scenes as one PDF file, a page for each, with their titles as bookmarks. `title` names the whole document.
pub fn write(title: &str, scenes: &[Scene]) -> Vec<u8> {
    let top = |page| PageTarget { page, y: 0.0 };
    let mark = |(page, scene): (usize, &Scene)| Bookmark { title: scene.title.clone(), to: top(page), under: vec![] };
    let outline = if scenes.len() > 1 { scenes.iter().enumerate().map(mark).collect() } else { Vec::new() };
    write_parts(title, scenes, &outline, &[])
}

/// A document as a PDF file.
pub fn write_pages(pages: &Pages) -> Vec<u8> {
    write_parts(&pages.title, &pages.scenes, &pages.outline, &pages.links)
}

fn write_parts(title: &str, scenes: &[Scene], outline: &[Bookmark], links: &[PageLink]) -> Vec<u8> {
    let mut refs = Refs::default();
    let (catalog, tree, info, root_mark) = (refs.next(), refs.next(), refs.next(), refs.next());
    let pages: Vec<[Ref; 2]> = scenes.iter().map(|_| [refs.next(), refs.next()]).collect();
    let ids: Vec<Ref> = pages.iter().map(|p| p[0]).collect();
    let numbered = Numbered { scenes, ids: &ids };
    let used = letters(scenes);
    let fonts: Vec<Option<Ref>> = used.iter().map(|u| (!u.is_empty()).then(|| refs.next())).collect();

    let mut pdf = Pdf::new();
    let mut root = pdf.catalog(catalog);
    root.pages(tree).lang(TextStr("en")).viewer_preferences().display_doc_title(true);
    if !outline.is_empty() {
        root.outlines(root_mark);
    }
    root.finish();
    pdf.document_info(info).title(TextStr(&clean(title))).producer(TextStr("Loomwright"));
    pdf.pages(tree).kids(ids.iter().copied()).count(scenes.len() as i32);
    if !outline.is_empty() {
        bookmarks(&mut pdf, &mut refs, root_mark, outline, &numbered);
    }
    let streams = threads::each(scenes, content);
    for (at, (scene, [page, content])) in scenes.iter().zip(&pages).enumerate() {
        let here: Vec<(Ref, &PageLink)> =
            links.iter().filter(|link| link.page == at).map(|link| (refs.next(), link)).collect();
        let notes: Vec<Ref> = here.iter().map(|(id, _)| *id).collect();
        write_page(&mut pdf, scene, [*page, *content, tree], &fonts, &notes);
        pdf.stream(*content, &streams[at]).filter(Filter::FlateDecode);
        here.iter().for_each(|(id, to)| link(&mut pdf, *id, to, &numbered));
    }
    for (bold, id) in [false, true].into_iter().zip(&fonts) {
        if let Some(id) = id {
            embed(&mut pdf, &mut refs, *id, bold, &used[usize::from(bold)]);
        }
    }
    pdf.finish()
}

/// The letters each weight has to show, by glyph number.
fn letters(scenes: &[Scene]) -> [BTreeMap<u16, char>; 2] {
    let mut used = [BTreeMap::new(), BTreeMap::new()];
    for scene in scenes {
        scene.walk(|item| {
            if let Item::Text(text) = item {
                let shown = font::place(&text.text, text.height, text.bold);
                used[usize::from(text.bold)].extend(shown.iter().map(|l| (l.glyph, l.letter)));
            }
        });
    }
    used
}

fn clean(text: &str) -> String {
    font::printable(text).collect()
}

fn write_page(pdf: &mut Pdf, scene: &Scene, [page, content, tree]: [Ref; 3], fonts: &[Option<Ref>], notes: &[Ref]) {
    let (width, height) = (scene.size.width * POINTS_PER_MM, scene.size.height * POINTS_PER_MM);
    let mut out = pdf.page(page);
    out.media_box(pdf_writer::Rect::new(0.0, 0.0, rounded(width), rounded(height))).parent(tree).contents(content);
    if !notes.is_empty() {
        out.annotations(notes.iter().copied());
    }
    let mut resources = out.resources();
    let mut dict = resources.fonts();
    for (name, id) in WEIGHTS.iter().zip(fonts) {
        if let Some(id) = id {
            dict.pair(Name(name), *id);
        }
    }
    dict.finish();
    resources.finish();
    out.finish();
}

/// A page's content, packed.
fn content(scene: &Scene) -> Vec<u8> {
    let mut pen = Pen { out: Content::new() };
    let k = POINTS_PER_MM as f32;
    pen.out.transform([k, 0.0, 0.0, -k, 0.0, rounded(scene.size.height * POINTS_PER_MM)]);
    pen.out.set_line_join(LineJoinStyle::RoundJoin).set_line_cap(LineCapStyle::ButtCap);
    scene.items.iter().for_each(|item| pen.item(item));
    pack(&pen.out.finish())
}

/// How hard streams are packed: beyond this, half of the time goes into a hundredth of the size.
const LEVEL: u8 = 6;

fn pack(bytes: &[u8]) -> Vec<u8> {
    miniz_oxide::deflate::compress_to_vec_zlib(bytes, LEVEL)
}

/// Writes one page's content, in millimetres with y down.
struct Pen {
    out: Content,
}

impl Pen {
    fn item(&mut self, item: &Item) {
        match item {
            Item::Group(group) => group.items.iter().for_each(|item| self.item(item)),
            Item::Path(path) => self.path(path),
            Item::Text(text) => self.text(text),
        }
    }

    fn path(&mut self, path: &Path) {
        if let Some(colour) = path.fill {
            self.fill_colour(colour);
        }
        if let Some(stroke) = path.stroke {
            self.stroke_colour(stroke.colour);
            self.out.set_line_width(rounded(stroke.width));
            let dash = stroke.dash.map(|d| (d.pattern.map(rounded), rounded(d.offset)));
            self.out.set_dash_pattern(dash.into_iter().flat_map(|d| d.0), dash.map_or(0.0, |d| d.1));
        }
        for seg in cubics(&path.segs) {
            let f = |p: Point| (rounded(p.x), rounded(p.y));
            match seg {
                Seg::Move(p) => self.out.move_to(f(p).0, f(p).1),
                Seg::Line(p) | Seg::Arc { to: p, .. } => self.out.line_to(f(p).0, f(p).1),
                Seg::Cubic(a, b, c) => self.out.cubic_to(f(a).0, f(a).1, f(b).0, f(b).1, f(c).0, f(c).1),
                Seg::Close => self.out.close_path(),
            };
        }
        match (path.fill, path.stroke) {
            (Some(_), Some(_)) => self.out.fill_nonzero_and_stroke(),
            (Some(_), None) => self.out.fill_nonzero(),
            (None, Some(_)) => self.out.stroke(),
            (None, None) => self.out.end_path(),
        };
    }

    fn text(&mut self, text: &TextItem) {
        let letters = font::place(&text.text, text.height, text.bold);
        if letters.is_empty() {
            return;
        }
        let codes: Vec<u8> = letters.iter().flat_map(|l| l.glyph.to_be_bytes()).collect();
        let (x, y) = (rounded(text.start().x), rounded(text.start().y));
        // The page runs downwards, letters upwards: the text's own axes are flipped back.
        let matrix = match text.turn {
            Turn::Level => [1.0, 0.0, 0.0, -1.0, x, y],
            Turn::Up => [0.0, -1.0, -1.0, 0.0, x, y],
        };
        self.out.begin_text().set_font(Name(WEIGHTS[usize::from(text.bold)]), rounded(text.height));
        if let Some(halo) = text.halo {
            self.stroke_colour(halo);
            self.out.set_line_width(rounded(2.0 * HALO * text.height)).set_dash_pattern([], 0.0);
            self.out.set_text_rendering_mode(TextRenderingMode::Stroke).set_text_matrix(matrix).show(Str(&codes));
            self.out.set_text_rendering_mode(TextRenderingMode::Fill);
        }
        self.fill_colour(text.colour);
        self.out.set_text_matrix(matrix).show(Str(&codes)).end_text();
    }

    fn fill_colour(&mut self, colour: Rgb) {
        let [r, g, b] = shares(colour);
        self.out.set_fill_rgb(r, g, b);
    }

    fn stroke_colour(&mut self, colour: Rgb) {
        let [r, g, b] = shares(colour);
        self.out.set_stroke_rgb(r, g, b);
    }
}

fn shares(colour: Rgb) -> [f32; 3] {
    colour.rgb.map(|c| (f32::from(c) / 255.0 * 1000.0).round() / 1000.0)
}

/// Embeds one weight as a composite font whose codes are glyph numbers (PDF 32000-1, 9.7.4).
fn embed(pdf: &mut Pdf, refs: &mut Refs, id: Ref, bold: bool, used: &BTreeMap<u16, char>) {
    const SYSTEM: SystemInfo = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };
    // Six letters and a plus sign: a part of a font (9.6.4).
    let name = Name(if bold { b"LOOMWB+LoomwrightSans-Bold" } else { b"LOOMWR+LoomwrightSans-Regular" });
    let (descendant, descriptor, file, map) = (refs.next(), refs.next(), refs.next(), refs.next());
    pdf.type0_font(id)
        .base_font(name)
        .encoding_predefined(Name(b"Identity-H"))
        .descendant_font(descendant)
        .to_unicode(map);

    let mut cid = pdf.cid_font(descendant);
    cid.subtype(CidFontType::Type2).base_font(name).system_info(SYSTEM).font_descriptor(descriptor);
    cid.default_width(0.0).cid_to_gid_map_predefined(Name(b"Identity"));
    let mut widths = cid.widths();
    for (&glyph, &letter) in used {
        widths.consecutive(glyph, [rounded(font::width(&letter.to_string(), 1000.0, bold))]);
    }
    widths.finish();
    cid.finish();

    let share = |v: f64| rounded(v * 1000.0);
    let [left, bottom, right, top] = font::extent(bold).map(rounded);
    let flags = FontFlags::NON_SYMBOLIC | if bold { FontFlags::FORCE_BOLD } else { FontFlags::empty() };
    pdf.font_descriptor(descriptor)
        .name(name)
        .flags(flags)
        .bbox(pdf_writer::Rect::new(left, bottom, right, top))
        .italic_angle(0.0)
        .ascent(share(font::ASCENT))
        .descent(-share(font::DESCENT))
        .cap_height(share(font::CAP_HEIGHT))
        .stem_v(if bold { 165.0 } else { 90.0 })
        .font_file2(file);

    let bytes = font::with_outlines(bold, &used.keys().copied().collect());
    let packed = pack(&bytes);
    pdf.stream(file, &packed).filter(Filter::FlateDecode).pair(Name(b"Length1"), bytes.len() as i32);

    let mut cmap = UnicodeCmap::new(Name(b"Letters"), SYSTEM);
    used.iter().for_each(|(&glyph, &letter)| cmap.pair(glyph, letter));
    let packed = pack(&cmap.finish());
    pdf.stream(map, &packed).filter(Filter::FlateDecode);
}

#[cfg(test)]
mod tests {
    use super::super::colour::INK;
    use super::*;

    fn page(words: &str) -> Scene {
        let mut scene = Scene::new(Size::new(100.0, 50.0), words, "");
        scene.push(Path::circle(Point::new(20.0, 20.0), 5.0).stroked(Stroke::solid(INK, 0.35)));
        scene.push(TextItem::new(Point::new(30.0, 20.0), words, 3.5));
        scene
    }

    /// The unpacked streams of a file.
    fn streams(pdf: &[u8]) -> Vec<Vec<u8>> {
        let mut found = Vec::new();
        let find = |from: usize, what: &[u8]| pdf[from..].windows(what.len()).position(|w| w == what).map(|i| i + from);
        let mut from = 0;
        while let Some(start) = find(from, b"\nstream\n") {
            let end = find(start, b"\nendstream").unwrap();
            found.extend(miniz_oxide::inflate::decompress_to_vec_zlib(&pdf[start + 8..end]));
            from = end;
        }
        found
    }

    #[test]
    fn every_page_is_there_with_its_text_and_a_bookmark() {
        let pdf = write("Book", &[page("Relay K1"), page("Größe ≤ 4 Ω")]);
        let text = String::from_utf8_lossy(&pdf).into_owned();
        assert!(text.starts_with("%PDF-") && text.contains("/Count 2") && text.contains("/Title (Relay K1)"));
        assert!(!text.contains("Date"), "no dates: the same job gives the same bytes");
        let streams = streams(&pdf);
        // Two pages, the regular weight, its map; the bold weight is not used and not there.
        assert_eq!(streams.len(), 4);
        assert_eq!(streams.iter().filter(|s| s.windows(2).any(|w| w == b"Tj")).count(), 2);
        // The font has the letters of both pages.
        let glyphs = "Relay K1Größe ≤ 4 Ω".chars().flat_map(|c| font::place(&c.to_string(), 1.0, false));
        let glyphs = glyphs.map(|placed| placed.glyph).collect();
        assert!(streams.iter().any(|s| *s == font::with_outlines(false, &glyphs)));
    }

    #[test]
    fn a_document_without_pages_is_still_a_document() {
        assert!(write("Empty", &[]).starts_with(b"%PDF-"));
    }
}
