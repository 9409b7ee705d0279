//! Lines of a wish that can't hold together: the fewest that rule each other out, and the smallest change that helps.

use crate::combos::{Combos, Set};
use crate::conflict::Refusal;
use crate::wish::{WishRead, entries};
use form::{Condition, Name, Place, Placed, Problem};
use spec::ViewForm;

/// Checks that every view with a condition and every `works` applies in some combination of positions.
///
/// # Errors
/// Each line that never applies, with the fewest lines that rule it out.
pub fn every_line_applies(wish: &WishRead) -> Result<(), Refusal> {
    let mut problems = Vec::new();
    for (screen, _) in wish.form.screens.iter() {
        let views = wish.form.views.get(&screen.value).map(Vec::as_slice).unwrap_or_default();
        let sets: Vec<Set> = views.iter().map(|view| set(wish, view)).collect();
        let never = (0..views.len()).filter(|i| views[*i].when.is_some() && !applies(&sets, *i));
        problems.extend(never.filter_map(|i| unreached(wish, screen, views, &sets, i)));
    }
    for (part, entry) in entries(&wish.form) {
        let never = entry.works.0.iter().filter(|works| !wish.combos.set(&works.when.expr).contains(&true));
        problems.extend(never.map(|works| impossible(wish, &works.when, &format!("`works` of {}", part.value))));
    }
    if problems.is_empty() { Ok(()) } else { Err(Refusal::Conflict(problems)) }
}

fn set(wish: &WishRead, view: &ViewForm) -> Set {
    view.when.as_ref().map_or_else(|| vec![true; wish.combos.len()], |when| wish.combos.set(&when.expr))
}

/// Whether a line applies somewhere, behind the lines before it.
fn applies(sets: &[Set], line: usize) -> bool {
    (0..sets[line].len()).any(|combo| sets[line][combo] && !sets[..line].iter().any(|earlier| earlier[combo]))
}

fn unreached(wish: &WishRead, screen: &Placed<Name>, views: &[ViewForm], sets: &[Set], line: usize) -> Option<Problem> {
    let (place, shown) = (views[line].when.as_ref()?.place, shown(&views[line]));
    if !sets[line].contains(&true) {
        let when = views[line].when.as_ref()?;
        return Some(impossible(wish, when, &format!("the line for {shown} on screen {}", screen.value)));
    }
    let covers = |chosen: &[usize]| {
        (0..sets[line].len()).all(|combo| !sets[line][combo] || chosen.iter().any(|other| sets[*other][combo]))
    };
    let earlier = fewest(&(0..line).collect::<Vec<_>>(), &covers);
    let mut problem =
        Problem::at(place, format!("the line for {shown} on screen {} never applies: earlier lines win", screen.value))
            .label("this condition holds only where an earlier line wins");
    for other in &earlier {
        problem = problem.also(place_of(&views[*other]), "this line wins");
    }
    let first = *earlier.first()?;
    let mut moved: Vec<Set> = sets.to_vec();
    let own = moved.remove(line);
    moved.insert(first, own);
    let helps = (first..=line).all(|i| applies(&moved, i));
    let hint = match helps {
        true => format!("move this line before line {}", place_of(&views[first]).line),
        false => "remove this line: wherever it stands, it or another one never applies".to_string(),
    };
    Some(problem.hint(hint))
}

/// A condition that no combination fulfils: with the fewest inputs whose `needs` and `excludes` rule it out.
fn impossible(wish: &WishRead, when: &Condition, what: &str) -> Problem {
    let message = format!("{what} never applies: its condition never holds");
    let mut problem = Problem::at(when.place, message).label("this never holds");
    let inputs = || wish.form.inputs.iter().enumerate();
    let ruled: Vec<usize> = inputs().filter(|(_, (_, input))| ruled(input)).map(|(i, _)| i).collect();
    let never_with = |kept: &[usize]| {
        let mut forms = wish.form.inputs.clone();
        for (_, entry) in forms.0.iter_mut().enumerate().filter(|(index, _)| !kept.contains(index)) {
            if let Some(input) = &mut entry.body {
                input.needs = None;
                input.excludes.clear();
            }
        }
        let combos = Combos::new(wish.combos.inputs().to_vec(), &forms);
        combos.is_some_and(|combos| !combos.set(&when.expr).contains(&true))
    };
    let rules = fewest(&ruled, &never_with);
    for index in &rules {
        if let Some((name, input)) = wish.form.inputs.iter().nth(*index) {
            let place = input.needs.as_ref().map_or(name.place, |needs| needs.place);
            problem = problem.also(place, "this rules it out");
        }
    }
    problem.hint(if rules.is_empty() {
        "change the condition or remove the line: its parts exclude each other"
    } else {
        "change one of these lines"
    })
}

fn ruled(input: &spec::InputForm) -> bool {
    input.needs.is_some() || !input.excludes.is_empty()
}

fn shown(view: &ViewForm) -> String {
    view.show.as_ref().or(view.otherwise.as_ref()).map_or_else(String::new, |show| show.value.to_string())
}

fn place_of(view: &ViewForm) -> Place {
    let show = view.show.as_ref().or(view.otherwise.as_ref()).map(|show| show.place);
    view.when.as_ref().map(|when| when.place).or(show).unwrap_or(Place {
        file: 0,
        start: 0,
        end: 0,
        line: 1,
        column: 1,
    })
}

/// The smallest subset for which a condition holds, the first in order of equally small ones; all, if none is found among
/// subsets of up to six.
pub fn fewest(all: &[usize], holds: &dyn Fn(&[usize]) -> bool) -> Vec<usize> {
    for size in 0..=all.len().min(6) {
        if let Some(found) = subset(all, size, &mut Vec::new(), holds) {
            return found;
        }
    }
    all.to_vec()
}

fn subset(
    rest: &[usize],
    size: usize,
    chosen: &mut Vec<usize>,
    holds: &dyn Fn(&[usize]) -> bool,
) -> Option<Vec<usize>> {
    if size == 0 {
        return holds(chosen).then(|| chosen.clone());
    }
    for (i, first) in rest.iter().enumerate() {
        chosen.push(*first);
        let found = subset(&rest[i + 1..], size - 1, chosen, holds);
        chosen.pop();
        if found.is_some() {
            return found;
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::fewest;

    #[test]
    fn the_fewest_are_found() {
        let covers = |chosen: &[usize]| chosen.iter().map(|i| [3, 5, 6, 8][*i]).fold(0, |sum, n| sum | n) & 7 == 7;
        assert_eq!(fewest(&[0, 1, 2, 3], &covers), [0, 1]);
        assert_eq!(fewest(&[0, 1], &|_| true), Vec::<usize>::new());
        assert_eq!(fewest(&[0, 3], &|_| false), [0, 3]);
    }
}
