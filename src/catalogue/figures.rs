//! The figures of a part, each with where it comes from. What `parts` prints, and what a test holds the catalogue to.

use super::part_form::{
    Acts, CoilForm, ContactForm, ConverterForm, Inside, LoadForm, OpeningForm, OutputForm, PartForm, SenseForm,
    SwitchForm, TimerForm,
};
use form::values::Draw;
use form::{Condition, Name, Placed};
use quantity::{Seconds, significant};
use std::fmt::Display;

/// One figure of a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PartFigure<'p> {
    /// Its key in the part's file.
    pub key: &'static str,
    /// As printed.
    pub value: String,
    /// Where it comes from; `None` if the part doesn't say.
    pub source: Option<&'p str>,
}

/// Figures that belong together: those of one thing inside a part, of its terminal, or of the part itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FigureGroup<'p> {
    /// The key of the element they belong to: `coil`, `contact`, `terminal`, `part` and so on. Its source counts for every
    /// figure of the group that has none of its own.
    pub key: &'static str,
    /// In words, with the pins.
    pub title: String,
    /// The figures.
    pub figures: Vec<PartFigure<'p>>,
}

/// Every figure of a part.
pub fn figures(part: &PartForm) -> Vec<FigureGroup<'_>> {
    let mut groups: Vec<FigureGroup> = part.inside.iter().map(|inside| of_inside(part, inside)).collect();
    groups.extend(of_terminal(part));
    groups.push(of_part(part));
    groups.retain(|group| !group.figures.is_empty() || !matches!(group.key, "part" | "terminal"));
    groups
}

/// What the part says of where something comes from.
pub fn source<'p>(part: &'p PartForm, name: &str) -> Option<&'p str> {
    part.sources.iter().find(|(n, _)| n.as_str() == name).map(|(_, text)| text.0.as_str())
}

/// The source of a figure: of `group-key` if there is one, else of its key, of its group, of all.
fn source_of<'p>(part: &'p PartForm, group: &str, key: &str) -> Option<&'p str> {
    [&format!("{group}-{key}"), key, group, "all"].into_iter().find_map(|name| source(part, name))
}

/// Collects the figures of one group.
struct Collector<'p> {
    part: &'p PartForm,
    group: FigureGroup<'p>,
}

impl<'p> Collector<'p> {
    fn new(part: &'p PartForm, key: &'static str, title: String) -> Self {
        Collector { part, group: FigureGroup { key, title, figures: Vec::new() } }
    }

    fn add(&mut self, key: &'static str, value: impl Display) -> &mut Self {
        let source = source_of(self.part, self.group.key, key);
        self.group.figures.push(PartFigure { key, value: value.to_string(), source });
        self
    }

    fn maybe(&mut self, key: &'static str, value: Option<impl Display>) -> &mut Self {
        if let Some(value) = value {
            self.add(key, value);
        }
        self
    }

    fn list(&mut self, key: &'static str, values: &[impl Display]) -> &mut Self {
        if !values.is_empty() {
            let values: Vec<String> = values.iter().map(ToString::to_string).collect();
            self.add(key, values.join(", "));
        }
        self
    }
}

