//! The same graph laid out by Graphviz `dot` with orthogonal splines, to have something to measure against.

use draw::connection::{Diagram, PlacedDiagram};
use std::fmt::Write as _;
use std::io::Write as _;
use std::process::{Command, Stdio};

/// The graph in the DOT language: a box as large as ours for every part, an edge for every wire.
pub fn dot(diagram: &Diagram, placed: &PlacedDiagram, clusters: bool) -> String {
    const MM_PER_INCH: f64 = 25.4;
    let mut out = String::from("graph g { rankdir=LR; splines=ortho; node [shape=box, fixedsize=true, label=\"\"];\n");
    for (place, _) in diagram.places.iter().enumerate() {
        if clusters {
            let _ = writeln!(out, "subgraph cluster_{place} {{");
        }
        let here = diagram.parts.iter().enumerate().filter(|(_, part)| part.place == place);
        for (i, _) in here {
            let size = placed.parts[i].outline.size();
            let _ =
                writeln!(out, "p{i} [width={:.3}, height={:.3}];", size.width / MM_PER_INCH, size.height / MM_PER_INCH);
        }
        if clusters {
            out.push_str("}\n");
        }
    }
    for wire in &diagram.wires {
        let _ = writeln!(out, "p{} -- p{};", wire.ends[0].part, wire.ends[1].part);
    }
    out.push_str("}\n");
    out
}

/// Crossings and corners in the layout of `dot`. `None` if `dot` crashes: version 2.43 does so on some graphs with
/// orthogonal splines.
///
/// # Panics
/// If `dot` is not installed, or leaves out an edge.
pub fn measured(source: &str) -> Option<(usize, usize)> {
    let mut child = Command::new("dot")
        .arg("-Tplain")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("dot starts");
    child.stdin.take().expect("dot reads").write_all(source.as_bytes()).expect("dot reads");
    let output = child.wait_with_output().expect("dot ends");
    if !output.status.success() {
        return None;
    }
    let text = String::from_utf8(output.stdout).expect("dot writes text");
    let edges: Vec<Vec<At>> = text.lines().filter(|line| line.starts_with("edge ")).map(corners).collect();
    assert_eq!(edges.len(), source.matches(" -- ").count(), "dot draws every edge");
    let pairs = (0..edges.len()).flat_map(|i| (0..i).map(move |j| (i, j)));
    let crossings = pairs.map(|(i, j)| crossings_of(&edges[i], &edges[j])).sum();
    Some((crossings, edges.iter().map(|edge| edge.len().saturating_sub(2)).sum()))
}

/// A point in thousandths of an inch, y upwards.
type At = (i64, i64);

/// `edge tail head n x1 y1 … xn yn …`: Bézier control points; every third is on the line.
fn corners(line: &str) -> Vec<At> {
    let words: Vec<&str> = line.split_whitespace().collect();
    let count: usize = words[3].parse().expect("dot writes how many points an edge has");
    let number = |i: usize| (words[4 + i].parse::<f64>().expect("dot writes numbers") * 1000.0).round() as i64;
    let mut kept: Vec<At> = Vec::new();
    for i in (0..count).step_by(3) {
        let p = (number(2 * i), number(2 * i + 1));
        if kept.last() == Some(&p) {
            continue;
        }
        if let [.., a, b] = kept[..]
            && ((a.0 == b.0 && b.0 == p.0) || (a.1 == b.1 && b.1 == p.1))
        {
            kept.pop();
        }
        kept.push(p);
    }
    kept
}

/// How many times two lines change sides, where they cross and where they run on top of each other for a while. (`dot`
/// lays edges on top of each other; drawn side by side they would cross as often as this.)
fn crossings_of(a: &[At], b: &[At]) -> usize {
    let (a, b) = (split_by(a, b), split_by(b, a));
    let mut count = 0;
    let mut i = 0;
    while i < a.len() {
        let Some(j) = b.iter().position(|p| *p == a[i]) else {
            i += 1;
            continue;
        };
        // The stretch that both share, in b's direction or against it.
        let same =
            |k: usize, step: i64| b.get((j as i64 + step * k as i64) as usize).is_some_and(|p| a.get(i + k) == Some(p));
        let run = |step: i64| (1..).take_while(|&k| same(k, step)).count();
        let (step, length) = if run(1) > 0 { (1, run(1)) } else { (-1, run(-1)) };
        let (j_in, j_out) = (j as i64 - step, j as i64 + step * (length as i64 + 1));
        let ends = (b.get(j_in as usize), b.get(j_out as usize), i.checked_sub(1).map(|p| a[p]), a.get(i + length + 1));
        if let (Some(&b_in), Some(&b_out), Some(a_in), Some(&a_out)) = ends {
            let (start, end) = (a[i], a[i + length]);
            let after = if length > 0 { a[i + 1] } else { a_out };
            let before = if length > 0 { a[i + length - 1] } else { a_in };
            count += usize::from(is_left(start, a_in, after, b_in) != is_left(end, before, a_out, b_out));
        }
        i += length + 1;
    }
    count
}

/// Whether a ray to `to` leaves the line from `back` over `at` to `on` to its left.
fn is_left(at: At, back: At, on: At, to: At) -> bool {
    let quarter = |p: At| match ((p.0 - at.0).signum(), (p.1 - at.1).signum()) {
        (1, _) => 0,
        (_, 1) => 1,
        (-1, _) => 2,
        _ => 3,
    };
    let turns = |p: At| (quarter(p) - quarter(on) + 4) % 4;
    turns(to) < turns(back)
}

/// The points of a line with those added where the other line's corners lie on it or the two cross.
fn split_by(line: &[At], other: &[At]) -> Vec<At> {
    let within = |x: i64, a: i64, b: i64| a.min(b) <= x && x <= a.max(b);
    let on = |p: At, a: At, b: At| within(p.0, a.0, b.0) && within(p.1, a.1, b.1);
    let mut points = Vec::new();
    for pair in line.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let crossings = other.windows(2).flat_map(|q| [(a.0, q[0].1), (q[0].0, a.1)].map(|p| (p, q[0], q[1])));
        let crossings = crossings.filter(|&(p, c, d)| on(p, c, d)).map(|(p, ..)| p);
        let mut here: Vec<At> = other.iter().copied().chain(crossings).chain([a, b]).filter(|&p| on(p, a, b)).collect();
        here.sort_by_key(|p| (p.0 - a.0).abs() + (p.1 - a.1).abs());
        points.extend(here);
    }
    points.dedup();
    points
}

mod tests {
    use super::*;

    #[test]
    fn lines_on_top_of_each_other_cross_when_they_change_sides() {
        let plain = [(0, 0), (10, 0)];
        assert_eq!(crossings_of(&plain, &[(5, -5), (5, 5)]), 1);
        assert_eq!(crossings_of(&plain, &[(3, 5), (3, 0), (7, 0), (7, 5)]), 0);
        assert_eq!(crossings_of(&plain, &[(3, 5), (3, 0), (7, 0), (7, -5)]), 1);
        assert_eq!(crossings_of(&plain, &[(7, -5), (7, 0), (3, 0), (3, 5)]), 1);
        assert_eq!(crossings_of(&plain, &[(0, 0), (7, 0), (7, -5)]), 0);
        let stairs = [(0, 0), (5, 0), (5, 5), (10, 5)];
        assert_eq!(crossings_of(&stairs, &[(5, -5), (5, 10)]), 1);
        assert_eq!(crossings_of(&stairs, &[(0, 5), (5, 5), (5, 0), (10, 0)]), 1);
    }
}
