//! The timing chart of a drive: a lane for each input, relay, module, camera and screen, side by side in time; what a screen
//! shows as a band with its name, what it should show above it, and below it the promises that were kept or broken.
//!
//! In comes the record of a replay; out come sheets.

mod axis;
mod brush;
mod chart;
mod lanes;
mod paint;
mod promises;

use axis::Axis;
use brush::NAMES;
pub use chart::Chart;
use kit::font;
use kit::lines::{LABEL, SMALL};
use kit::scene::*;
use kit::sheet::{Sheet, Strip};
use lanes::{BandLook, ChartLane, PictureSources};
use model::Model;
use paint::Panel;
use replay::{LaneChange, Time, Timeline, Track, Verdict, changes};
use states::Wiring;

/// Width of what is drawn, where the sheet is as big as it needs.
const WIDE: f64 = 380.0;
/// Between two panels.
const BETWEEN: f64 = 7.0;
/// Height of the line above the first panel.
const INTRODUCTION: f64 = 7.0;
/// Height of a line of the key.
const KEY: f64 = 7.5;

/// What the key says of breaks: as long as nothing changes in any of them, or where something goes on flashing.
const LEFT_OUT: &str = "time omitted: nothing changes";
/// See [`LEFT_OUT`].
const FLASHING: &str = "time omitted: flashing continues, nothing else changes";

/// Draws a chart on sheets of a size (`Paper::A4.lying()`), or with `None` on one sheet as big as it needs.
pub fn draw(chart: &Chart, size: Option<Size>) -> Vec<Scene> {
    let sources = PictureSources::of(chart.model());
    let lanes = lanes::lanes(chart, &sources);
    let all = changes(chart.plan, chart.record);
    let mut news: Vec<Time> = all.iter().filter(|c| is_news(c)).map(|c| c.at).collect();
    news.extend(chart.record.looks.iter().map(|(at, _)| *at));
    // A promise that is not kept by the end is decided there.
    let end = chart.record.to;
    news.extend(chart.promises.iter().filter(|p| p.to == end && p.verdict != Verdict::Kept).map(|p| p.to));
    news.sort();
    let mut guides: Vec<Time> = all.iter().filter(|c| matches!(c.track, Track::Lever(_))).map(|c| c.at).collect();
    guides.dedup();
    let paper = size.map(Sheet::of);
    let width = paper.as_ref().map_or(WIDE, |sheet| sheet.field.width());
    let axis = Axis::new(chart.record.to, &news, width - NAMES - 2.0);
    let panels: Vec<Panel> = (0..axis.panels).map(|i| paint::panel(&axis, i, &lanes, &guides)).collect();
    let key = key(&lanes, &sources, chart.model(), width, &axis);
    let room = paper.as_ref().map_or(f64::INFINITY, |sheet| sheet.field.height());
    let pages = paged(panels, INTRODUCTION, key.1 + 2.0, room);
    let sheets = pages.len();
    let mut scenes = vec![];
    let model = chart.model();
    let of = model.drives.iter().position(|drive| drive.name.as_str() == chart.drive);
    for (i, (panels, height)) in pages.into_iter().enumerate() {
        let sheet = match &paper {
            Some(sheet) if height <= room + 1e-6 => sheet.clone(),
            _ => Sheet::around(Size::new(width, height)),
        };
        let strip =
            Strip::of(&model.job.title, &model.job.revision, format!("Timing chart: {}", chart.drive), [i + 1, sheets])
                .scaled(format!("{} mm/s", quantity::significant(axis.scale, 3)))
                .variant(of.map_or(String::new(), |of| (of + 1).to_string()))
                .units("s");
        let Rect { left, top, .. } = sheet.field;
        let mut items: Vec<Item> = vec![introduction(chart, width).moved(left, top)];
        let mut y = top + INTRODUCTION;
        for panel in panels {
            let group = ItemGroup { tag: Tag::kind("panel"), items: panel.items };
            items.push(Item::from(group).moved(left, y));
            y += panel.height + BETWEEN;
        }
        items
            .push(Item::from(ItemGroup { tag: Tag::kind("key"), items: key.0.clone() }).moved(left, y - BETWEEN + 4.0));
        scenes.push(sheet.scene(&strip, &description(chart), items));
    }
    scenes
}

/// The timing chart of every drive, replayed at the nominal supply with flashers at the middle of their range.
pub fn of_every_drive(wiring: &Wiring, timelines: &[Timeline], size: Option<Size>) -> Vec<Scene> {
    let plan = replay::plan(wiring);
    let drives = wiring.model.drives.iter().zip(timelines);
    drives.flat_map(|(drive, timeline)| draw(&Chart::of(wiring, &plan, drive, timeline), size)).collect()
}

