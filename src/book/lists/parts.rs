//! The parts to order: everything that the harness needs and the vehicle doesn't have, counted.

use crate::lists::amount::{Amount, CutLength};
use crate::lists::connections;
use crate::lists::csv::{CellTable, plain};
use crate::lists::labels::LabelRow;
use crate::lists::prices::{LineCost, OrderCost, PriceList};
use crate::lists::settings::settings;
use crate::lists::terminals;
use crate::lists::wires::Reel;
use model::{ElementKind, Family, Model, PartId, PartKind, RunId, WireId, bundle};
use quantity::Share;
use serde::Serialize;
use spec::{Covering, WireMake};

/// Composite and analogue high-definition pictures are sent over 75 Ω (SMPTE ST 170 for composite, from memory).
pub const COAX: &str = "Coaxial video cable, 75 Ω";

/// One line of the order.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OrderLine {
    /// Which shelf it comes from.
    pub group: OrderGroup,
    /// What to order.
    pub what: String,
    /// Which size, rating or colour of it; empty if there is only one.
    pub size: String,
    /// How much the harness takes.
    pub amount: Amount,
    /// How much to order, spares included.
    pub order: Amount,
    /// What it costs, if the shop's prices are known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost: Option<LineCost>,
    /// What it is for.
    pub used_for: Vec<String>,
    /// Notes of the parts, and what must be set on them: `F1: within 150 mm of the battery post`.
    pub notes: Vec<String>,
}

/// Which shelf something comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum OrderGroup {
    /// Screens, cameras, relays, modules and all other parts.
    Parts,
    /// Fuses and breakers.
    Fuses,
    /// Fuse holders and relay sockets.
    Holders,
    /// Connectors.
    Connectors,
    /// Terminals for cavities, pins and ground points.
    Terminals,
    /// Wire seals.
    Seals,
    /// Plugs for empty cavities.
    Plugs,
    /// Splices.
    Splices,
    /// Wire and cable by the metre.
    Wire,
    /// Ready-made leads.
    Leads,
    /// What covers the harness.
    Coverings,
    /// Labels.
    Labels,
}

impl OrderGroup {
    /// The words for it.
    pub fn words(self) -> &'static str {
        match self {
            OrderGroup::Parts => "Parts",
            OrderGroup::Fuses => "Fuses and breakers",
            OrderGroup::Holders => "Holders and sockets",
            OrderGroup::Connectors => "Connectors",
            OrderGroup::Terminals => "Terminals",
            OrderGroup::Seals => "Wire seals",
            OrderGroup::Plugs => "Cavity plugs",
            OrderGroup::Splices => "Splices",
            OrderGroup::Wire => "Wire",
            OrderGroup::Leads => "Ready-made leads",
            OrderGroup::Coverings => "Coverings",
            OrderGroup::Labels => "Labels",
        }
    }
}

/// Share of wire, coverings and small parts that is ordered beyond what the harness takes (common practice, no source).
const SPARE: Share = Share::new(0.1);

/// An amount with spares: of small parts at least one more.
fn with_spares(group: OrderGroup, amount: Amount) -> Amount {
    use OrderGroup::{Coverings, Fuses, Plugs, Seals, Splices, Terminals, Wire};
    match (group, amount) {
        (Wire | Coverings, Amount::Length(cut)) => Amount::Length(cut.with_spare(SPARE)),
        (Fuses | Terminals | Seals | Plugs | Splices, Amount::Pieces(n)) => {
            Amount::Pieces(n + ((n as f64 * SPARE.value()).ceil() as u64).max(1))
        }
        _ => amount,
    }
}

/// Counts what must be ordered. `reels` is the cut list of the same model, `labels` its labels.
pub fn order(model: &Model, reels: &[Reel], labels: &[LabelRow]) -> Vec<OrderLine> {
    let mut order = Order::default();
    for id in model.part_ids().filter(|id| !model.part(*id).existing) {
        order.part(model, id);
    }
    reels.iter().for_each(|reel| order.reel(reel));
    order.ends(model);
    order.joints(model);
    order.screens(model);
    order.leads(model);
    order.plugs(model);
    order.coverings(model);
    let ends = 2 * model.wires.iter().filter(|w| !w.existing).count() as u64;
    order.add(OrderGroup::Labels, "Wire label, for the end of a wire", "", Amount::Pieces(ends), None);
    let others = labels.len() as u64 - ends;
    order.add(OrderGroup::Labels, "Label, for a connector or a part", "", Amount::Pieces(others), None);
    order.lines.retain(|line| line.amount != Amount::Pieces(0));
    order.lines.sort_by_key(|line| line.group);
    order.lines.iter_mut().for_each(|line| line.order = with_spares(line.group, line.amount));
    order.lines
}

