//! Labels to cut out.

use crate::blocks::CutLabel;
use crate::flow::PageStrip;
use crate::letters::CELL;
use crate::paint::{line, text};
use kit::colour::{INK, SOFT_INK};
use kit::font;
use kit::path::{Dash, Path, Stroke};
use kit::qr::QrSquare;
use kit::scene::{Point, Rect, Size};

/// A label, at least.
const LABEL: Size = Size::new(46.0, 10.0);
/// A QR code with its light border: modules of a third of a millimetre and more, which a printer and a phone's camera
/// both resolve (common practice, no source).
const CODE: f64 = 17.0;
/// Edge of a label to its texts.
const EDGE: f64 = 1.5;

/// A label, set.
struct SetLabel {
    first: Vec<String>,
    second: Vec<String>,
    code: Option<QrSquare>,
}

impl SetLabel {
    fn of(label: &CutLabel) -> Self {
        let code = label.link.as_deref().and_then(QrSquare::of);
        let room = LABEL.width - 2.0 * EDGE - if code.is_some() { CODE } else { 0.0 };
        let [first, second] = [0, 1].map(|i| font::filled(&label.lines[i], room, CELL.size, i == 0));
        Self { first, second, code }
    }

    fn height(&self) -> f64 {
        let words = (self.first.len() + self.second.len()) as f64 * line(CELL) + 2.0;
        words.max(LABEL.height).max(if self.code.is_some() { CODE } else { 0.0 })
    }
}

/// The labels, as many side by side as there is room for.
pub fn labels(labels: &[CutLabel], room: f64) -> Vec<PageStrip> {
    let columns = ((room / LABEL.width) as usize).max(1);
    let row = |row: &[CutLabel]| {
        let set: Vec<SetLabel> = row.iter().map(SetLabel::of).collect();
        let height = set.iter().map(SetLabel::height).fold(0.0, f64::max);
        let mut strip = PageStrip { height, ..PageStrip::default() };
        for (i, label) in set.iter().enumerate() {
            put(&mut strip, label, Point::new(LABEL.width * i as f64, 0.0));
        }
        strip
    };
    labels.chunks(columns).map(row).collect()
}

fn put(strip: &mut PageStrip, label: &SetLabel, at: Point) {
    let area = Rect::sized(at, Size::new(LABEL.width, strip.height));
    strip.items.push(Path::rect(&area).stroked(Stroke::dashed(SOFT_INK, 0.18, Dash::even(1.0, 1.0))).into());
    let bold = label.first.iter().map(|words| (words, CELL.bold()));
    for (n, (words, letters)) in bold.chain(label.second.iter().map(|words| (words, CELL))).enumerate() {
        strip.items.push(text(words.clone(), at.by(EDGE, 0.8 + n as f64 * line(CELL)), letters));
    }
    if let Some(code) = &label.code {
        strip.items.push(code.path(at.by(LABEL.width - CODE, 0.0), CODE).filled(INK).into());
    }
}
