//! `draw`: one drawing of a job, as SVG, PDF or PNG.

use super::papers::PaperChoice;
use super::{code, fail, load, print, save, stopped};
use clap::Args;
use draw::list::{DRAWINGS, named};
use form::place::suggestion;
use kit::scene::Scene;
use kit::{pdf, png, svg};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Dots per millimetre of a PNG: 254 per inch.
const DOTS: f64 = 10.0;

/// Arguments of `draw`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  loomwright draw van.yaml                                  the drawings
  loomwright draw van.yaml signal-map --out map.svg
  loomwright draw van.yaml current-path-diagram --state \"key run, reverse\" --out paths.pdf")]
pub struct Arguments {
    /// The spec.
    spec: PathBuf,
    /// Name of the drawing; without it, the drawings are listed.
    drawing: Option<String>,
    /// File to write: .svg, .pdf or .png. Several sheets become several files, or one PDF.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Draw the currents in this state, as `states` names it: "key run, reverse", or "key run; K2 set". Inputs that are
    /// not named stay at rest, except those that the named ones need.
    #[arg(long, value_name = "STATE")]
    state: Option<String>,
    /// The papers that the shop prints on; build boards have theirs in their names.
    #[arg(long, value_enum, default_value_t)]
    paper: PaperChoice,
}

/// Runs the command.
pub fn run(arguments: &Arguments) -> ExitCode {
    code(draw(arguments))
}

fn draw(arguments: &Arguments) -> Result<(), ExitCode> {
    let papers = arguments.paper.papers();
    let job = load(&arguments.spec)?.on(papers);
    let Some(name) = &arguments.drawing else {
        DRAWINGS.iter().for_each(|d| print(&format!("{:<22}{}\n", d.name, d.purpose)));
        return Ok(());
    };
    let drawing = named(name).ok_or_else(|| {
        let hint = suggestion(name, DRAWINGS.iter().map(|d| d.name), "drawings");
        fail(&format!("there is no drawing `{name}`; {hint}"))
    })?;
    let scenes = match arguments.state.as_deref() {
        None => job.drawing(drawing).map_err(stopped)?,
        Some(text) => {
            let draw = drawing.live.ok_or_else(|| no_live(drawing.name))?;
            let live = job.live(text).map_err(stopped)?;
            draw(job.model().map_err(stopped)?, &live, papers)
        }
    };
    let out = arguments.out.clone().unwrap_or_else(|| PathBuf::from(format!("{}.svg", drawing.name)));
    write(&out, drawing.name, &scenes)
}

fn no_live(name: &str) -> ExitCode {
    let others: Vec<&str> = DRAWINGS.iter().filter(|d| d.live.is_some()).map(|d| d.name).collect();
    fail(&format!(
        "`{name}` can't be drawn in one state\n  why: it doesn't show currents\n  do: leave --state out, or draw {}",
        others.join(" or ")
    ))
}

/// Writes a drawing's sheets, by the file's ending.
pub(super) fn write(out: &Path, title: &str, scenes: &[Scene]) -> Result<(), ExitCode> {
    let ending = out.extension().and_then(|e| e.to_str()).unwrap_or_default().to_lowercase();
    let bytes = |scene: &Scene| match ending.as_str() {
        "svg" => Ok(svg::write(scene).into_bytes()),
        "png" => png::write(scene, DOTS).map_err(|e| fail(&e.to_string())),
        _ => Err(fail(&format!("{}: the file name must end in .svg, .pdf or .png", out.display()))),
    };
    if ending == "pdf" {
        return save(out, &pdf::write(title, scenes));
    }
    for (i, scene) in scenes.iter().enumerate() {
        let path = if scenes.len() == 1 {
            out.to_path_buf()
        } else {
            let stem = out.file_stem().and_then(|s| s.to_str()).unwrap_or("sheet");
            out.with_file_name(format!("{stem}-{}.{ending}", i + 1))
        };
        save(&path, &bytes(scene)?)?;
    }
    Ok(())
}
