//! Against a slow simulation that knows no events: it looks at everything every millisecond, and counts down.

use super::*;
use catalogue::part_form::{Idle, OnLoss};
use circuit::{ActorId, ActorRule, Corner, Held, Memory, Positions, State};
use engine::Solver;
use graph::Link;
use model::{ElementId, ElementKind, InputId, PartId, ScreenId, SignalId, SignalKind, Step};
use proptest::prelude::*;
use states::{Picture, ScreenReading, read_screen};
use std::collections::BTreeMap;
use std::rc::Rc;

/// Milliseconds.
type Ticks = i64;

fn ticks(seconds: quantity::Seconds) -> Ticks {
    (seconds.value() * 1000.0).round() as Ticks
}

struct Slow<'m> {
    solved: &'m Solved<'m>,
    now: Ticks,
    lever: Positions,
    state: State,
    left: BTreeMap<ActorId, Ticks>,
    started: BTreeMap<ActorId, bool>,
    /// For every part, how long it has had its power for.
    fed: Vec<Ticks>,
    screens: Vec<SlowScreen>,
    flash: (Ticks, Ticks),
    /// When the flashers that flash began.
    flash_from: Option<Ticks>,
    still: BTreeMap<State, Rc<Still>>,
}

/// The circuit in one state, solved once, for all that it is slow.
struct Still {
    held: Held,
    screens: Vec<ScreenReading>,
    powered: Vec<bool>,
}

#[derive(Clone)]
struct SlowScreen {
    choice: Option<(Option<usize>, Picture)>,
    age: Ticks,
    display: Displayed,
}

impl<'m> Slow<'m> {
    fn new(solved: &'m Solved<'m>, flash: (Ticks, Ticks)) -> Self {
        let circuit = &solved.assembly.circuit;
        let screen = SlowScreen { choice: None, age: 0, display: Displayed::Dark };
        let mut slow = Slow {
            now: -3_000,
            lever: Positions::at_rest(circuit),
            state: State::at_rest(circuit),
            left: BTreeMap::new(),
            started: BTreeMap::new(),
            fed: vec![-1; solved.model.parts.len()],
            screens: vec![screen; solved.model.screens.len()],
            flash,
            flash_from: None,
            still: BTreeMap::new(),
            solved,
        };
        while slow.now < 0 {
            slow.tick(&[]);
            slow.now += 1;
        }
        slow
    }

    fn still(&mut self) -> Rc<Still> {
        let solved = self.solved;
        let make = || {
            let held = Solver::new(&solved.assembly.circuit, Corner::NOMINAL).hold(&self.state).unwrap();
            let screens = (0..solved.model.screens.len()).map(|i| read_screen(solved, &held.solution, ScreenId(i)));
            let powered = solved.model.part_ids().map(|part| {
                let mut signals = solved.model.signals.iter().enumerate().filter(|(_, s)| s.part == part);
                signals.all(|(i, s)| {
                    !matches!(s.kind, SignalKind::Working { .. })
                        || self.state.holds(solved.assembly.signal(SignalId(i)))
                })
            });
            Rc::new(Still { screens: screens.collect(), powered: powered.collect(), held })
        };
        self.still.entry(self.state.clone()).or_insert_with(make).clone()
    }

    /// One millisecond: what runs out, then what the driver does.
    fn tick(&mut self, puts: &[(InputId, usize)]) {
        for ticks in self.left.values_mut() {
            *ticks -= 1;
        }
        let out: Vec<ActorId> = self.left.iter().filter(|(_, left)| **left <= 0).map(|(id, _)| *id).collect();
        for id in out {
            self.left.remove(&id);
            let on = self.state.memory.on(id);
            self.state.memory.set_on(id, !on);
        }
        for fed in &mut self.fed {
            *fed += i64::from(*fed >= 0);
        }
        for screen in &mut self.screens {
            screen.age += 1;
        }
        self.rest();
        for (input, position) in puts {
            if let Some(moved) = self.lever.moved(
                &self.solved.assembly.circuit,
                self.solved.assembly.input(*input),
                circuit::position(*position),
            ) {
                self.lever = moved;
            }
        }
        let flashers = |i: usize| self.solved.model.inputs[i].flash.is_some();
        let any = (0..self.lever.0.len()).any(|i| flashers(i) && self.lever.0[i] != 0);
        self.flash_from = if any { self.flash_from.or(Some(self.now)) } else { None };
        let lit = self.flash_from.is_none_or(|from| (self.now - from) % (self.flash.0 + self.flash.1) < self.flash.0);
        for i in 0..self.lever.0.len() {
            self.state.positions.0[i] = if flashers(i) && !lit { 0 } else { self.lever.0[i] };
        }
        self.rest();
    }

