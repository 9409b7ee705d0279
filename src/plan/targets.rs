//! What must be live when: the triggers of each screen and the feeds of each part with `works`, as sets of combinations.

use crate::combos::{Combos, Set};
use crate::conflict::Refusal;
use crate::selector::SelectorKind;
use crate::wish::{WishRead, entries};
use catalogue::part_form::{Idle, Inside, PartForm, ShowForm, VideoFormat};
use form::{Expr, Name, Place, Placed, Problem};
use quantity::Seconds;
use spec::{PartEntry, ScreenForm, ViewForm};

/// What a screen should show in a combination.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// Its own page.
    Home,
    /// Nothing.
    Black,
    /// Whatever.
    Any,
    /// A picture, by index.
    Picture(usize),
}

/// A trigger of a screen and the picture input that it selects.
#[derive(Debug, Clone)]
pub struct ScreenLine {
    /// Trigger pin.
    pub trigger: Name,
    /// Picture pin.
    pub input: Name,
}

/// A screen and what it should show.
#[derive(Debug, Clone)]
pub struct ScreenWish {
    /// The screen.
    pub name: Name,
    /// Its part.
    pub part: Name,
    /// The supply that turns it on.
    pub supply: Name,
    /// Its lines, the first that is triggered wins.
    pub lines: Vec<ScreenLine>,
    /// The cameras and sources that it shows, in the order of the views.
    pub pictures: Vec<Placed<Name>>,
    /// What it should show in each combination, and the view that says so.
    pub wanted: Vec<(Wanted, Place)>,
}

/// Where a picture is connected: a line of the screen, or an input of a selector on a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PictureSlot {
    /// The line.
    pub line: usize,
    /// The selector's input.
    pub input: Option<usize>,
}

/// What must be live, in which combinations.
#[derive(Debug, Clone)]
pub struct LiveTarget {
    /// Combinations in which it must be live.
    pub on: Set,
    /// Combinations in which it must not.
    pub off: Set,
    /// The line of the wish that asks for each combination.
    pub places: Vec<Place>,
}

/// A load with `works`.
#[derive(Debug, Clone)]
pub struct LoadWish {
    /// The part.
    pub part: Name,
    /// The feed pin of its load.
    pub pin: Name,
    /// When it should work.
    pub target: LiveTarget,
}

/// Reads what a screen should show.
///
/// # Errors
/// What the wish contradicts, or what plan can't do with this screen.
pub fn screen(wish: &WishRead, name: &Placed<Name>, form: &ScreenForm) -> Result<ScreenWish, Refusal> {
    let Some((_, kind)) = wish.part(&form.part.value) else {
        return Err(beyond(
            form.part.place,
            "plan needs the kind of part of this screen",
            "write the screen under `parts`",
        ));
    };
    let lines = lines(kind, &form.shows, form.part.place)?;
    let views = wish.form.views.get(&name.value).map(Vec::as_slice).unwrap_or_default();
    if views.is_empty() {
        return Err(beyond(name.place, "this screen has no views", "add its `views`: what should it show, and when?"));
    }
    let idle_black = form.otherwise.or(kind.otherwise) == Some(Idle::Black);
    let (pictures, wanted) = wanted(wish, views, idle_black, name.place);
    if let Some((_, place)) = wanted.iter().find(|(wanted, _)| *wanted == Wanted::Home && idle_black) {
        let problem = Problem::at(*place, "this screen has no home page: it is black without a trigger")
            .hint("write `black` for `home`, or choose another screen");
        return Err(Refusal::Conflict(vec![problem]));
    }
    let supply = supply(wish, name, &wanted, idle_black)?;
    let wanted =
        wanted.into_iter().map(|(w, place)| (if w == Wanted::Black && idle_black { Wanted::Home } else { w }, place));
    let formats = &kind.formats;
    for picture in &pictures {
        let Some((entry, source)) = wish.part(&picture.value) else { continue };
        let fits = match &entry.format {
            Some(format) => formats.contains(&format.value),
            None => source.formats.iter().any(|format| formats.contains(format)),
        };
        if !fits && !formats.is_empty() {
            let at = entry.format.as_ref().map_or(entry.use_.place, |format| format.place);
            let problem =
                Problem::at(at, format!("screen {} takes none of the formats of {}", name.value, picture.value))
                    .also(form.part.place, "this screen")
                    .also(picture.place, "the view that needs it")
                    .hint(in_common(wish, entry, source, formats));
            return Err(Refusal::Conflict(vec![problem]));
        }
    }
    let wanted: Vec<(Wanted, Place)> = wanted.collect();
    in_time(wish, kind, views, (form.part.place, &supply), &wanted)?;
    Ok(ScreenWish { name: name.value.clone(), part: form.part.value.clone(), supply, lines, pictures, wanted })
}

