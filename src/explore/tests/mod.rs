mod assembly;
mod both_ways;
mod brute_force;
#[path = "../../engine/tests/by_hand.rs"]
mod by_hand;
mod by_zone;
mod falling;
mod relays;
#[path = "../../engine/tests/wiring.rs"]
mod wiring;
mod without;
mod zones;
