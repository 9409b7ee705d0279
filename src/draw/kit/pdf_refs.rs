//! Numbers of the objects in a PDF file, and its unit of length.

use pdf_writer::Ref;

/// PDF points in a millimetre.
pub(super) const POINTS_PER_MM: f64 = 72.0 / 25.4;

/// Numbers of indirect objects, in order.
#[derive(Default)]
pub(super) struct Refs(i32);

impl Refs {
    pub(super) fn next(&mut self) -> Ref {
        self.0 += 1;
        Ref::new(self.0)
    }
}
