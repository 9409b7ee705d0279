//! Parts drawn as a box with named pins on its upper and lower edge, and the small picture that says what they are.

use super::super::colour::SOFT_INK;
use super::super::font;
use super::super::lines;
use super::super::scene::*;
use super::pen::{Pen, area, at};
use super::symbol::{PortSide, Symbol};

/// The small picture inside a box, 10 mm wide and 7.5 mm high.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum BlockPicture {
    /// None: a module of any other kind.
    None,
    /// A camera.
    Camera,
    /// A screen.
    Screen,
    /// A DC to DC converter.
    Converter,
    /// A solid-state output.
    SolidState,
    /// A video selector.
    Selector,
    /// A picture isolator: two windings with nothing between them.
    Isolator,
    /// A picture splitter: one line becomes two.
    Splitter,
    /// An amplifier.
    Amplifier,
    /// A hold or delay timer.
    Timer,
    /// A flasher unit.
    Flasher,
    /// A sensor that detects without touching.
    Sensor,
}

impl BlockPicture {
    /// Every one, for specimen sheets and tests.
    pub const ALL: [Self; 12] = [
        Self::None,
        Self::Camera,
        Self::Screen,
        Self::Converter,
        Self::SolidState,
        Self::Selector,
        Self::Isolator,
        Self::Splitter,
        Self::Amplifier,
        Self::Timer,
        Self::Flasher,
        Self::Sensor,
    ];
}

/// Height of a row of pin names or of the picture.
const ROW: f64 = 5.0;
const PICTURE: f64 = 10.0;

/// A box with pins along its upper and lower edge, pin names inside at their pins. The origin is the first upper pin
/// (or the place above the first lower pin); the box is as wide as its pins and their names ask for.
pub fn block(picture: BlockPicture, upper: &[&str], lower: &[&str]) -> Symbol {
    let pitch = pitch(upper.iter().chain(lower));
    let columns = upper.len().max(lower.len()).max(1);
    let middle = pitch * (columns - 1) as f64 / 2.0;
    let half = (middle + pitch / 2.0).max(7.5);
    let picture_height = if picture == BlockPicture::None { 2.5 } else { PICTURE };
    let top = if upper.is_empty() { 0.0 } else { ROW };
    let bottom = if lower.is_empty() { 0.0 } else { ROW };
    let case = area(middle - half, 0.0, middle + half, top + picture_height + bottom);
    let mut pen = Pen::default();
    pen.put(Path::rect(&case).stroked(lines::symbol()).filled(super::super::colour::PAPER));
    for (i, name) in upper.iter().enumerate() {
        let x = pitch * i as f64;
        pen.put(pin_name(name, at(x, 2.5))).port(name, at(x, 0.0), PortSide::Top);
    }
    for (i, name) in lower.iter().enumerate() {
        let x = pitch * i as f64;
        pen.put(pin_name(name, at(x, case.bottom - 2.5))).port(name, at(x, case.bottom), PortSide::Bottom);
    }
    draw(&mut pen, picture, at(middle, top + picture_height / 2.0));
    pen.finish(case)
}

/// The small picture alone, around a point.
pub fn picture(kind: BlockPicture, around: Point) -> Vec<Item> {
    let mut pen = Pen::default();
    draw(&mut pen, kind, around);
    pen.finish(area(0.0, 0.0, 0.0, 0.0)).items
}

/// Distance of pins so that names beside each other keep apart, a whole number of modules.
fn pitch<'a>(names: impl Iterator<Item = &'a &'a str>) -> f64 {
    let widest = names.map(|name| font::width(name, lines::SMALL, false)).fold(0.0, f64::max);
    ((widest + 1.5) / lines::MODULE).ceil().max(2.0) * lines::MODULE
}

fn pin_name(name: &str, centre: Point) -> TextItem {
    TextItem::new(centre, name, lines::SMALL).anchored(Anchor::Middle).centred_on(centre.y).coloured(SOFT_INK)
}

