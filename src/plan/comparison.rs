//! Proposals side by side, as text.

use crate::figures::{FailureFigure, ProposalFigures};
use crate::{ProposalChoice, ProposalChoices};
use std::fmt::Write;

/// Faults that are listed for a proposal.
const LISTED: usize = 6;

/// The proposals with their figures, numbered from 1, then the kinds that are left out.
pub fn comparison(choices: &ProposalChoices) -> String {
    let mut text = String::new();
    for (i, choice) in choices.offered.iter().enumerate() {
        // OK because writing into a string does not fail.
        _ = of_one(&mut text, i + 1, choice);
    }
    for (kind, why) in &choices.left_out {
        _ = writeln!(text, "-  {}: {why}", kind.words());
    }
    if !choices.left_out.is_empty() {
        text.push('\n');
    }
    text.push_str("Cost and minutes are typical figures; --costs replaces them.\n");
    text
}

fn of_one(text: &mut String, number: usize, choice: &ProposalChoice) -> std::fmt::Result {
    writeln!(text, "{number}  {}", choice.kind.words())?;
    let ProposalFigures {
        parts,
        wires,
        minutes,
        cost,
        slowest,
        key_off,
        feeds,
        failures,
        part_faults,
        has_reverse,
        chafed_wires,
    } = &choice.figures;
    let slowest = slowest.map_or_else(String::new, |time| format!(", slowest picture {time}"));
    writeln!(text, "   {parts} parts, {wires} wires, {minutes} min at the bench, cost {cost}{slowest}")?;
    let feed = |feed: &crate::FeedFigure| match feed.limit {
        Some(limit) => format!("{} {} of {limit}", feed.feed, feed.amps),
        None => format!("{} {}", feed.feed, feed.amps),
    };
    let feeds: Vec<String> = feeds.iter().map(feed).collect();
    writeln!(text, "   from the vehicle at most: {}; with the key off: {key_off}", feeds.join(", "))?;
    if let Some(logic) = choice.proposal.logic {
        writeln!(text, "   {}", logic.words())?;
    }
    let of_parts = |failure: &&FailureFigure| failure.is_of_part;
    let chafed: Vec<&FailureFigure> = failures.iter().filter(|failure| !failure.is_of_part).collect();
    let mut worst: Vec<&FailureFigure> = failures.iter().filter(of_parts).collect();
    writeln!(text, "   {part_faults} faults of parts, one at a time: {}", sums(&worst))?;
    writeln!(text, "   {chafed_wires} wires, one at a time chafed to the body: {}", sums(&chafed))?;
    if *has_reverse {
        let taking = failures.iter().filter(|failure| failure.takes_rear).count();
        writeln!(text, "   the rear view is lost in reverse with {taking} of them, and stays with all others")?;
    }
    worst.sort_by_key(|failure| std::cmp::Reverse((failure.misleads, failure.lost)));
    for failure in worst.iter().take(LISTED) {
        let more =
            if failure.seen.len() > 1 { format!(" (and {} more)", failure.seen.len() - 1) } else { String::new() };
        let first = failure.seen.first().map_or("", String::as_str);
        writeln!(text, "   - {}: {first}{more}", failure.fault)?;
    }
    writeln!(text)
}

/// What some faults do together.
fn sums(failures: &[&FailureFigure]) -> String {
    let lost: usize = failures.iter().map(|failure| failure.lost).sum();
    let misleading = failures.iter().filter(|failure| failure.misleads).count();
    let wrong = if misleading == 0 { String::new() } else { format!(", {misleading} show a wrong picture") };
    format!("{} show, {lost} pictures lost in all{wrong}", failures.len())
}
