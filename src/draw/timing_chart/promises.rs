//! Promises under a screen's lane: a line for as long as each counts, a tick, a cross or a question mark at the moment
//! that decided, and words, in as many rows as they need.

use super::brush::Brush;
use super::lanes::Mark;
use kit::colour::{ALERT, INK, SOFT_INK};
use kit::font;
use kit::lines::{FINE, SMALL};
use kit::scene::*;
use replay::Verdict;

/// Height of a row.
const ROW: f64 = 4.6;
/// Half the size of a tick or cross.
const SIGN: f64 = 1.2;
/// From a sign to its words.
const APART: f64 = 0.9;

/// Paints the marks of a panel, and returns the height that they take.
pub fn paint(brush: &mut Brush, marks: &[Mark], top: f64) -> f64 {
    let [left, right] = brush.ends();
    let mut rows: Vec<Vec<[f64; 2]>> = vec![];
    let mine: Vec<&Mark> = marks.iter().filter(|mark| brush.has(mark.at)).collect();
    for mark in mine {
        let x = brush.x(mark.at).clamp(left + SIGN, right - SIGN);
        let line = brush.visible([mark.span[0], mark.span[1].max(mark.at)]);
        let from = line.first().map_or(x, |part| part[0]).min(x - SIGN);
        let to = line.last().map_or(x, |part| part[1]).max(x + SIGN);
        // Words stand behind the line, or before it if there is more room.
        let before = right - to < left.max(from) - left && right - to < font::width(&mark.text, SMALL, false) + 2.0;
        let room = if before { from - left } else { right - to } - 2.0 * APART;
        // Where neither side has room for them, they stand in a row below.
        let all = font::width(&mark.text, SMALL, false);
        let words = if all <= room { mark.text.as_str() } else { "" };
        let wide = font::width(words, SMALL, false) + 2.0 * APART;
        let taken = if before { [from - wide, to] } else { [from, to + wide] };
        let row = take(&mut rows, 0, taken);
        let y = top + ROW * (row as f64 + 0.5);
        let colour = match mark.verdict {
            Verdict::Kept => INK,
            Verdict::Broken => ALERT,
            Verdict::Undecided => SOFT_INK,
        };
        for [a, b] in line {
            // The sign interrupts the line.
            for [a, b] in [[a, b.min(x - SIGN - 0.4)], [a.max(x + SIGN + 0.4), b]] {
                if b - a > 0.05 {
                    brush.line(Point::new(a, y), Point::new(b, y), Stroke::solid(colour, FINE));
                }
            }
        }
        sign(brush, mark.verdict, Point::new(x, y), colour);
        let (at, anchor) = if before { (from - APART, Anchor::End) } else { (to + APART, Anchor::Start) };
        if !words.is_empty() {
            brush
                .text(TextItem::new(Point::new(at, 0.0), words, SMALL).anchored(anchor).coloured(colour).centred_on(y));
            continue;
        }
        let start = from.min(right - all).max(left);
        let y = top + ROW * (take(&mut rows, row + 1, [start, start + all]) as f64 + 0.5);
        brush.text(TextItem::new(Point::new(start, 0.0), mark.text.clone(), SMALL).coloured(colour).centred_on(y));
    }
    if rows.is_empty() { 0.0 } else { ROW * rows.len() as f64 + 1.0 }
}

/// Takes room in the first row from `first` on that has it, and says which.
fn take(rows: &mut Vec<Vec<[f64; 2]>>, first: usize, taken: [f64; 2]) -> usize {
    let free = |row: &Vec<[f64; 2]>| row.iter().all(|[a, b]| taken[1] < *a - 0.6 || taken[0] > *b + 0.6);
    let row = (first..rows.len()).find(|&row| free(&rows[row])).unwrap_or(rows.len().max(first));
    rows.resize_with(rows.len().max(row + 1), Vec::new);
    rows[row].push(taken);
    row
}

fn sign(brush: &mut Brush, verdict: Verdict, at: Point, colour: kit::colour::Rgb) {
    let stroke = Stroke::solid(colour, 0.5);
    let points = |list: &[(f64, f64)]| -> Vec<Point> { list.iter().map(|(x, y)| at.by(x * SIGN, y * SIGN)).collect() };
    match verdict {
        Verdict::Kept => {
            brush.items.push(Path::polyline(&points(&[(-0.8, 0.1), (-0.2, 0.8), (0.9, -0.9)])).stroked(stroke).into())
        }
        Verdict::Broken => {
            for ends in [[(-0.8, -0.8), (0.8, 0.8)], [(-0.8, 0.8), (0.8, -0.8)]] {
                brush.items.push(Path::polyline(&points(&ends)).stroked(stroke).into());
            }
        }
        Verdict::Undecided => {
            brush.items.push(Path::circle(at, SIGN * 0.7).stroked(Stroke::solid(colour, 0.35)).into())
        }
    }
}
