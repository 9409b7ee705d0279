//! Which part, input and screen of the old harness is which of the new one. Names decide only where the wires leave it
//! open, so that a part that is renamed, or a row of relays renumbered, is found again.

use super::inventory::{Fitted, Inventory, NamedPin, Strand};
use std::collections::BTreeMap;

/// Rounds of matching: each uses the pairs of the one before for the far ends of wires.
const ROUNDS: usize = 4;

/// Old names and the new ones of the same parts.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Pairs {
    new_of: BTreeMap<String, String>,
}

impl Pairs {
    /// Pairs the parts of two inventories.
    pub fn of(old: &Inventory, new: &Inventory) -> Pairs {
        let mut pairs = Pairs::by_name(old, new);
        for _ in 0..ROUNDS {
            let next = pairs.matched(old, new);
            if next == pairs {
                break;
            }
            pairs = next;
        }
        pairs
    }

    /// The new name of an old part, if the new harness has it.
    pub fn new_name(&self, old: &str) -> Option<&str> {
        self.new_of.get(old).map(String::as_str)
    }

    /// A text that begins with a part's name, such as `K1.held`, with the new name.
    pub fn translated(&self, text: &str) -> String {
        let (part, rest) = text.split_at(text.find('.').unwrap_or(text.len()));
        format!("{}{rest}", self.new_name(part).unwrap_or(part))
    }

    /// A pin with the new name of its part.
    pub(crate) fn pin(&self, pin: &NamedPin) -> NamedPin {
        NamedPin { part: self.new_name(&pin.part).unwrap_or(&pin.part).to_string(), pin: pin.pin.clone() }
    }

    /// Words with every name of a renamed part in backticks or alone exchanged for the new one.
    pub(crate) fn words(&self, text: &str) -> String {
        let is_name = |c: char| c.is_alphanumeric() || c == '-' || c == '_';
        let mut out = String::new();
        let mut word = String::new();
        for c in text.chars().chain([' ']) {
            if is_name(c) {
                word.push(c);
                continue;
            }
            out.push_str(self.new_name(&word).unwrap_or(&word));
            word.clear();
            out.push(c);
        }
        out.pop();
        out
    }

    fn by_name(old: &Inventory, new: &Inventory) -> Pairs {
        let same = |part: &&Fitted| new.parts.iter().any(|other| other.name == part.name && other.what == part.what);
        let parts = old.parts.iter().filter(same);
        Pairs { new_of: parts.map(|part| (part.name.clone(), part.name.clone())).collect() }
    }

    /// Pairs again, the most alike first.
    fn matched(&self, old: &Inventory, new: &Inventory) -> Pairs {
        let [before, after] = [old, new].map(Ends::of);
        let mut scored = Vec::new();
        for (i, a) in old.parts.iter().enumerate() {
            for (j, b) in new.parts.iter().enumerate().filter(|(_, b)| b.what == a.what) {
                let score = self.score(a, b, &before, &after);
                if score > 0 {
                    scored.push((std::cmp::Reverse(score), i, j));
                }
            }
        }
        scored.sort();
        let mut taken = (vec![false; old.parts.len()], vec![false; new.parts.len()]);
        let mut new_of = BTreeMap::new();
        for (_, i, j) in scored {
            if !taken.0[i] && !taken.1[j] {
                (taken.0[i], taken.1[j]) = (true, true);
                new_of.insert(old.parts[i].name.clone(), new.parts[j].name.clone());
            }
        }
        Pairs { new_of }
    }

    /// How alike two parts are: 4 for each wire with the same number on the same pin, 4 for each that leads to the same
    /// pin, 4 for each part that plugs into both, and less for the same name, place and rating. Parts of different kinds count only under one name.
    fn score(&self, a: &Fitted, b: &Fitted, before: &Ends, after: &Ends) -> usize {
        let of_kind = usize::from(a.kind == b.kind);
        let same_name = usize::from(a.name == b.name);
        let mut wired = 0;
        for (pin, wires) in before.on(&a.name) {
            for (wire, far) in wires {
                let others = after.on(&b.name).get(pin).map(Vec::as_slice).unwrap_or_default();
                let far = self.pin(far);
                wired += 4 * usize::from(others.iter().any(|(other, _)| other.id == wire.id));
                wired += 4 * usize::from(others.iter().any(|(_, other)| **other == far));
            }
        }
        let plugged = a
            .plugged
            .iter()
            .filter(|part| self.new_name(part).is_some_and(|part| b.plugged.iter().any(|other| other == part)));
        wired += 4 * plugged.count();
        if same_name == 0 && (of_kind == 0 || wired == 0) {
            return 0;
        }
        wired * (1 + of_kind) + 3 * same_name + usize::from(a.place == b.place) + usize::from(a.rating == b.rating)
    }
}

/// For each pin of a part, its wires with their far ends.
type WiresOfPins<'i> = BTreeMap<&'i str, Vec<(&'i Strand, &'i NamedPin)>>;

/// The wires on each part.
struct Ends<'i> {
    of: BTreeMap<&'i str, WiresOfPins<'i>>,
    none: WiresOfPins<'i>,
}

impl<'i> Ends<'i> {
    fn of(inventory: &'i Inventory) -> Ends<'i> {
        let mut of: BTreeMap<&str, WiresOfPins> = BTreeMap::new();
        for wire in &inventory.wires {
            for (near, far) in [(0, 1), (1, 0)] {
                let near = &wire.ends[near];
                let pins = of.entry(near.part.as_str()).or_default();
                pins.entry(near.pin.as_str()).or_default().push((wire, &wire.ends[far]));
            }
        }
        Ends { of, none: BTreeMap::new() }
    }

    fn on(&self, part: &str) -> &WiresOfPins<'i> {
        self.of.get(part).unwrap_or(&self.none)
    }
}
