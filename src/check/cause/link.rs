//! Links between a root and what follows from it.

use super::touched::Touched;
use super::trials::Repaired;
use crate::{Finding, Repair};

/// Links to the root what was found before its repair and no longer after it.
pub fn link(findings: &mut [Finding], root: usize, before: &Repaired, after: &Repaired) {
    let touched = match &findings[root].repair {
        Some(Repair::Without(wires)) => Some(Touched::new(&before.model, wires)),
        _ => None,
    };
    let misses = |finding: &Finding| {
        let is_root = matches!(finding.repair, Some(Repair::Without(_)));
        !is_root && touched.as_ref().is_some_and(|touched| touched.misses(finding))
    };
    for (i, finding) in findings.iter_mut().enumerate() {
        let may_follow = i != root && finding.follows_from.is_none() && !finding.usual;
        if may_follow && (misses(finding) || !after.has(finding, before)) {
            finding.follows_from = Some(root);
        }
    }
    let worst = findings.iter().filter(|f| f.follows_from == Some(root)).map(|f| f.severity).min();
    if let Some(worst) = worst {
        findings[root].severity = findings[root].severity.min(worst);
    }
}