/// Whether a change deserves room on the axis. A flasher's lamps do not.
fn is_news(change: &LaneChange) -> bool {
    change.fresh && !matches!(change.track, Track::Lamps(_))
}

/// Panels on pages, each with the height that it takes; every page has the introduction and the key.
fn paged(panels: Vec<Panel>, above: f64, below: f64, room: f64) -> Vec<(Vec<Panel>, f64)> {
    let mut pages: Vec<(Vec<Panel>, f64)> = vec![];
    for panel in panels {
        match pages.last_mut() {
            Some((page, height)) if *height + BETWEEN + panel.height <= room => {
                *height += BETWEEN + panel.height;
                page.push(panel);
            }
            _ => {
                let height = above + panel.height + below;
                pages.push((vec![panel], height));
            }
        }
    }
    pages
}

fn introduction(chart: &Chart, width: f64) -> Item {
    let mut words = vec![chart.setting.to_string()];
    let mut flashes: Vec<String> = vec![];
    for input in &chart.model().inputs {
        if let Some(flash) = chart.setting.flash_words(input) {
            let words = format!("flashers {flash}");
            if !flashes.contains(&words) {
                flashes.push(words);
            }
        }
    }
    words.append(&mut flashes);
    words.extend(chart.record.remarks.iter().map(|(at, remark)| format!("from {at} {remark}")));
    let words = words.join("; ");
    let texts = if font::width(&words, LABEL, false) <= width {
        vec![TextItem::new(Point::new(0.0, 3.0), words, LABEL)]
    } else {
        let mut lines = font::wrapped(&words, width, SMALL, false);
        let rest = lines.split_off(1.min(lines.len())).join(" ");
        lines.push(font::fitted(&rest, width, SMALL, false));
        let text = |(i, line)| TextItem::new(Point::new(0.0, 2.2 + 3.2 * i as f64), line, SMALL);
        lines.into_iter().enumerate().map(text).collect()
    };
    ItemGroup::of(Tag::kind("introduction"), texts).into()
}

/// The key: what each look and letter means, as far as the chart has them. Gives its items and its height.
fn key(lanes: &[ChartLane], sources: &PictureSources, model: &Model, width: f64, axis: &Axis) -> (Vec<Item>, f64) {
    let bands = || {
        let all = lanes.iter().flat_map(|lane| match lane {
            ChartLane::Bands { bands, .. } => bands.as_slice(),
            _ => &[],
        });
        all.filter(|band| axis.shows(band.span))
    };
    let mut entries: Vec<(BandLook, String, String)> = vec![];
    for part in &sources.0 {
        let name = model.part(*part).name.to_string();
        if bands().any(|band| band.text.contains(&name)) {
            entries.push((BandLook::Tint(sources.tint(*part)), sources.letter(*part), name));
        }
    }
    for look in [BandLook::Hatched, BandLook::Upright, BandLook::Dashed, BandLook::Solid, BandLook::Alert] {
        if bands().any(|band| band.look == look) {
            entries.push((look, String::new(), look.words().into()));
        }
    }
    let (mut items, mut x, mut y) = (vec![], 0.0, 0.0);
    for (look, letter, words) in entries {
        let wide = 8.0 + 1.5 + font::width(&words, SMALL, false) + 6.0;
        if x + wide > width && x > 0.0 {
            (x, y) = (0.0, y + KEY);
        }
        items.extend(paint::specimen(look, &letter, Point::new(x, y)));
        items.push(TextItem::new(Point::new(x + 9.5, 0.0), words, SMALL).centred_on(y + 2.7).into());
        x += wide;
    }
    if axis.cuts().next().is_some() {
        let left_out =
            if axis.cuts().any(|cut| lanes.iter().any(|lane| lane.changes_in(cut))) { FLASHING } else { LEFT_OUT };
        let wide = 8.0 + 1.5 + font::width(left_out, SMALL, false);
        if x + wide > width && x > 0.0 {
            (x, y) = (0.0, y + KEY);
        }
        for ends in [[x, x + 2.5], [x + 5.5, x + 8.0]] {
            let line = Path::line(Point::new(ends[0], y + 2.7), Point::new(ends[1], y + 2.7));
            items.push(line.stroked(kit::lines::symbol()).into());
        }
        items.extend(brush::break_sign(x + 2.5, x + 5.5, y + 2.7).map(Item::from));
        items.push(TextItem::new(Point::new(x + 9.5, 0.0), left_out, SMALL).centred_on(y + 2.7).into());
    }
    if items.is_empty() { (items, 0.0) } else { (items, y + KEY) }
}

