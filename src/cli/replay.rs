//! `replay`: what each screen shows when.

use super::draw::write;
use super::table::table;
use super::{Format, fail, load, print, stopped};
use circuit::{Corner, Position, Supply};
use clap::{Args, ValueEnum};
use draw::timing_chart::{self, Chart};
use facts::Facts;
use form::place::suggestion;
use kit::scene::Scene;
use model::{Drive, Model};
use quantity::{PerMinute, Share};
use replay::standing::Standing;
use replay::{Pick, Promise, Promised, ReplayCircuit, Setting, Timeline, Timing, Verdict, promise_words, rows};
use serde_json::{Value, json};
use spec::InputKind;
use states::{Wiring, shown_words};
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `replay`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  loomwright replay van.yaml                                every drive, and the checks that need none
  loomwright replay van.yaml \"backing into the bay\"         one drive, moment by moment")]
pub struct Arguments {
    /// The spec.
    spec: PathBuf,
    /// Name of a drive; without it, all drives and the checks that need no drive.
    drive: Option<String>,
    /// How it is printed.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Flash rate of every flasher, such as '75 /min'; without it, the middle of the spec's range.
    #[arg(long, value_parser = quantity::<PerMinute>)]
    rate: Option<PerMinute>,
    /// On-time share of every flasher, such as '40 %'; without it, the middle of the spec's range.
    #[arg(long, value_parser = quantity::<Share>)]
    duty: Option<Share>,
    /// Voltage of the supply.
    #[arg(long, value_enum, default_value_t = SupplyChoice::Nominal)]
    supply: SupplyChoice,
    /// Time of the timers within their tolerance.
    #[arg(long, value_enum, default_value_t = TimersChoice::AsSet)]
    timers: TimersChoice,
    /// Also draw the timing chart into this file: .svg, .pdf or .png. Several sheets or drives become several files, or one
    /// PDF.
    #[arg(long, value_name = "FILE")]
    chart: Option<PathBuf>,
}

/// Voltage of the supply.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum SupplyChoice {
    /// Battery low, engine off.
    Lowest,
    /// As rated.
    Nominal,
    /// Charging.
    Highest,
}

/// Where timers are in their tolerance.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum TimersChoice {
    /// At their shortest.
    Short,
    /// As set.
    AsSet,
    /// At their longest.
    Long,
}

fn quantity<Q: quantity::Quantity>(text: &str) -> Result<Q, String> {
    let units = || Q::UNITS.iter().map(|unit| format!("`{unit}`")).collect::<Vec<_>>().join(", ");
    text.parse().map_err(|_| format!("it needs a number and a unit ({}), for example `{}`", units(), Q::EXAMPLE))
}

/// Runs the command. Exit status 1 where a promise is broken.
pub fn run(arguments: &Arguments) -> ExitCode {
    played(arguments).unwrap_or_else(|code| code)
}

