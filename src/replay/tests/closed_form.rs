//! Against calculations by hand.

use super::*;
use model::SignalId;
use quantity::{PerMinute, Share};

fn at(rate: f64, duty: f64) -> Setting {
    Setting { rate: Pick::Exactly(PerMinute::new(rate)), duty: Pick::Exactly(Share::new(duty)), ..Setting::default() }
}

/// With the module's time set to whole nanoseconds.
fn timed(model: &Model, setting: Setting, time: Time) -> Setting {
    let id = model.signals.iter().position(|s| matches!(s.kind, model::SignalKind::Timer { .. })).unwrap();
    Setting { times: vec![(SignalId(id), time)], ..setting }
}

/// A hold of H bridges the dark part of a flash of period T and on-time share d if and only if H > (1 − d) · T: a
/// nanosecond decides, at every corner of SAE J945 and in the middle of it.
#[test]
fn a_hold_bridges_the_dark_part_of_a_flash_if_it_is_longer() {
    let model = flasher_through("{use: hold, at: bench}");
    for rate in [60.0, 70.0, 90.0, 120.0] {
        for duty in [0.30, 0.525, 0.75] {
            let off = Pattern::even(PerMinute::new(rate), Share::new(duty)).longest_off();
            let exact = (1.0 - duty) * 60.0 / rate;
            assert!((off.seconds().value() - exact).abs() <= 1e-9, "{rate} {duty}");
            let verdict = |hold: Time| steady(&model, &timed(&model, at(rate, duty), hold)).verdict;
            assert_eq!(verdict(off + Time::nanoseconds(1)), Verdict::Kept, "{rate} {duty}");
            assert_eq!(verdict(off), Verdict::Broken, "{rate} {duty}");
            assert_eq!(verdict(off - Time::nanoseconds(1)), Verdict::Broken, "{rate} {duty}");
        }
    }
}

/// The uneven flash that NHTSA interpretation GF006498 (2003) calls within the rate (200/250, 200/250, 200/850 ms) is
/// dark for 850 ms: a hold that is long enough for every even flash isn't for that one.
#[test]
fn an_uneven_flash_needs_a_longer_hold() {
    let model = flasher_through("{use: hold, at: bench}");
    let ms = Time::milliseconds;
    let cycles = [(200, 250), (200, 250), (200, 850)].map(|(on, off)| Cycle { on: ms(on), off: ms(off) });
    let uneven = Setting { pattern: Pattern::of(cycles.to_vec()), ..Setting::default() };
    let verdict = |hold: Time| steady(&model, &timed(&model, uneven.clone(), hold)).verdict;
    assert_eq!(verdict(ms(750)), Verdict::Broken);
    assert_eq!(verdict(ms(850)), Verdict::Broken);
    assert_eq!(verdict(ms(850) + Time::nanoseconds(1)), Verdict::Kept);
}

/// A pulse from each flash bridges if it is longer than the period, whatever the on-time share.
#[test]
fn a_pulse_bridges_if_it_is_longer_than_the_period() {
    let model = flasher_through("{use: pulse, at: bench}");
    for duty in [0.30, 0.75] {
        let period = Pattern::even(PerMinute::new(70.0), Share::new(duty)).length();
        let verdict = |pulse: Time| steady(&model, &timed(&model, at(70.0, duty), pulse)).verdict;
        assert_eq!(verdict(period + Time::nanoseconds(1)), Verdict::Kept);
        assert_eq!(verdict(period), Verdict::Broken);
    }
}

/// Through a delay nothing is steady; and it lets a flash through only if the on time is longer.
#[test]
fn a_delay_never_bridges() {
    let model = flasher_through("{use: delay, at: bench}");
    let on = Time::milliseconds(750); // 60 a minute, on for 75 %
    let with = |delay: Time| steady(&model, &timed(&model, at(60.0, 0.75), delay));
    let PromiseKind::Steady { there, .. } = with(on).kind else { panic!() };
    assert_eq!(there, None);
    // 300 ms to change over remain of the on time.
    let seen = with(on - Time::milliseconds(301));
    let PromiseKind::Steady { there: Some(there), gaps } = seen.kind else { panic!() };
    assert_eq!((seen.verdict, there), (Verdict::Broken, Time::milliseconds(749)));
    // There for 1 ms of each second.
    assert_eq!(gaps[0].length(), Time::milliseconds(999));
}