fn of_inside<'p>(part: &'p PartForm, inside: &'p Inside) -> FigureGroup<'p> {
    let start = |key, title: String| Collector::new(part, key, title);
    let mut all = match inside {
        Inside::Resistor(r) => {
            let mut all = start("resistor", pair(&r.between));
            all.add("resistance", r.resistance).maybe("tolerance", r.tolerance).maybe("limit", r.limit);
            all
        }
        Inside::Fuse(f) => {
            let mut all = start("fuse", pair(&f.between));
            all.maybe("resistance", f.resistance).maybe("tolerance", f.tolerance);
            all
        }
        Inside::Coil(c) => coil(start("coil", format!("{} to {}", c.feed.value, c.ground.value)), c),
        Inside::Contact(c) => contact(start("contact", contact_title(c)), c),
        Inside::Diode(d) => {
            let mut all = start("diode", format!("{} to {}", d.anode.value, d.cathode.value));
            all.add("drop", d.drop).maybe("resistance", d.resistance).maybe("blocks", d.blocks).maybe("limit", d.limit);
            all
        }
        Inside::Load(l) => load(start("load", format!("{} to {}{}", l.feed.value, l.ground.value, when(&l.when))), l),
        Inside::Sense(s) => sense(start("sense", sense_title(s)), s),
        Inside::Switch(s) => switch(start("switch", switch_title(s)), s),
        Inside::Output(o) => output(start("output", output_title(o)), o),
        Inside::Timer(t) => timer(start("timer", timer_title(t)), t),
        Inside::Converter(c) => {
            converter(start("converter", format!("{} to {}{}", c.input.value, c.output.value, when(&c.when))), c)
        }
        Inside::Passes(p) => start("passes", format!("{} to {}{}", p.from.value, p.to.value, when(&p.when))),
        Inside::Source(s) => start("source", format!("{}{}", s.pin.value, when(&s.when))),
    };
    std::mem::replace(&mut all.group, FigureGroup { key: "", title: String::new(), figures: Vec::new() })
}

fn coil<'p>(mut all: Collector<'p>, c: &CoilForm) -> Collector<'p> {
    all.add("resistance", c.resistance).maybe("tolerance", c.tolerance);
    all.add("pull-in", c.pull_in).add("drop-out", c.drop_out);
    all.maybe("operate", c.operate).maybe("release", c.release);
    all.maybe("across", c.across).maybe("across-resistance", c.across_resistance);
    if c.acts.is_some_and(|acts| acts != Acts::Holds) {
        all.maybe("acts", c.acts);
    }
    all
}

fn contact<'p>(mut all: Collector<'p>, c: &ContactForm) -> Collector<'p> {
    all.maybe("resistance", c.resistance);
    if let Some(rating) = &c.rating {
        all.add("resistive", rating.resistive).maybe("rest", rating.rest).maybe("lamp", rating.lamp);
        all.maybe("inductive", rating.inductive).maybe("inrush", rating.inrush);
        all.maybe("rest-inrush", rating.rest_inrush);
    }
    all.maybe("transfer", c.transfer);
    all.maybe("mechanical-life", c.mechanical_life.map(operations));
    all.maybe("electrical-life", c.electrical_life.map(operations));
    all
}

/// From thousands.
fn operations(thousands: u16) -> String {
    match thousands {
        0..1000 => format!("{thousands} 000 operations"),
        _ => format!("{} million operations", f64::from(thousands) / 1000.0),
    }
}

fn load<'p>(mut all: Collector<'p>, l: &LoadForm) -> Collector<'p> {
    all.add("kind", l.kind);
    match l.draws {
        Draw::Current(amps) => all.add("draws", amps),
        Draw::Power(watts) => all.add("draws", watts),
    };
    all.maybe("least", l.least).maybe("inrush", l.inrush).maybe("standby", l.standby);
    all
}

fn sense<'p>(mut all: Collector<'p>, s: &SenseForm) -> Collector<'p> {
    all.add("on-above", s.on_above).add("off-below", s.off_below);
    all.maybe("resistance", s.resistance).maybe("pull-up", s.pull_up);
    all
}

fn switch<'p>(mut all: Collector<'p>, s: &SwitchForm) -> Collector<'p> {
    all.maybe("resistance", s.resistance).maybe("rating", s.rating).maybe("bounce", s.bounce);
    all
}

fn output<'p>(mut all: Collector<'p>, o: &OutputForm) -> Collector<'p> {
    all.maybe("limit", o.limit).maybe("resistance", o.resistance).maybe("leakage", o.leakage);
    all
}

fn timer<'p>(mut all: Collector<'p>, t: &TimerForm) -> Collector<'p> {
    all.maybe("time", t.time).maybe("times", t.times.map(|times| times.0)).maybe("tolerance", t.tolerance);
    all.maybe("debounce", t.debounce);
    all
}

