//! Drawings. Layouts place items on a sheet and hand on a [`scene::Scene`]; the writers ([`svg`], [`pdf`], [`png`])
//! only write what was placed. Nothing here solves a circuit or decides what is right: a drawing shows the model.

pub mod audit;
pub mod colour;
pub mod connection;
pub mod connector_face;
pub mod current_path;
mod flow;
pub mod font;
pub mod geometry;
pub mod harness_layout;
pub mod lines;
mod live;
pub mod number;
pub mod pdf;
pub mod png;
pub mod scene;
pub mod set;
pub mod sheet;
pub mod signal_map;
pub mod state_chart;
pub mod svg;
pub mod symbols;
pub mod tag;
pub mod text;
pub mod timing_chart;
pub mod xml;