/// The smallest change after which a screen takes a picture: another format of the camera, another camera, another screen.
fn in_common(wish: &WishRead, entry: &PartEntry, source: &PartForm, formats: &[VideoFormat]) -> String {
    if let Some(format) = source.formats.iter().find(|format| formats.contains(format)) {
        return format!("write `format: {format}`, which this camera sends too");
    }
    let fits = |kind: &PartForm| kind.family == source.family && kind.nominal == source.nominal;
    let takes = |kind: &PartForm| match &entry.format {
        Some(format) => kind.formats.contains(&format.value) && formats.contains(&format.value),
        None => kind.formats.iter().any(|format| formats.contains(format)),
    };
    match wish.catalogue.iter().find(|(_, kind)| fits(kind) && takes(kind)) {
        Some((name, _)) => {
            format!("write `use: {name}`, which sends a format that this screen takes, or choose another screen")
        }
        None => {
            "choose a camera and a screen with a format in common; no part in the catalogue converts it".to_string()
        }
    }
}

/// Checks that no view promises its picture sooner than the screen can change to it, or start with it.
fn in_time(
    wish: &WishRead,
    kind: &PartForm,
    views: &[ViewForm],
    (screen, supply): (Place, &Name),
    wanted: &[(Wanted, Place)],
) -> Result<(), Refusal> {
    let form = wish.form.supplies.get(supply);
    let live = live(&wish.combos, form.and_then(|form| form.follows.as_ref()));
    let pairs = || (0..live.len()).flat_map(|from| (0..live.len()).map(move |to| (from, to)));
    // The lines that apply after one move that turns the screen on.
    let starting: Vec<Place> = pairs()
        .filter(|(from, to)| !live[*from] && live[*to] && wish.combos.differing(*from, *to).len() == 1)
        .map(|(_, to)| wanted[to].1)
        .collect();
    let problem = |view: &ViewForm| {
        let within = view.within.as_ref()?;
        let picture = view.show.as_ref().is_some_and(|show| !matches!(show.value.as_str(), "home" | "black" | "any"));
        let starts = view.when.as_ref().is_some_and(|when| starting.contains(&when.place));
        let slow = |time: &&(Option<Seconds>, &str)| time.0.is_some_and(|takes| picture && within.value < takes);
        let start = if starts { kind.start_up } else { None };
        let times = [(start, "start when its supply comes on"), (kind.switch_over, "change its picture")];
        let (takes, what) = times.iter().find(slow).and_then(|(takes, what)| Some(((*takes)?, what)))?;
        let message = format!("a promise of {} that the screen can't keep: it takes {takes} to {what}", within.value);
        let problem = Problem::at(within.place, message).also(screen, "this screen");
        // Relays and modules add some tenths.
        let kept = Seconds::new((takes.value() * 10.0).ceil() / 10.0 + 1.0);
        Some(problem.hint(format!("write `within: {kept}`, or choose a faster screen")))
    };
    let problems: Vec<Problem> = views.iter().filter_map(problem).collect();
    if problems.is_empty() { Ok(()) } else { Err(Refusal::Conflict(problems)) }
}

fn beyond(place: Place, message: &str, hint: &str) -> Refusal {
    Refusal::Beyond(vec![Problem::at(place, message).hint(hint)])
}

