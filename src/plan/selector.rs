//! Selectors whose lowest triggered input wins, found in the catalogue by what is inside them.

use catalogue::Catalogue;
use catalogue::part_form::{Family, Inside, PartForm};
use form::{Expr, Name};
use quantity::Volts;

/// A selector for pictures: each input has its trigger, the first one wins.
#[derive(Debug, Clone)]
pub struct SelectorKind {
    /// Its kind of part.
    pub name: String,
    /// Feed pin.
    pub power: Name,
    /// Ground pin.
    pub ground: Name,
    /// Trigger pin and picture pin of each input.
    pub inputs: Vec<(Name, Name)>,
    /// Picture output.
    pub output: Name,
    /// The output that is live with any trigger.
    pub active: Name,
}

/// The first selector for this voltage.
pub fn selector(catalogue: &Catalogue, nominal: Volts) -> Option<SelectorKind> {
    let fits = |kind: &PartForm| kind.family == Family::Selector && kind.nominal.is_none_or(|volts| volts == nominal);
    catalogue.iter().filter(|(_, kind)| fits(kind)).find_map(|(name, kind)| selector_of(name, kind))
}

fn selector_of(name: &str, kind: &PartForm) -> Option<SelectorKind> {
    let mut senses = Vec::new();
    let mut passes = Vec::new();
    let (mut feed, mut active) = (None, None);
    for inside in &kind.inside {
        match inside {
            Inside::Load(load) => feed = Some((load.feed.value.clone(), load.ground.value.clone())),
            Inside::Sense(sense) => senses.push(sense),
            Inside::Passes(pass) => passes.push(pass),
            Inside::Output(output) => active = Some(output),
            _ => return None,
        }
    }
    let (power, ground) = feed?;
    let active = active?;
    let names: Vec<&Name> = senses.iter().map(|sense| &sense.name.value).collect();
    // For every combination of triggers: the path that is open is that of the first trigger, and the output is live.
    for combination in 0..1usize << senses.len() {
        let first = (0..senses.len()).find(|i| combination >> i & 1 == 1);
        let open: Vec<usize> = (0..passes.len())
            .filter(|i| passes[*i].when.as_ref().is_none_or(|when| holds(&when.expr, &names, combination)))
            .collect();
        if open != first.into_iter().collect::<Vec<usize>>()
            || holds(&active.when.expr, &names, combination) != first.is_some()
        {
            return None;
        }
    }
    let output = passes.first()?.to.value.clone();
    let inputs =
        senses.iter().zip(&passes).map(|(sense, pass)| (sense.pin.value.clone(), pass.from.value.clone())).collect();
    Some(SelectorKind { name: name.to_string(), power, ground, inputs, output, active: active.pin.value.clone() })
}

/// Whether a condition of a part that works holds with these triggers on.
fn holds(expr: &Expr, names: &[&Name], combination: usize) -> bool {
    match expr {
        Expr::Name(name, _) => match names.iter().position(|n| *n == name) {
            Some(index) => combination >> index & 1 == 1,
            None => name.as_str() == "working",
        },
        Expr::Is(..) => false,
        Expr::Not(inner) => !holds(inner, names, combination),
        Expr::All(terms) => terms.iter().all(|term| holds(term, names, combination)),
        Expr::Any(terms) => terms.iter().any(|term| holds(term, names, combination)),
    }
}
