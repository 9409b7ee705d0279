//! The time axis: which moment stands where. Stretches in which nothing new happens are cut out, and the axis breaks
//! there. The rest is to scale, in as many panels as it needs.

use replay::Time;

/// What the scale is at most, millimetres to the second.
const MOST_SCALE: f64 = 40.0;

/// A panel is good if its scale is at least this: a fast flash is then 7 mm long.
const GOOD_SCALE: f64 = 14.0;

/// The scale where one panel isn't enough.
const USUAL_SCALE: f64 = 12.0;

/// Width of a break, and of the gap in its middle.
pub const BREAK: f64 = 7.0;
pub const BREAK_GAP: f64 = 3.0;

/// A stretch without news is cut if it is longer than this: the first that makes all of it fit into one panel.
const LONG: [Time; 5] = [
    Time::NEVER,
    Time::milliseconds(20_000),
    Time::milliseconds(10_000),
    Time::milliseconds(5_000),
    Time::milliseconds(2_500),
];

/// What is kept of it on either side.
const KEPT: Time = Time::milliseconds(400);

/// A stretch of the axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// From when.
    pub from: Time,
    /// To when.
    pub to: Time,
    /// Where it starts and ends, millimetres from the start of the axis.
    pub x: [f64; 2],
    /// Whether it is cut out.
    pub cut: bool,
}

/// The axis, unrolled: as if there were one endless panel.
#[derive(Debug, Clone)]
pub struct Axis {
    /// Its stretches.
    pub pieces: Vec<Piece>,
    /// Millimetres to the second.
    pub scale: f64,
    /// Width of a panel.
    pub width: f64,
    /// How many there are.
    pub panels: usize,
}

/// The stretches of time up to `end`: what is kept, and what is cut out because nothing new happens for `long`. After
/// the last news the axis ends, and does not break for a bit of the end.
fn cut(end: Time, news: &[Time], long: Time) -> Vec<(Time, Time, bool)> {
    let mut spans = vec![];
    let (mut kept_from, mut last) = (Time::ZERO, Time::ZERO);
    for &at in news {
        if at - last > long {
            spans.push((kept_from, last + KEPT, false));
            spans.push((last + KEPT, at - KEPT, true));
            kept_from = at - KEPT;
        }
        last = last.max(at);
    }
    spans.push((kept_from, if end - last > long { last + KEPT } else { end }, false));
    spans
}

/// The least part of a stretch that a panel begins with, millimetres; a shorter stretch may end there.
const LEAST: f64 = 15.0;

/// The panel and the position of each stretch. A stretch with little room after a break begins in the next panel.
fn placed(spans: &[(Time, Time, bool)], scale: f64, width: f64) -> Vec<Piece> {
    let length = |(from, to, _): &(Time, Time, bool)| (*to - *from).seconds().value() * scale;
    let mut x = 0.0;
    let mut pieces = vec![];
    for (i, span) in spans.iter().enumerate() {
        let (from, to, cut) = *span;
        let mut wide = if cut { BREAK } else { length(span) };
        let panel_end = ((x / width + 1e-9).floor() + 1.0) * width;
        let room = panel_end - x - wide;
        if cut && room < spans.get(i + 1).map_or(0.0, length).min(LEAST) {
            // The gap ends with the panel.
            wide = panel_end - x + (BREAK - BREAK_GAP) / 2.0;
        }
        x += wide;
        pieces.push(Piece { from, to, x: [x - wide, x], cut });
    }
    pieces
}

impl Axis {
    /// Lays out an axis up to `end`, with news at the moments given, in order, into panels of a width.
    pub fn new(end: Time, news: &[Time], width: f64) -> Axis {
        let mut spans = vec![];
        let (mut breaks, mut kept, mut fit) = (0.0, 0.0, 0.0);
        for long in LONG {
            spans = cut(end, news, long);
            breaks = spans.iter().filter(|s| s.2).count() as f64 * BREAK;
            kept = spans.iter().filter(|s| !s.2).map(|s| (s.1 - s.0).seconds().value()).sum::<f64>().max(1e-3);
            fit = (width - breaks) / kept;
            if fit >= GOOD_SCALE {
                break;
            }
        }
        let (mut scale, panels) = if fit >= GOOD_SCALE {
            (fit.min(MOST_SCALE), 1)
        } else {
            let panels = ((kept * USUAL_SCALE + breaks) / width).ceil().max(1.0);
            ((panels * width - breaks) / kept, panels as usize)
        };
        // Stretches that begin in the next panel take room: the scale gives way.
        let room = width * panels as f64 + 1e-6;
        let mut pieces = placed(&spans, scale, width);
        while pieces.last().is_some_and(|last| last.x[1] > room) {
            scale *= 0.99;
            pieces = placed(&spans, scale, width);
        }
        Axis { pieces, scale, width, panels }
    }

    /// The x of a moment; of a moment that is cut out, the nearer side of the gap.
    pub fn x(&self, at: Time) -> f64 {
        let after = self.pieces.partition_point(|piece| piece.to < at).min(self.pieces.len() - 1);
        let piece = self.pieces[after];
        let share = (at - piece.from).seconds().value() / (piece.to - piece.from).seconds().value().max(1e-12);
        if piece.cut {
            let side = (BREAK - BREAK_GAP) / 2.0;
            return if share < 0.5 { piece.x[0] + side } else { piece.x[1] - side };
        }
        piece.x[0] + share.clamp(0.0, 1.0) * (piece.x[1] - piece.x[0])
    }

