//! Facts, held to sums by hand and to searches that take no short cut.

mod worst;
