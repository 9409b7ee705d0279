//! The questions that need no script, on harnesses small enough for a calculation by hand.

use super::*;
use crate::standing::{Cure, RaceEffect, Standing, standing, standing_of_all};

fn ask(model: &Model) -> Standing {
    let answers = standing(&Solved::new(model));
    assert_eq!(answers.left_out, []);
    answers
}

fn ms(count: i64) -> Time {
    Time::milliseconds(count)
}

/// At SAE J945's slowest and darkest, 60 a minute and on for 30 %, the dark part is 700 ms: a hold of exactly that is
/// too short, one of 750 ms is long enough; with a tolerance of 10 % it takes 800 ms, since 0.9 · 750 ms is 675 ms.
#[test]
fn a_hold_that_is_too_short_is_reported_with_what_would_do() {
    let with = |module: &str, time: &str| flasher_through(&format!("{{use: {module}, at: bench, time: {time}}}"));
    // Away from when the hold runs out until the next flash, and for the 300 ms that the screen takes to change over.
    for (module, time, away, cure) in [
        ("hold", "700 ms", 300, "750 ms"),
        ("hold", "500 ms", 200 + 300, "750 ms"),
        ("loose-hold", "750 ms", 25 + 300, "800 ms"),
    ] {
        let model = with(module, time);
        let answers = ask(&model);
        let blink = answers.steady[0].blink.as_ref().unwrap();
        assert_eq!((blink.dark, blink.away), (ms(700), Some(ms(away))), "{module} {time}");
        assert!(blink.setting.contains("60 /min, on 30 %"), "{}", blink.setting);
        assert!(!blink.evidence.is_empty());
        let Some(Cure::Set(timers, set)) = &blink.cure else { panic!("{:?}", blink.cure) };
        let found = (model.signals[timers[0].0].name.as_str(), set.seconds().to_string());
        assert_eq!(found, ("M.held", cure.to_string()), "{module} {time}");
        // The advised time cures it.
        assert_eq!(ask(&with(module, cure)).steady[0].blink, None, "{module} {time}");
    }
}

/// What can't move a screen is left out of its questions; leaving nothing out gives the same answers.
#[test]
fn nothing_that_matters_is_left_out() {
    // The larger ones are slow without optimisation.
    for demo in &sample::DEMOS[..if cfg!(debug_assertions) { 2 } else { 5 }] {
        let model = sample::demo(demo);
        let solved = Solved::new(&model);
        let (few, all) = (standing(&solved), standing_of_all(&solved));
        for (a, b) in few.steady.iter().zip(&all.steady) {
            assert_eq!((&a.blink, a.tried > 0), (&b.blink, b.tried > 0), "{demo}");
        }
        for (a, b) in few.within.iter().zip(&all.within) {
            assert_eq!((&a.worst, &a.cold), (&b.worst, &b.cold), "{demo}");
        }
        assert_eq!((few.rear, few.crank), (all.rear, all.crank), "{demo}");
        assert_eq!((few.races, few.gaps, few.bounces), (all.races, all.gaps, all.bounces), "{demo}");
        assert_eq!((few.hazards, few.wear), (all.hazards, all.wear), "{demo}");
        assert!(all.steady.iter().map(|s| s.tried).sum::<usize>() >= few.steady.iter().map(|s| s.tried).sum());
    }
}

/// A trigger straight on a turn signal: nothing to set, so a hold must be put in.
#[test]
fn a_bare_flasher_needs_a_hold() {
    let model = harness(&format!(
        "inputs: {{left: {{kind: flasher-feed, at: bench}}}}\n\
         screens: {{dash: {{part: HU}}}}\n\
         views: {{dash: [{{when: left, show: CAM, steady: yes}}, {{otherwise: home}}]}}\n\
         cameras: {{CAM: {{use: camera, at: bench}}}}\n\
         parts: {{HU: {{use: screen, at: bench}}, K1: {{use: relay, at: bench}}}}\n{}",
        wires(
            "battery HU.plus, HU.minus G1, battery CAM.plus, CAM.minus G1, CAM.video HU.video1, left HU.one, \
             left K1.86, K1.85 G1"
        )
    ));
    let answers = ask(&model);
    let blink = answers.steady[0].blink.as_ref().unwrap();
    assert_eq!(blink.cure, Some(Cure::Add(ms(750))));
    // K1 follows: 120 flashes a minute are 7 200 operations an hour, and a million of them are used up after 138 hours.
    let wear = &answers.wear[0];
    assert_eq!((wear.operations, wear.mechanical), (7200, Some(1_000_000)));
    assert_eq!((wear.hours(1_000_000), wear.hours(100_000)), (138, 13));
}

