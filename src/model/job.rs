//! What job it is, the limits that it is held to, and the findings that are accepted on purpose.

use form::Place;
use quantity::{Amps, Celsius, Gauge, Metres, Share, Volts};
use spec::AcceptedSeverity;

/// What job it is.
#[derive(Debug, Clone)]
pub struct JobDetails {
    /// Title.
    pub title: String,
    /// Revision; `-` where none is given.
    pub revision: String,
    /// Nominal voltage.
    pub nominal: Volts,
    /// A note for the first page.
    pub note: Option<String>,
    /// The place of the job in the spec.
    pub place: Place,
}

/// Limits, all filled in. See [`spec::LimitsForm`] for what each means.
#[derive(Debug, Clone)]
pub struct Limits {
    /// Maximum drop to a load and back, as a share of nominal.
    pub drop: Share,
    /// Maximum continuous load of a fuse, as a share of its rating.
    pub fuse_load: Share,
    /// Copper temperature of the hot corner.
    pub hot: Celsius,
    /// Unwanted voltage that counts.
    pub sneak_voltage: Volts,
    /// Unwanted current that counts.
    pub sneak_current: Amps,
    /// Maximum key-off current.
    pub key_off: Amps,
    /// Ground lift that disturbs a picture.
    pub video_lift: Volts,
    /// Added to each cut length.
    pub cut_allowance: Share,
    /// Added to each end.
    pub end_allowance: Metres,
    /// Smallest conductor.
    pub thinnest: Gauge,
    /// Length of a wire within one place.
    pub local_length: Metres,
}

/// A finding accepted on purpose.
#[derive(Debug, Clone)]
pub struct Accepted {
    /// The rule's name.
    pub rule: String,
    /// What it is about.
    pub on: String,
    /// Why.
    pub because: String,
    /// The worst severity that is accepted.
    pub severity: AcceptedSeverity,
    /// The figure that is accepted, as printed.
    pub at: Option<String>,
    /// Its place in the spec.
    pub place: Place,
}
