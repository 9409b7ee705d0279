//! Everything that the documents of a job say, as typed rows.

use crate::lists::findings::Findings;
use crate::lists::{
    fuses, labels, live_states, parts, pins, prices, proposals, purpose, splices, states as state_list, wires,
};
use crate::{bench, service};
use check::{Endurance, endurance};
use facts::Facts;
use quantity::{Metres, Share, Volts};
use serde::Serialize;

/// Version of `job.json`. It changes with every change that could break a reader of the older form.
pub const JOB_VERSION: u32 = 1;

/// JSON Schema of that version (draft 2020-12). A test holds every field to it, in both directions.
pub const JOB_SCHEMA: &str = include_str!("job.schema.json");

/// The cautions that every book opens with.
pub const CAUTIONS: [&str; 7] = [
    "Isolate the battery before you touch the vehicle's wiring, and wait as long as the vehicle maker asks.",
    "Leave airbag (SRS) wiring and data-bus wiring alone: don't tap it, don't splice it, don't measure on it.",
    "Fuse every feed at its source, before it leaves the place where it is taken.",
    "The factory's own rear view must work as before, whatever this harness does.",
    "Screens that the driver can see while moving are restricted in many places. Ask before you fit one.",
    "The figures are planning aids, worked out for this design and not measured on the vehicle.",
    "Local codes and the vehicle maker's body-builder instructions come first, and licensed work stays licensed work.",
];

/// Most states that are printed; `states.csv` has them all.
pub const MOST_STATES: usize = 160;

/// Everything that the documents of a job say.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Book {
    /// Version of this form.
    pub version: u32,
    /// What job it is.
    pub job: JobFacts,
    /// The cautions.
    pub cautions: Vec<&'static str>,
    /// What the checks found.
    pub findings: Findings,
    /// What it is for.
    pub purpose: purpose::Purpose,
    /// The proposals that the spec was chosen from, if its wish is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub proposals: Option<proposals::ProposalTable>,
    /// How long each battery lasts with the engine off.
    pub endurance: Vec<Endurance>,
    /// Every pin.
    pub pins: Vec<pins::PinTable>,
    /// Every wire.
    pub wires: Vec<wires::WireRow>,
    /// The wires by the reel that they are cut from.
    pub reels: Vec<wires::Reel>,
    /// Every splice.
    pub splices: Vec<splices::Splice>,
    /// Every fuse.
    pub fuses: Vec<fuses::FuseRow>,
    /// What to order.
    pub order: Vec<parts::OrderLine>,
    /// What it costs, if the shop's prices are known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub order_cost: Option<prices::OrderCost>,
    /// Every label.
    pub labels: Vec<labels::LabelRow>,
    /// The bench test.
    pub bench: bench::BenchTest,
    /// Every state.
    pub states: state_list::StateList,
    /// The printed states, wire by wire, for the page.
    #[serde(skip)]
    pub live: live_states::LiveStates,
    /// How to trace each view.
    pub service: Vec<service::ServiceSheet>,
    /// What to do about each wrong picture.
    pub symptoms: service::symptoms::Symptoms,
}

/// What job it is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct JobFacts {
    /// Title.
    pub title: String,
    /// Revision; `—` where none is given.
    pub revision: String,
    /// Nominal voltage.
    pub nominal: Volts,
    /// A note for the first page.
    pub note: Option<String>,
    /// Added to each cut length.
    pub cut_allowance: Share,
    /// Added to each end of a wire.
    pub end_allowance: Metres,
}

impl JobFacts {
    /// The title with the revision: `Van, revision B`.
    pub fn heading(&self) -> String {
        format!("{}, revision {}", self.title, self.revision)
    }
}

/// Computes everything that the documents say.
pub fn book(facts: &Facts, findings: Findings) -> Book {
    let (model, solved, table) = (facts.model, facts.solved, facts.table());
    let pins = pins::pin_list(model);
    let wires = wires::wire_list(model);
    let reels = wires::reels(&wires);
    let labels = labels::labels(&wires, &pins);
    Book {
        version: JOB_VERSION,
        job: JobFacts {
            title: model.job.title.clone(),
            revision: if model.job.revision == "-" { "—".to_string() } else { model.job.revision.clone() },
            nominal: model.job.nominal,
            note: model.job.note.clone(),
            cut_allowance: model.limits.cut_allowance,
            end_allowance: model.limits.end_allowance,
        },
        cautions: CAUTIONS.to_vec(),
        findings,
        purpose: purpose::purpose(model),
        proposals: None,
        endurance: endurance(facts),
        splices: splices::splices(model, &pins),
        fuses: fuses::fuse_chart(facts),
        order: parts::order(model, &reels, &labels),
        order_cost: None,
        labels,
        bench: bench::bench_test(solved, table),
        states: state_list::state_list(solved, table),
        live: live_states::live_states(solved, table, MOST_STATES),
        service: service::service_sheets(facts),
        symptoms: service::symptoms::symptoms(facts),
        pins,
        wires,
        reels,
    }
}
