//! Wishes made at random: 1 to 8 inputs beside the key, 1 to 8 cameras, 1 to 3 screens, with any views, limits, formats and
//! places. What is made is kept as values too, so that a test can judge a wish without reading its text.

use crate::brute;
use std::fmt::Write;

/// The same numbers for the same seed (G. Marsaglia, Xorshift RNGs, Journal of Statistical Software 8, 2003).
pub struct Random(u64);

impl Random {
    pub fn new(seed: u64) -> Random {
        let mut random = Random(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
        (0..8).for_each(|_| _ = random.next());
        random
    }

    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    pub fn below(&mut self, most: usize) -> usize {
        (self.next() >> 11) as usize % most
    }

    pub fn between(&mut self, least: usize, most: usize) -> usize {
        least + self.below(most - least + 1)
    }

    /// True in this many cases of a hundred.
    pub fn chance(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }

    pub fn of<T: Clone>(&mut self, all: &[T]) -> T {
        all[self.below(all.len())].clone()
    }
}

/// An input: its name, its positions, and the wire that it gives.
#[derive(Debug, Clone)]
pub struct Input {
    pub name: String,
    pub positions: Vec<String>,
    pub keys: String,
    /// Whether it moves only with the key on.
    pub needs_key: bool,
}

/// A condition.
#[derive(Debug, Clone)]
pub enum When {
    /// An input, by index, stands in a position, by index; without a position: away from rest.
    Is(usize, Option<usize>),
    Not(Box<When>),
    All(Vec<When>),
    Any(Vec<When>),
}

/// What a view shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Show {
    Home,
    Black,
    Any,
    Camera(usize),
}

/// A screen, the conditions of its views, and what it shows at any other time.
#[derive(Debug, Clone)]
pub struct Screen {
    pub kind: &'static str,
    pub formats: &'static [&'static str],
    pub views: Vec<(When, Show)>,
    pub otherwise: Option<Show>,
}

/// A wish.
#[derive(Debug, Clone)]
pub struct Wish {
    pub text: String,
    /// The first input is the key.
    pub inputs: Vec<Input>,
    /// The formats of each camera.
    pub cameras: Vec<&'static [&'static str]>,
    pub screens: Vec<Screen>,
    /// When each load works: cameras that say so, then accessories.
    pub loads: Vec<When>,
    /// When each camera has power, of those that say so.
    pub powered: Vec<Option<When>>,
    /// The positions of the key in which the second supply is live.
    pub live: When,
}

const CVBS: &[&str] = &["cvbs-ntsc", "cvbs-pal"];
const SCREENS_12: [(&str, &[&str]); 4] = [
    ("screen-1cam-12v", CVBS),
    ("screen-2in-12v", CVBS),
    ("screen-3in-12v", &["cvbs-ntsc", "cvbs-pal", "analogue-hd-720"]),
    ("screen-4in", &["cvbs-ntsc", "cvbs-pal", "analogue-hd-720", "analogue-hd-1080"]),
];
const SCREENS_24: [(&str, &[&str]); 1] = [SCREENS_12[3]];
const CAMERAS_12: [(&str, &[&str]); 5] = [
    ("camera-cvbs-12v", CVBS),
    ("camera-cvbs-12v", CVBS),
    ("camera-cvbs-ir-12v", CVBS),
    ("camera-hd720-12v", &["analogue-hd-720"]),
    ("camera-hd1080-12v", &["analogue-hd-1080"]),
];
const CAMERAS_24: [(&str, &[&str]); 3] =
    [("camera-cvbs-24v", CVBS), ("camera-cvbs-12v", CVBS), ("camera-hd1080-24v", &["analogue-hd-1080"])];