fn draw(pen: &mut Pen, picture: BlockPicture, c: Point) {
    let p = |x: f64, y: f64| c.by(x, y);
    match picture {
        BlockPicture::None => {}
        BlockPicture::Camera => {
            pen.boxed(p(-1.2, 0.0), 5.6, 4.4).circle(p(-1.2, 0.0), 1.3).dot(p(-1.2, 0.0), 0.45);
            pen.shape(&[p(1.6, -0.9), p(4.2, -2.2), p(4.2, 2.2), p(1.6, 0.9)]);
        }
        BlockPicture::Screen => {
            pen.put(Path::rounded(&area(c.x - 4.5, c.y - 3.2, c.x + 4.5, c.y + 2.2), 0.8).stroked(lines::symbol()));
            pen.line(&[p(-1.8, 3.5), p(1.8, 3.5)]).line(&[p(0.0, 2.2), p(0.0, 3.5)]);
            pen.line_as(&[p(-3.0, 0.6), p(-1.0, -1.4), p(0.6, 0.2), p(1.8, -0.9), p(3.0, 0.4)], lines::fine());
        }
        BlockPicture::Converter => {
            pen.boxed(c, 8.0, 6.5).line(&[p(-4.0, 3.25), p(4.0, -3.25)]);
            for (x, y) in [(-2.1, -1.6), (2.1, 1.6)] {
                pen.line(&[p(x - 1.2, y - 0.45), p(x + 1.2, y - 0.45)]);
                pen.line_as(&[p(x - 1.2, y + 0.45), p(x + 1.2, y + 0.45)], dashes());
            }
        }
        BlockPicture::SolidState => {
            pen.line(&[p(0.0, -3.75), p(0.0, -1.8), p(-1.9, 1.6)]).line(&[p(0.0, 1.8), p(0.0, 3.75)]);
            pen.shape(&[p(-4.4, -1.5), p(-4.4, 1.5), p(-2.2, 0.0)])
                .line_as(&[p(-2.2, 0.0), p(-1.0, 0.0)], lines::link());
        }
        BlockPicture::Selector => {
            for y in [-2.5, 0.0, 2.5] {
                pen.line(&[p(-4.5, y), p(-2.2, y)]).circle(p(-1.6, y), 0.6);
            }
            pen.line(&[p(4.5, 0.0), p(2.0, 0.0), p(-1.1, -2.2)]).dot(p(2.0, 0.0), 0.6);
        }
        BlockPicture::Isolator => {
            pen.line(&[p(-4.5, 0.0), p(-3.2, 0.0)]).line(&[p(3.2, 0.0), p(4.5, 0.0)]);
            pen.circle(p(-1.6, 0.0), 1.6).circle(p(1.6, 0.0), 1.6);
            pen.line_as(&[p(0.0, -3.2), p(0.0, -1.9)], lines::link())
                .line_as(&[p(0.0, 1.9), p(0.0, 3.2)], lines::link());
        }
        BlockPicture::Splitter => {
            pen.line(&[p(-4.5, 0.0), p(-1.0, 0.0)]).dot(p(-1.0, 0.0), 0.6);
            for y in [-2.2, 2.2] {
                pen.line(&[p(-1.0, 0.0), p(1.2, y), p(4.5, y)]);
            }
        }
        BlockPicture::Amplifier => {
            pen.shape(&[p(-2.6, -3.2), p(-2.6, 3.2), p(3.0, 0.0)]);
            pen.line(&[p(-4.5, 0.0), p(-2.6, 0.0)]).line(&[p(3.0, 0.0), p(4.5, 0.0)]);
        }
        BlockPicture::Timer => {
            pen.circle(c, 3.2).line(&[p(0.0, -2.2), p(0.0, 0.0), p(1.6, 1.0)]);
        }
        BlockPicture::Sensor => {
            pen.shape(&[p(0.0, -3.2), p(3.2, 0.0), p(0.0, 3.2), p(-3.2, 0.0)]);
            pen.line(&[p(-1.0, -1.0), p(-1.0, 1.0)]).line(&[p(1.0, -1.0), p(1.0, 1.0)]);
        }
        BlockPicture::Flasher => {
            let (low, high) = (1.8, -1.8);
            pen.line(&[p(-4.5, low), p(-3.0, low), p(-3.0, high), p(-1.0, high), p(-1.0, low), p(1.0, low)]);
            pen.line(&[p(1.0, low), p(1.0, high), p(3.0, high), p(3.0, low), p(4.5, low)]);
        }
    }
}

/// The lower line of the direct-current sign.
fn dashes() -> Stroke {
    Stroke { dash: Some(Dash::even(0.6, 0.3)), ..lines::symbol() }
}
