use crate::{Finding, Finds, Rule, Severity};
use catalogue::part_form::VideoFormat;
use facts::Facts;
use graph::{Link, Passage, PicturePath};
use model::PartId;
use states::listed;

pub const RULE: Rule = Rule {
    name: "net/video-format",
    severity: Severity::Error,
    explanation: include_str!("video_format.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let mut reported: Vec<(PartId, PartId)> = Vec::new();
    for screen in &facts.model.screens {
        for show in &screen.shows {
            for path in &facts.solved.pictures[&show.input] {
                let refuses = refusing(facts, path, screen.part).map(|part| (path.source, part));
                reported.extend(refuses.filter(|pair| !reported.contains(pair)));
            }
        }
    }
    // One finding for each source and what the parts take that refuse it.
    let mut groups: Vec<(PartId, Vec<PartId>)> = Vec::new();
    for (source, part) in reported {
        let takes = |part: PartId| &facts.model.part(part).formats;
        match groups.iter_mut().find(|(of, parts)| *of == source && takes(parts[0]) == takes(part)) {
            Some((_, parts)) => parts.push(part),
            None => groups.push((source, vec![part])),
        }
    }
    groups.into_iter().map(|(source, parts)| finding(facts, source, &parts)).collect()
}

/// The first part in a picture's path, the screen last, that takes none of the formats still possible there. A part
/// without formats takes any.
fn refusing(facts: &Facts, path: &PicturePath, screen: PartId) -> Option<PartId> {
    let model = facts.model;
    let mut on_the_way: Vec<PartId> = Vec::new();
    for (_, link) in path.links.iter().rev() {
        if let Link::Through(element, Passage::Signal) = link {
            on_the_way.push(model.element(*element).part);
        }
    }
    on_the_way.push(screen);
    let mut possible = model.part(path.source).formats.clone();
    for part in on_the_way {
        let takes = &model.part(part).formats;
        if possible.is_empty() || takes.is_empty() {
            continue;
        }
        possible.retain(|format| takes.contains(format));
        if possible.is_empty() {
            return Some(part);
        }
    }
    None
}

fn words(formats: &[VideoFormat]) -> String {
    formats.iter().map(|format| format.word()).collect::<Vec<_>>().join(" or ")
}

/// A source, and parts that take none of its formats: at least one, all with the same formats.
fn finding(facts: &Facts, source: PartId, parts: &[PartId]) -> Finding {
    let source = facts.model.part(source);
    let names: Vec<String> = parts.iter().map(|part| format!("`{}`", facts.model.part(*part).name)).collect();
    let (sends, takes) = (words(&source.formats), words(&facts.model.part(parts[0]).formats));
    let take = if parts.len() == 1 { "takes" } else { "take" };
    let message = format!("`{}` sends {sends}, but {} {take} {takes}", source.name, listed(&names).unwrap_or_default());
    let finding = RULE
        .finding(source.place, message)
        .about(source.name.as_str())
        .label(format!("sends {sends}"))
        .value("sent", &sends)
        .value("taken", &takes)
        .hint("choose a camera and a screen that share a format, or set the camera's `format` if it has several");
    parts.iter().fold(finding, |finding, part| finding.also(facts.model.part(*part).place, format!("takes {takes}")))
}
