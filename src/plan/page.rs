//! Proposals side by side, as a page.

use crate::figures::{FailureFigure, FeedFigure};
use crate::{ProposalChoice, ProposalChoices};
use book::lists::proposals::{ProposalFailure, ProposalFeed, ProposalSheet, ProposalTable};
use tera::{Context, Tera};

const TEMPLATE: &str = include_str!("choices.html");

/// States in which a fault shows that are listed.
const LISTED: usize = 3;

/// The proposals as the build book shows them. `wish` is the name of the wish's file; `spec` the text that the book builds.
pub fn proposal_table(choices: &ProposalChoices, wish: &str, spec: Option<&str>) -> ProposalTable {
    let offered = &choices.offered;
    let built = spec.and_then(|spec| offered.iter().position(|choice| choice.proposal.text == spec));
    let sheets = offered.iter().enumerate().map(|(i, choice)| shown(i + 1, choice)).collect();
    ProposalTable { wish: wish.to_string(), built: built.map(|index| index + 1), sheets }
}

/// The page as HTML, without anything from outside. `wish` is the name of the wish's file.
///
/// # Errors
/// Only if the template is wrong; a test renders it.
pub fn choices_page(choices: &ProposalChoices, title: &str, wish: &str, cautions: &[&str]) -> Result<String, String> {
    let mut tera = Tera::default();
    tera.add_raw_template("choices.html", TEMPLATE).map_err(|e| e.to_string())?;
    let table = proposal_table(choices, wish, None);
    let mut context = Context::new();
    context.insert("title", title);
    context.insert("wish", wish);
    context.insert("cautions", cautions);
    context.insert("proposals", &table.sheets);
    let left_out: Vec<[String; 2]> =
        choices.left_out.iter().map(|(kind, why)| [crate::words::sentence(kind.words()), why.clone()]).collect();
    context.insert("left_out", &left_out);
    tera.render("choices.html", &context).map_err(|e| e.to_string())
}

fn shown(number: usize, choice: &ProposalChoice) -> ProposalSheet {
    let figures = &choice.figures;
    let mut failures: Vec<&FailureFigure> = figures.failures.iter().collect();
    failures.sort_by_key(|failure| std::cmp::Reverse((failure.misleads, failure.lost)));
    let feed = |feed: &FeedFigure| ProposalFeed {
        feed: feed.feed.clone(),
        amps: feed.amps.to_string(),
        limit: feed.limit.map_or_else(|| "none stated".to_string(), |limit| limit.to_string()),
    };
    ProposalSheet {
        number,
        kind: choice.kind.words().to_string(),
        parts: figures.parts,
        wires: figures.wires,
        minutes: figures.minutes,
        cost: figures.cost,
        slowest: figures.slowest.map_or_else(|| "not promised".to_string(), |time| time.to_string()),
        key_off: figures.key_off.to_string(),
        showing: failures.len(),
        faults: figures.part_faults + figures.chafed_wires,
        rear: figures.has_reverse.then(|| failures.iter().filter(|failure| failure.takes_rear).count()),
        misleading: failures.iter().filter(|failure| failure.misleads).count(),
        logic: choice.proposal.logic.map_or_else(String::new, |logic| crate::words::sentence(&logic.words())),
        feeds: figures.feeds.iter().map(feed).collect(),
        failures: failures.into_iter().map(shown_failure).collect(),
    }
}

fn shown_failure(failure: &FailureFigure) -> ProposalFailure {
    let more = failure.seen.len().saturating_sub(LISTED);
    let more = if more > 0 { format!("; {more} more") } else { String::new() };
    let seen = failure.seen.iter().take(LISTED).cloned().collect::<Vec<_>>().join("; ") + &more;
    ProposalFailure {
        fault: failure.fault.clone(),
        is_of_part: failure.is_of_part,
        seen,
        misleads: failure.misleads,
        takes_rear: failure.takes_rear,
    }
}
