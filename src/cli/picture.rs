//! The signal graph as a picture, where Graphviz is installed.

use graphviz_rust::cmd::{CommandArg, Format};
use std::fmt;
use std::io;

/// Why there is no picture.
#[derive(Debug)]
pub enum PictureError {
    /// The program `dot` isn't there.
    NoGraphviz,
    /// It is there but failed.
    Failed(String),
}

impl fmt::Display for PictureError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PictureError::NoGraphviz => f.write_str(
                "the picture of the signal graph needs Graphviz, and its program `dot` is not on this machine; \
                 install Graphviz (Debian: apt install graphviz), or use the DOT text elsewhere",
            ),
            PictureError::Failed(why) => write!(f, "Graphviz could not draw the signal graph: {why}"),
        }
    }
}

/// Draws DOT text as SVG.
///
/// # Errors
/// Where Graphviz is missing or fails.
pub fn picture(dot: &str) -> Result<Vec<u8>, PictureError> {
    // The executor itself reports a missing program as a bare 'not found'.
    graphviz_rust::exec_dot(dot.to_string(), vec![CommandArg::Format(Format::Svg)]).map_err(|e| match e.kind() {
        io::ErrorKind::NotFound => PictureError::NoGraphviz,
        _ => PictureError::Failed(e.to_string()),
    })
}
