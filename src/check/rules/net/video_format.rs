use crate::{Finding, Finds, Rule, Severity};
use catalogue::part_form::VideoFormat;
use facts::Facts;
use graph::{Link, Passage, PicturePath};
use model::PartId;

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
    reported.into_iter().map(|(source, part)| finding(facts, source, part)).collect()
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

fn finding(facts: &Facts, source: PartId, part: PartId) -> Finding {
    let (source, part) = (facts.model.part(source), facts.model.part(part));
    let (sends, takes) = (words(&source.formats), words(&part.formats));
    RULE.finding(source.place, format!("`{}` sends {sends}, but `{}` takes {takes}", source.name, part.name))
        .about(source.name.as_str())
        .label(format!("sends {sends}"))
        .also(part.place, format!("takes {takes}"))
        .value("sent", &sends)
        .value("taken", &takes)
        .hint("choose a camera and a screen that share a format, or set the camera's `format` if it has several")
}
