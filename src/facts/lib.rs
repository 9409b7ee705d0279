//! Facts about a solved harness, each computed on first use. In comes a [`Solved`] harness; out go facts, each a type
//! of its own in its own file: findings, drawings and documents are made from them, and solve nothing.
//!
//! What must hold: a fact knows neither findings nor who asks for it; facts build on each other in one direction
//! (`DEVELOPERS.md` has the order); the same harness gives the same facts, whichever is asked for first.
//!
//! A fact is asked for by its accessor on [`Facts`]. A new capability takes `&Facts` and reads what it needs.

pub mod backfeed;
pub mod bench;
pub mod both_windings;
pub mod branches;
pub mod bundles;
pub mod chargers;
pub mod conductors;
pub mod connectivity;
pub mod consumers;
pub mod engine_off;
mod every_state;
pub mod explored;
pub mod figures;
pub mod inputs;
pub mod leaks;
pub mod left_behind;
pub mod lost_grounds;
pub mod mixed;
pub mod moment;
pub mod names;
pub mod never_works;
pub mod on_when_asked;
pub mod outputs;
pub mod paths;
pub mod picture_changes;
pub mod picture_levels;
pub mod promised_works;
pub mod protection;
pub mod pulses;
pub mod readings;
pub mod screens;
pub mod shorts;
pub mod small_currents;
pub mod sneak;
pub mod sound;
pub mod speakers;
pub mod standard_pins;
pub mod start_dips;
pub mod stuck_contacts;
pub mod supply_moves;
pub mod takers;
pub mod unsettled;
pub mod walk;
pub mod wire_drop;
pub mod worst;

pub use backfeed::Backfeed;
pub use bench::Bench;
pub use both_windings::BothWindings;
pub use bundles::Bundles;
pub use chargers::Charger;
pub use connectivity::Connectivity;
pub use explored::Explored;
pub use left_behind::LeftBehind;
pub use lost_grounds::LostGrounds;
pub use mixed::MixedKinds;
pub use moment::{CORNERS, Moment, Peak};
pub use names::Names;
pub use never_works::NeverWorks;
pub use outputs::JoinedOutputs;
pub use paths::Paths;
pub use picture_changes::PictureChange;
pub use picture_levels::PictureLevel;
pub use promised_works::PromisedWorks;
pub use protection::Protection;
pub use pulses::Pulsed;
pub use readings::{AtCorners, Readings, VoltageRange};
pub use screens::ScreenFaults;
pub use shorts::Shorts;
pub use sneak::SneakPaths;
pub use standard_pins::StandardPin;
pub use start_dips::StartDip;
pub use supply_moves::MovedBySupply;
pub use takers::Taker;
pub use unsettled::Unsettled;
pub use wire_drop::WireDrop;
pub use worst::WorstValues;

use circuit::{CurrentPath, Solution, State};
use engine_off::EngineOff;
use every_state::EveryState;
use explore::{Interrupted, Watch};
use graph::Nets;
use model::{ElementId, Model, PartId, PinId, WireId};
use quantity::Amps;
use replay::standing::{Standing, standing};
use replay::{Setting, Timeline, replay_all};
use states::{Solved, StateTable, Walk, WalkStep};
use std::sync::OnceLock;

