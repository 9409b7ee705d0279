//! Chooses what the spec leaves open: the rating of a fuse; the colour of a wire, and its conductor: the thinnest that
//! its terminals take, that carries its current in its bundle, that its fuse protects, and that keeps the drop to every
//! load within the limit.
//!
//! In: a draft, in which the gauges that the spec leaves open are absent. Out: the model, in which every wire has one and
//! every fuse its rating.
//! Sizing starts from the thinnest conductor of the shop, solves the circuit, raises sizes until all three hold, and
//! solves again to confirm them. The checks judge the result and report what no size can correct.

mod chosen;
mod colours;
pub mod fuse_curve;
mod fuses;
mod ratings;
pub mod switch_on;
mod warmth;
mod wire_loads;

pub use chosen::chosen;
pub use colours::{FEEDS, GROUNDS, SIGNALS};
pub use fuses::{opens_a_fuse, protecting_fuses};
pub use warmth::WarmWires;
pub use wire_loads::{LoadDrop, WireLoads, WireLoss, load_drop, wire_loads};

use explore::{Interrupted, Watch, unwatched};
use model::conductor;
use model::{Domain, Draft, ElementId, ElementKind, Model, PinId, Run, WireId};
use quantity::{Amps, Gauge, Span, Volts};
use spec::{Surroundings, WireMake};
use std::cmp::Ordering;

/// Rounds of raising sizes and solving again.
const MOST_ROUNDS: usize = 4;

/// Chooses every rating, gauge and colour that the spec leaves open.
pub fn choose(draft: Draft) -> Model {
    match choose_watched(draft, &unwatched) {
        Ok(model) => model,
        // OK because this watch never breaks.
        Err(Interrupted) => unreachable!("nobody interrupts"),
    }
}

/// Like [`choose`], with a watch that gets the progress of solving.
///
/// # Errors
/// When the watch breaks.
pub fn choose_watched(draft: Draft, watch: Watch) -> Result<Model, Interrupted> {
    let thinnest = draft.limits.thinnest;
    let mut model = draft.with_gauges(|wire| wire.gauge.unwrap_or(thinnest));
    colours::choose(&mut model);
    let open: Vec<WireId> = model.wire_ids().filter(|id| is_open(&model, *id)).collect();
    let ours =
        model.wire_ids().filter(|id| (is_open(&model, *id) || is_of_sound(&model, *id)) && !model.wire(*id).existing);
    for id in ours.collect::<Vec<WireId>>() {
        fit_terminals(&mut model, id);
    }
    let fuses = ratings::open(&model);
    // A smaller fuse has more resistance, so that it carries a little less; a wire is as thick as its fuse asks, and a
    // thicker wire lets a little more through.
    for _ in 0..MOST_ROUNDS {
        let rated = !fuses.is_empty() && ratings::choose(&mut model, &fuses, watch)?;
        let thicker = !open.is_empty() && thicken_all(&mut model, &open, watch)?;
        if fuses.is_empty() || (!rated && !thicker) {
            break;
        }
    }
    if !fuses.is_empty() {
        ratings::lower(&mut model, &fuses, watch)?;
    }
    Ok(model)
}

/// Raises the open wires until they carry their currents within the allowed drops. Returns whether any was raised.
fn thicken_all(model: &mut Model, open: &[WireId], watch: Watch) -> Result<bool, Interrupted> {
    let mut raised = false;
    for _ in 0..MOST_ROUNDS {
        let loads = wire_loads(model, watch)?;
        let carried = carry(model, open, &loads);
        let dropped = shorten_drops(model, open, &loads);
        if !carried && !dropped {
            break;
        }
        raised = true;
    }
    Ok(raised)
}

/// Whether sizing may choose a wire's conductor.
fn is_open(model: &Model, id: WireId) -> bool {
    let wire = model.wire(id);
    let current = matches!(wire.domain, Domain::Power | Domain::Ground | Domain::Trigger);
    !wire.gauge_given() && current && wire.make != WireMake::Coax && wire.make != WireMake::Lead
}

/// Whether a wire of sound, which has no current to be sized for, may have any conductor that its terminals take.
fn is_of_sound(model: &Model, id: WireId) -> bool {
    let wire = model.wire(id);
    wire.domain == Domain::Audio && !wire.gauge_given() && wire.make != WireMake::Coax && wire.make != WireMake::Lead
}

/// Largest share of a splice's capacity that one wire may take, so that the others fit.
const SPLICE_SHARE: f64 = 0.5;

/// Whether the terminal or splice at a pin takes a conductor of this size.
pub fn pin_takes(model: &Model, pin: PinId, gauge: Gauge) -> bool {
    let form = &model.part(model.pin(pin).part).form;
    let terminal = form.terminal.as_ref().map(|terminal| terminal.wire.0);
    let holds = form.holds.map(|holds| holds.0.high.area() * SPLICE_SHARE);
    terminal.is_none_or(|range| conductor::against(gauge, range) != Ordering::Greater)
        && holds.is_none_or(|most| gauge.area() <= most)
}

