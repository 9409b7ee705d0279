//! `plan`: from a wish to a spec.

use crate::{Format, UNUSABLE, catalogue, complain, disk, fail, print, save, style, versioned_json};
use book::lists::proposals::ProposalTable;
use clap::Args;
use form::Texts;
use plan::{ChangeKind, CostTable, Proposal, ProposalChoice, ProposalChoices, Refusal, Replanned, Unplanned};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Arguments of `plan`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  loomwright plan wish.yaml                  the complete spec, to read
  loomwright plan wish.yaml --out van.yaml   into a file, ready for check and build
  loomwright plan wish.yaml --compare        up to three proposals with parts, cost, currents, and what fails how
  loomwright plan wish.yaml --compare --page choices.html       the same as a page
  loomwright plan wish.yaml --choice 2 --out van.yaml
  loomwright plan wish.yaml --explain --out van.yaml     and what is lost without each part and wire
  loomwright plan wish.yaml --out van.yaml   once more, after a change in the wish: what van.yaml decides stays

Where the file of --out is there already, planning keeps its parts, places, wires, numbers and colours, unless the wish
forces a change, and lists what changed and why. --from takes them from another file; --afresh forgets them.

Exit status: 0 with a proposal; 1 if lines of the wish conflict, or if plan can't do what it needs; 2 if the wish can't be
read. Nothing is written unless `check` passes the proposal without errors and warnings.")]
pub struct Arguments {
    /// The wish: a spec without wires, with its views.
    wish: PathBuf,
    /// Write the spec into this file instead of printing it.
    #[arg(long, value_name = "SPEC")]
    out: Option<PathBuf>,
    /// Keep the decisions of this earlier plan, in place of those in the file of --out.
    #[arg(long, value_name = "EARLIER", conflicts_with = "compare")]
    from: Option<PathBuf>,
    /// Plan without regard to the file of --out, and replace it.
    #[arg(long, conflicts_with = "from")]
    afresh: bool,
    /// Take this one of the proposals that `--compare` lists.
    #[arg(long, value_name = "N", conflicts_with = "compare")]
    choice: Option<usize>,
    /// Compare the proposals instead of printing one.
    #[arg(long, conflicts_with = "out")]
    compare: bool,
    /// Write the comparison as a page into this file, too.
    #[arg(long, value_name = "FILE", requires = "compare")]
    page: Option<PathBuf>,
    /// How the comparison is printed.
    #[arg(long, value_enum, default_value_t = Format::Text, requires = "compare")]
    format: Format,
    /// Say what each part and each wire is for: what the driver loses without it.
    #[arg(long, conflicts_with = "compare")]
    explain: bool,
    /// The shop's costs and minutes: a CSV file with the heading thing,cost,minutes.
    #[arg(long, value_name = "FILE")]
    costs: Option<PathBuf>,
}

/// Version of the JSON form.
const VERSION: u32 = 1;

/// A file of costs is not larger than this.
const MOST_BYTES: usize = 1 << 20;

/// Exit status for a wish that gets no proposal.
const REFUSED: u8 = 1;

/// Plans a wish.
pub fn run(arguments: &Arguments) -> ExitCode {
    crate::code(planned(arguments))
}

