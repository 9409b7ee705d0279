//! Pictures whose plugs are in each other's sockets: what then arrives at an input of a screen.

use super::fault::{Harm, PictureHarm};
use circuit::State;
use facts::Facts;
use graph::{Link, PicturePath};
use model::PinId;
use states::{ArrivingPicture, comes_in};

/// One of two exchanged links, and the pin at which it is exchanged.
type Crossing = [(Link, PinId); 2];

/// The pictures that arrive at an input, each with its path; `None` where nothing is exchanged.
pub(crate) fn arrivals(facts: &Facts, state: &State, input: PinId, harm: &Harm) -> Option<Vec<PicturePath>> {
    let crossings: Vec<Crossing> = harm.pictures.iter().filter_map(crossing).collect();
    if crossings.is_empty() {
        return None;
    }
    let own = facts.solved.pictures[&input].iter();
    let paths =
        own.flat_map(|path| crossings.iter().find_map(|one| crossed(facts, path, one)).unwrap_or(vec![path.clone()]));
    let mut arriving: Vec<PicturePath> = Vec::new();
    for path in paths.filter(|path| comes_in(facts.solved, state, path)) {
        if !arriving.iter().any(|known| known.links == path.links) {
            arriving.push(path);
        }
    }
    Some(arriving)
}

/// The same as the rules for screens take them.
pub(crate) fn sources(paths: &[PicturePath]) -> Vec<ArrivingPicture> {
    paths.iter().enumerate().map(|(way, path)| ArrivingPicture { source: path.source, way }).collect()
}

fn crossing(harm: &PictureHarm) -> Option<Crossing> {
    match harm {
        PictureHarm::Exchanged(crossing) => Some(*crossing),
        _ => None,
    }
}

/// A path through an exchanged link goes on as the paths through the other link do; `None` if it goes through neither.
fn crossed(facts: &Facts, path: &PicturePath, crossing: &Crossing) -> Option<Vec<PicturePath>> {
    let (at, here) = path
        .links
        .iter()
        .enumerate()
        .find_map(|(at, (_, link))| crossing.iter().position(|(one, _)| one == link).map(|here| (at, here)))?;
    let is_upstream = |leads: PinId, which: usize| leads == crossing[which].1;
    let way = is_upstream(path.links[at].0, here);
    let other = 1 - here;
    let mut all = Vec::new();
    for onward in facts.solved.pictures.values().flatten() {
        let Some(from) = onward.links.iter().position(|(_, link)| *link == crossing[other].0) else { continue };
        if is_upstream(onward.links[from].0, other) == way {
            let links = [&path.links[..at], &onward.links[from..]].concat();
            all.push(PicturePath { source: onward.source, source_pin: onward.source_pin, links });
        }
    }
    Some(all)
}
