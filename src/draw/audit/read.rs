//! Reads what [`kit::svg`] writes: groups, paths of absolute M, L, C, A and Z steps, and texts set from
//! outlined letters.

use kit::geometry::{Point, Rect, Seg, around, cubics};
use roxmltree::{Document, Node};
use std::collections::BTreeMap;

/// A line as it was drawn, flattened to straight stretches.
pub(super) struct Line {
    /// Its pieces, each a chain of points.
    pub runs: Vec<Vec<Point>>,
    /// Width, millimetres; 0 for an area without a border.
    pub width: f64,
    /// The box around its ink.
    pub bounds: Rect,
    /// Number of the wire it belongs to.
    pub wire: Option<String>,
    /// The wire, or the pin whose bar or lead it is; none for what does not carry current.
    pub conductor: Option<String>,
    ends: Vec<String>,
    owner: String,
}

/// A text, with the box of its letters' true outlines.
pub(super) struct Words {
    pub words: String,
    pub ink: Rect,
    /// Font size, millimetres.
    pub size: f64,
    /// The groups it stands in.
    pub groups: Vec<roxmltree::NodeId>,
}

/// A part's body.
pub(super) struct Body {
    pub name: String,
    pub body: Rect,
    pub group: roxmltree::NodeId,
}

/// A pin and where wires join it.
pub(super) struct Pin {
    pub name: String,
    pub at: Point,
}

/// All of a drawing.
pub(super) struct Drawing {
    pub sheet: Rect,
    pub lines: Vec<Line>,
    pub texts: Vec<Words>,
    pub parts: Vec<Body>,
    pub pins: Vec<Pin>,
}

impl Line {
    /// Its straight stretches.
    pub fn steps(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        self.runs.iter().flat_map(|run| run.windows(2).map(|pair| (pair[0], pair[1])))
    }
    /// What it belongs to, for messages.
    pub fn name(&self) -> String {
        self.conductor.clone().unwrap_or_else(|| format!("line of {}", self.owner))
    }
    /// Whether the drawing says which pins it joins.
    pub fn named(&self) -> bool {
        !self.ends.is_empty()
    }
    /// Whether it joins this pin.
    pub fn joins(&self, pin: &str) -> bool {
        self.ends.iter().any(|end| end == pin)
    }
    /// Whether one of its ends is here.
    pub fn ends_at(&self, p: Point, reach: f64) -> bool {
        let ends = self.runs.iter().flat_map(|run| run.first().into_iter().chain(run.last()));
        ends.into_iter().any(|end| end.distance(p) < reach)
    }
}

impl Drawing {
    /// The lines that carry current: of each wire's painted layers only the widest, lowest one.
    pub fn wires(&self) -> Vec<&Line> {
        let mut seen: BTreeMap<&str, Vec<Vec<Vec<Point>>>> = BTreeMap::new();
        let mut wires = Vec::new();
        for line in &self.lines {
            let Some(wire) = line.conductor.as_deref() else { continue };
            let known = seen.entry(wire).or_default();
            if line.width > 0.0 && !known.contains(&line.runs) {
                known.push(line.runs.clone());
                wires.push(line);
            }
        }
        wires
    }
}

/// Reads a whole drawing.
pub(super) fn read(svg: &str) -> Result<Drawing, String> {
    let document = Document::parse(svg).map_err(|e| format!("not well-formed XML: {e}"))?;
    let root = document.root_element();
    let sheet = numbers(root.attribute("viewBox").ok_or("the drawing has no viewBox")?)?;
    let [x, y, width, height] = sheet[..] else { return Err("the viewBox is not four numbers".into()) };
    let mut drawing = Drawing {
        sheet: Rect::new(Point::new(x, y), Point::new(x + width, y + height)),
        lines: Vec::new(),
        texts: Vec::new(),
        parts: Vec::new(),
        pins: Vec::new(),
    };
    let glyphs = glyphs(root)?;
    for node in root.descendants().filter(Node::is_element) {
        match node.tag_name().name() {
            "g" if node.has_attribute("transform") => drawing.texts.extend(words(node, &glyphs)?),
            "g" => group(node, &mut drawing)?,
            // The sheet itself is the one path that stands outside every group and has no line.
            "path" if node.parent() == Some(root) && !node.has_attribute("stroke") => {}
            "path" if nearest(node, "transform").is_none() && !inside(node, "defs") => drawing.lines.push(line(node)?),
            _ => {}
        }
    }
    Ok(drawing)
}