/// A screen that was on and a camera that had its power: the picture is there after the switch-over, and gone with the
/// hold.
#[test]
fn the_picture_comes_and_goes_when_it_should() {
    let model = flasher_through("{use: hold, at: bench, time: 1.2 s}");
    let solved = Solved::new(&model);
    let timeline = replay(&solved, &model.drives[0], &at(90.0, 0.5));
    let ms = Time::milliseconds;
    let cam = model.part_named("CAM").unwrap();
    // 90 a minute is a period of 666 666 667 ns, half of it 333 333 334. The flash that begins 28 periods after 1 s
    // would go dark at 20 s and 10 ns; the lever goes off at 20 s, so the lamps do then.
    let dark = ms(20_000);
    assert_eq!(
        timeline.record.screens[0].points,
        [
            (ms(0), Displayed::Home),
            (ms(1000), Displayed::Changing),
            (ms(1300), Displayed::Live(cam)),
            (dark + ms(1200), Displayed::Changing),
            (dark + ms(1500), Displayed::Home),
        ]
    );
    assert!(timeline.kept() && timeline.quiet);
    assert!(matches!(timeline.promises[0].kind, PromiseKind::Within { there: Some(t), .. } if t == ms(300)));
}

/// The camera is switched by a relay, the screen by the feed: operate time, start-up and switch-over add up.
#[test]
fn relay_start_up_and_switch_over_add_up() {
    let model = harness(&format!(
        "inputs: {{reverse: {{kind: lamp-feed, at: bench}}}}\n\
         screens: {{dash: {{part: HU}}}}\n\
         views: {{dash: [{{when: reverse, show: CAM, within: 1.11 s}}, {{otherwise: home}}]}}\n\
         cameras: {{CAM: {{use: camera, at: bench}}}}\n\
         parts: {{HU: {{use: screen, at: bench}}, K1: {{use: relay, at: bench}}}}\n\
         drives: {{back: [{{at: 1 s, reverse: on}}, {{at: 1.5 s, reverse: off}}, {{at: 4 s, reverse: on}}, {{at: 8 s, reverse: off}}]}}\n{}",
        wires(
            "battery HU.plus, HU.minus G1, battery K1.30, K1.87 CAM.plus, CAM.minus G1, CAM.video HU.video1, \
             reverse HU.one, reverse K1.86, K1.85 G1"
        )
    ));
    let solved = Solved::new(&model);
    let timeline = replay(&solved, &model.drives[0], &Setting::default());
    let ms = Time::milliseconds;
    let cam = model.part_named("CAM").unwrap();
    use catalogue::part_form::OnLoss;
    assert_eq!(
        timeline.record.screens[0].points,
        [
            (ms(0), Displayed::Home),
            (ms(1000), Displayed::Changing),
            (ms(1300), Displayed::Lost(OnLoss::Black)),
            (ms(1500), Displayed::Changing),
            (ms(1800), Displayed::Home),
            (ms(4000), Displayed::Changing),
            (ms(4300), Displayed::Lost(OnLoss::Black)),
            (ms(4810), Displayed::Changing), // 10 ms to operate, 800 ms to start up
            (ms(5110), Displayed::Live(cam)),
            (ms(8000), Displayed::Changing),
            (ms(8300), Displayed::Home),
        ]
    );
    let verdicts: Vec<Verdict> = timeline.promises.iter().map(|p| p.verdict).collect();
    assert_eq!(verdicts, [Verdict::Undecided, Verdict::Kept]);
    // The contact follows its coil by 10 and by 7 ms.
    let k1 = solved.assembly.circuit.actor_named("K1").unwrap();
    let moved: Vec<Time> = timeline.record.actors[k1.index()].points.iter().map(|(at, _)| *at).collect();
    assert_eq!(moved, [0, 1010, 1507, 4010, 8007].map(ms));
}