    /// The stretches of a panel that can be drawn on, between its ends and the gaps of breaks, millimetres from the
    /// start of the axis.
    pub fn clear(&self, panel: usize) -> Vec<[f64; 2]> {
        let (start, end) = (self.width * panel as f64, self.width * (panel + 1) as f64);
        let mut clear = vec![];
        let mut from = start;
        for gap in self.gaps() {
            if gap[1] <= start || gap[0] >= end {
                continue;
            }
            clear.push([from, gap[0]]);
            from = gap[1];
        }
        clear.push([from, end.min(self.end())]);
        clear.retain(|[a, b]| b > a);
        clear
    }

    /// The gaps of breaks.
    pub fn gaps(&self) -> impl Iterator<Item = [f64; 2]> {
        let side = (BREAK - BREAK_GAP) / 2.0;
        self.pieces.iter().filter(|piece| piece.cut).map(move |piece| [piece.x[0] + side, piece.x[1] - side])
    }

    /// Whether any of a span is drawn so wide that it can be seen.
    pub fn shows(&self, span: [Time; 2]) -> bool {
        const SEEN: f64 = 0.6;
        let [from, to] = span.map(|at| self.x(at));
        let clear = (0..self.panels).flat_map(|panel| self.clear(panel));
        clear.into_iter().any(|[a, b]| b.min(to) - a.max(from) > SEEN)
    }

    /// Where the axis ends.
    pub fn end(&self) -> f64 {
        self.pieces.last().map_or(0.0, |piece| piece.x[1])
    }

    /// The stretches that are cut out.
    pub fn cuts(&self) -> impl Iterator<Item = [Time; 2]> {
        self.pieces.iter().filter(|piece| piece.cut).map(|piece| [piece.from, piece.to])
    }

    /// Every tick of the stretches that are to scale: where, when, and whether it must be named.
    pub fn ticks(&self) -> Vec<(f64, Time, bool)> {
        let (step, named) = match self.scale {
            scale if scale >= 20.0 => (100, 500),
            scale if scale >= 14.0 => (200, 1000),
            _ => (500, 1000),
        };
        let step = Time::milliseconds(step);
        let mut ticks = vec![];
        for piece in self.pieces.iter().filter(|piece| !piece.cut) {
            let mut at = piece.from.up_to_next(step);
            while at <= piece.to {
                ticks.push((self.x(at), at, at.count() % Time::milliseconds(named).count() == 0));
                at = at + step;
            }
        }
        ticks
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn s(seconds: i64) -> Time {
        Time::milliseconds(seconds * 1000)
    }

    #[test]
    fn what_fits_is_to_scale_and_whole() {
        let axis = Axis::new(s(10), &[s(0), s(2), s(4), s(6), s(8)], 200.0);
        assert_eq!((axis.pieces.len(), axis.panels, axis.scale), (1, 1, 20.0));
        assert!((axis.x(s(5)) - 100.0).abs() < 1e-9);
        assert_eq!(axis.clear(0), [[0.0, 200.0]]);
    }

    #[test]
    fn a_long_stretch_without_news_is_cut() {
        let axis = Axis::new(s(3602), &[s(1), s(3600)], 200.0);
        let cuts: Vec<&Piece> = axis.pieces.iter().filter(|piece| piece.cut).collect();
        assert_eq!(
            (cuts.len(), cuts[0].from, cuts[0].to),
            (1, Time::milliseconds(1400), Time::milliseconds(3_599_600))
        );
        // Kept: 1.4 s and 2.4 s.
        assert!((axis.scale - 193.0 / 3.8).abs() < 1e-9 || axis.scale == MOST_SCALE);
        assert!(axis.x(s(100)) < axis.x(s(3500)), "either side of the gap");
        assert_eq!(axis.x(s(100)), axis.x(s(200)));
        assert_eq!(axis.clear(0).len(), 2);
    }

    #[test]
    fn an_axis_ends_with_the_last_news() {
        let axis = Axis::new(s(3602), &[s(1), s(3)], 200.0);
        assert_eq!((axis.pieces.len(), axis.pieces[0].to), (1, Time::milliseconds(3400)));
        assert_eq!(axis.x(s(3602)), axis.end());
    }

    /// No scrap of the axis stands after a break at the end of a panel.
    #[test]
    fn what_begins_in_a_panel_can_be_seen_there() {
        let mut breaks = 0;
        for step in 3..40 {
            let news: Vec<Time> = (0..12).map(|i| s(i * step)).collect();
            let axis = Axis::new(s(12 * step), &news, 217.0);
            assert!(axis.end() <= axis.width * axis.panels as f64 + 1e-6, "{step}");
            for piece in axis.pieces.iter().filter(|piece| !piece.cut) {
                let end = ((piece.x[0] / axis.width + 1e-9).floor() + 1.0) * axis.width;
                let (whole, seen) = (piece.x[1] - piece.x[0], piece.x[1].min(end) - piece.x[0]);
                assert!(seen >= whole.min(LEAST - BREAK) - 1e-6, "{step}: {seen} of {whole}");
            }
            breaks += axis.cuts().count();
        }
        assert!(breaks > 50, "{breaks}");
    }

    #[test]
    fn what_is_too_long_runs_on_in_further_panels() {
        let news: Vec<Time> = (0..60).map(s).collect();
        let axis = Axis::new(s(60), &news, 200.0);
        assert_eq!(axis.panels, 4);
        assert!((axis.end() - 800.0).abs() < 1e-6);
        assert!(axis.scale >= USUAL_SCALE);
    }

    #[test]
    fn ticks_stand_on_round_moments_in_order() {
        let axis = Axis::new(s(30), &[s(0), s(1), s(20)], 200.0);
        let ticks = axis.ticks();
        assert!(ticks.windows(2).all(|pair| pair[0].0 < pair[1].0 && pair[0].1 < pair[1].1));
        assert!(ticks.iter().all(|tick| tick.1.count() % 100_000_000 == 0));
    }
}