fn inside(node: Node, name: &str) -> bool {
    node.ancestors().any(|a| a.has_tag_name(("http://www.w3.org/2000/svg", name)))
}

/// The value of an attribute on the node, or else on the nearest group around it.
fn nearest<'a>(node: Node<'a, '_>, name: &str) -> Option<&'a str> {
    node.ancestors().find_map(|a| a.attribute(name))
}

fn group(node: Node, drawing: &mut Drawing) -> Result<(), String> {
    let name = nearest(node, "data-part").or(nearest(node, "data-kind")).unwrap_or("?").to_string();
    if let Some(outline) = node.attribute("data-outline") {
        let [left, top, right, bottom] = numbers(outline)?[..] else { return Err("an outline is not a box".into()) };
        let body = Rect::new(Point::new(left, top), Point::new(right, bottom));
        drawing.parts.push(Body { name, body, group: node.id() });
    }
    if let (Some(pin), Some(at)) = (node.attribute("data-pin"), node.attribute("data-at")) {
        let [x, y] = numbers(at)?[..] else { return Err(format!("the place of pin {pin} is not two numbers")) };
        drawing.pins.push(Pin { name: pin.into(), at: Point::new(x, y) });
    }
    Ok(())
}

fn line(node: Node) -> Result<Line, String> {
    let runs = flattened(&segs(node.attribute("d").unwrap_or(""))?, 0.05);
    let stroked = node.attribute("stroke").is_some();
    let width = if stroked { number(node.attribute("stroke-width").unwrap_or("1"))? } else { 0.0 };
    let carries = |a: &Node| a.has_attribute("data-wire") || a.has_attribute("data-joint");
    let holder = node.ancestors().find(carries);
    let ends = holder.into_iter().flat_map(|h| [h.attribute("data-from"), h.attribute("data-to")]);
    let ink = around(runs.iter().flatten().map(|&p| Rect::new(p, p)));
    let bounds = ink.unwrap_or(Rect::new(Point::default(), Point::default())).inflate(width / 2.0);
    Ok(Line {
        runs,
        width,
        bounds,
        wire: nearest(node, "data-wire").map(Into::into),
        conductor: nearest(node, "data-wire")
            .map(|wire| format!("wire {wire}"))
            .or(nearest(node, "data-joint").map(|pin| format!("joint {pin}"))),
        ends: ends.flatten().map(Into::into).collect(),
        owner: nearest(node, "data-part").or(nearest(node, "data-kind")).unwrap_or("the drawing").into(),
    })
}

/// The box of each letter in the letters' own units; none for a blank.
fn glyphs<'a>(root: Node<'a, '_>) -> Result<BTreeMap<&'a str, Option<Rect>>, String> {
    let mut glyphs = BTreeMap::new();
    for node in root.descendants().filter(|n| n.has_attribute("id") && inside(*n, "defs")) {
        let runs = flattened(&segs(node.attribute("d").unwrap_or(""))?, 10.0);
        let ink = around(runs.iter().flatten().map(|&p| Rect::new(p, p)));
        glyphs.insert(node.attribute("id").unwrap_or(""), ink);
    }
    Ok(glyphs)
}

