//! `new`: the first wish, from flags or from questions on a terminal; then it is planned.

use crate::{catalogue, complain, fail, plan::refused, print, save};
use clap::Args;
use form::TextMap;
use plan::{StartAnswers, Unplanned, wish_text};
use std::io::{IsTerminal, stdin};
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `new`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  loomwright new wish.yaml                   asks on the terminal
  loomwright new wish.yaml --volts 12 --screen screen-3in-12v --at 'dash 1.2 m' --place 'tail 4.5 m' \\
      --trigger 'reverse reverse-lamp tail 1 A' --trigger 'look button-held dash' \\
      --camera 'REAR tail reverse' --camera 'CARGO tail look' --out van.yaml

  loomwright new wish.yaml ... --trigger 'film button-toggles dash' --source 'PLAYER media-player-12v dash film' \\
      --accessory 'AMP amplifier-2ch dash key and film plays PLAYER'

The kinds of trigger are reverse-lamp, lamp, turn-lamp, feed, module-output, ground-switch, button-held, button-toggles.
The camera that is named first wins. The wish is written, then planned and checked; --out keeps the spec.

Exit status: 0 with a proposal; 1 if lines of the wish conflict or plan can't do what it needs, then the wish is written to
be changed; 2 if an answer can't be used.")]
pub struct Arguments {
    /// The wish to write.
    wish: PathBuf,
    /// Nominal voltage of the vehicle: 12 or 24.
    #[arg(long)]
    volts: Option<String>,
    /// Kind of the screen.
    #[arg(long, value_name = "KIND")]
    screen: Option<String>,
    /// Place of the screen, and its distance from the fuse panel.
    #[arg(long, value_name = "PLACE DISTANCE")]
    at: Option<String>,
    /// A further place, and its distance from the screen; may be given several times.
    #[arg(long, value_name = "PLACE DISTANCE")]
    place: Vec<String>,
    /// A trigger; may be given several times.
    #[arg(long, value_name = "NAME KIND PLACE LIMIT")]
    trigger: Vec<String>,
    /// A camera, and when it shows; may be given several times.
    #[arg(long, value_name = "NAME PLACE CONDITION")]
    camera: Vec<String>,
    /// A source that the screen shows behind the cameras; may be given several times.
    #[arg(long, value_name = "NAME KIND PLACE CONDITION")]
    source: Vec<String>,
    /// An accessory, when it works, and with `plays SOURCE` whose sound it plays; may be given several times.
    #[arg(long, value_name = "NAME KIND PLACE CONDITION")]
    accessory: Vec<String>,
    /// What the supply that the key switches may give.
    #[arg(long, value_name = "AMPERES", default_value = "10 A")]
    limit: String,
    /// Write the planned spec into this file.
    #[arg(long, value_name = "SPEC")]
    out: Option<PathBuf>,
}

/// Runs the command.
pub fn run(arguments: &Arguments) -> ExitCode {
    crate::code(begun(arguments))
}

fn begun(arguments: &Arguments) -> Result<(), ExitCode> {
    let catalogue = catalogue()?;
    let text = wish_text(&answers(arguments)?, &catalogue).map_err(|why| fail(&why))?;
    let texts = TextMap::new([(&arguments.wish, text.as_str())]);
    let planned = plan::plan(&texts, &arguments.wish, &catalogue, true);
    if let Err(why @ Unplanned::Unreadable(_)) = &planned {
        return Err(refused(why));
    }
    save(&arguments.wish, text.as_bytes())?;
    let proposal = planned.map_err(|why| refused(&why))?;
    if let Some(path) = &arguments.out {
        save(path, proposal.text.as_bytes())?;
    }
    print(&crate::plan::figures(&proposal));
    Ok(())
}

/// The answers: given as flags, or asked for where a flag is missing and somebody is at the terminal.
fn answers(arguments: &Arguments) -> Result<StartAnswers, ExitCode> {
    let asks = stdin().is_terminal();
    let one = |given: &Option<String>, flag: &str, question: &str| match (given, asks) {
        (Some(given), _) => Ok(given.clone()),
        (None, true) => ask(question),
        (None, false) => Err(fail(&format!("--{flag} is missing: {question}"))),
    };
    let several = |given: &[String], question: &str| -> Result<Vec<String>, ExitCode> {
        let mut all = given.to_vec();
        while asks && given.is_empty() {
            let answer = ask(question)?;
            if answer.is_empty() {
                break;
            }
            all.push(answer);
        }
        Ok(all)
    };
    Ok(StartAnswers {
        volts: one(&arguments.volts, "volts", "the vehicle's voltage, 12 or 24")?,
        screen: one(&arguments.screen, "screen", "the kind of screen, as `loomwright parts` lists it")?,
        at: one(&arguments.at, "at", "the screen's place and its distance from the fuse panel: `dash 1.2 m`")?,
        places: several(
            &arguments.place,
            "a further place and its distance from the screen: `tail 4.5 m`; empty to go on",
        )?,
        triggers: several(
            &arguments.trigger,
            "a trigger, its kind, where it can be tapped and its limit: `reverse reverse-lamp tail 1 A`; empty to go on",
        )?,
        cameras: several(
            &arguments.camera,
            "a camera, its place and when it shows: `REAR tail reverse`; empty to go on",
        )?,
        sources: several(
            &arguments.source,
            "a source, its kind, its place and when it shows: `PLAYER media-player-12v dash film`; empty to go on",
        )?,
        accessories: several(
            &arguments.accessory,
            "an accessory, its kind, its place and when it works: `AMP amplifier-2ch dash key plays PLAYER`; empty to go on",
        )?,
        limit: arguments.limit.clone(),
    })
}

fn ask(question: &str) -> Result<String, ExitCode> {
    complain(&format!("{question}\n> "));
    let mut line = String::new();
    stdin().read_line(&mut line).map_err(|why| fail(&why.to_string()))?;
    Ok(line.trim().to_string())
}
