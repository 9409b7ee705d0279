//! Whether a picture has power in time: what feeds a camera or source, and promises that its start-up time breaks.

use crate::combos::Set;
use crate::conflict::Refusal;
use crate::targets::{ScreenWish, Wanted, live};
use crate::wish::WishRead;
use form::{Name, Place, Problem};
use quantity::Seconds;
use spec::ViewForm;

/// A view of a picture with a time.
struct Promise<'w> {
    view: &'w ViewForm,
    within: Seconds,
    /// The combinations in which this view decides.
    decides: Set,
}

/// The combinations in which a part has power by its `works`, and where that stands; nothing without `works`.
fn works(wish: &WishRead, part: &Name) -> Option<(Set, Place)> {
    let (entry, _) = wish.part(part)?;
    let first = entry.works.0.first()?;
    let sets = entry.works.0.iter().map(|works| wish.combos.set(&works.when.expr));
    let all = sets.reduce(|all, set| all.iter().zip(set).map(|(a, b)| *a && b).collect())?;
    Some((all, first.when.place))
}

/// The time from power to picture.
fn start_up(wish: &WishRead, part: &Name) -> Option<Seconds> {
    let (entry, kind) = wish.part(part)?;
    entry.start_up.or(kind.start_up)
}

/// The views that promise a picture within a time.
fn promises<'w>(wish: &'w WishRead, screen: &ScreenWish, picture: &Name) -> Vec<Promise<'w>> {
    let views = wish.form.views.get(&screen.name).map(Vec::as_slice).unwrap_or_default();
    let promise = |view: &'w ViewForm| {
        let (when, within) = (view.when.as_ref()?, view.within.as_ref()?);
        let shows = view.show.as_ref().is_some_and(|show| show.value == *picture);
        let decides = screen.wanted.iter().map(|(_, place)| *place == when.place).collect();
        shows.then_some(Promise { view, within: within.value, decides })
    };
    views.iter().filter_map(promise).collect()
}

/// Whether one move leads from a combination without power to one with it in which these hold.
fn starts_into(wish: &WishRead, powered: &Set, decides: &Set) -> bool {
    let dark: Vec<usize> = (0..powered.len()).filter(|from| !powered[*from]).collect();
    let into = (0..powered.len()).filter(|to| powered[*to] && decides[*to]);
    into.into_iter().any(|to| dark.iter().any(|from| wish.combos.differing(*from, to).len() == 1))
}

/// Checks that each picture of a screen has power where it should show, and in time.
///
/// # Errors
/// The view, and the line that takes the power.
pub fn in_time(wish: &WishRead, screen: &ScreenWish) -> Result<(), Refusal> {
    let mut problems = Vec::new();
    for (index, picture) in screen.pictures.iter().enumerate() {
        let Some((powered, place)) = works(wish, &picture.value) else { continue };
        let dark = (0..powered.len()).find(|c| screen.wanted[*c].0 == Wanted::Picture(index) && !powered[*c]);
        if let Some(combo) = dark {
            let message = format!("{} should show, and has no power: with {}", picture.value, wish.combos.name(combo));
            let problem = Problem::at(screen.wanted[combo].1, message).also(place, "it has power only here");
            problems.push(problem.hint("remove that `works`: it then has power while its screen has"));
            continue;
        }
        let Some(takes) = start_up(wish, &picture.value) else { continue };
        for promise in promises(wish, screen, &picture.value) {
            if promise.within < takes && starts_into(wish, &powered, &promise.decides) {
                let at = promise.view.within.as_ref().map_or(place, |within| within.place);
                let message = format!(
                    "a promise of {} that {} can't keep: it takes {takes} to start when its power comes on",
                    promise.within, picture.value
                );
                // Relays and modules add some tenths.
                let kept = Seconds::new((takes.value() * 10.0).ceil() / 10.0 + 1.0);
                let problem = Problem::at(at, message).also(place, "its power comes on here");
                problems
                    .push(problem.hint(format!("write `within: {kept}`, or remove that `works`: it is then awake")));
            }
        }
    }
    if problems.is_empty() { Ok(()) } else { Err(Refusal::Conflict(problems)) }
}

/// The supply of a picture without `works`: that of its screens. Where that is always live, and drains the battery with
/// everything off, it is the supply that is live the least, of those that are live wherever the picture shows and that
/// keep every promise of a time.
pub fn supply(wish: &WishRead, screens: &[&ScreenWish], picture: &Name, of_screens: Name) -> Name {
    let supplies = &wish.form.supplies;
    if supplies.get(&of_screens).is_none_or(|form| form.follows.is_some()) {
        return of_screens;
    }
    let shows = |combo: usize| {
        screens.iter().any(|screen| {
            let index = screen.pictures.iter().position(|other| other.value == *picture);
            index.is_some_and(|index| screen.wanted[combo].0 == Wanted::Picture(index))
        })
    };
    let takes = start_up(wish, picture).unwrap_or(Seconds::new(0.0));
    let slow: Vec<Set> = screens
        .iter()
        .flat_map(|screen| promises(wish, screen, picture))
        .filter(|promise| promise.within < takes)
        .map(|promise| promise.decides)
        .collect();
    let fits = |set: &Set| {
        (0..set.len()).all(|combo| set[combo] || !shows(combo))
            && !slow.iter().any(|decides| starts_into(wish, set, decides))
    };
    let switched = supplies.iter().filter(|(_, form)| form.follows.is_some());
    let sets = switched.map(|(name, form)| (&name.value, live(&wish.combos, form.follows.as_ref())));
    let least = sets.filter(|(_, set)| fits(set)).min_by_key(|(_, set)| set.iter().filter(|on| **on).count());
    least.map_or(of_screens, |(name, _)| name.clone())
}