/// Operate 10 ms, start-up 800 ms, change over 300 ms: 1.110 s, and 1.1 s is broken.
#[test]
fn the_worst_time_to_a_picture_adds_up() {
    let model = |within: &str| {
        harness(&format!(
            "inputs:\n  key: {{positions: [off, run]}}\n  reverse: {{kind: lamp-feed, at: bench, needs: key = run, means: reverse-gear}}\n\
             screens: {{dash: {{part: HU}}}}\n\
             views: {{dash: [{{when: reverse, show: CAM, within: {within}}}, {{otherwise: home}}]}}\n\
             cameras: {{CAM: {{use: camera, at: bench}}}}\n\
             parts: {{HU: {{use: screen, at: bench}}, K1: {{use: relay, at: bench}}}}\n{}",
            wires(
                "acc HU.plus, HU.minus G1, battery K1.30, K1.87 CAM.plus, CAM.minus G1, CAM.video HU.video1, \
                 reverse HU.one, reverse K1.86, K1.85 G1"
            )
        ))
    };
    let answers = ask(&model("1.1 s"));
    let within = &answers.within[0];
    assert_eq!(within.worst.as_ref().unwrap().took, Some(ms(1110)));
    assert!(!within.holds() && ask(&model("1.11 s")).within[0].holds());
    // The rear view: as soon 4 s after a start, when the screen has long been up; gone after a switch-over.
    let rear = &answers.rear[0];
    assert_eq!(rear.response.as_ref().unwrap().took, Some(ms(1110)));
    assert_eq!(rear.after_start.as_ref().unwrap().took, Some(ms(1110)));
    assert_eq!(rear.linger.worst.as_ref().unwrap().took, Some(ms(300)));
    assert_eq!(rear.other_default, None);
    // The engine is started: 1.065 s, then the screen takes 1.5 s to start, in which the camera's 0.8 s and 0.3 s pass.
    let crank = &answers.crank[0];
    assert_eq!(crank.away, Some(ms(1065 + 1500)));
    assert_eq!(crank.restarts.len(), 2);
}

/// A contact that is open for 3 ms on its way, between 7 ms and 10 ms after the move: a trigger through it goes, and
/// the screen needs its 300 ms again, 303 ms in all; a camera's supply through it goes, and it needs its 800 ms as
/// well.
#[test]
fn a_change_over_contact_is_open_on_its_way() {
    let model = |relay: &str, ways: &str| {
        harness(&format!(
            "inputs: {{a: {{kind: lamp-feed, at: bench}}}}\n\
             screens: {{dash: {{part: HU}}}}\n\
             views: {{dash: [{{otherwise: SIDE}}]}}\n\
             cameras: {{SIDE: {{use: camera, at: bench}}}}\n\
             parts: {{HU: {{use: screen, at: bench}}, K1: {{use: {relay}, at: bench}}}}\n{}",
            wires(&format!(
                "battery HU.plus, HU.minus G1, SIDE.minus G1, SIDE.video HU.video2, battery K1.87, battery K1.87a, \
                 a K1.86, K1.85 G1, {ways}"
            ))
        ))
    };
    let gaps = |relay: &str, ways: &str| {
        let answers = ask(&model(relay, ways));
        let reported = answers.gaps.iter().map(|gap| (gap.step.clone(), gap.effect, gap.open, gap.restarts.len()));
        reported.collect::<Vec<_>>()
    };
    let (trigger, supply) = ("battery SIDE.plus, K1.30 HU.two", "K1.30 SIDE.plus, battery HU.two");
    assert_eq!(gaps("slow-relay", trigger), [("a on".to_string(), RaceEffect::Blinks(ms(303)), ms(3), 0)]);
    assert_eq!(gaps("slow-relay", supply), [("a on".to_string(), RaceEffect::Blinks(ms(1103)), ms(3), 1)]);
    // One whose kind gives no such time, and one whose contact is only wired on one side, are not asked about.
    assert_eq!(gaps("relay", trigger), []);
    let one_sided = harness(&format!(
        "inputs: {{a: {{kind: lamp-feed, at: bench}}}}\n\
         screens: {{dash: {{part: HU}}}}\n\
         views: {{dash: [{{otherwise: any}}]}}\n\
         parts: {{HU: {{use: screen, at: bench}}, K1: {{use: slow-relay, at: bench}}}}\n{}",
        wires("battery HU.plus, HU.minus G1, battery K1.87a, K1.30 HU.two, a K1.86, K1.85 G1")
    ));
    assert_eq!(ask(&one_sided).gaps, []);
}