    /// Until nothing moves at once any more.
    fn rest(&mut self) {
        loop {
            let still = self.still();
            let before = self.state.memory.clone();
            self.feed(&still);
            let next = self.step(&still.held);
            self.state.memory = next;
            if self.state.memory == before {
                self.look(&still);
                return;
            }
        }
    }

    fn feed(&mut self, still: &Still) {
        for (fed, powered) in self.fed.iter_mut().zip(&still.powered) {
            *fed = if *powered { (*fed).max(0) } else { -1 };
        }
    }

    fn up(&self, part: PartId) -> bool {
        self.fed[part.0] >= 0 && self.fed[part.0] >= ticks(self.solved.model.part(part).start_up)
    }

    fn step(&mut self, held: &Held) -> Memory {
        let mut next = self.state.memory.clone();
        let model = self.solved.model;
        for (i, actor) in self.solved.assembly.circuit.actors.iter().enumerate() {
            let id = ActorId(i as u32);
            let on = self.state.memory.on(id);
            let signal = (0..model.signals.len()).map(SignalId).find(|s| self.solved.assembly.actor(*s) == Some(id));
            let powered = self.state.holds(&actor.powered);
            let start = |logic| powered && self.state.holds(logic);
            let mut begins = |now: bool| !std::mem::replace(self.started.entry(id).or_default(), now) && now;
            let time = signal.map_or(0, |s| match &model.signals[s.0].kind {
                SignalKind::Timer { time, .. } => ticks(*time),
                _ => 0,
            });
            match &actor.rule {
                ActorRule::Threshold { .. } => {
                    let wants = held.wants.on(id);
                    let coil = (0..model.elements.len()).find_map(|e| match &model.elements[e].kind {
                        ElementKind::Coil(coil) if self.solved.assembly.coil(ElementId(e)) == Some(id) => Some(coil),
                        _ => None,
                    });
                    match coil {
                        None => next.set_on(id, wants),
                        Some(_) if wants == on => drop(self.left.remove(&id)),
                        Some(coil) => {
                            self.left.entry(id).or_insert(ticks(if wants { coil.operate } else { coil.release }));
                        }
                    }
                }
                ActorRule::Latch { set, reset } => {
                    next.set_on(id, powered && !self.state.holds(reset) && (on || self.state.holds(set)));
                }
                ActorRule::Toggle { start: from } => {
                    let begins = begins(start(from));
                    next.set_on(id, powered && (on ^ begins));
                }
                ActorRule::Hold { start: from } => {
                    if start(from) || !on || !powered {
                        self.left.remove(&id);
                    } else {
                        self.left.entry(id).or_insert(time);
                    }
                    next.set_on(id, powered && (on || start(from)));
                }
                ActorRule::Delay { start: from } => {
                    if start(from) && !on {
                        self.left.entry(id).or_insert(time);
                    } else {
                        self.left.remove(&id);
                    }
                    next.set_on(id, on && start(from));
                }
                ActorRule::Pulse { start: from } => {
                    let begins = begins(start(from));
                    if begins {
                        self.left.insert(id, time);
                    } else if !powered {
                        self.left.remove(&id);
                    }
                    next.set_on(id, powered && (on || begins));
                }
            }
        }
        next
    }