fn words(node: Node, glyphs: &BTreeMap<&str, Option<Rect>>) -> Result<Option<Words>, String> {
    let transform = node.attribute("transform").unwrap_or("");
    let part = |name: &str| {
        let rest = transform.split_once(name).and_then(|(_, rest)| rest.strip_prefix('('));
        rest.and_then(|rest| rest.split_once(')')).map(|(inner, _)| inner)
    };
    let at = numbers(part("translate").ok_or("a text has no place")?)?;
    let scale = number(part("scale").ok_or("a text has no size")?)?;
    let up = part("rotate").is_some();
    let [x, y] = at[..] else { return Err("a text's place is not two numbers".into()) };
    let place = |p: Point| {
        let (dx, dy) = if up { (p.y, -p.x) } else { (p.x, p.y) };
        Point::new(x + dx * scale, y + dy * scale)
    };
    let mut boxes = Vec::new();
    for letter in node.descendants().filter(|n| n.has_tag_name(("http://www.w3.org/2000/svg", "use"))) {
        let id = letter.attribute("href").and_then(|h| h.strip_prefix('#')).unwrap_or("");
        let ink = glyphs.get(id).ok_or_else(|| format!("a text uses the letter `{id}`, which is not defined"))?;
        let shift = letter.attribute("x").map_or(Ok(0.0), number)?;
        boxes.extend(ink.map(|r| {
            let r = r.by(shift, 0.0);
            Rect::new(place(Point::new(r.left, r.top)), place(Point::new(r.right, r.bottom)))
        }));
    }
    let words = node.attribute("aria-label").unwrap_or("").to_string();
    let groups = node.ancestors().map(|a| a.id()).collect();
    let text = around(boxes).map(|ink| Words { words, ink, size: scale * 1000.0, groups });
    Ok(text.filter(Words::inked))
}

fn number(text: &str) -> Result<f64, String> {
    text.trim().parse().map_err(|_| format!("`{text}` is not a number"))
}

fn numbers(text: &str) -> Result<Vec<f64>, String> {
    text.split_whitespace().map(number).collect()
}

/// Path data to steps.
fn segs(d: &str) -> Result<Vec<Seg>, String> {
    let mut segs = Vec::new();
    let mut rest = d;
    while let Some(letter) = rest.chars().next() {
        let end = rest[1..].find(|c: char| c.is_ascii_alphabetic()).map_or(rest.len(), |i| i + 1);
        let values = numbers(&rest[1..end])?;
        let p = |i: usize| Point::new(values[i], values[i + 1]);
        segs.push(match (letter, values.len()) {
            ('M', 2) => Seg::Move(p(0)),
            ('L', 2) => Seg::Line(p(0)),
            ('C', 6) => Seg::Cubic(p(0), p(2), p(4)),
            ('A', 7) => Seg::Arc { radius: values[0], large: values[3] == 1.0, clockwise: values[4] == 1.0, to: p(5) },
            ('Z', 0) => Seg::Close,
            _ => return Err(format!("path step `{}` is not one that drawings are written with", &rest[..end])),
        });
        rest = &rest[end..];
    }
    Ok(segs)
}

/// Chains of straight stretches; curves are cut into pieces of about `step`.
fn flattened(segs: &[Seg], step: f64) -> Vec<Vec<Point>> {
    let mut runs: Vec<Vec<Point>> = Vec::new();
    for seg in cubics(segs) {
        let here = runs.last().and_then(|run| run.last()).copied().unwrap_or_default();
        let Some(run) = (match seg {
            Seg::Move(p) => {
                runs.push(vec![p]);
                continue;
            }
            _ => runs.last_mut(),
        }) else {
            continue;
        };
        match seg {
            Seg::Line(p) | Seg::Arc { to: p, .. } => run.push(p),
            Seg::Close => run.extend(run.first().copied()),
            Seg::Move(_) => {}
            Seg::Cubic(a, b, c) => {
                let pieces = ((here.distance(c) + here.distance(a)) / step / 8.0).ceil().clamp(4.0, 32.0) as usize;
                run.extend((1..=pieces).map(|i| on_curve([here, a, b, c], i as f64 / pieces as f64)));
            }
        }
    }
    runs
}

/// A point of a cubic curve (Bernstein form).
fn on_curve([a, b, c, d]: [Point; 4], t: f64) -> Point {
    let u = 1.0 - t;
    let mix =
        |a: f64, b: f64, c: f64, d: f64| u * u * u * a + 3.0 * u * u * t * b + 3.0 * u * t * t * c + t * t * t * d;
    Point::new(mix(a.x, b.x, c.x, d.x), mix(a.y, b.y, c.y, d.y))
}