/// The wish with this number.
pub fn wish(seed: u64) -> Wish {
    let mut random = Random::new(seed);
    let r = &mut random;
    let truck = r.chance(20);
    let places: Vec<&str> =
        ["fuse-panel", "dash", "tail", "left", "right", "roof", "crane"][..r.between(3, 7)].to_vec();
    let mut text = String::from("harness: 1\n");
    let volts = if truck { "24 V" } else { "12 V" };
    _ = writeln!(text, "job: {{title: Wish {seed}, nominal: {volts}}}\nplaces: [{}]\nruns:", places.join(", "));
    for (i, place) in places.iter().enumerate().skip(1) {
        let to = places[r.below(i)];
        let outside = if r.chance(30) { ", inside: outside, covering: conduit, clips: 300 mm" } else { "" };
        let breaks = if r.chance(15) { format!(", breaks-at: {}", r.of(&[to, *place])) } else { String::new() };
        let (metres, tenths) = (r.between(1, 4), r.below(10));
        _ = writeln!(text, "  - {{between: [{to}, {place}], length: {metres}.{tenths} m{outside}{breaks}}}");
    }
    let range = if truck { "[23 V, 25.2 V, 28.8 V]" } else { "[11.8 V, 12.6 V, 14.6 V]" };
    let three = r.chance(40);
    let positions: Vec<String> = if three {
        ["off", "accessory", "run"].map(String::from).to_vec()
    } else {
        ["off", "run"].map(String::from).to_vec()
    };
    let run_only = three && r.chance(30);
    let limit = r.of(&[10, 15, 20]);
    _ = writeln!(text, "supplies:\n  battery: {{terminal: \"30\", at: fuse-panel, volts: {range}}}");
    let (terminal, follows) = if run_only { ("15", "key = run") } else { ("75", "key") };
    _ = writeln!(
        text,
        "  switched: {{terminal: \"{terminal}\", at: fuse-panel, follows: {follows}, limit: {limit} A, fuse: {limit} A}}"
    );
    let live = When::Is(0, run_only.then_some(2));
    text.push_str("grounds:\n  G1: {at: dash}\n");
    for (i, place) in places.iter().enumerate().skip(2).filter(|_| r.chance(60)).collect::<Vec<_>>() {
        _ = writeln!(text, "  G{i}: {{at: {place}}}");
    }
    let key = Input { name: "key".to_string(), keys: String::new(), positions, needs_key: false };
    let mut inputs = vec![key];
    let count = r.between(1, 8);
    while inputs.len() <= count {
        let input = input(r, inputs.len(), &places, run_only);
        inputs.push(input);
    }
    // Inputs that no condition names stay away, but for a few.
    let mut head = std::mem::take(&mut text);
    let keeps = r.chance(10);
    let mut cameras = Vec::new();
    text.push_str("cameras:\n");
    let mixed = r.chance(8);
    let common = r.of(CVBS);
    let most = if r.chance(95) { (inputs.len() * 3 / 2).min(8) } else { 8 };
    for i in 0..r.between(1, most) {
        let all: &[(&str, &[&str])] = if truck { &CAMERAS_24 } else { &CAMERAS_12 };
        let (kind, formats) = if mixed { r.of(all) } else { all[0] };
        let format = if formats.len() > 1 && r.chance(50) { format!(", format: {common}") } else { String::new() };
        _ = writeln!(text, "  C{i}: {{use: {kind}, at: {}{format}}}", r.of(&places[1..]));
        cameras.push(formats);
    }
    let mut loads = Vec::new();
    if r.chance(30) {
        let when = when(r, &inputs);
        let works = words(&when, &inputs);
        let at = r.of(&places[1..]);
        if r.chance(70) {
            head.push_str(&format!("  GL: {{at: {at}}}\n"));
        }
        _ = writeln!(text, "accessories:\n  L1: {{use: led-worklight, at: {}, works: {works}}}", at);
        loads.push(when);
    }
    let mut screens = Vec::new();
    let of_screens = [1, 1, 1, 2, 2, 3][r.below(6)].min(cameras.len());
    text.push_str("parts:\n");
    for i in 0..of_screens {
        let (kind, formats) = if truck { r.of(&SCREENS_24) } else { r.of(&SCREENS_12) };
        let at = if i == 0 { "dash" } else { r.of(&places[1..]) };
        _ = writeln!(text, "  HU{}: {{use: {kind}, at: {at}}}", i + 1);
        screens.push(Screen { kind, formats, views: Vec::new(), otherwise: None });
    }
    let rows = brute::rows(&inputs, &live);
    text.push_str("screens:\n");
    (0..of_screens).for_each(|i| _ = writeln!(text, "  s{}: {{part: HU{}}}", i + 1, i + 1));
    text.push_str("views:\n");
    for (i, screen) in screens.iter_mut().enumerate() {
        _ = writeln!(text, "  s{}:", i + 1);
        if !r.chance(8) {
            let off = When::Not(Box::new(if r.chance(8) { When::Is(0, None) } else { live.clone() }));
            _ = writeln!(text, "    - {{when: {}, show: black}}", words(&off, &inputs));
            screen.views.push((off, Show::Black));
        }
        let also = r.chance(20).then(|| r.below(cameras.len()));
        for (c, _) in cameras.iter().enumerate().filter(|(c, _)| c % of_screens == i || also == Some(*c)) {
            let mut condition = when(r, &inputs);
            // Most views apply somewhere; of a few inputs, there are not always enough combinations.
            for _ in 0..if r.chance(97) { 40 } else { 0 } {
                let mut views = screen.views.clone();
                views.push((condition.clone(), Show::Camera(c)));
                if brute::unreached(&views, &rows).is_empty() {
                    break;
                }
                condition = when(r, &inputs);
            }
            let when = condition;
            let promise = match r.below(40) {
                0 => ", within: 250 ms, steady: yes",
                1..8 => ", within: 3 s, steady: yes",
                8..16 => ", steady: yes",
                _ => "",
            };
            _ = writeln!(text, "    - {{when: {}, show: C{c}{promise}}}", words(&when, &inputs));
            screen.views.push((when, Show::Camera(c)));
        }
        screen.otherwise = match r.below(20) {
            0 => Some(Show::Any),
            1 => None,
            2 => Some(Show::Camera(i)),
            _ => Some(Show::Home),
        };
        let words = match screen.otherwise {
            Some(Show::Any) => "any".to_string(),
            Some(Show::Camera(c)) => format!("C{c}"),
            Some(_) => "home".to_string(),
            None => continue,
        };
        _ = writeln!(text, "    - {{otherwise: {words}}}");
    }
    let named = |input: &Input| input.name == "key" || keeps || text.contains(&input.name);
    let mut offered = String::from("inputs:\n");
    for input in inputs.iter().filter(|input| named(input)) {
        let positions = match input.positions.len() {
            2 if input.keys.is_empty() => format!("positions: [{}]", input.positions.join(", ")),
            2 => String::new(),
            _ => {
                format!("positions: [{}]{}", input.positions.join(", "), if input.keys.is_empty() { "" } else { ", " })
            }
        };
        _ = writeln!(offered, "  {}: {{{positions}{}}}", input.name, input.keys);
    }
    let text = head + &offered + &text;
    let mut wish = Wish { text, inputs, cameras, screens, loads, powered: Vec::new(), live };
    power_some(&mut wish, seed);
    wish
}

