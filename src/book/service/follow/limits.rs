//! What passes at each pin of a chain, and how to test what a meter alone does not show.

use super::moment::Moment;
use crate::lists::connections::tip;
use crate::service::chain::ChainLink;
use circuit::{CurrentPath, Via};
use graph::{Link as GraphLink, PicturePath};
use model::{ElementKind, PinId};
use quantity::Volts;

/// What a good coaxial cable reads.
pub(super) const COAX: &str =
    "unplugged at both ends: centre conductor continuous, shield continuous, centre to shield open";

/// What contacts and the meter may add to calculated values (common practice, no source).
const MAY_ADD: f64 = 0.05;

/// Share by which calculated values may be off (common practice, no source).
const MAY_BE_OFF: f64 = 0.2;

/// The allowed drop for an expected one: a fifth more and 0.05 V, up to the next tenth of a volt.
pub(super) fn allowed(lost: Volts) -> String {
    let most = lost.value().max(0.0) * (1.0 + MAY_BE_OFF) + MAY_ADD;
    // A rounding margin, so that 0.1 stays 0.1.
    format!("{:.1} V", (most * 10.0 - 1e-6).ceil() / 10.0)
}

impl Moment<'_> {
    /// The limits at each pin: towards the part against the chain's first pin, for any supply voltage; from there
    /// to ground against zero.
    pub(super) fn limit(&self, links: &mut [ChainLink]) {
        let mut first = links.first().and_then(|link| link.id);
        for i in 0..links.len() {
            links[i].turns = links[i].returns && (i == 0 || !links[i - 1].returns);
            // A converter's output doesn't depend on the first pin.
            first = first.filter(|_| !links[i].made_anew);
            let (Some(id), Some(volts)) = (links[i].id, links[i].volts) else { continue };
            links[i].passes = match (links[i].returns, first) {
                (true, _) => format!("below {}", allowed(volts.most.volts())),
                (false, Some(first)) if i > 0 => {
                    format!("at most {} below the first", allowed(self.at.drop(first, id)))
                }
                _ => String::new(),
            };
        }
    }

    /// How to read what flashes, where a chain comes from a flasher.
    pub(super) fn flashing<const N: usize>(&self, paths: [&CurrentPath; N]) -> String {
        let flashes = |via: Via| match via {
            Via::Element(id) => match &self.model.element(id).kind {
                ElementKind::Feed(feed) => Some(&self.model.inputs[feed.input.0]).filter(|i| i.flash.is_some()),
                _ => None,
            },
            _ => None,
        };
        let mut steps = paths.into_iter().flat_map(|path| &path.steps);
        match steps.find_map(|step| flashes(step.via)) {
            Some(input) => {
                let flash = input.flash.map(|flash| flash.to_string()).unwrap_or_default();
                format!(
                    "{} flashes, {flash}: from there on the meter swings between the figure and zero. Set it to hold \
                     the highest reading, and use that.",
                    input.title
                )
            }
            None => String::new(),
        }
    }

    /// How to find out whether camera, cable or screen causes a missing picture.
    pub(super) fn picture_test(&self, path: &PicturePath, input: PinId) -> String {
        let model = self.model;
        let formats: Vec<String> = model.part(path.source).formats.iter().map(ToString::to_string).collect();
        let format = if formats.is_empty() { String::new() } else { format!(" for {}", formats.join(" or ")) };
        let [screen, source] = [input, path.source_pin].map(|pin| tip(model, pin));
        let inside = |(_, link): &&(PinId, GraphLink)| matches!(link, GraphLink::Through(..));
        let between: Vec<String> = path.links.iter().filter(inside).map(|(pin, _)| tip(model, *pin)).collect();
        let back = match between.is_empty() {
            true => String::new(),
            false => format!(
                " Without one, repeat this ahead of {}: with a picture there, the fault lies between.",
                between.join(", then ahead of ")
            ),
        };
        format!(
            "A meter can't show a picture. Connect a known-good monitor{format} to the cable's end at {screen}: with a \
             picture, the fault is in the screen.{back} If no picture comes, connect a known-good camera{format} to the \
             cable's end at {source}: with a picture, the fault is in the camera or its supply; without one, in the \
             cable. Look for a broken centre conductor or shield, or the two touching."
        )
    }
}
