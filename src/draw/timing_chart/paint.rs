//! Lanes painted into one panel: a slice of the endless axis, with its own row of times and its own names at the left.

use super::axis::Axis;
use super::brush::{Brush, INSET, NAMES, TIMES, WAVE};
use super::lanes::{Band, BandLook, ChartLane};
use super::promises;
use kit::colour::SOFT_INK;
use kit::font;
use kit::lines::SMALL;
use kit::scene::*;
use replay::Time;

const HEADING: f64 = 5.5;
const BANDS: f64 = 5.6;
const MAIN: f64 = 8.0;
/// Between two lanes.
const SPACE: f64 = 1.3;

/// One panel, placed: its items and its height, its top left corner at the origin.
pub struct Panel {
    pub items: Vec<Item>,
    pub height: f64,
}

/// Paints a panel. `guides` are the moments at which somebody did something.
pub fn panel(axis: &Axis, index: usize, lanes: &[ChartLane], guides: &[Time]) -> Panel {
    let shift = NAMES - axis.width * index as f64;
    let mut brush = Brush { axis, clear: axis.clear(index), shift, items: vec![], texts: vec![] };
    brush.times();
    let mut y = TIMES;
    let top = y;
    for lane in lanes {
        y += match lane {
            ChartLane::Heading(words) => {
                let text = TextItem::new(Point::new(0.0, 0.0), *words, SMALL).coloured(SOFT_INK).bold();
                brush.text(text.centred_on(y + HEADING / 2.0 + 0.4));
                HEADING
            }
            ChartLane::Wave { label, on, lever } => {
                brush.name(label, y + WAVE / 2.0);
                brush.wave(on, lever, y);
                WAVE + SPACE
            }
            ChartLane::Bands { label, bands, main } => {
                let height = if *main { MAIN } else { BANDS };
                brush.name(label, y + height / 2.0);
                brush.bands(bands, y, height);
                height + SPACE
            }
            ChartLane::Marks(all) => promises::paint(&mut brush, all, y),
        };
    }
    let behind = brush.guides(guides, top, y);
    let mut items = vec![behind];
    items.append(&mut brush.items);
    Panel { items, height: y }
}

/// A specimen of a look, for the key.
pub fn specimen(look: BandLook, words: &str, at: Point) -> Vec<Item> {
    let axis = Axis::new(Time::milliseconds(1000), &[Time::ZERO], 10.0);
    let mut brush = Brush { axis: &axis, clear: vec![], shift: 0.0, items: vec![], texts: vec![] };
    let band = Band { span: [Time::ZERO; 2], text: words.into(), short: String::new(), look };
    let room = font::width(words, SMALL, false) + 2.0 * INSET;
    let words = (!words.is_empty()).then(|| (words.to_string(), SMALL));
    brush.band(&band, [at.x, at.x + room.max(8.0)], at.y, 5.0, words);
    brush.items
}