/// Whether the terminals and splices at both ends of a wire take a conductor of this size.
pub fn ends_take(model: &Model, id: WireId, gauge: Gauge) -> bool {
    model.wire(id).ends.iter().all(|end| pin_takes(model, *end, gauge))
}

/// Raises a wire to the thinnest size that the terminals of both ends take.
fn fit_terminals(model: &mut Model, id: WireId) {
    let ranges: Vec<Span<Gauge>> = model
        .wire(id)
        .ends
        .iter()
        .filter_map(|end| model.part(model.pin(*end).part).form.terminal.as_ref())
        .map(|terminal| terminal.wire.0)
        .collect();
    let too_thin = |gauge: Gauge| ranges.iter().any(|range| conductor::against(gauge, *range) == Ordering::Less);
    let now = model.wire(id).gauge;
    if let Some(gauge) = conductor::thinnest(now, |gauge| !too_thin(gauge)).filter(|_| too_thin(now)) {
        model.wires[id.0].gauge = gauge;
    }
}

/// Whether any run of a wire is in an engine space. A wire that stays at its place counts as the runs from there
/// do, if they agree.
pub fn in_engine_space(model: &Model, id: WireId) -> bool {
    let wire = model.wire(id);
    let hot = |run: &Run| run.surroundings == Surroundings::EngineSpace;
    if !wire.path.is_empty() {
        return wire.path.iter().any(|run| hot(&model.runs[run.0]));
    }
    let at = model.part(model.pin(wire.ends[0]).part).at;
    let mut from_here = model.runs.iter().filter(|run| at.is_some_and(|at| run.ends.contains(&at))).peekable();
    from_here.peek().is_some() && from_here.all(hot)
}

/// Raises wires that carry too much for their size, or that their fuse doesn't protect, as far as their ends take it: a
/// fuse far above its load is reported by the checks, and the copper doesn't follow it. Returns whether any was raised.
fn carry(model: &mut Model, open: &[WireId], loads: &WireLoads) -> bool {
    let mut raised = false;
    let mut warm = WarmWires::new(model, &loads.most);
    let (fuses, vehicles) = (protecting_fuses(model), fuses::vehicle_fuses(model));
    for id in open {
        let fuse = fuses[id.0].iter().filter_map(|f| rating(model, *f)).fold(Amps::new(0.0), Amps::max);
        let needs = loads.most[id.0].max(fuse).max(vehicles[id.0]);
        let (bundle, hot) = (warm.beside(model, *id), in_engine_space(model, *id));
        let now = model.wire(*id).gauge;
        let fits = |gauge: Gauge| gauge >= now && conductor::ampacity(gauge, bundle, hot) >= needs;
        if fits(now) {
            continue;
        }
        if let Some(gauge) = conductor::thinnest(now, |gauge| fits(gauge) && ends_take(model, *id, gauge)) {
            model.wires[id.0].gauge = gauge;
            warm.update(model, *id);
            raised = true;
        }
    }
    raised
}

fn rating(model: &Model, fuse: ElementId) -> Option<Amps> {
    match &model.element(fuse).kind {
        ElementKind::Fuse { rating, .. } => Some(*rating),
        _ => None,
    }
}

/// Share of the allowed drop for the open wires of a load if wires of given sizes lose so much that
/// the limit can't be kept. The open wires get a sensible size, and the checks report the given ones.
const SHARE_BESIDE_GIVEN: f64 = 0.5;

/// Raises, for each load whose drop is above the limit, the open wire with the maximum drop on its way, size by size,
/// until the sum is within the limit. Returns whether any was raised.
fn shorten_drops(model: &mut Model, open: &[WireId], loads: &WireLoads) -> bool {
    let mut raised = false;
    for load in &loads.loads {
        let limit = load.system * model.limits.drop.value();
        // A thicker conductor doesn't reduce the drop in mated contacts.
        let allowed = (limit - load.contacts).max(limit * 0.2);
        let before: Vec<Gauge> = load.wires.iter().map(|of| model.wire(of.wire).gauge).collect();
        if !thicken(model, open, load, allowed, |_| true) {
            for (of, gauge) in load.wires.iter().zip(&before) {
                model.wires[of.wire.0].gauge = *gauge;
            }
            thicken(model, open, load, allowed * SHARE_BESIDE_GIVEN, |id| open.contains(&id));
        }
        raised |= load.wires.iter().zip(before).any(|(of, gauge)| model.wire(of.wire).gauge != gauge);
    }
    raised
}

