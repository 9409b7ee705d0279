//! The content of a page, in reading order.

use crate::letters::Letters;
use kit::colour::Rgb;

/// What an atom shows.
#[derive(Debug, Clone, PartialEq)]
pub enum AtomShown {
    /// A word.
    Word(String),
    /// A word on a ground of its own, or in a frame.
    Badge {
        /// What it says.
        text: String,
        /// The ground; `None` for a frame in the letters' colour.
        ground: Option<Rgb>,
    },
    /// The insulation of a wire: main colour and tracer.
    Swatch([Rgb; 2]),
    /// A box to tick.
    Tick,
    /// The end of the line.
    NewLine,
}

/// A piece of a line.
#[derive(Debug, Clone, PartialEq)]
pub struct Atom {
    /// What it shows.
    pub shown: AtomShown,
    /// Its lettering.
    pub letters: Letters,
    /// Whether a space stands before it.
    pub spaced: bool,
    /// Whether a line may end before it.
    pub breaks: bool,
    /// The name of the place that it leads to.
    pub leads_to: Option<String>,
}

/// Where a text stands in its column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TextSide {
    /// At the left edge.
    #[default]
    Left,
    /// In the middle.
    Middle,
    /// At the right edge.
    Right,
}

/// A heading.
#[derive(Debug, Clone, PartialEq)]
pub struct Heading {
    /// 1 for the title of the document.
    pub level: usize,
    /// Its name, for links.
    pub id: Option<String>,
    /// What it says.
    pub text: Vec<Atom>,
    /// The same as plain text, for bookmarks.
    pub plain: String,
}

/// A frame around blocks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Frame {
    /// A thick bar on the left, on a tint: trouble.
    Alert,
    /// The same with a mark before each item: cautions.
    Cautions,
    /// A thin bar on the left.
    Bar,
}

/// A label to cut out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CutLabel {
    /// What it says in bold, and below it.
    pub lines: [String; 2],
    /// A link that it shows as a QR code.
    pub link: Option<String>,
}

/// A line of the contents.
#[derive(Debug, Clone, PartialEq)]
pub struct ContentsLine {
    /// Its number.
    pub number: String,
    /// What it says.
    pub text: String,
    /// The name of the place.
    pub leads_to: String,
}

/// A cell of a table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cell {
    /// What is in it.
    pub blocks: Vec<Block>,
    /// Columns that it covers.
    pub columns: usize,
    /// Rows that it covers.
    pub rows: usize,
    /// Where its texts stand.
    pub side: TextSide,
    /// To write in by hand.
    pub by_hand: bool,
    /// A stop on a line that runs down the column.
    pub stop: bool,
}

/// A row of a table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TableRow {
    /// Its cells.
    pub cells: Vec<Cell>,
    /// Whether it names the rows below it.
    pub shelf: bool,
    /// On a tint, without a line before it: it belongs to the row before.
    pub tinted: bool,
}

/// A table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// Tables of one kind share their columns' widths.
    pub kind: String,
    /// Columns.
    pub columns: usize,
    /// The rows at the head, repeated on each page.
    pub head: Vec<TableRow>,
    /// The bodies: their rows, and whether these stay on one page where it has room for them.
    pub bodies: Vec<(Vec<TableRow>, bool)>,
}

/// Something that stands below what is before it.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A heading.
    Heading(Heading),
    /// A text.
    Text(Vec<Atom>, TextSide),
    /// Items, each with its mark.
    Items(Vec<(String, Vec<Block>)>),
    /// Blocks with a frame.
    Framed(Frame, Vec<Block>),
    /// A table.
    Table(Table),
    /// Short texts one after the other, as many on a line as have room; with a frame around each or without.
    Chips(Vec<Vec<Atom>>, bool),
    /// Texts in equal columns.
    Grid(Vec<Vec<Atom>>, f64),
    /// Terms at the left with their texts beside them.
    Pairs(Vec<(Vec<Atom>, Vec<Atom>)>),
    /// Labels to cut out.
    Labels(Vec<CutLabel>),
    /// Stripes: colour and share of the width.
    Stripes(Vec<(Rgb, f64)>),
    /// The card at the head: terms, figures, and whether somebody fills them in.
    Card(Vec<(String, String, bool)>),
    /// The contents, in groups.
    Contents(Vec<(String, Vec<ContentsLine>)>),
    /// Blocks that stay on one page if it holds them.
    Together(Vec<Block>),
    /// Blocks in two columns.
    TwoColumns(Vec<Block>),
    /// A new page, on its long side or upright.
    NewPage {
        /// On its long side.
        lying: bool,
    },
    /// A drawing, on a page of its own; its name for links, if it is the first of its kind.
    Plate(Option<String>),
}