fn planned(arguments: &Arguments) -> Result<(), ExitCode> {
    let costs = costs(arguments.costs.as_deref())?;
    if arguments.compare {
        let choices = choices(arguments, &costs)?;
        print(&match arguments.format {
            Format::Text => plan::comparison(&choices),
            Format::Json => json(&choices)?,
        });
        if let Some(path) = &arguments.page {
            let title = plan::title(&disk(), &arguments.wish).unwrap_or_default();
            let wish = arguments.wish.display().to_string();
            let page = plan::choices_page(&choices, &title, &wish, &book::CAUTIONS).map_err(|why| fail(&why))?;
            save(path, page.as_bytes())?;
        }
        return Ok(());
    }
    let chosen = match arguments.choice {
        None => None,
        Some(number) => {
            let mut choices = choices(arguments, &costs)?.offered;
            if number == 0 || number > choices.len() {
                let proposals =
                    if choices.len() == 1 { "1 proposal".to_string() } else { format!("{} proposals", choices.len()) };
                return Err(fail(&format!("--choice {number}: there are {proposals}; --compare shows them")));
            }
            Some(choices.swap_remove(number - 1))
        }
    };
    let kind = chosen.as_ref().map(|choice| choice.kind);
    if let Some(earlier) = earlier(arguments)? {
        let (path, text) = earlier;
        let again = plan::plan_again(&disk(), &arguments.wish, &catalogue()?, &text, kind);
        let again = again.map_err(|why| refused(&of_file(why, path)))?;
        return write(arguments, &again.proposal, &differences(&again));
    }
    let proposal = match chosen {
        Some(choice) => choice.proposal,
        None => plan::plan(&disk(), &arguments.wish, &catalogue()?, true).map_err(|why| refused(&why))?,
    };
    write(arguments, &proposal, "")
}

/// The problems of an earlier plan, at its own path.
fn of_file(mut why: Unplanned, path: &Path) -> Unplanned {
    if let Unplanned::Earlier(unreadable) = &mut why
        && let Some(file) = unreadable.sources.files.first_mut()
    {
        file.path = path.to_path_buf();
    }
    why
}

/// The earlier plan and its text, if there is one.
fn earlier(arguments: &Arguments) -> Result<Option<(&Path, String)>, ExitCode> {
    let path = match (&arguments.from, &arguments.out) {
        (Some(from), _) => from.as_path(),
        (None, Some(out)) if !arguments.afresh && out.exists() => out.as_path(),
        _ => return Ok(None),
    };
    Ok(Some((path, text(path)?)))
}

/// What changed since the earlier plan, and why.
fn differences(again: &Replanned) -> String {
    let [parts, wires] = again.kept;
    if again.changes.is_empty() {
        return format!("the earlier plan still does what the wish says: {parts} parts and {wires} wires stay\n");
    }
    let mut text = String::new();
    for why in &again.because {
        text += &format!("the earlier wiring does not pass: {why}\n");
    }
    for change in &again.changes {
        let word = match change.kind {
            ChangeKind::Removed => "removed",
            ChangeKind::Changed => "changed",
            ChangeKind::Added => "added",
        };
        text += &format!("{word} {}: {}\n", change.what, change.why);
    }
    text + &format!("{parts} parts and {wires} wires stay\n")
}

/// The proposals of a wish, for the book of a spec.
pub(crate) fn proposals(wish: &Path, costs: Option<&Path>, spec: &Path) -> Result<ProposalTable, ExitCode> {
    let costs = self::costs(costs)?;
    let choices = plan::choices(&disk(), wish, &catalogue()?, &costs).map_err(|why| refused(&why))?;
    let text = text(spec)?;
    Ok(plan::proposal_table(&choices, &wish.display().to_string(), Some(&text)))
}

/// The text of a spec.
fn text(path: &Path) -> Result<String, ExitCode> {
    let bytes =
        disk().contents(path, form::node::LARGEST_FILE).map_err(|w| fail(&format!("{}: {w}", path.display())))?;
    String::from_utf8(bytes).map_err(|_| fail(&format!("{}: this is no text in UTF-8", path.display())))
}

fn choices(arguments: &Arguments, costs: &CostTable) -> Result<ProposalChoices, ExitCode> {
    plan::choices(&disk(), &arguments.wish, &catalogue()?, costs).map_err(|why| refused(&why))
}

fn costs(path: Option<&Path>) -> Result<CostTable, ExitCode> {
    let Some(path) = path else { return Ok(CostTable::typical()) };
    let bytes = disk().contents(path, MOST_BYTES).map_err(|why| fail(&format!("{}: {why}", path.display())))?;
    let text = String::from_utf8_lossy(&bytes);
    CostTable::read(&text).map_err(|wrong| fail(&format!("{}:{}: {}", path.display(), wrong.line, wrong.why)))
}

