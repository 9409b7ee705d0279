//! Writes a scene as a PNG picture.

use super::colour::{PAPER, Rgb};
use super::font;
use super::geometry::cubics;
use super::scene::*;
use super::svg::HALO;
use std::fmt;
use tiny_skia::{FillRule, LineCap, LineJoin, Paint, PathBuilder, Pixmap, StrokeDash, Transform};

/// The most pixels a picture may have: 400 million bytes when painted.
const MOST_PIXELS: f64 = 1e8;

/// Why there is no picture.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum PngError {
    /// The sheet has no area, or more pixels at this scale than can be painted.
    Size {
        /// Width in dots.
        width: u64,
        /// Height in dots.
        height: u64,
    },
    /// The picture could not be packed.
    Encoding(String),
}

impl fmt::Display for PngError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PngError::Size { width, height } => {
                write!(f, "a picture of {width} by {height} dots can't be painted; ask for fewer dots per millimetre")
            }
            PngError::Encoding(why) => write!(f, "the picture could not be packed as PNG: {why}"),
        }
    }
}

impl std::error::Error for PngError {}

/// The scene as a PNG file, `dots_per_mm` pixels to the millimetre (4 for a screen, 12 for paper).
///
/// # Errors
/// When the sheet has no area or more than 100 million dots at this scale.
pub fn write(scene: &Scene, dots_per_mm: f64) -> Result<Vec<u8>, PngError> {
    let dots = |length: f64| (length * dots_per_mm).ceil().max(0.0);
    let (width, height) = (dots(scene.size.width), dots(scene.size.height));
    let refused = || PngError::Size { width: width as u64, height: height as u64 };
    if !(1.0..=MOST_PIXELS).contains(&(width * height)) {
        return Err(refused());
    }
    let mut sheet = Pixmap::new(width as u32, height as u32).ok_or_else(refused)?;
    let scale = Transform::from_scale(dots_per_mm as f32, dots_per_mm as f32);
    let ground = paint(PAPER);
    sheet.fill(ground.0);
    let mut brush = Brush { sheet: &mut sheet, scale };
    scene.items.iter().for_each(|item| brush.item(item));
    sheet.encode_png().map_err(|e| PngError::Encoding(e.to_string()))
}

struct Brush<'a> {
    sheet: &'a mut Pixmap,
    scale: Transform,
}

impl Brush<'_> {
    fn item(&mut self, item: &Item) {
        match item {
            Item::Group(group) => group.items.iter().for_each(|item| self.item(item)),
            Item::Path(path) => self.path(path, self.scale),
            Item::Text(text) => self.text(text),
        }
    }

    fn path(&mut self, path: &Path, transform: Transform) {
        let Some(shape) = shape(&path.segs) else { return };
        if let Some(colour) = path.fill {
            self.sheet.fill_path(&shape, &paint(colour).1, FillRule::Winding, transform, None);
        }
        if let Some(stroke) = path.stroke {
            let line = tiny_skia::Stroke {
                width: stroke.width as f32,
                line_cap: LineCap::Butt,
                line_join: LineJoin::Round,
                dash: stroke.dash.and_then(|d| StrokeDash::new(d.pattern.map(|v| v as f32).into(), d.offset as f32)),
                ..tiny_skia::Stroke::default()
            };
            self.sheet.stroke_path(&shape, &paint(stroke.colour).1, &line, transform, None);
        }
    }

    fn text(&mut self, text: &TextItem) {
        let start = text.start();
        let unit = text.height / font::units(text.bold);
        let turn = if text.turn == Turn::Up { -90.0 } else { 0.0 };
        let place = self.scale.pre_translate(start.x as f32, start.y as f32).pre_concat(Transform::from_rotate(turn));
        let letters = font::place(&text.text, text.height, text.bold);
        let halo = text.halo.map(|c| (Some(Stroke::solid(c, 2.0 * HALO * text.height / unit)), Some(c)));
        for (stroke, fill) in halo.into_iter().chain([(None, Some(text.colour))]) {
            for letter in &letters {
                let at = place.pre_translate(letter.x as f32, 0.0).pre_scale(unit as f32, unit as f32);
                self.path(&Path { segs: font::outline(letter.glyph, text.bold), stroke, fill }, at);
            }
        }
    }
}

/// The colour, and the paint of that colour.
fn paint(colour: Rgb) -> (tiny_skia::Color, Paint<'static>) {
    let [r, g, b] = colour.rgb;
    let colour = tiny_skia::Color::from_rgba8(r, g, b, 255);
    let mut paint = Paint { anti_alias: true, ..Paint::default() };
    paint.set_color(colour);
    (colour, paint)
}

fn shape(segs: &[Seg]) -> Option<tiny_skia::Path> {
    let mut pen = PathBuilder::new();
    for seg in cubics(segs) {
        let f = |p: Point| (p.x as f32, p.y as f32);
        match seg {
            Seg::Move(p) => pen.move_to(f(p).0, f(p).1),
            Seg::Line(p) | Seg::Arc { to: p, .. } => pen.line_to(f(p).0, f(p).1),
            Seg::Cubic(a, b, c) => pen.cubic_to(f(a).0, f(a).1, f(b).0, f(b).1, f(c).0, f(c).1),
            Seg::Close => pen.close(),
        }
    }
    pen.finish()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::INK;

    #[test]
    fn ink_lands_where_the_scene_says() {
        let mut scene = Scene::new(Size::new(20.0, 10.0), "", "");
        scene.push(Path::rect(&Rect::sized(Point::new(10.0, 2.0), Size::new(5.0, 5.0))).filled(INK));
        let picture = Pixmap::decode_png(&write(&scene, 4.0).unwrap()).unwrap();
        assert_eq!((picture.width(), picture.height()), (80, 40));
        let seen = |x, y| picture.pixel(x, y).unwrap().demultiply().red();
        assert_eq!((seen(50, 20), seen(20, 20), seen(50, 35)), (INK.rgb[0], 255, 255));
    }

    #[test]
    fn a_sheet_too_big_to_paint_is_refused() {
        let scene = Scene::new(Size::new(1e6, 1e6), "", "");
        assert!(matches!(write(&scene, 12.0), Err(PngError::Size { .. })));
        assert!(write(&Scene::new(Size::new(0.0, 5.0), "", ""), 4.0).is_err());
    }
}
