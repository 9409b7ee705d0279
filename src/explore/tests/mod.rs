mod assembly;
mod both_ways;
mod brute_force;
#[path = "../../engine/tests/by_hand.rs"]
mod by_hand;
mod falling;
mod parts;
mod relays;
#[path = "../../engine/tests/wiring.rs"]
mod wiring;
mod without;
mod zones;