/// Writes prices into an order, and returns what it costs.
pub fn price(order: &mut [OrderLine], prices: &PriceList) -> OrderCost {
    for line in order.iter_mut() {
        line.cost = prices.cost((&line.what, &line.size), line.order);
    }
    OrderCost {
        total: order.iter().filter_map(|line| line.cost).map(|cost| cost.cost).sum(),
        without_price: order.iter().filter(|line| line.cost.is_none()).count(),
    }
}

#[derive(Default)]
struct Order {
    lines: Vec<OrderLine>,
}

impl Order {
    fn add(&mut self, group: OrderGroup, what: &str, size: &str, amount: Amount, used_for: Option<&str>) {
        let same = |line: &&mut OrderLine| line.group == group && line.what == what && line.size == size;
        let line = match self.lines.iter_mut().find(same) {
            Some(line) => {
                line.amount = match (line.amount, amount) {
                    (Amount::Pieces(a), Amount::Pieces(b)) => Amount::Pieces(a + b),
                    (Amount::Length(a), Amount::Length(b)) => Amount::Length([a, b].into_iter().sum()),
                    (kept, _) => kept,
                };
                line
            }
            None => {
                let (what, size) = (what.to_string(), size.to_string());
                let (used_for, notes) = (Vec::new(), Vec::new());
                self.lines.push(OrderLine { group, what, size, amount, order: amount, cost: None, used_for, notes });
                let last = self.lines.len() - 1;
                &mut self.lines[last]
            }
        };
        if let Some(name) = used_for.filter(|name| !line.used_for.iter().any(|n| n == name)) {
            line.used_for.push(name.to_string());
        }
    }

    fn part(&mut self, model: &Model, id: PartId) {
        let part = model.part(id);
        let group = match (part.kind, part.form.family) {
            (PartKind::Connector, _) => OrderGroup::Connectors,
            (PartKind::Splice, _) => OrderGroup::Splices,
            (PartKind::Device, Family::Fuse | Family::Breaker) => OrderGroup::Fuses,
            (PartKind::Device, _) => OrderGroup::Parts,
            // A ground point is in the vehicle; its ring terminals are counted at the wires' ends.
            (PartKind::Supply | PartKind::Feed | PartKind::Ground, _) => return,
        };
        let resistor = part.elements.iter().find_map(|id| match &model.element(*id).kind {
            ElementKind::Resistor { resistance, .. } if part.form.family == Family::Resistor => Some(*resistance),
            _ => None,
        });
        let size = part.rating.map(|r| r.to_string()).or(resistor.map(|r| r.to_string())).unwrap_or_default();
        let mut what = part.order.clone().unwrap_or_else(|| part.form.title.0.clone());
        if let Some(half) = model::half(model, id) {
            what = format!("{what}, {}", half.words());
        }
        self.add(group, &what, &size, Amount::Pieces(1), Some(&part.name));
        let set = settings(model, id).into_iter().map(|(what, to)| format!("set the {what} to {to}"));
        let notes: Vec<String> =
            part.note.iter().cloned().chain(set).map(|note| format!("{}: {note}", part.name)).collect();
        let line = self.lines.iter_mut().find(|line| line.group == group && line.what == what && line.size == size);
        line.into_iter().for_each(|line| line.notes.extend(notes.iter().cloned()));
        if let Some(holder) = &part.form.holder {
            self.add(OrderGroup::Holders, holder, "", Amount::Pieces(1), Some(&part.name));
        }
    }

