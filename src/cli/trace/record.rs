//! The record beside a spec: a trace begins with it, and a visit is added to it.

use super::{Arguments, misread, refused};
use crate::{save, text_file};
use ::trace::{FaultTracer, LARGEST_SESSION, NewVisit, Rates, TraceSession, VehicleRecord, VisitDate, WrongAnswer};
use std::path::Path;
use std::process::ExitCode;
use std::time::SystemTime;

/// What needs the record.
const WITH_RECORD: &str = "the record can be used";

/// The record beside a spec.
const RECORD: &str = "record.yaml";

/// A tracer that begins with the record beside the spec, if there is one; a visit is added to it first.
pub fn of_vehicle<'f, 'm>(
    facts: &'f facts::Facts<'m>,
    rates: &Rates,
    arguments: &Arguments,
    found: Vec<String>,
) -> Result<FaultTracer<'f, 'm>, ExitCode> {
    let path = arguments.spec.with_file_name(RECORD);
    let is_there = arguments.spec != Path::new(files::PIPE) && files::is_there(&path);
    let old = if is_there { text_file(&path, LARGEST_SESSION)? } else { String::new() };
    let text = match &arguments.visit {
        Some(words) => {
            let visit = NewVisit {
                findings: [arguments.found.clone(), found].concat(),
                changes: arguments.changed.clone(),
                remains: arguments.remains.clone(),
                ..visit(words).map_err(|wrong| refused(&wrong))?
            };
            VehicleRecord::with_visit(&old, &visit)
                .map_err(|problems| misread(&path, old.clone(), &problems, WITH_RECORD))?
        }
        None if is_there => old.clone(),
        None => return Ok(FaultTracer::new(facts, rates)),
    };
    let record =
        VehicleRecord::read(0, &text).map_err(|problems| misread(&path, text.clone(), &problems, WITH_RECORD))?;
    let tracer = FaultTracer::of_vehicle(facts, rates, &record);
    let tracer = tracer.map_err(|problem| misread(&path, text.clone(), &[*problem], WITH_RECORD))?;
    // A change that names nothing of the harness is refused before anything is written.
    if arguments.visit.is_some() {
        save(&path, text.as_bytes())?;
    }
    Ok(tracer)
}

/// `DATE, DISTANCE` as a visit, not later than today.
fn visit(words: &str) -> Result<NewVisit, WrongAnswer> {
    let (date, distance) = words.split_once(',').unwrap_or((words, ""));
    let date = VisitDate::from_words(date.trim())?;
    let since = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH).map_or(0, |since| since.as_secs());
    if date.is_after(i32::try_from(since / 86_400).unwrap_or(i32::MAX)) {
        return Err(WrongAnswer {
            what: format!("{date} is in the future"),
            hint: "write the day of the visit; if it is today, set this computer's clock".to_string(),
        });
    }
    Ok(NewVisit {
        date,
        distance: distance.trim().to_string(),
        findings: Vec::new(),
        changes: Vec::new(),
        remains: Vec::new(),
    })
}

/// Adds a visit with what was found to the record beside the spec.
pub fn keep(spec: &Path, words: &str, session: &TraceSession) -> Result<(), ExitCode> {
    let path = spec.with_file_name(RECORD);
    let old = if files::is_there(&path) { text_file(&path, LARGEST_SESSION)? } else { String::new() };
    let visit = visit(words).map_err(|wrong| refused(&wrong))?;
    let visit = NewVisit { findings: session.found(), ..visit };
    let text = VehicleRecord::with_visit(&old, &visit)
        .map_err(|problems| misread(&path, old.clone(), &problems, WITH_RECORD))?;
    save(&path, text.as_bytes())
}