fn json(choices: &ProposalChoices) -> Result<String, ExitCode> {
    let one = |(i, choice): (usize, &ProposalChoice)| serde_json::json!({ "number": i + 1, "kind": choice.kind, "logic": choice.proposal.logic, "figures": choice.figures });
    let proposals: Vec<serde_json::Value> = choices.offered.iter().enumerate().map(one).collect();
    let left_out = |(kind, why): &(plan::ProposalKind, String)| serde_json::json!({ "kind": kind, "why": why });
    let left_out: Vec<serde_json::Value> = choices.left_out.iter().map(left_out).collect();
    versioned_json(&serde_json::json!({ "proposals": proposals, "left_out": left_out }), VERSION)
}

fn write(arguments: &Arguments, proposal: &Proposal, differences: &str) -> Result<(), ExitCode> {
    let mut figures = figures(proposal) + differences;
    if arguments.explain {
        figures += &explained(&proposal.reasons);
    }
    match &arguments.out {
        Some(path) => {
            save(path, proposal.text.as_bytes())?;
            print(&figures);
        }
        None => {
            print(&proposal.text);
            complain(&figures);
        }
    }
    Ok(())
}

/// A line for each part and each wire.
fn explained(reasons: &[plan::PlannedReason]) -> String {
    let line = |reason: &plan::PlannedReason| match &reason.lost[..] {
        [] => format!("{}: nothing changes for the driver\n", reason.without),
        lost => format!("{}: no longer {}\n", reason.without, lost.join(", ")),
    };
    reasons.iter().map(line).collect()
}

/// What a proposal is, and the warnings that its wish causes.
pub(crate) fn figures(proposal: &Proposal) -> String {
    let figures = format!(
        "{} ({}), {}, {}; check: no errors, {}, {} in {}\n",
        counted(proposal.parts, "part"),
        counted(proposal.relays, "relay"),
        counted(proposal.wires, "wire"),
        counted(proposal.splices, "splice"),
        warnings_of(proposal),
        counted(proposal.notes, "note"),
        counted(proposal.states, "state")
    );
    let logic = proposal.logic.map_or_else(String::new, |logic| format!("{}\n", logic.words()));
    let warnings: String = proposal.warnings.iter().map(|w| format!("warning that the wish causes: {w}\n")).collect();
    figures + &logic + &warnings
}

fn warnings_of(proposal: &plan::Proposal) -> String {
    match proposal.warnings.len() {
        0 => "no warnings".to_string(),
        n => counted(n, "warning"),
    }
}

/// A number of things.
fn counted(number: usize, thing: &str) -> String {
    format!("{number} {thing}{}", if number == 1 { "" } else { "s" })
}

/// Prints why there is no proposal, and gives the exit status for it.
pub(crate) fn refused(why: &Unplanned) -> ExitCode {
    let (sources, refusal) = match why {
        Unplanned::Unreadable(unreadable) => {
            complain(&diagnostic::problems(&unreadable.sources, &unreadable.problems, style()));
            return ExitCode::from(UNUSABLE);
        }
        Unplanned::Earlier(unreadable) => {
            complain(&diagnostic::problems(&unreadable.sources, &unreadable.problems, style()));
            complain("the earlier plan can't be read; mend it, or plan with --afresh\n");
            return ExitCode::from(UNUSABLE);
        }
        Unplanned::Refused(sources, refusal) => (sources, refusal),
    };
    match refusal {
        Refusal::Conflict(problems) => complain(&diagnostic::problems(sources, problems, style())),
        Refusal::Beyond(problems) | Refusal::Unproved { problems, .. } => {
            let unplanned = |problem: &form::Problem| {
                let message = format!("cannot be planned: {}", problem.message);
                form::Problem { message, ..problem.clone() }
            };
            let problems: Vec<form::Problem> = problems.iter().map(unplanned).collect();
            complain(&diagnostic::problems(sources, &problems, style()));
        }
        Refusal::Interrupted => complain("error: interrupted\n"),
    }
    ExitCode::from(REFUSED)
}
