//! What comes out of a printer: pages of a PDF, rendered by poppler and measured in millimetres.
#![allow(dead_code)] // Each test takes what it needs.

use std::path::Path;
use std::process::{Command, Output};

/// Dots to a millimetre in rendered pages.
pub const DOTS: f64 = 5.0;

/// Prints a page as a browser does.
pub fn print(html: &Path, pdf: &Path) {
    let output = browse(html, &["--no-pdf-header-footer", &format!("--print-to-pdf={}", pdf.display())]);
    assert!(pdf.exists(), "{}", String::from_utf8_lossy(&output.stderr));
}

/// A page as a browser has it once its scripts have run.
pub fn shown(html: &Path) -> String {
    String::from_utf8(browse(html, &["--dump-dom"]).stdout).unwrap()
}

fn browse(html: &Path, arguments: &[&str]) -> Output {
    let home = tempfile::tempdir().unwrap();
    Command::new("chromium")
        .args(["--headless", "--no-sandbox", "--disable-gpu"])
        .arg(format!("--user-data-dir={}", home.path().display()))
        .args(arguments)
        .arg(html)
        .output()
        .unwrap()
}

/// Width and height of every page, millimetres.
pub fn pages(pdf: &Path) -> Vec<[f64; 2]> {
    let output = Command::new("pdfinfo").args(["-f", "1", "-l", "9999"]).arg(pdf).output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let size = |line: &str| {
        let (_, size) = line.split_once("size:").filter(|_| line.starts_with("Page "))?;
        let mut numbers = size.split_whitespace().filter_map(|word| word.parse::<f64>().ok());
        Some([numbers.next()?, numbers.next()?].map(|points| points / 72.0 * 25.4))
    };
    text.lines().filter_map(size).collect()
}

/// A word on a printed page.
pub struct PrintedWord {
    /// What it says.
    pub text: String,
    /// Left and top of its box, points.
    pub from: [f64; 2],
    /// Right and bottom.
    pub to: [f64; 2],
}

/// The words of every page.
pub fn words(pdf: &Path) -> Vec<Vec<PrintedWord>> {
    let output = Command::new("pdftotext").arg("-bbox").arg(pdf).arg("-").output().unwrap();
    let mut pages = Vec::new();
    for line in String::from_utf8(output.stdout).unwrap().lines().map(str::trim) {
        if line.starts_with("<page ") {
            pages.push(Vec::new());
        } else if let (true, Some(page)) = (line.starts_with("<word "), pages.last_mut()) {
            let read = roxmltree::Document::parse(line).unwrap();
            let word = read.root_element();
            let number = |name: &str| word.attribute(name).unwrap().parse().unwrap();
            page.push(PrintedWord {
                text: word.text().unwrap_or_default().to_string(),
                from: ["xMin", "yMin"].map(number),
                to: ["xMax", "yMax"].map(number),
            });
        }
    }
    pages
}

/// A page in shades of grey.
pub struct Rendered {
    width: usize,
    shades: Vec<u8>,
}

impl Rendered {
    /// Page `number` (from 1) of a PDF.
    pub fn page(pdf: &Path, number: usize) -> Self {
        let number = number.to_string();
        let dpi = (DOTS * 25.4).to_string();
        let arguments = ["-gray", "-r", &dpi, "-f", &number, "-l", &number];
        let output = Command::new("pdftoppm").args(arguments).arg(pdf).output().unwrap();
        // `P5 WIDTH HEIGHT 255`, one byte of white space, then the dots.
        let header = output.stdout.splitn(4, |byte| byte.is_ascii_whitespace());
        let words: Vec<String> = header.take(3).map(|word| String::from_utf8_lossy(word).into_owned()).collect();
        assert_eq!(words[0], "P5");
        let [width, height] = [1, 2].map(|i| words[i].parse::<usize>().unwrap());
        let shades = output.stdout[output.stdout.len() - width * height..].to_vec();
        Self { width, shades }
    }

    /// Whether there is ink at a place, millimetres from the top left.
    pub fn inked(&self, x: f64, y: f64) -> bool {
        let at = |mm: f64| (mm * DOTS) as usize;
        at(x) < self.width && self.shades.get(at(y) * self.width + at(x)).is_some_and(|shade| *shade < 160)
    }

    /// Left, top, right and bottom of all ink, millimetres.
    pub fn ink(&self) -> [f64; 4] {
        let mut found: Option<[usize; 4]> = None;
        for (i, _) in self.shades.iter().enumerate().filter(|(_, shade)| **shade < 160) {
            let (x, y) = (i % self.width, i / self.width);
            let [left, top, right, bottom] = found.unwrap_or([x, y, x, y]);
            found = Some([left.min(x), top.min(y), right.max(x + 1), bottom.max(y + 1)]);
        }
        found.unwrap_or_default().map(|dots| dots as f64 / DOTS)
    }
}
