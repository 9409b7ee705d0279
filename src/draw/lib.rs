//! The drawings of a harness, a folder each, and the list of them ([`list`]). A drawing places items on a sheet of the
//! kit and hands on a [`kit::scene::Scene`], which the kit's writers turn into files.

pub mod connection;
pub mod connector_face;
pub mod current_path;
mod halves;
pub mod harness_layout;
pub mod list;
mod live;
mod shields;
pub mod signal_map;
pub mod state_chart;
pub mod timing_chart;

#[cfg(test)]
#[path = "../../tests/made_up/good.rs"]
mod good;
#[cfg(test)]
#[path = "../../tests/made_up/mod.rs"]
mod made_up;