fn lines(kind: &PartForm, given: &[ShowForm], place: Place) -> Result<Vec<ScreenLine>, Refusal> {
    let shows = if given.is_empty() { &kind.shows } else { given };
    let pin = |name: &Name| {
        kind.inside.iter().find_map(|inside| match inside {
            Inside::Sense(sense) if sense.name.value == *name && sense.pull_up.is_none() => {
                Some(sense.pin.value.clone())
            }
            _ => None,
        })
    };
    let line = |show: &ShowForm| match &show.when.expr {
        Expr::Name(name, _) => Some(ScreenLine { trigger: pin(name)?, input: show.input.value.clone() }),
        _ => None,
    };
    let lines: Option<Vec<ScreenLine>> = shows.iter().map(line).collect();
    let senses = kind.inside.iter().filter(|inside| matches!(inside, Inside::Sense(_))).count();
    lines.filter(|lines| lines.len() == senses && !lines.is_empty()).ok_or_else(|| {
        let message = "this wish needs a screen with conditions on several triggers, which plan can't do yet";
        beyond(
            place,
            message,
            "choose a screen that selects each input by one positive trigger, or wire this screen by hand",
        )
    })
}

/// The pictures of a screen's views, and for each combination what the first matching view says.
fn wanted(
    wish: &WishRead,
    views: &[ViewForm],
    idle_black: bool,
    screen: Place,
) -> (Vec<Placed<Name>>, Vec<(Wanted, Place)>) {
    let mut pictures: Vec<Placed<Name>> = Vec::new();
    let idle = if idle_black { Wanted::Black } else { Wanted::Home };
    let mut all = vec![None; wish.combos.len()];
    for view in views {
        let set = view.when.as_ref().map_or_else(|| vec![true; wish.combos.len()], |when| wish.combos.set(&when.expr));
        let Some(show) = view.show.as_ref().or(view.otherwise.as_ref()) else { continue };
        let wanted = match show.value.as_str() {
            "home" => Wanted::Home,
            "black" => Wanted::Black,
            "any" => Wanted::Any,
            _ => {
                let known = pictures.iter().position(|picture| picture.value == show.value);
                Wanted::Picture(known.unwrap_or_else(|| {
                    pictures.push(show.clone());
                    pictures.len() - 1
                }))
            }
        };
        let place = view.when.as_ref().map_or(show.place, |when| when.place);
        for (cell, holds) in all.iter_mut().zip(set) {
            if holds && cell.is_none() {
                *cell = Some((wanted, place));
            }
        }
    }
    (pictures, all.into_iter().map(|cell| cell.unwrap_or((idle, screen))).collect())
}

/// The supply that is live exactly while the screen should be on.
fn supply(
    wish: &WishRead,
    screen: &Placed<Name>,
    wanted: &[(Wanted, Place)],
    idle_black: bool,
) -> Result<Name, Refusal> {
    let fits = |set: &Set| {
        wanted.iter().zip(set).all(|((wanted, _), live)| match wanted {
            Wanted::Any => true,
            Wanted::Black => !live || idle_black,
            _ => *live,
        })
    };
    let mut supplies: Vec<(&Placed<Name>, Set)> =
        wish.form.supplies.iter().map(|(name, supply)| (name, live(&wish.combos, supply.follows.as_ref()))).collect();
    supplies.sort_by_key(|(_, set)| set.iter().all(|live| *live));
    let found = supplies.iter().find(|(_, set)| fits(set)).map(|(name, _)| name.value.clone());
    found.ok_or_else(|| {
        let mut problem = Problem::at(screen.place, "no supply is live exactly while this screen should show something");
        // A combination that the supply with the fewest faults gets wrong.
        let wrong = |set: &Set| {
            let ok = |i: &usize| match wanted[*i].0 {
                Wanted::Any => true,
                Wanted::Black => !set[*i] || idle_black,
                _ => set[*i],
            };
            (0..set.len()).filter(|i| !ok(i)).collect::<Vec<usize>>()
        };
        let nearest = supplies.iter().map(|(name, set)| (name, wrong(set))).min_by_key(|(_, wrong)| wrong.len());
        if let Some((name, wrong)) = nearest
            && let Some(combo) = wrong.first()
        {
            problem = problem.also(wanted[*combo].1, format!("with {}", wish.combos.name(*combo)));
            problem = problem.also(name.place, "the nearest supply");
        }
        Refusal::Conflict(vec![problem.hint(
            "add a supply that follows the key as the views do, or change the views: for example `{when: key = off, show: black}`",
        )])
    })
}