/// The facts about one solved harness.
#[derive(Debug)]
pub struct Facts<'m> {
    /// The harness.
    pub model: &'m Model,
    /// Its graph, its circuit, its states at the nominal corner.
    pub solved: &'m Solved<'m>,
    nets: OnceLock<Nets>,
    connectivity: OnceLock<Connectivity<'m>>,
    mixed_kinds: OnceLock<Vec<MixedKinds>>,
    joined_outputs: OnceLock<Vec<JoinedOutputs>>,
    picture_levels: OnceLock<Vec<PictureLevel>>,
    chargers: OnceLock<Vec<Charger>>,
    protection: OnceLock<Protection>,
    shorts: OnceLock<Shorts<'m>>,
    paths: OnceLock<Paths<'m>>,
    explored: OnceLock<Explored<'m>>,
    every_state: OnceLock<EveryState>,
    bundles: OnceLock<Bundles<'m>>,
    screens: OnceLock<ScreenFaults>,
    promised_works: OnceLock<PromisedWorks>,
    standard_pins: OnceLock<Vec<StandardPin>>,
    unsettled: OnceLock<Unsettled>,
    never_works: OnceLock<Vec<NeverWorks>>,
    start_dips: OnceLock<Vec<StartDip>>,
    moved_by_supply: OnceLock<Vec<MovedBySupply>>,
    lost_grounds: OnceLock<LostGrounds>,
    left_behind: OnceLock<Vec<LeftBehind>>,
    both_windings: OnceLock<Vec<BothWindings>>,
    pulsed: OnceLock<Vec<Pulsed>>,
    table: OnceLock<StateTable>,
    picture_changes: OnceLock<Vec<PictureChange>>,
    standing: OnceLock<Standing>,
    drives: OnceLock<Vec<Timeline>>,
}