/// Raises the open wires of a load until those that count lose at most `goal`. Returns whether they do.
fn thicken(model: &mut Model, open: &[WireId], load: &LoadDrop, goal: Volts, counts: impl Fn(WireId) -> bool) -> bool {
    let drop = |model: &Model, id: WireId, amps: Amps| -> Volts {
        let wire = model.wire(id);
        amps * conductor::resistance(wire.gauge, wire.length.unwrap_or_default(), model.limits.hot)
    };
    let next = |model: &Model, id: WireId| {
        let now = model.wire(id).gauge;
        conductor::thinnest(now, |gauge| gauge > now).filter(|gauge| ends_take(model, id, *gauge))
    };
    let total = |model: &Model| -> Volts {
        load.wires.iter().filter(|of| counts(of.wire)).map(|of| drop(model, of.wire, of.amps)).sum()
    };
    while total(model) > goal {
        let can = load.wires.iter().filter(|of| open.contains(&of.wire) && next(model, of.wire).is_some());
        let lost = |of: &WireLoss| drop(model, of.wire, of.amps).value();
        let worst = can.max_by(|a, b| lost(a).total_cmp(&lost(b)).then(b.wire.cmp(&a.wire)));
        let Some((id, gauge)) = worst.and_then(|of| Some((of.wire, next(model, of.wire)?))) else { return false };
        model.wires[id.0].gauge = gauge;
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;
    use form::TextMap;

    /// A lamp of 5 A behind one wire there and one back, each as long as the test wants.
    fn sized(length: &str, fuse: &str, feed: &str) -> Draft {
        resolved(&text(length, fuse, feed))
    }

    fn text(length: &str, fuse: &str, feed: &str) -> String {
        format!(
            r#"
harness: 1
job: {{title: One lamp, nominal: 12 V}}
places: [front, tail]
runs: [{{between: [front, tail], length: {length}}}]
supplies: {{battery: {{terminal: "30", at: front, volts: [12 V, 12 V, 12 V], resistance: 1 mΩ}}}}
grounds: {{G1: {{at: front, use: stud, resistance: 0.1 mΩ}}}}
own-parts:
  stud: {{title: Stud, family: ground, cavities: 1}}
  fuse: {{title: Fuse, family: fuse, pins: {{"1": {{domain: power}}, "2": {{domain: power}}}}, inside: [{{fuse: {{between: ["1", "2"], resistance: 1 mΩ}}}}]}}
  heater:
    title: Heater
    family: load
    pins: {{"1": {{domain: power}}, "2": {{domain: ground}}}}
    inside: [{{load: {{feed: "1", ground: "2", kind: electronic, draws: 5 A}}}}]
parts: {{F1: {{use: fuse, rating: {fuse}, at: front}}, L1: {{use: heater, at: tail}}}}
wires:
  - {{id: 1, from: battery, to: F1.1, gauge: 10 AWG}}
  - {{id: 2, from: F1.2, to: L1.1{feed}}}
  - {{id: 3, from: L1.2, to: G1}}
"#
        )
    }

    fn resolved(text: &str) -> Draft {
        sample::resolved(&TextMap::new([("one-lamp.yaml", text)]), "one-lamp.yaml").unwrap()
    }

    #[test]
    fn a_long_way_takes_a_thicker_wire_and_a_given_one_stays() {
        let short = choose(sized("1 m", "5 A", ", gauge: 18 AWG"));
        let long = choose(sized("6 m", "5 A", ", gauge: 18 AWG"));
        assert_eq!(short.wires[1].gauge, Gauge::Awg(18));
        assert_eq!(long.wires[1].gauge, Gauge::Awg(18));
        assert!(short.wires[2].gauge < long.wires[2].gauge);
    }

    #[test]
    fn a_wire_is_no_thinner_than_its_terminals_take() {
        let stud = "cavities: 1, terminal: {title: ring M8, wire: 1.5..16 mm²}";
        let model = resolved(&text("1 m", "5 A", "").replace("cavities: 1", stud));
        assert_eq!(choose(model).wires[2].gauge, Gauge::Metric(1.5));
    }

    /// A given wire that exceeds the whole limit alone: the other gets a sensible size, not the thickest one.
    #[test]
    fn no_wire_grows_for_what_a_given_one_loses() {
        let model = choose(sized("12 m", "5 A", ", gauge: 20 AWG"));
        // 5 A over 12 m: 6 mm² (3.30 Ω/km, IEC 60228) lose 198 mV cold, more than 180 mV, half of 3 %; 10 mm² (1.91
        // Ω/km) lose 115 mV.
        assert_eq!(model.wires[2].gauge, Gauge::Metric(10.0));
    }

    #[test]
    fn a_wire_is_no_thicker_than_its_terminals_take() {
        let narrow = "cavities: 1, terminal: {title: ring M5, wire: 0.5..1.5 mm²}";
        let model = resolved(&text("12 m", "5 A", "").replace("cavities: 1", narrow));
        assert_eq!(choose(model).wires[2].gauge, Gauge::Metric(1.5));
    }

    #[test]
    fn a_wire_is_no_thinner_than_its_fuse_asks() {
        let model = choose(sized("0.2 m", "30 A", ""));
        // ABYC E-11: 16 AWG carries 25 A outside an engine space and 14 AWG 35 A; 2.5 mm² is the first metric size with
        // the copper of 14 AWG.
        assert_eq!(model.wires[1].gauge, Gauge::Metric(2.5));
        assert_eq!(model.wires[2].gauge, Gauge::Metric(0.5), "the return path is sized by no fuse");
    }
}