/// A description in words for readers who can't see the drawing: what each screen shows when.
fn description(chart: &Chart) -> String {
    let model = chart.model();
    let mut sentences = vec![];
    for (screen, lane) in model.screens.iter().zip(&chart.record.screens) {
        let spans = lane.spans(chart.record.to).filter(|(from, to, _)| to > from);
        let words: Vec<String> =
            spans.take(60).map(|(from, _, display)| format!("{} from {from}", display.words(model))).collect();
        sentences.push(format!("Screen {}: {}.", screen.name, words.join(", ")));
    }
    sentences.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use kit::sheet::Paper;
    use kit::svg;

    fn drawn(spec: &str, size: Option<Size>) -> Vec<Scene> {
        let model = sample::file(spec);
        let wiring = Wiring::new(&model);
        of_every_drive(&wiring, &replay::replay_all(&wiring, &replay::Setting::default()), size)
    }

    const SIDES: &str = "tests/replay/side-cameras.yaml";

    #[test]
    fn charts_are_clean_on_every_paper() {
        let mut texts = 0;
        for size in [
            None,
            Some(Paper::A4.lying()),
            Some(Paper::A3.lying()),
            Some(Paper::A4.upright()),
            Some(Paper::Letter.lying()),
        ] {
            let scenes = drawn(SIDES, size);
            assert!(scenes.len() >= 3);
            for scene in scenes {
                let found = audit::audit(&svg::write(&scene)).unwrap();
                assert!(found.clean(), "{}: {found}", scene.title);
                texts += found.texts;
            }
        }
        assert!(texts > 500, "{texts}");
    }

    /// Words of the key of a sheet.
    fn key_of(scene: &Scene) -> Vec<String> {
        let mut words = vec![];
        scene.walk(|item| {
            if let Item::Group(group) = item
                && group.tag.kind.as_deref() == Some("key")
            {
                words.extend(
                    group.items.iter().filter_map(|i| if let Item::Text(t) = i { Some(t.text.clone()) } else { None }),
                );
            }
        });
        words
    }

    /// The look of a band that is wide enough to be seen.
    fn look_of(item: &Item) -> Option<String> {
        let (Item::Group(group), Some(bounds)) = (item, item.bounds()) else { return None };
        let (_, look) = group.tag.data.iter().find(|(key, _)| key == "look")?;
        (bounds.width() > 0.34 && !look.is_empty()).then(|| look.clone())
    }

    /// On every demo: a break is said to hide nothing only where nothing moves in it; the key has the looks that are drawn wide
    /// enough to be seen, and no others.
    #[test]
    fn keys_and_breaks_are_true_on_every_demo() {
        let (mut flashing, mut still, mut looks) = (0, 0, 0);
        for name in sample::DEMOS {
            let model = sample::demo(name);
            let wiring = Wiring::new(&model);
            let timelines = replay::replay_all(&wiring, &replay::Setting::default());
            let plan = replay::plan(&wiring);
            for (drive, timeline) in model.drives.iter().zip(&timelines) {
                let scenes = draw(&Chart::of(&wiring, &plan, drive, timeline), Some(Paper::A4.lying()));
                let key = key_of(&scenes[0]);
                let mut drawn: Vec<String> = vec![];
                scenes.iter().for_each(|scene| scene.walk(|item| drawn.extend(look_of(item))));
                for look in [BandLook::Hatched, BandLook::Upright, BandLook::Dashed, BandLook::Solid, BandLook::Alert] {
                    let in_key = key.iter().any(|own| own == look.words());
                    // Once on each sheet in the key itself.
                    let beside_key =
                        drawn.iter().filter(|own| *own == look.words()).count() - if in_key { scenes.len() } else { 0 };
                    assert_eq!(beside_key > 0, in_key, "{name}, {}: {look:?}", drive.name);
                    looks += usize::from(in_key);
                }
                let says = |words: &str| usize::from(key.iter().any(|own| own == words));
                let flashes = timeline.record.inputs.iter().any(|lane| lane.points.len() > 8);
                assert!(flashes || says(FLASHING) == 0, "{name}, {}", drive.name);
                flashing += says(FLASHING);
                still += says(LEFT_OUT);
            }
        }
        assert!(flashing > 0 && still > 0 && looks > 5, "{flashing} {still} {looks}");
    }

    /// The bands have the names of pictures in them, and the lanes have their names.
    #[test]
    fn a_chart_says_what_is_shown() {
        let chart = &drawn(SIDES, None)[0];
        let mut words = vec![];
        chart.walk(|item| {
            if let Item::Text(text) = item {
                words.push(text.text.clone());
            }
        });
        for expected in
            ["REAR", "LEFT", "home", "reverse", "K1", "HOLD.held", "REAR in 1.110 s (within 2 s)", "LEFT steady"]
        {
            assert!(words.iter().any(|w| w == expected), "{expected} in {words:?}");
        }
        assert!(chart.description.contains("LEFT from 4.300 s"), "{}", chart.description);
    }
}