fn played(arguments: &Arguments) -> Result<ExitCode, ExitCode> {
    let job = load(&arguments.spec)?;
    let model = job.model().map_err(stopped)?;
    let drives: Vec<&Drive> = match &arguments.drive {
        None => model.drives.iter().collect(),
        Some(name) => {
            let found = model.drives.iter().find(|drive| drive.name.as_str() == name);
            vec![found.ok_or_else(|| {
                let hint = suggestion(name, model.drives.iter().map(|drive| drive.name.as_str()), "drives");
                fail(&format!("there is no drive `{name}`; {hint}"))
            })?]
        }
    };
    let wiring = job.wiring().map_err(stopped)?;
    let setting = setting(arguments);
    let timelines = drives.iter().map(|drive| job.replay(drive, &setting)).collect::<Result<Vec<Timeline>, _>>();
    let timelines = timelines.map_err(stopped)?;
    let both: Vec<(&Drive, &Timeline)> = drives.iter().copied().zip(&timelines).collect();
    // The questions without a script belong to the whole job, not to one drive.
    let standing = arguments.drive.is_none().then(|| job.facts()).transpose().map_err(stopped)?.map(Facts::standing);
    print(&match arguments.format {
        Format::Text => text(wiring, &setting, &both, standing),
        Format::Json => json(wiring, &setting, &both, standing),
    });
    if let Some(out) = &arguments.chart {
        let plan = ReplayCircuit::new(wiring).plan;
        let scenes: Vec<Scene> = both
            .iter()
            .flat_map(|(drive, timeline)| timing_chart::draw(&Chart::of(wiring, &plan, drive, timeline), None))
            .collect();
        write(out, "Timing chart", &scenes)?;
    }
    Ok(if timelines.iter().all(Timeline::kept) { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

fn setting(arguments: &Arguments) -> Setting {
    let supply = match arguments.supply {
        SupplyChoice::Lowest => Supply::Least,
        SupplyChoice::Nominal => Supply::Nominal,
        SupplyChoice::Highest => Supply::Greatest,
    };
    let timers = match arguments.timers {
        TimersChoice::Short => Timing::Short,
        TimersChoice::AsSet => Timing::AsSet,
        TimersChoice::Long => Timing::Long,
    };
    Setting {
        corner: Corner { supply, ..Corner::NOMINAL },
        rate: arguments.rate.map_or(Pick::Middle, Pick::Exactly),
        duty: arguments.duty.map_or(Pick::Middle, Pick::Exactly),
        timers,
        ..Setting::default()
    }
}

/// `left-turn and right-turn flash 90 /min, on 52.5 %`, a line for each way of flashing.
fn flashes(model: &Model, setting: &Setting) -> Vec<String> {
    let mut lines: Vec<(String, Vec<String>)> = vec![];
    for input in &model.inputs {
        let Some(words) = setting.flash_words(input) else { continue };
        match lines.iter_mut().find(|(flash, _)| *flash == words) {
            Some((_, names)) => names.push(input.name.to_string()),
            None => lines.push((words, vec![input.name.to_string()])),
        }
    }
    let line = |(words, names): (String, Vec<String>)| {
        let verb = if names.len() == 1 { "flashes" } else { "flash" };
        format!("{} {verb} {words}", names.join(" and "))
    };
    lines.into_iter().map(line).collect()
}

/// The on-time share of pulsed feeds, if there are any.
fn pulses(model: &Model, setting: &Setting) -> String {
    if !model.inputs.iter().any(|input| input.kind == Some(InputKind::PulsedFeed)) {
        return String::new();
    }
    let share = match setting.corner.supply {
        Supply::Least => "the lowest",
        Supply::Nominal => "the middle",
        Supply::Greatest => "the highest",
    };
    format!("pulsed feeds are on for {share} of the on-time share in the spec\n")
}

fn text(wiring: &Wiring, setting: &Setting, timelines: &[(&Drive, &Timeline)], standing: Option<&Standing>) -> String {
    let model = wiring.model;
    let replayed = ReplayCircuit::new(wiring);
    let mut out = format!("at {setting}\n");
    out.push_str(&pulses(model, setting));
    flashes(model, setting).iter().for_each(|line| out.push_str(&format!("{line}\n")));
    if timelines.is_empty() {
        out.push_str("\nthe spec has no drives\n");
    }
    for (drive, timeline) in timelines {
        out.push_str(&format!("\n{}\n\n", drive.name));
        let mut headings = vec!["at".to_string(), "what happens".to_string()];
        headings.extend(model.screens.iter().map(|screen| screen.name.to_string()));
        let mut lines: Vec<Vec<String>> = vec![];
        for row in rows(wiring, &replayed.plan, &timeline.record) {
            if row.skipped > 0 {
                let plural = if row.skipped == 1 { "change" } else { "changes" };
                lines.push(vec!["…".into(), format!("repeats: {} {plural}", row.skipped)]);
            }
            let mut cells = vec![row.at.to_string(), row.happens.join(", ")];
            cells.extend(row.screens);
            lines.push(cells);
        }
        out.push_str(&table(&headings, &lines));
        if let Some(why) = &timeline.stopped {
            out.push_str(&format!("stopped at {}: {why}\n", timeline.record.to));
        }
        out.push_str(&promises(wiring, timeline));
    }
    if let Some(standing) = standing {
        out.push_str("\nchecks without a drive\n\n");
        for (question, answer) in standing.lines(model) {
            out.push_str(&format!("{question:<14}{answer}\n"));
        }
    }
    out
}

fn promises(wiring: &Wiring, timeline: &Timeline) -> String {
    let model = wiring.model;
    let mut lines: Vec<String> = vec![];
    for (at, input, position) in &timeline.record.refused {
        let input = &model.inputs[input.0];
        let to = &input.positions[*position];
        lines.push(format!(
            "refused  at {at} {} can't go to {to}: its `needs` don't hold, or another input excludes it",
            input.name
        ));
    }
    let word = |verdict: Verdict| match verdict {
        Verdict::Kept => "kept   ",
        Verdict::Broken => "broken ",
        Verdict::Undecided => "open   ",
    };
    lines.extend(timeline.promises.iter().map(|p| format!("{}  {}", word(p.verdict), promise_words(model, p))));
    let mut out = String::new();
    if !lines.is_empty() {
        out.push_str(&format!("\n{}\n", lines.join("\n")));
    }
    out
}

fn json(wiring: &Wiring, setting: &Setting, timelines: &[(&Drive, &Timeline)], standing: Option<&Standing>) -> String {
    let drives: Vec<Value> = timelines.iter().map(|(drive, timeline)| drive_json(wiring, drive, timeline)).collect();
    let flashes: serde_json::Map<String, Value> = (wiring.model.inputs.iter())
        .filter_map(|input| Some((input.name.to_string(), json!(setting.flash_words(input)?))))
        .collect();
    let standing = standing.map(|standing| {
        let line = |(question, answer)| json!({ "question": question, "answer": answer });
        let answers: Vec<Value> = standing.lines(wiring.model).into_iter().map(line).collect();
        json!({ "cut_short": !standing.left_out.is_empty(), "answers": answers })
    });
    let whole = json!({
        "version": 1, "setting": setting.to_string(), "flash": flashes, "drives": drives, "standing": standing,
    });
    format!("{}\n", serde_json::to_string_pretty(&whole).unwrap_or_default())
}

/// Times are whole nanoseconds from the start of the drive.
fn drive_json(wiring: &Wiring, drive: &Drive, timeline: &Timeline) -> Value {
    let model = wiring.model;
    let record = &timeline.record;
    let plan = ReplayCircuit::new(wiring).plan;
    let inputs: serde_json::Map<String, Value> = (model.inputs.iter().zip(record.levers.iter().zip(&record.inputs)))
        .map(|(input, (lever, seen))| {
            let points = |lane: &replay::Lane<Position>| -> Vec<Value> {
                let point =
                    |(at, to): &(_, Position)| json!({ "at_ns": time(at), "position": input.positions[usize::from(*to)] });
                lane.points.iter().map(point).collect()
            };
            let entry = match input.flash {
                Some(_) => json!({ "lever": points(lever), "lamps": points(seen) }),
                None => json!({ "lever": points(lever) }),
            };
            (input.name.to_string(), entry)
        })
        .collect();
    let circuit = &wiring.assembly.circuit;
    let moves: serde_json::Map<String, Value> = (circuit.actors.iter().zip(&record.actors).enumerate())
        .filter(|(i, _)| plan.has_time_or_memory(*i))
        .map(|(_, (actor, lane))| {
            let points: Vec<Value> =
                lane.points.iter().map(|(at, on)| json!({ "at_ns": time(at), "on": on })).collect();
            (actor.name.clone(), json!(points))
        })
        .collect();
    let parts: serde_json::Map<String, Value> = (plan.starters.iter().zip(&record.parts))
        .map(|(starter, lane)| {
            let points = lane.points.iter().map(|(at, stage)| json!({ "at_ns": time(at), "stage": stage.word() }));
            (model.part(starter.part).name.to_string(), points.collect())
        })
        .collect();
    let screens: serde_json::Map<String, Value> = (model.screens.iter().enumerate())
        .map(|(i, screen)| {
            let display =
                record.screens[i].points.iter().map(|(at, g)| json!({ "at_ns": time(at), "shows": g.words(model) }));
            let wanted = record.wanted[i].points.iter().map(|(at, view)| {
                let shown = view.map(|v| shown_words(model, screen.views[v].show));
                json!({ "at_ns": time(at), "view": view.map(|v| screen.views[v].text.clone()), "shows": shown })
            });
            let (display, wanted): (Vec<Value>, Vec<Value>) = (display.collect(), wanted.collect());
            (screen.name.to_string(), json!({ "display": display, "wanted": wanted }))
        })
        .collect();
    let refused: Vec<Value> = (record.refused.iter())
        .map(|(at, input, to)| {
            let input = &model.inputs[input.0];
            json!({ "at_ns": time(at), "input": input.name.to_string(), "position": input.positions[*to].to_string() })
        })
        .collect();
    let promises: Vec<Value> = timeline.promises.iter().map(|promise| promise_json(model, promise)).collect();
    json!({
        "drive": drive.name.to_string(), "to_ns": time(&record.to), "inputs": inputs, "moves": moves, "parts": parts,
        "screens": screens, "promises": promises, "refused": refused, "stopped": timeline.stopped,
    })
}

fn promise_json(model: &Model, promise: &Promise) -> Value {
    let verdict = match promise.verdict {
        Verdict::Kept => "kept",
        Verdict::Broken => "broken",
        Verdict::Undecided => "undecided",
    };
    let (screen, shows, part) = match promise.promised {
        Promised::Shows(screen, shown) => {
            (Some(model.screens[screen.0].name.to_string()), Some(shown_words(model, shown)), None)
        }
        Promised::Works(id) => (None, None, Some(model.part(model.works[id.0].part).name.to_string())),
    };
    json!({
        "screen": screen, "shows": shows, "works": part,
        "from_ns": time(&promise.from), "to_ns": time(&promise.to), "verdict": verdict,
        "words": promise_words(model, promise),
    })
}

fn time(time: &replay::Time) -> i64 {
    time.count()
}