/// Gives some cameras power only where a condition holds: where their views do, or somewhere; then a view may promise a
/// picture sooner than the camera starts.
fn power_some(wish: &mut Wish, seed: u64) {
    let mut r = Random::new(seed ^ 0x5151_5151);
    for camera in 0..wish.cameras.len() {
        let mut shown = Vec::new();
        for screen in &wish.screens {
            shown.extend(screen.views.iter().filter(|(_, show)| *show == Show::Camera(camera)).map(|(w, _)| w.clone()));
        }
        if shown.is_empty() || !r.chance(15) {
            wish.powered.push(None);
            continue;
        }
        let of_views = if shown.len() == 1 { shown[0].clone() } else { When::Any(shown) };
        let with_views = r.chance(80);
        let condition = if with_views { of_views } else { when(&mut r, &wish.inputs) };
        let known = |input: &Input| wish.text.contains(&format!("  {}: {{", input.name));
        if !named(&condition, &|input| known(&wish.inputs[input])) {
            wish.powered.push(None);
            continue;
        }
        let works = words(&condition, &wish.inputs);
        let start = format!("  C{camera}: {{use: ");
        let soon = with_views && r.chance(20);
        let shows = format!("show: C{camera}, within: 3 s");
        let changed = |line: &str| match line.strip_suffix('}') {
            Some(body) if line.starts_with(&start) => format!("{body}, works: {works}}}\n"),
            _ if soon => format!("{}\n", line.replace(&shows, &format!("show: C{camera}, within: 700 ms"))),
            _ => format!("{line}\n"),
        };
        wish.text = wish.text.lines().map(changed).collect();
        wish.powered.push(Some(condition));
    }
    let of_cameras = wish.powered.iter().flatten().cloned();
    wish.loads = of_cameras.chain(std::mem::take(&mut wish.loads)).collect();
}

