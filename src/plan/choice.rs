//! The choices of one candidate, and the ground points that follow from them.

use crate::choose::Arranged;
use crate::distances::Distances;
use crate::kit::Kit;
use crate::logic::LogicProof;
use crate::network::ContactNetwork;
use crate::pictures::sent;
use crate::remedies::Remedies;
use crate::selector::SelectorKind;
use crate::signals::OfferedSignal;
use crate::targets::{LoadWish, PictureSlot, ScreenWish};
use crate::wish::WishRead;
use form::Name;

/// The choices of one candidate.
#[derive(Clone)]
pub struct Choice<'a> {
    pub wish: &'a WishRead,
    pub kit: &'a Kit<'a>,
    pub distances: &'a Distances,
    pub signals: &'a [OfferedSignal],
    pub screens: &'a [(ScreenWish, Vec<PictureSlot>, Arranged)],
    pub loads: &'a [LoadWish],
    pub network: &'a ContactNetwork,
    pub selector: Option<&'a SelectorKind>,
    pub hub: usize,
    /// Whether each camera and screen has a fuse of its own.
    pub apart: bool,
    pub logic: Name,
    /// How few relays the logic needs.
    pub proof: LogicProof,
    /// What differs from the first wiring.
    pub remedies: Remedies,
}

impl Choice<'_> {
    /// The ground nearest to the first large load: of several at its place, the last. None if it is the only one.
    pub fn ground_of_loads(&self) -> Option<String> {
        let place_of_large = |load: &LoadWish| {
            let (entry, kind) = self.wish.part(&load.part)?;
            let amps = Kit::draws(entry, kind, &load.pin, kind.nominal.unwrap_or(self.kit.nominal));
            (amps.value() > LARGE).then(|| entry.at.as_ref().map(|at| self.wish.place(&at.value)))?
        };
        let at = self.loads.iter().find_map(place_of_large)?;
        let mut grounds: Vec<(String, f64)> = self
            .wish
            .form
            .grounds
            .iter()
            .map(|(name, form)| (name.to_string(), self.distances.between(at, self.wish.place(&form.at.value))))
            .collect();
        grounds.reverse();
        let nearest = grounds.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
        (grounds.len() > 1).then(|| nearest.0.clone())
    }

    /// The cameras and sources whose picture cables join two ground points, and that an isolator passes.
    pub fn isolable(&self) -> Vec<Name> {
        let ground = |part: &Name| {
            let (entry, _) = self.wish.part(part)?;
            let at = self.wish.place(&entry.at.as_ref()?.value);
            let of = |form: &spec::GroundForm| self.distances.between(at, self.wish.place(&form.at.value));
            self.wish.form.grounds.iter().min_by(|a, b| of(a.1).total_cmp(&of(b.1))).map(|(name, _)| name.value.clone())
        };
        let mut all: Vec<Name> = Vec::new();
        for (screen, ..) in self.screens {
            for picture in screen.pictures.iter().filter(|picture| ground(&picture.value) != ground(&screen.part)) {
                let formats = self.wish.part(&picture.value).map(|(entry, kind)| sent(entry, kind)).unwrap_or_default();
                if !all.contains(&picture.value) && self.kit.isolator(&formats).is_some() {
                    all.push(picture.value.clone());
                }
            }
        }
        all
    }

    /// The ground nearest to the first screen.
    pub fn ground_of_screen(&self) -> Option<String> {
        let (screen, ..) = self.screens.first()?;
        let (entry, _) = self.wish.part(&screen.part)?;
        let at = self.wish.place(&entry.at.as_ref()?.value);
        let grounds = self.wish.form.grounds.iter();
        let away = |form: &spec::GroundForm| self.distances.between(at, self.wish.place(&form.at.value));
        grounds.min_by(|a, b| away(a.1).total_cmp(&away(b.1))).map(|(name, _)| name.to_string())
    }
}

/// Amperes above which a load's ground is kept apart from pictures. Common practice, no source.
pub const LARGE: f64 = 1.0;
