//! `explain`: what a rule finds, why it matters, what to do.

use super::{UNUSABLE, complain, print};
use form::place::suggestion;
use std::process::ExitCode;

/// Explains a rule, or lists every rule.
pub fn run(rule: Option<&str>, specs: bool) -> ExitCode {
    let Some(name) = rule else {
        print(&check::list());
        return ExitCode::SUCCESS;
    };
    match check::rule(name) {
        Some(rule) => {
            print(&check::explain(rule, specs));
            ExitCode::SUCCESS
        }
        None => {
            let names: Vec<&str> = check::rules().map(|rule| rule.name).collect();
            let hint = suggestion(name, names, "rules");
            complain(&format!("error: `{name}` is not a rule; {hint}\n"));
            ExitCode::from(UNUSABLE)
        }
    }
}