    fn look(&mut self, still: &Still) {
        let model = self.solved.model;
        for (i, screen) in model.screens.iter().enumerate() {
            let reading = &still.screens[i];
            let switch = ticks(screen.switch_over);
            let mut slow = self.screens[i].clone();
            if reading.picture == Picture::Dark {
                self.screens[i] = SlowScreen { choice: None, age: 0, display: Displayed::Dark };
                continue;
            }
            let choice = (reading.rule, self.arriving(ScreenId(i), reading));
            let was = slow.choice.replace(choice.clone());
            if was.as_ref() != Some(&choice) {
                slow.age = 0;
                let same_input = was.as_ref().is_some_and(|was| was.0 == choice.0);
                if let (true, Picture::NoSignal(_)) = (same_input, &choice.1) {
                    slow.age = switch; // What a screen does on loss it does at once.
                    slow.display = match (screen.on_loss, &slow.display) {
                        (OnLoss::Freeze, Displayed::Live(part)) => Displayed::Frozen(*part),
                        (OnLoss::Freeze, _) => Displayed::Lost(OnLoss::Black),
                        (other, _) => Displayed::Lost(other),
                    };
                }
            }
            let frozen = matches!((&slow.display, &choice.1), (Displayed::Frozen(_), Picture::NoSignal(_)));
            slow.display = if !self.up(screen.part) {
                Displayed::Starting
            } else if slow.age < switch {
                if matches!(slow.display, Displayed::Starting | Displayed::Dark) {
                    Displayed::Starting
                } else {
                    Displayed::Changing
                }
            } else if frozen {
                slow.display
            } else {
                match choice.1 {
                    Picture::Source(part) => Displayed::Live(part),
                    Picture::Home => Displayed::Home,
                    Picture::Black => Displayed::Black,
                    Picture::NoSignal(_) if screen.on_loss == OnLoss::Freeze => Displayed::Lost(OnLoss::Black),
                    Picture::NoSignal(_) => Displayed::Lost(screen.on_loss),
                    Picture::Clash(parts) => Displayed::Mixed(parts),
                    Picture::WrongFormat(part) => Displayed::Unreadable(part),
                    Picture::Dark => Displayed::Dark,
                    Picture::Flickers(_) => Displayed::Flickers,
                }
            };
            self.screens[i] = slow;
        }
    }

    /// What arrives from cameras that are up. None of the test's harnesses has two pictures on one input.
    fn arriving(&self, id: ScreenId, reading: &ScreenReading) -> Picture {
        let screen = &self.solved.model.screens[id.0];
        let Some(rule) = reading.rule else {
            return if screen.otherwise == Idle::Home { Picture::Home } else { Picture::Black };
        };
        let input = screen.shows[rule].input;
        let ready = reading.arrivals.iter().filter(|arrival| {
            let path = &self.solved.pictures[&input][arrival.way];
            assert!(path.links.iter().all(|(_, link)| !matches!(link, Link::Through(..))));
            self.up(arrival.source)
        });
        let sources: Vec<PartId> = ready.map(|a| a.source).collect();
        match sources[..] {
            [] => Picture::NoSignal(input),
            [only] => Picture::Source(only),
            _ => panic!("two pictures on one input"),
        }
    }
}

/// Two turn signals through modules, relays that lock each other out, a latch by a button, a camera that a relay feeds.
fn busy(module: &str, on_loss: &str) -> Model {
    harness(&format!(
        "inputs:\n  key: {{positions: [off, run]}}\n  left: {{kind: flasher-feed, at: bench, needs: key = run}}\n  \
         right: {{kind: flasher-feed, at: bench}}\n  reverse: {{kind: lamp-feed, at: bench, needs: key = run}}\n  \
         push: {{kind: push, part: SW}}\n\
         screens: {{dash: {{part: HU, on-loss: {on_loss}}}}}\n\
         views: {{dash: [{{when: reverse, show: REAR, steady: yes}}, {{when: left and not right, show: SIDE, steady: yes}}, {{otherwise: home}}]}}\n\
         cameras: {{REAR: {{use: camera, at: bench}}, SIDE: {{use: camera, at: bench}}}}\n\
         parts: {{HU: {{use: screen, at: bench}}, M: {module}, N: {{use: pulse, at: bench, time: 370 ms}}, K1: {{use: relay, at: bench}}, K2: {{use: relay, at: bench}}, \
         L: {{use: toggler, at: bench}}, SW: {{use: button, at: bench}}, K3: {{use: relay, at: bench}}}}\n{}",
        wires(
            "acc HU.plus, HU.minus G1, battery K1.30, K1.87 REAR.plus, REAR.minus G1, REAR.video HU.video1, \
             reverse K1.86, K1.85 G1, reverse HU.one, acc SIDE.plus, SIDE.minus G1, SIDE.video HU.video2, \
             left M.in, battery M.plus, M.minus G1, right N.in, acc N.plus, N.minus G1, N.out K2.86, K2.85 G1, \
             M.out K2.30, K2.87a K3.30, K3.87a HU.two, battery SW.common, SW.made L.in, acc L.plus, L.minus G1, \
             L.out K3.86, K3.85 G1"
        )
    ))
}