/// K1 takes the trigger of `two` away, K2 gives that of `one`: if K1 is the quicker one, with 3 ms against 10 ms, there
/// is none for 7 ms. Were K2 the quicker one, both would be there, and the screen's first line is the new picture
/// anyway.
#[test]
fn contacts_that_leave_a_gap_are_found_with_its_length() {
    let model = harness(&format!(
        "inputs: {{a: {{kind: lamp-feed, at: bench}}}}\n\
         screens: {{dash: {{part: HU}}}}\n\
         views: {{dash: [{{when: a, show: REAR}}, {{otherwise: SIDE}}]}}\n\
         cameras: {{REAR: {{use: camera, at: bench}}, SIDE: {{use: camera, at: bench}}}}\n\
         parts: {{HU: {{use: screen, at: bench}}, K1: {{use: relay, at: bench}}, K2: {{use: relay, at: bench}}}}\n{}",
        wires(
            "battery HU.plus, HU.minus G1, battery REAR.plus, REAR.minus G1, battery SIDE.plus, SIDE.minus G1, \
             REAR.video HU.video1, SIDE.video HU.video2, battery K1.30, K1.87a HU.two, battery K2.30, K2.87 HU.one, \
             a K1.86, a K2.86, K1.85 G1, K2.85 G1"
        )
    ));
    let answers = ask(&model);
    let found: Vec<_> = answers.races.iter().map(|r| (r.gets.clone(), r.lasts, r.effect, r.step.as_str())).collect();
    // In the reverse direction K2 opens at 7 ms or 2.1 ms and K1 closes at 7 ms or 2.1 ms: a gap of 4.9 ms.
    let back = Time::nanoseconds(4_900_000);
    assert_eq!(
        found,
        [(Displayed::Home, ms(7), RaceEffect::None, "a on"), (Displayed::Home, back, RaceEffect::None, "a off")]
    );
    assert_eq!(answers.races[0].relays, ["K1", "K2"]);
}

/// A bouncing button turns a toggle over twice; a latch with set and reset doesn't mind.
#[test]
fn a_bouncing_button_confuses_a_toggle_but_no_latch() {
    let model = |latch: &str, pin: &str| {
        harness(&format!(
            "inputs: {{push: {{kind: push, part: SW}}}}\n\
             screens: {{dash: {{part: HU}}}}\n\
             views: {{dash: [{{when: L, show: CAM}}, {{otherwise: home}}]}}\n\
             cameras: {{CAM: {{use: camera, at: bench}}}}\n\
             parts: {{HU: {{use: screen, at: bench}}, SW: {{use: button, at: bench}}, L: {{use: {latch}, at: bench}}}}\n{}",
            wires(&format!(
                "battery HU.plus, HU.minus G1, battery CAM.plus, CAM.minus G1, CAM.video HU.video1, \
                 battery L.plus, L.minus G1, L.out HU.one, battery SW.common, SW.made L.{pin}"
            ))
        ))
    };
    let answers = ask(&model("toggler", "in"));
    let bounce = &answers.bounces[0];
    assert_eq!(bounce.otherwise, ["L.latched off"]);
    assert_eq!(bounce.bounce, ms(5));
    assert_eq!(ask(&model("latch", "set")).bounces, []);
    // The toggle forgets when the engine is started, and the picture doesn't come back.
    assert_eq!((answers.crank[0].away, &answers.crank[0].forgets[..]), (None, &["L.latched".to_string()][..]));
}

/// Both sides held, each cut off by the other's relay: hazards give the screen a trigger for the 10 ms until the relays
/// have moved, so it changes over, and back when they have.
#[test]
fn hazards_reach_a_screen_before_the_relays_that_should_stop_them() {
    let model = harness(&format!(
        "inputs: {{left: {{kind: flasher-feed, at: bench}}, right: {{kind: flasher-feed, at: bench}}}}\n\
         screens: {{dash: {{part: HU}}}}\n\
         views: {{dash: [{{when: left and not right, show: LEFT}}, {{when: right and not left, show: RIGHT}}, {{otherwise: home}}]}}\n\
         cameras: {{LEFT: {{use: camera, at: bench}}, RIGHT: {{use: camera, at: bench}}}}\n\
         parts: {{HU: {{use: screen, at: bench}}, M: {{use: hold, at: bench}}, N: {{use: hold, at: bench}}, K1: {{use: relay, at: bench}}, K2: {{use: relay, at: bench}}}}\n{}",
        wires(
            "battery HU.plus, HU.minus G1, battery LEFT.plus, LEFT.minus G1, battery RIGHT.plus, RIGHT.minus G1, \
             LEFT.video HU.video1, RIGHT.video HU.video2, left M.in, right N.in, battery M.plus, M.minus G1, \
             battery N.plus, N.minus G1, M.out K1.86, K1.85 G1, N.out K2.86, K2.85 G1, M.out K2.30, K2.87a HU.one, \
             N.out K1.30, K1.87a HU.two"
        )
    ));
    let answers = ask(&model);
    let [hazards] = &answers.hazards[..] else { panic!("{:?}", answers.hazards) };
    // 10 ms with a trigger, then 300 ms to change over.
    assert_eq!((hazards.times, hazards.longest), (1, ms(310)));
    assert_eq!(hazards.instead, ["switching over"]);
}
