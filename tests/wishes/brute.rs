//! What a made-up wish asks for, by going through every combination of positions: independent of the planner, which reads
//! the text. Confirms conflicts.

use crate::made::{Input, Show, When, Wish};

/// The position of each input.
pub type Row = Vec<usize>;

/// Every combination that `needs` allows.
pub fn rows(inputs: &[Input], live: &When) -> Vec<Row> {
    let mut all: Vec<Row> = vec![Vec::new()];
    for input in inputs {
        all = all
            .into_iter()
            .flat_map(|row| (0..input.positions.len()).map(move |p| [row.clone(), vec![p]].concat()))
            .collect();
    }
    all.retain(|row| holds(live, row) || inputs.iter().zip(row).all(|(input, p)| !input.needs_key || *p == 0));
    all
}

pub fn holds(when: &When, row: &Row) -> bool {
    match when {
        When::Is(input, None) => row[*input] > 0,
        When::Is(input, Some(position)) => row[*input] == *position,
        When::Not(of) => !holds(of, row),
        When::All(of) => of.iter().all(|when| holds(when, row)),
        When::Any(of) => of.iter().any(|when| holds(when, row)),
    }
}

/// The views of a screen that apply nowhere, by number.
pub fn unreached(views: &[(When, Show)], rows: &[Row]) -> Vec<usize> {
    let first = |row: &Row| views.iter().position(|(when, _)| holds(when, row));
    let reached: Vec<Option<usize>> = rows.iter().map(first).collect();
    (0..views.len()).filter(|view| !reached.contains(&Some(*view))).collect()
}

/// What a screen should show; without a matching view, its home page.
pub fn wanted(wish: &Wish, screen: usize, row: &Row) -> Show {
    let screen = &wish.screens[screen];
    let view = screen.views.iter().find(|(when, _)| holds(when, row)).map(|(_, show)| show.clone());
    view.or(screen.otherwise.clone()).unwrap_or(Show::Home)
}

