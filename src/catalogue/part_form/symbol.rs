//! The symbol that a kind of part has in drawings.

use super::{Family, PartForm};
use form;

form::form! {
    /// The symbol of a part in drawings.
    pub enum PartSymbol ("a symbol") {
        /// What its family and its circuit say: relays, fuses, diodes, cameras.
        Own = "own",
        /// A lamp.
        Lamp = "lamp",
        /// A light of LEDs, shown as a diode.
        Led = "led",
        /// A buzzer or another sounder.
        Sounder = "sounder",
        /// A horn.
        Horn = "horn",
        /// A motor or a pump.
        Motor = "motor",
        /// A heating element.
        Heater = "heater",
        /// A socket that something else plugs into.
        Outlet = "outlet",
        /// Any other load.
        Load = "load",
        /// A loudspeaker.
        Loudspeaker = "loudspeaker",
        /// An amplifier.
        Amplifier = "amplifier",
        /// A switch that stays where it is put.
        Toggle = "toggle",
        /// A push button that springs back.
        PushButton = "push-button",
        /// A push button that latches.
        LatchingButton = "latching-button",
        /// A switch that is turned.
        Rotary = "rotary",
        /// A switch that a door, a pedal or a lever moves.
        Roller = "roller",
        /// A contact that a magnet moves.
        Magnet = "magnet",
        /// A switch that pressure moves.
        Pressure = "pressure",
        /// A switch that heat moves.
        Temperature = "temperature",
        /// A switch that a float moves.
        Level = "level",
        /// A sensor with a switched output.
        Sensor = "sensor",
        /// What chooses between pictures.
        PictureSelector = "picture-selector",
        /// What makes several pictures of one.
        PictureSplitter = "picture-splitter",
        /// What passes a picture without a metallic connection.
        PictureIsolator = "picture-isolator",
        /// A timer.
        Timer = "timer",
        /// Any other module.
        Module = "module",
    }
}

impl PartForm {
    /// The symbol that it has in drawings: its own, or what its family has in common.
    pub fn drawn_as(&self) -> PartSymbol {
        self.symbol.unwrap_or(match self.family {
            Family::Light => PartSymbol::Lamp,
            Family::Load => PartSymbol::Load,
            Family::Switch => PartSymbol::Toggle,
            Family::Selector => PartSymbol::PictureSelector,
            _ => PartSymbol::Own,
        })
    }

    /// Whether parts of its family differ so much that each kind says which symbol it has.
    pub fn names_symbol(&self) -> bool {
        matches!(
            self.family,
            Family::Light | Family::Load | Family::Switch | Family::Selector | Family::Audio | Family::Module
        )
    }
}