/// Whether every input of a condition is one of these.
fn named(when: &When, known: &dyn Fn(usize) -> bool) -> bool {
    match when {
        When::Is(input, _) => known(*input),
        When::Not(of) => named(of, known),
        When::All(of) | When::Any(of) => of.iter().all(|when| named(when, known)),
    }
}

/// An input of a kind that vehicles have.
fn input(r: &mut Random, number: usize, places: &[&str], run_only: bool) -> Input {
    let at = r.of(places);
    let key = if run_only { "key = run" } else { "key" };
    let two = ["off", "on"].map(String::from).to_vec();
    let weak = r.of(&[250, 500, 500, 1000, 1000, 2000]);
    let (name, keys, positions, needs_key) = match r.below(15) {
        0..3 => (
            "lamp",
            format!("kind: lamp-feed, at: {at}, limit: {weak} mA, fuse: 10 A, lamps: 21 W, needs: {key}"),
            two,
            true,
        ),
        3..5 => {
            ("feed", format!("kind: switched-feed, at: {at}, limit: {weak} mA, fuse: 10 A, needs: {key}"), two, true)
        }
        5..7 => ("module", format!("kind: module-output, at: {at}, limit: 250 mA, fuse: 5 A, needs: {key}"), two, true),
        7 => ("turn", format!("kind: flasher-feed, at: {at}, limit: {weak} mA, fuse: 10 A, lamps: 42 W"), two, false),
        8 => ("feed", format!("kind: switched-feed, at: {at}, limit: {weak} mA, fuse: 10 A"), two, false),
        9..11 => ("low", format!("kind: ground-switch, at: {at}, limit: 500 mA"), two, false),
        11 => ("hold", "kind: push, acts: held, at: dash".to_string(), two, false),
        12 => ("arm", "kind: push, acts: toggles, at: dash".to_string(), two, false),
        13 => {
            let keys = format!("kind: pulsed-feed, at: {at}, limit: {weak} mA, fuse: 10 A, lamps: 21 W, needs: {key}");
            ("dimmed", keys, two, true)
        }
        _ => {
            let positions = if r.chance(50) { two } else { ["off", "up", "down"].map(String::from).to_vec() };
            ("toggle", "kind: toggle, at: dash".to_string(), positions, false)
        }
    };
    Input { name: format!("{name}{number}"), positions, keys, needs_key }
}

/// A condition of one to three inputs.
fn when(r: &mut Random, inputs: &[Input]) -> When {
    let literal = |r: &mut Random| {
        let input = r.between(1, inputs.len() - 1);
        let position = (inputs[input].positions.len() > 2).then(|| r.between(1, 2));
        let literal = When::Is(input, position);
        if r.chance(25) { When::Not(Box::new(literal)) } else { literal }
    };
    let first = literal(r);
    match r.below(10) {
        0..5 => first,
        5..8 => When::All(vec![first, literal(r)]),
        8 => When::Any(vec![first, literal(r)]),
        _ => When::All(vec![first, When::Any(vec![literal(r), literal(r)])]),
    }
}

/// A condition as a wish says it.
pub fn words(when: &When, inputs: &[Input]) -> String {
    let inner = |when: &When| match when {
        When::Is(..) | When::Not(_) => words(when, inputs),
        _ => format!("({})", words(when, inputs)),
    };
    match when {
        When::Is(input, None) => inputs[*input].name.clone(),
        When::Is(input, Some(position)) => format!("{} = {}", inputs[*input].name, inputs[*input].positions[*position]),
        When::Not(of) => match **of {
            When::Is(_, None) => format!("not {}", inner(of)),
            _ => format!("not ({})", words(of, inputs)),
        },
        When::All(of) => of.iter().map(inner).collect::<Vec<_>>().join(" and "),
        When::Any(of) => of.iter().map(inner).collect::<Vec<_>>().join(" or "),
    }
}