fn converter<'p>(mut all: Collector<'p>, c: &ConverterForm) -> Collector<'p> {
    all.add("volts", c.volts).add("least", c.least).add("efficiency", c.efficiency).add("limit", c.limit);
    all.maybe("idle", c.idle).maybe("resistance", c.resistance).maybe("tolerance", c.tolerance);
    all
}

fn of_terminal(part: &PartForm) -> Option<FigureGroup<'_>> {
    let terminal = part.terminal.as_ref()?;
    let mut all = Collector::new(part, "terminal", terminal.title.0.clone());
    all.add("wire", terminal.wire.0).maybe("current", terminal.current).maybe("resistance", terminal.resistance);
    if terminal.sealed.0 {
        all.maybe("seal", terminal.seal.as_ref());
    }
    all.maybe("plug", terminal.plug.as_ref());
    Some(all.group)
}

fn of_part(part: &PartForm) -> FigureGroup<'_> {
    let mut all = Collector::new(part, "part", String::new());
    all.maybe("rating", part.rating).list("ratings", &part.ratings).list("colours", &part.colours);
    for opens in &part.opens {
        all.add("opens", opening(opens));
    }
    all.list("formats", &part.formats).maybe("start-up", part.start_up).maybe("switch-over", part.switch_over);
    all.maybe("on-loss", part.on_loss).maybe("holds", part.holds.map(|holds| holds.0));
    let sides: Vec<String> = part.body.iter().map(ToString::to_string).collect();
    all.maybe("body", (!sides.is_empty()).then(|| sides.join(" by ")));
    all.group
}

fn opening(o: &OpeningForm) -> String {
    let words = |time: Seconds| match time.value() {
        hours if hours >= 3600.0 => format!("{} h", significant(hours / 3600.0, 3)),
        _ => time.to_string(),
    };
    match (o.least.map(words), o.most.map(words)) {
        (Some(least), Some(most)) => format!("at {} in {least} to {most}", o.at),
        (Some(least), None) => format!("at {} not within {least}", o.at),
        (None, Some(most)) => format!("at {} within {most}", o.at),
        (None, None) => format!("at {} some time", o.at),
    }
}

fn names(list: &[Placed<Name>], joined_by: &str) -> String {
    list.iter().map(|name| name.value.as_str()).collect::<Vec<_>>().join(joined_by)
}

fn pair(between: &[Placed<Name>]) -> String {
    names(between, " to ")
}

fn when(condition: &Option<Condition>) -> String {
    condition.as_ref().map_or_else(String::new, |condition| format!(", when {condition}"))
}

fn contact_title(c: &ContactForm) -> String {
    let side = |pin: &Option<Placed<Name>>, word: &str| pin.as_ref().map(|pin| format!("{} {word}", pin.value));
    let sides: Vec<String> = [side(&c.made, "energised"), side(&c.rest, "at rest")].into_iter().flatten().collect();
    format!("{} to {}", c.common.value, sides.join(", "))
}

fn sense_title(s: &SenseForm) -> String {
    match s.name.value == s.pin.value {
        true => s.pin.value.to_string(),
        false => format!("{} on {}", s.name.value, s.pin.value),
    }
}

fn switch_title(s: &SwitchForm) -> String {
    let throws: Vec<String> =
        s.throws.iter().map(|(position, pin)| format!("{} in {}", pin.value, position.value)).collect();
    let rest = s.positions.first().map_or("off", |position| position.value.as_str());
    let springs = if s.momentary.0 { "springs back to" } else { "at rest" };
    format!("{} to {}; {springs} {rest}", s.common.value, throws.join(", "))
}

fn output_title(o: &OutputForm) -> String {
    let other = match (&o.feed, &o.ground) {
        (Some(feed), _) => format!(" from {}", feed.value),
        (_, Some(ground)) => format!(" to {}", ground.value),
        _ => String::new(),
    };
    format!("{}{other}, when {}", o.pin.value, o.when)
}

fn timer_title(t: &TimerForm) -> String {
    let reset = t.reset.as_ref().map_or_else(String::new, |reset| format!(", reset by {reset}"));
    format!("{}: {} from {}{reset}", t.name.value, t.kind, t.from)
}