    fn reel(&mut self, reel: &Reel) {
        let what = match reel.make {
            WireMake::Coax => COAX,
            WireMake::Twisted => "Wire, 105 °C insulation, for twisting in pairs",
            WireMake::Single | WireMake::Lead => "Wire, 105 °C insulation",
        };
        let gauge = reel.gauge.map(|g| g.to_string());
        let colour = reel.colour.map(|c| c.to_string());
        let size: Vec<String> = gauge.into_iter().chain(colour).collect();
        for piece in &reel.pieces {
            self.add(OrderGroup::Wire, what, &size.join(" "), Amount::Length(piece.cut), Some(&piece.wire));
        }
    }

    /// Terminals and seals at the ends of wires that are built: one for the wires that share it.
    fn ends(&mut self, model: &Model) {
        for id in model.wire_ids().filter(|id| crimped(model, *id)) {
            for pin in model.wire(id).ends {
                let part = model.part(model.pin(pin).part);
                let counted =
                    terminals::shares(model, id, pin).iter().any(|other| *other < id && crimped(model, *other));
                let Some((title, supplied)) = terminals::terminal(model, model.pin(pin).part) else { continue };
                if counted || part.kind == PartKind::Splice {
                    continue;
                }
                let size = match part.kind {
                    PartKind::Supply | PartKind::Feed => model.wire(id).gauge.to_string(),
                    _ => String::new(),
                };
                if !supplied {
                    self.add(OrderGroup::Terminals, &title, &size, Amount::Pieces(1), Some(&part.name));
                }
                if let Some(seal) = part.form.terminal.as_ref().and_then(|terminal| terminal.seal.as_ref()) {
                    self.add(OrderGroup::Seals, seal, "", Amount::Pieces(1), Some(&part.name));
                }
            }
        }
    }

    /// What joins wires to leads that parts bring along: the mating half of a lead's plug, a video plug, or a butt
    /// splice.
    fn joints(&mut self, model: &Model) {
        let mut mated: Vec<PartId> = Vec::new();
        for id in model.wire_ids().filter(|id| crimped(model, *id)) {
            for pin in model.wire(id).ends {
                let part = model.part(model.pin(pin).part);
                let Some((title, true)) = terminals::terminal(model, model.pin(pin).part) else { continue };
                if part.kind != PartKind::Device {
                    continue;
                }
                // The plug of a screen comes with it, and bare wires; a camera's is moulded on, and its mate in the
                // vehicle where the camera is.
                if title.contains("moulded plug") && !part.existing {
                    if !mated.contains(&model.pin(pin).part) {
                        mated.push(model.pin(pin).part);
                        let what = format!("Mating half for the {title}, with its terminals");
                        self.add(OrderGroup::Connectors, &what, "", Amount::Pieces(1), Some(&part.name));
                    }
                } else if model.wire(id).make == WireMake::Coax {
                    let what = "Video plug for 75 Ω coax, to fit the part's lead";
                    self.add(OrderGroup::Terminals, what, "", Amount::Pieces(1), Some(&part.name));
                } else {
                    let size = model.wire(id).gauge.to_string();
                    let what = "Butt splice with glued heat-shrink, to a part's lead";
                    self.add(OrderGroup::Splices, what, &size, Amount::Pieces(1), Some(&part.name));
                }
            }
        }
    }

    /// Where a connector carries a coaxial cable's shield: a terminal of its own, or the splice that joins it to the
    /// wire in that cavity.
    fn screens(&mut self, model: &Model) {
        for part in model.parts.iter().filter(|p| p.kind == PartKind::Connector && !p.existing) {
            for cavity in part.pins.iter().filter(|pin| !connections::screens_in(model, **pin).is_empty()) {
                if model.wires_on(*cavity).next().is_some() {
                    let what = "Crimp splice for a coaxial cable's shield, with glued heat-shrink";
                    self.add(OrderGroup::Splices, what, "", Amount::Pieces(1), Some(&part.name));
                    continue;
                }
                if let Some((title, false)) = terminals::terminal(model, model.pin(*cavity).part) {
                    self.add(OrderGroup::Terminals, &title, "", Amount::Pieces(1), Some(&part.name));
                }
                if let Some(seal) = part.form.terminal.as_ref().and_then(|terminal| terminal.seal.as_ref()) {
                    self.add(OrderGroup::Seals, seal, "", Amount::Pieces(1), Some(&part.name));
                }
            }
        }
    }

