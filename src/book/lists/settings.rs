//! What is set on a part before it goes in: the times of its modules.

use model::{Model, PartId, SignalKind};

/// What must be set on a part, and to what: `hold time`, `3 s`.
pub fn settings(model: &Model, id: PartId) -> Vec<(String, String)> {
    let timer = |signal: &model::Signal| match &signal.kind {
        SignalKind::Timer { kind, time, .. } if time.value() > 0.0 && signal.part == id => {
            Some((format!("{kind} time"), time.to_string()))
        }
        _ => None,
    };
    let mut settings: Vec<(String, String)> = Vec::new();
    for setting in model.signals.iter().filter_map(timer) {
        if !settings.contains(&setting) {
            settings.push(setting);
        }
    }
    settings
}