/// The combinations in which a supply is live.
pub fn live(combos: &Combos, follows: Option<&form::Condition>) -> Set {
    follows.map_or_else(|| vec![true; combos.len()], |follows| combos.set(&follows.expr))
}

impl ScreenWish {
    /// Where pictures are connected, in the order in which they win; with selectors on the last lines if there are more
    /// pictures than lines; with `least` selectors at least.
    ///
    /// # Errors
    /// More pictures than a selector on every line takes.
    pub fn slots(&self, selector: Option<&SelectorKind>, least: usize) -> Result<Vec<PictureSlot>, Refusal> {
        let (pictures, lines) = (self.pictures.len(), self.lines.len());
        let inputs = selector.map_or(1, |selector| selector.inputs.len());
        let room = |selectors: usize| lines - selectors + selectors * inputs;
        let least = if selector.is_some() && pictures > 1 { least } else { 0 };
        let Some(selectors) = (least..=lines).find(|selectors| room(*selectors) >= pictures) else {
            let message = format!("{pictures} pictures on screen {}, which takes {}", self.name, room(lines));
            let problem = Problem::at(self.pictures[room(lines)].place, message).label("one too many");
            return Err(Refusal::Conflict(vec![problem.hint(
                "choose a screen with more inputs, or remove this view: a selector on each input takes no more",
            )]));
        };
        let direct = (0..lines - selectors).map(|line| PictureSlot { line, input: None });
        let selected = (lines - selectors..lines)
            .flat_map(|line| (0..inputs).map(move |input| PictureSlot { line, input: Some(input) }));
        Ok(direct.chain(selected).take(pictures).collect())
    }

    /// The trigger of a slot, if it has a picture. `order` gives the picture of each slot.
    pub fn target(&self, order: &[Option<usize>], slot: usize) -> Option<LiveTarget> {
        let picture = order[slot]?;
        let slot_of = |picture: usize| order.iter().position(|p| *p == Some(picture)).unwrap_or(usize::MAX);
        let must_not = |w: &Wanted| match w {
            Wanted::Home => true,
            Wanted::Picture(other) => slot_of(*other) > slot,
            _ => false,
        };
        Some(LiveTarget {
            on: self.wanted.iter().map(|(w, _)| *w == Wanted::Picture(picture)).collect(),
            off: self.wanted.iter().map(|(w, _)| must_not(w)).collect(),
            places: self.wanted.iter().map(|(_, place)| *place).collect(),
        })
    }
}

/// Every load with `works`.
pub fn loads(wish: &WishRead) -> Vec<LoadWish> {
    let mut all = Vec::new();
    for (name, entry) in entries(&wish.form) {
        let Some((_, kind)) = wish.part(&name.value) else { continue };
        for works in &entry.works.0 {
            let on = wish.combos.set(&works.when.expr);
            let off = on.iter().map(|on| !on).collect();
            let target = LiveTarget { places: vec![works.when.place; on.len()], on, off };
            for inside in &kind.inside {
                let Inside::Load(load) = inside else { continue };
                let named =
                    works.load.as_ref().is_none_or(|of| load.name.as_ref().is_some_and(|n| n.value == of.value));
                let known = all.iter().any(|l: &LoadWish| l.part == name.value && l.pin == load.feed.value);
                if named && !known {
                    all.push(LoadWish {
                        part: name.value.clone(),
                        pin: load.feed.value.clone(),
                        target: target.clone(),
                    });
                }
            }
        }
    }
    all
}
