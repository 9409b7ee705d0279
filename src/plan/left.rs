//! What `check` still finds in the best candidate, at the lines of the wish that it concerns.

use crate::judge::{Judgement, SeriousFinding};
use crate::wish::WishRead;
use form::{Place, Problem};
use quantity::Amps;

/// What is left, at the lines of the wish that it concerns.
pub fn left(wish: &WishRead, verdict: &Judgement) -> Vec<Problem> {
    let lines: Vec<&str> = wish.text.lines().collect();
    let problem = |finding: &SeriousFinding| {
        let own = lines.iter().position(|line| line.trim() == finding.line.trim());
        // The first thing of the wish that the finding names.
        let named = finding.message.split('`').skip(1).step_by(2).chain([finding.about.as_str()]);
        let line_of = |name: &str| {
            let key = format!("{name}:");
            lines.iter().position(|line| line.trim_start_matches([' ', '{']).starts_with(&key))
        };
        let at = own.or_else(|| named.filter(|name| !name.is_empty()).find_map(line_of));
        let message = format!("{} ({})", finding.message, finding.rule);
        let hint = match finding.rule.as_str() {
            "safety/ground-lost" | "load/drop" | "load/video-ground-lift" | "load/ground-drop" => {
                "add a ground point where large loads are, apart from those of cameras and screens"
            }
            _ => "change this line, or write these parts and wires by hand",
        };
        let over = verdict.feeds.iter().find(|feed| feed.is_over() && feed.feed == finding.about);
        let hint = match over {
            Some(feed) => {
                format!("write `limit: {}` if the vehicle's papers allow it, or tap another feed", above(feed.amps))
            }
            None => hint.to_string(),
        };
        match at {
            Some(at) => {
                let before: usize = lines[..at].iter().map(|line| line.len() + 1).sum();
                let column = lines[at].len() - lines[at].trim_start().len();
                let (start, end) = (before + column, before + lines[at].trim_end().len());
                Problem::at(Place { file: 0, start, end, line: at + 1, column: column + 1 }, message).hint(hint)
            }
            None => Problem::at(wish.form.harness.place, message).hint(hint),
        }
    };
    if verdict.findings.is_empty() {
        let message = "the proposal has states that can't be solved";
        return vec![Problem::at(wish.form.harness.place, message).hint("split the wish in two")];
    }
    verdict.findings.iter().map(problem).collect()
}

/// The next round current above one: two digits, a tenth more.
fn above(amps: Amps) -> Amps {
    let step = 10f64.powf(amps.value().max(1e-6).log10().floor() - 1.0);
    Amps::new((amps.value() * 1.1 / step).ceil() * step)
}