/// Whether the conflict that the planner reports is one: `message`, at a line of the wish, with further lines.
pub fn confirms(wish: &Wish, message: &str, line: usize, also: &[usize], hint: &str) -> bool {
    let rows = rows(&wish.inputs, &wish.live);
    let lines: Vec<&str> = wish.text.lines().collect();
    // The screen and the number of a view, by its line.
    let view = |line: usize| {
        let head = (0..line).rev().find(|i| lines[*i].starts_with("  s") && lines[*i].ends_with(':'))?;
        let screen: usize = lines[head].trim().trim_start_matches('s').trim_end_matches(':').parse().ok()?;
        Some((screen - 1, line.checked_sub(head + 2)?))
    };
    if message.contains("earlier lines win") {
        let Some((screen, own)) = view(line) else { return false };
        let views = &wish.screens[screen].views;
        let others: Vec<usize> = also.iter().filter_map(|line| Some(view(*line)?.1)).collect();
        let covered = |by: &[usize]| {
            rows.iter().all(|row| !holds(&views[own].0, row) || by.iter().any(|v| holds(&views[*v].0, row)))
        };
        // No set of earlier lines with fewer members covers it.
        let smaller = (0..1usize << own)
            .filter(|set| (set.count_ones() as usize) < others.len())
            .any(|set| covered(&(0..own).filter(|v| set >> v & 1 == 1).collect::<Vec<_>>()));
        let moved = match hint.strip_prefix("move this line before line ").and_then(|n| n.parse().ok()) {
            None => true,
            Some(to) => {
                let Some((_, to)) = view(to) else { return false };
                let mut views = views.clone();
                let view = views.remove(own);
                views.insert(to, view);
                let left = unreached(&views, &rows);
                (to..=own).all(|view| !left.contains(&view))
            }
        };
        return others.iter().all(|v| *v < own) && covered(&others) && !smaller && moved;
    }
    if message.contains("its condition never holds") {
        if message.contains("`works`") {
            return wish.loads.iter().any(|load| !rows.iter().any(|row| holds(load, row)));
        }
        let Some((screen, own)) = view(line) else { return false };
        return !rows.iter().any(|row| holds(&wish.screens[screen].views[own].0, row));
    }
    if message.contains("takes none of the formats") {
        let shows = |screen: usize, camera: usize| {
            wish.screens[screen].views.iter().any(|(_, show)| *show == Show::Camera(camera))
                || wish.screens[screen].otherwise == Some(Show::Camera(camera))
        };
        return (0..wish.screens.len()).any(|s| {
            (0..wish.cameras.len())
                .any(|c| shows(s, c) && !wish.cameras[c].iter().any(|f| wish.screens[s].formats.contains(f)))
        });
    }
    if message.contains("has no splitter for") {
        // The splitters of the catalogue pass composite pictures.
        let shows = |screen: usize, camera: usize| {
            let views = wish.screens[screen].views.iter().map(|(_, show)| show).chain(&wish.screens[screen].otherwise);
            views.into_iter().any(|show| *show == Show::Camera(camera))
        };
        return (0..wish.cameras.len()).any(|camera| {
            let screens = (0..wish.screens.len()).filter(|screen| shows(*screen, camera)).count();
            screens > 1
                && lines[line - 1].contains(&format!("  C{camera}: "))
                && !wish.cameras[camera].contains(&"cvbs-pal")
        });
    }
    if message.contains("to change its picture") {
        // No screen of the catalogue changes its picture within this.
        return lines[line - 1].contains("within: 250 ms");
    }
    // The camera of a view, and when it has power.
    let powered = |screen: usize, own: usize| {
        let screen = &wish.screens[screen];
        match screen.views.get(own).map_or(screen.otherwise.as_ref(), |(_, show)| Some(show)) {
            Some(Show::Camera(camera)) => wish.powered[*camera].as_ref(),
            _ => None,
        }
    };
    if message.contains("should show, and has no power") {
        let Some((screen, own)) = view(line) else { return false };
        let Some(power) = powered(screen, own) else { return false };
        let first = |row: &Row| wish.screens[screen].views.iter().position(|(when, _)| holds(when, row));
        // The line behind the views is for every other combination.
        let shows = |row: &Row| first(row).unwrap_or(wish.screens[screen].views.len()) == own;
        return rows.iter().any(|row| shows(row) && !holds(power, row));
    }
    if message.contains("to start when its power comes on") {
        let Some((screen, own)) = view(line) else { return false };
        let Some(power) = powered(screen, own) else { return false };
        let applies = |row: &Row| wish.screens[screen].views.iter().position(|(when, _)| holds(when, row)) == Some(own);
        let moves = |a: &Row, b: &Row| a.iter().zip(b).filter(|(x, y)| x != y).count() == 1;
        let after = rows.iter().filter(|row| holds(power, row) && applies(row));
        let starts = after.into_iter().any(|to| rows.iter().any(|from| !holds(power, from) && moves(from, to)));
        // Every camera takes 800 ms or more.
        return starts && ["within: 700 ms", "within: 250 ms"].iter().any(|soon| lines[line - 1].contains(soon));
    }
    if message.contains("to start when its supply comes on") {
        let Some((screen, own)) = view(line) else { return false };
        // Two combinations that one move of an input leads between, dark before, with this view behind.
        let applies = |row: &Row| wish.screens[screen].views.iter().position(|(when, _)| holds(when, row)) == Some(own);
        let moves = |a: &Row, b: &Row| a.iter().zip(b).filter(|(x, y)| x != y).count() == 1;
        let after = rows.iter().filter(|row| holds(&wish.live, row) && applies(row));
        let starts = after.into_iter().any(|to| rows.iter().any(|from| !holds(&wish.live, from) && moves(from, to)));
        // Every screen takes 1.5 s or more.
        let soon = ["within: 700 ms", "within: 250 ms"].iter().any(|soon| lines[line - 1].contains(soon));
        let slow = wish.screens[screen].kind == "screen-1cam-12v" || soon;
        return starts && slow;
    }
    if message.contains("no wire differs") {
        return rows
            .iter()
            .enumerate()
            .any(|(i, one)| rows[..i].iter().any(|other| same_wires(wish, one, other) && clash(wish, one, other)));
    }
    if message.contains("no supply is live exactly") {
        let fits = |screen: usize, live: &dyn Fn(&Row) -> bool| {
            rows.iter().all(|row| match wanted(wish, screen, row) {
                Show::Any => true,
                Show::Black => !live(row),
                _ => live(row),
            })
        };
        return (0..wish.screens.len()).any(|s| !fits(s, &|_| true) && !fits(s, &|row| holds(&wish.live, row)));
    }
    false
}

/// Whether no wire of the vehicle, no switch and no supply differs between two combinations.
fn same_wires(wish: &Wish, one: &Row, other: &Row) -> bool {
    let switched = holds(&wish.live, one) == holds(&wish.live, other);
    switched && (1..one.len()).all(|input| one[input] == other[input])
}

/// Whether a screen should show different things, or a load should work in one of the two only.
fn clash(wish: &Wish, one: &Row, other: &Row) -> bool {
    let differ = |screen: usize| {
        let (a, b) = (wanted(wish, screen, one), wanted(wish, screen, other));
        a != b && a != Show::Any && b != Show::Any
    };
    (0..wish.screens.len()).any(differ) || wish.loads.iter().any(|load| holds(load, one) != holds(load, other))
}

/// Whether any screen has a view that applies nowhere: then there must be no proposal.
pub fn has_unreached(wish: &Wish) -> bool {
    let rows = rows(&wish.inputs, &wish.live);
    wish.screens.iter().any(|screen| !unreached(&screen.views, &rows).is_empty())
}