    /// One lead for each pair of parts that conductors of a lead join.
    fn leads(&mut self, model: &Model) {
        let mut pairs: Vec<([model::PartId; 2], Vec<&str>)> = Vec::new();
        for wire in model.wires.iter().filter(|w| !w.existing && w.make == WireMake::Lead) {
            let mut pair = wire.ends.map(|pin| model.pin(pin).part);
            pair.sort();
            match pairs.iter_mut().find(|(p, _)| *p == pair) {
                Some((_, ids)) => ids.push(&wire.id),
                None => pairs.push((pair, vec![&wire.id])),
            }
        }
        for (pair, ids) in pairs {
            let [a, b] = pair.map(|id| model.part(id).name.to_string());
            let what = format!("Lead from {a} to {b}");
            let size = format!("{} {}", ids.len(), if ids.len() == 1 { "conductor" } else { "conductors" });
            self.add(OrderGroup::Leads, &what, &size, Amount::Pieces(1), None);
            ids.iter().for_each(|id| self.add(OrderGroup::Leads, &what, &size, Amount::Pieces(0), Some(id)));
        }
    }

    fn plugs(&mut self, model: &Model) {
        let mut wired = vec![false; model.pins.len()];
        model.wires.iter().flat_map(|w| w.ends).for_each(|pin| wired[pin.0] = true);
        for part in model.parts.iter().filter(|p| p.kind == PartKind::Connector && !p.existing) {
            let Some(plug) = part.form.terminal.as_ref().and_then(|t| t.plug.as_ref()) else { continue };
            let empty =
                part.pins.iter().filter(|pin| !wired[pin.0] && connections::screens_in(model, **pin).is_empty());
            let empty = empty.count() as u64;
            if empty > 0 {
                self.add(OrderGroup::Plugs, plug, "", Amount::Pieces(empty), Some(&part.name));
            }
        }
    }

    fn coverings(&mut self, model: &Model) {
        for (i, run) in model.runs.iter().enumerate() {
            let what = match run.covering {
                Covering::Bare => continue,
                Covering::Tape => "Harness tape, length of bundle to wrap",
                Covering::Conduit => "Split conduit",
                Covering::Sleeve => "Braided sleeve",
                Covering::Shrink => "Heat-shrink tube",
            };
            let across = bundle::diameter(model, RunId(i)).value() * 1000.0;
            if across > 0.0 {
                let size = format!("over a bundle of {:.0} mm", across.ceil());
                let place = |end: usize| model.place_name(Some(run.ends[end])).to_string();
                let name = format!("{} to {}", place(0), place(1));
                let length = CutLength::of(run.length, &model.limits);
                self.add(OrderGroup::Coverings, what, &size, Amount::Length(length), Some(&name));
            }
        }
    }
}

/// A wire that is built and gets terminals of its own.
fn crimped(model: &Model, id: WireId) -> bool {
    let wire = model.wire(id);
    !wire.existing && wire.make != WireMake::Lead
}

/// The order as cells, with prices if any line has one.
pub fn cells(lines: &[OrderLine]) -> CellTable {
    let priced = lines.iter().any(|line| line.cost.is_some());
    let rows = lines.iter().map(|line| {
        let figure = |amount: Amount| match amount {
            Amount::Pieces(n) => (n.to_string(), "pieces"),
            Amount::Length(cut) => (format!("{:.2}", cut.metres().value()), "m"),
        };
        let ((amount, unit), (order, _)) = (figure(line.amount), figure(line.order));
        let mut cells =
            vec![line.group.words().to_string(), line.what.clone(), plain(&line.size), amount, order, unit.to_string()];
        if priced {
            let written = line.cost.map(|cost| [cost.price, cost.cost].map(|sum| sum.to_string()));
            cells.extend(written.unwrap_or_default());
        }
        cells.extend([line.used_for.join(" "), line.notes.join("; ")]);
        cells
    });
    let money: &[&str] = if priced { &["Price", "Cost"] } else { &[] };
    let headings =
        [&["Group", "What to order", "Size", "Quantity", "Order", "Unit"], money, &["Used for", "Note"]].concat();
    CellTable::new(&headings, rows)
}