fn compare(model: &Model, flash: (Ticks, Ticks), script: &[(Ticks, usize)]) {
    let solved = Solved::new(model);
    let mut steps: Vec<Step> = vec![];
    let mut puts: BTreeMap<Ticks, (InputId, usize)> = BTreeMap::new();
    let mut position = vec![0; model.inputs.len()];
    for (at, input) in script {
        position[*input] = 1 - position[*input];
        puts.insert(*at, (InputId(*input), position[*input]));
    }
    // In the end no flasher is on, so that everything settles.
    let last = script.last().map_or(0, |(at, _)| *at);
    for (i, input) in model.inputs.iter().enumerate().filter(|(_, input)| input.flash.is_some()) {
        puts.insert(last + 1 + i as Ticks, (InputId(i), 0));
        assert_eq!(input.positions.len(), 2);
    }
    for (at, put) in &puts {
        let place = model.job.place;
        let at = quantity::Seconds::new(*at as f64 / 1000.0);
        steps.push(Step { at, changes: vec![*put], flash: None, supply: None, expect: vec![], place });
    }
    let ms = Time::milliseconds;
    let pattern = Pattern::of(vec![Cycle { on: ms(flash.0), off: ms(flash.1) }]);
    let setting = Setting { pattern, ..Setting::default() };
    let drive = model::Drive { name: form::Name::new("random"), steps, place: model.job.place };
    let timeline = replay(&solved, &drive, &setting);
    assert_eq!(timeline.stopped, None);
    let mut slow = Slow::new(&solved, flash);
    let end = (last + 4000).min(timeline.record.to.count() / 1_000_000);
    while slow.now < end {
        let put: Vec<(InputId, usize)> = puts.get(&slow.now).copied().into_iter().collect();
        slow.tick(&put);
        let here = ms(slow.now) + Time::nanoseconds(500_000);
        for (lane, screen) in timeline.record.screens.iter().zip(&slow.screens) {
            assert_eq!(lane.at(here), Some(&screen.display), "at {} ms", slow.now);
        }
        for (i, lane) in timeline.record.actors.iter().enumerate() {
            let on = slow.state.memory.on(ActorId(i as u32));
            let name = &solved.assembly.circuit.actors[i].name;
            assert_eq!(lane.at(here), Some(&on), "{name} at {} ms", slow.now);
        }
        slow.now += 1;
    }
    settles_to_a_state(&solved, &timeline);
}

/// Where the timeline settles, the circuit is in one of the states found without any time, and the display shows what the
/// screen shows there.
fn settles_to_a_state(solved: &Solved, timeline: &Timeline) {
    assert!(timeline.quiet);
    assert!(solved.exploration.way_to(&timeline.end).is_some(), "{:?}", timeline.end);
    let settled = Solver::new(&solved.assembly.circuit, Corner::NOMINAL).settle(&timeline.end).settled().unwrap();
    assert_eq!(settled.state, timeline.end);
    for (i, lane) in timeline.record.screens.iter().enumerate() {
        let picture = read_screen(solved, &settled, ScreenId(i)).picture;
        let same = match (&lane.points.last().unwrap().1, picture) {
            (Displayed::Live(part), Picture::Source(source)) => *part == source,
            (Displayed::Home, Picture::Home)
            | (Displayed::Black, Picture::Black)
            | (Displayed::Dark, Picture::Dark) => true,
            (Displayed::Lost(_) | Displayed::Frozen(_), Picture::NoSignal(_)) => true,
            _ => false,
        };
        assert!(same, "{:?} at the end", lane.points.last());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 16, max_shrink_iters: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn random_drives_agree_with_a_fixed_step(
        module in prop::sample::select(vec!["hold", "delay", "pulse", "toggler"]),
        time in 1i64..900,
        on_loss in prop::sample::select(vec!["black", "freeze", "home", "blue"]),
        flash in (120i64..600, 120i64..700),
        script in prop::collection::vec((0i64..4000, 0usize..5), 1..12),
    ) {
        let module = match module {
            "toggler" => "{use: toggler, at: bench}".to_string(),
            other => format!("{{use: {other}, at: bench, time: {time} ms}}"),
        };
        let mut script = script;
        script.push((0, 0));
        script.sort();
        script.dedup_by_key(|step| step.0);
        compare(&busy(&module, on_loss), flash, &script);
    }
}
