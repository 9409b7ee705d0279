use crate::evidence::{end_place, part_place};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::picture_levels::{FULL_LEVEL, PictureLevel};

pub const RULE: Rule = Rule {
    name: "net/video-level",
    severity: Severity::Error,
    explanation: include_str!("video_level.md"),
    finds: Finds::InHarness(find),
};

/// How far a level may be off: inputs correct about this much by themselves (common practice, no source).
const OFF: f64 = 0.2;

fn find(facts: &Facts) -> Vec<Finding> {
    let levels = facts.picture_levels().iter();
    let is_off = |one: &&PictureLevel| (one.level.value() / FULL_LEVEL.value() - 1.0).abs() > OFF;
    levels.filter(is_off).map(|one| finding(facts, one)).collect()
}

fn finding(facts: &Facts, one: &PictureLevel) -> Finding {
    let model = facts.model;
    let source = model.pin_name(one.source);
    let inputs: Vec<String> = one.inputs.iter().map(|pin| format!("`{}`", model.pin_name(*pin))).collect();
    let message = match one.inputs.len() {
        1 => format!("{} gets {} from `{source}`, not {FULL_LEVEL}", inputs[0], one.level),
        count => {
            format!(
                "`{source}` goes to {count} inputs at once, {}: each gets {}, not {FULL_LEVEL}",
                inputs.join(" and "),
                one.level
            )
        }
    };
    let finding = RULE
        .finding(part_place(facts, model.pin(one.source).part), message)
        .about(source.as_str())
        .label("its picture")
        .limit("level at each input, peak to peak", one.level, format!("at least {}", FULL_LEVEL * (1.0 - OFF)))
        .hint("use a video splitter, which has an output for each input");
    one.inputs.iter().fold(finding, |finding, pin| {
        let ohms = model.pin(*pin).impedance.map_or_else(String::new, |ohms| format!(", {ohms}"));
        finding.also(end_place(facts, *pin), format!("an input{ohms}"))
    })
}