impl<'m> Facts<'m> {
    /// The facts of a harness; nothing is computed yet.
    pub fn new(solved: &'m Solved<'m>) -> Facts<'m> {
        Facts {
            model: solved.model,
            solved,
            nets: OnceLock::new(),
            connectivity: OnceLock::new(),
            mixed_kinds: OnceLock::new(),
            joined_outputs: OnceLock::new(),
            picture_levels: OnceLock::new(),
            chargers: OnceLock::new(),
            protection: OnceLock::new(),
            shorts: OnceLock::new(),
            paths: OnceLock::new(),
            explored: OnceLock::new(),
            every_state: OnceLock::new(),
            bundles: OnceLock::new(),
            screens: OnceLock::new(),
            promised_works: OnceLock::new(),
            standard_pins: OnceLock::new(),
            unsettled: OnceLock::new(),
            never_works: OnceLock::new(),
            start_dips: OnceLock::new(),
            moved_by_supply: OnceLock::new(),
            lost_grounds: OnceLock::new(),
            left_behind: OnceLock::new(),
            both_windings: OnceLock::new(),
            pulsed: OnceLock::new(),
            table: OnceLock::new(),
            picture_changes: OnceLock::new(),
            standing: OnceLock::new(),
            drives: OnceLock::new(),
        }
    }

    /// The facts of states that are explored already.
    pub fn over(solved: &'m Solved<'m>, explored: Explored<'m>) -> Facts<'m> {
        Facts { explored: OnceLock::from(explored), ..Facts::new(solved) }
    }

    /// Computes the long facts side by side: every state at every corner, with each ground lost, and in motion.
    ///
    /// # Errors
    /// When the watch breaks.
    pub fn prepare(&self, watch: Watch) -> Result<(), Interrupted> {
        let in_motion = || {
            self.standing();
            self.drives();
        };
        let in_states = || {
            if self.explored.get().is_none() {
                let explored = Explored::new(self.solved, watch)?;
                self.explored.get_or_init(|| explored);
            }
            self.every_state();
            self.lost_grounds();
            Ok(())
        };
        threads::both(in_motion, in_states).1
    }

    /// Every reachable state at the corners that matter.
    pub fn explored(&self) -> &Explored<'m> {
        self.explored.get_or_init(|| Explored::unwatched(self.solved))
    }

    /// The circuit at a moment; `None` if it does not settle.
    pub fn solution(&self, moment: &Moment) -> Option<Solution> {
        moment.solve(self.solved)
    }

    /// Pins that wires and mated cavities join.
    pub fn nets(&self) -> &Nets {
        self.nets.get_or_init(|| Nets::new(self.model))
    }

    /// Which pins can be joined, in any state.
    pub fn connectivity(&self) -> &Connectivity<'m> {
        self.connectivity.get_or_init(|| Connectivity::new(self.solved))
    }

    /// Nets on which pictures, sound or data meet a feed, a ground, a trigger, a contact, or each other.
    pub fn mixed_kinds(&self) -> &[MixedKinds] {
        self.mixed_kinds.get_or_init(|| mixed::mixed_kinds(self.connectivity(), self.nets()))
    }

    /// The level of each picture at the inputs that it goes to.
    pub fn picture_levels(&self) -> &[PictureLevel] {
        self.picture_levels.get_or_init(|| picture_levels::picture_levels(self.connectivity(), self.nets()))
    }

    /// The highest current through a pin of pictures or sound that meets a feed.
    pub fn port_current(&self, pin: PinId) -> Option<Peak<Amps>> {
        let branch = *self.solved.assembly.element(mixed::port(self.model, pin)?).first()?;
        self.worst().amps(branch).cloned()
    }

    /// The cable whose shield is the only ground of a part, and the highest current through that shield.
    pub fn ground_by_shield(&self, part: PartId) -> Option<(WireId, &Peak<Amps>)> {
        lost_grounds::ground_by_shield(self.solved, self.connectivity(), self.worst(), part)
    }

    /// The path of the current over the shield of a cable in a solved state.
    pub fn over_shield(&self, solution: &Solution, wire: WireId) -> CurrentPath {
        let shields = lost_grounds::ShieldBranches::new(self.solved);
        shields.map_or_else(CurrentPath::default, |shields| shields.path_of(self.paths(), solution, wire))
    }

    /// Outputs that are joined.
    pub fn joined_outputs(&self) -> &[JoinedOutputs] {
        self.joined_outputs.get_or_init(|| outputs::joined_outputs(self.connectivity(), self.nets()))
    }

    /// What limits the current of each wire in a short.
    pub fn protection(&self) -> &Protection {
        self.protection.get_or_init(|| Protection::new(self.connectivity()))
    }

    /// The current of a short at any pin.
    pub fn shorts(&self) -> &Shorts<'m> {
        self.shorts.get_or_init(|| Shorts::new(self.connectivity()))
    }

    /// Paths of current in a solved state.
    pub fn paths(&self) -> &Paths<'m> {
        self.paths.get_or_init(|| Paths::new(self.solved))
    }

    /// How something that should be dead gets a voltage.
    pub fn backfeed(&self) -> Backfeed<'_> {
        Backfeed::new(self.solved, self.paths())
    }

    /// Converters that charge a battery.
    pub fn chargers(&self) -> &[Charger] {
        self.chargers.get_or_init(|| chargers::chargers(self.model))
    }

    /// What takes the current that flows from one pin of a contact, a switch or a fuse to the other in a solved state.
    pub fn takers(&self, solution: &Solution, between: [PinId; 2]) -> Vec<Taker> {
        takers::takers(self.solved, self.connectivity(), solution, between)
    }

    /// What a load's wires lose in a solved state; `None` for anything but a load.
    pub fn wire_drop(&self, solution: &Solution, element: ElementId) -> Option<WireDrop> {
        WireDrop::new(self.solved, self.paths(), solution, element)
    }

    fn every_state(&self) -> &EveryState {
        self.every_state.get_or_init(|| EveryState::new(self.solved, self.explored()))
    }

    /// The worst of every current and voltage over all states and corners.
    pub fn worst(&self) -> &WorstValues {
        &self.every_state().worst
    }

    /// The most that each battery supplies in each position of the key, and how long it lasts with the engine off.
    pub fn engine_off(&self) -> &[EngineOff] {
        &self.every_state().engine_off
    }

    /// Unwanted voltages and currents.
    pub fn sneaks(&self) -> &SneakPaths {
        &self.every_state().sneaks
    }

    /// How many loaded wires run beside each wire.
    pub fn bundles(&self) -> &Bundles<'m> {
        self.bundles.get_or_init(|| Bundles::new(self.solved, self.worst()))
    }

    /// What screens show where it is not what the views ask for.
    pub fn screens(&self) -> &ScreenFaults {
        self.screens.get_or_init(|| ScreenFaults::new(self.solved, self.explored()))
    }

    /// Parts that don't work when they should, or work when they shouldn't.
    pub fn promised_works(&self) -> &PromisedWorks {
        self.promised_works.get_or_init(|| PromisedWorks::new(self.solved, self.explored()))
    }

    /// Pins that a standard gives a purpose, and whether they keep to it.
    pub fn standard_pins(&self) -> &[StandardPin] {
        let find = || standard_pins::standard_pins(self.solved, self.connectivity(), self.explored());
        self.standard_pins.get_or_init(find)
    }

    /// Cycles that never settle, and races.
    pub fn unsettled(&self) -> &Unsettled {
        self.unsettled.get_or_init(|| Unsettled::new(self.solved, self.explored()))
    }

    /// Loads and converters that never work.
    pub fn never_works(&self) -> &[NeverWorks] {
        self.never_works.get_or_init(|| never_works::never_works(self.connectivity(), self.worst()))
    }

    /// Loads whose inrush takes too much voltage from themselves or from others.
    pub fn start_dips(&self) -> &[StartDip] {
        let search = || start_dips::Search { solved: self.solved, explored: self.explored(), worst: self.worst() };
        self.start_dips.get_or_init(|| search().dips())
    }

    /// Relays whose position depends on the supply voltage alone.
    pub fn moved_by_supply(&self) -> &[MovedBySupply] {
        let search = || supply_moves::Search {
            wiring: self.solved,
            connectivity: self.connectivity(),
            worst: self.worst(),
            sneaks: self.sneaks(),
            unsettled: self.unsettled(),
        };
        self.moved_by_supply.get_or_init(|| search().moved())
    }

    /// What the loss of each ground does.
    pub fn lost_grounds(&self) -> &LostGrounds {
        let search = || lost_grounds::Search {
            solved: self.solved,
            explored: self.explored(),
            worst: self.worst(),
            connectivity: self.connectivity(),
            paths: self.paths(),
        };
        self.lost_grounds.get_or_init(|| LostGrounds::new(search()))
    }

    /// What stays set when everything is back at rest.
    pub fn left_behind(&self) -> &[LeftBehind] {
        self.left_behind.get_or_init(|| left_behind::left_behind(self.solved))
    }

    /// Latching relays whose setting and resetting windings are live at once.
    pub fn both_windings(&self) -> &[BothWindings] {
        self.both_windings.get_or_init(|| both_windings::both_windings(self.solved, self.explored()))
    }

    /// Signals that pulses upset.
    pub fn pulsed(&self) -> &[Pulsed] {
        self.pulsed.get_or_init(|| pulses::pulsed(self.solved))
    }

    /// What a meter reads at every pin, in any state that is asked for.
    pub fn readings(&self) -> Readings<'m> {
        Readings::new(self.solved)
    }

    /// The steps from rest to a state at the nominal corner, each with what it settles to; empty at rest, or if one of
    /// them can't be made.
    pub fn steps_to(&self, state: &State) -> Vec<WalkStep> {
        let moves = self.solved.exploration.way_to(state).unwrap_or_default();
        Walk::new(self.solved.solvers()).along(&moves).unwrap_or_default()
    }

    /// The table of states at the nominal corner.
    pub fn table(&self) -> &StateTable {
        self.table.get_or_init(|| self.solved.table())
    }

    /// Single moves of an input that change the picture.
    pub fn picture_changes(&self) -> &[PictureChange] {
        self.picture_changes.get_or_init(|| picture_changes::picture_changes(self.solved, self.table()))
    }

    /// The answers to the questions about time that need no script.
    pub fn standing(&self) -> &Standing {
        self.standing.get_or_init(|| standing(self.solved))
    }

    /// Every drive of the spec, played at nominal supply with flashers in the middle of their range; in the order of
    /// [`Model::drives`].
    pub fn drives(&self) -> &[Timeline] {
        self.drives.get_or_init(|| replay_all(self.solved, &Setting::default()))
    }

    /// Names of states, moments, wires and signals.
    pub fn names(&self) -> Names<'_> {
        Names::new(self.solved, self.explored())
    }
}

#[cfg(test)]
mod tests;
