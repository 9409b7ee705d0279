//! A small writer of XML elements: attributes and text are escaped, and elements close themselves.

use super::font::printable;

/// Text under construction.
#[derive(Debug, Default)]
pub struct Xml {
    out: String,
}

/// One element being written; it closes when dropped.
#[must_use = "an element is written by its attributes and content; bind it or call `done`"]
pub struct XmlElement<'a> {
    xml: &'a mut Xml,
    name: &'static str,
    open: bool,
}

impl Xml {
    /// Begins an element.
    pub fn element(&mut self, name: &'static str) -> XmlElement<'_> {
        self.out.push('<');
        self.out.push_str(name);
        XmlElement { xml: self, name, open: true }
    }
    /// Adds text, escaped.
    pub fn text(&mut self, text: &str) {
        escape_into(text, &mut self.out);
    }
    /// A line break between elements, for people who read the source.
    pub fn line(&mut self) {
        self.out.push('\n');
    }
    /// The finished text.
    pub fn finish(self) -> String {
        self.out
    }
}

impl XmlElement<'_> {
    /// Adds an attribute, its value escaped.
    pub fn attr(self, name: &str, value: impl AsRef<str>) -> Self {
        self.attr_of(name, |out| escape_into(value.as_ref(), out))
    }
    /// Adds an attribute whose value `write` puts together from what needs no escaping: numbers, letters, spaces.
    pub fn attr_of(self, name: &str, write: impl FnOnce(&mut String)) -> Self {
        let out = &mut self.xml.out;
        out.push(' ');
        out.push_str(name);
        out.push_str("=\"");
        write(out);
        out.push('"');
        self
    }
    /// Adds an attribute if there is a value.
    pub fn attr_if(self, name: &str, value: Option<impl AsRef<str>>) -> Self {
        match value {
            Some(value) => self.attr(name, value),
            None => self,
        }
    }
    /// Writes what is inside, then closes the element.
    pub fn inside(mut self, content: impl FnOnce(&mut Xml)) {
        self.open = false;
        self.xml.out.push('>');
        content(self.xml);
        let out = &mut self.xml.out;
        out.push_str("</");
        out.push_str(self.name);
        out.push('>');
    }
    /// Closes an element that has nothing inside.
    pub fn done(self) {}
}

impl Drop for XmlElement<'_> {
    fn drop(&mut self) {
        if self.open {
            self.xml.out.push_str("/>");
        }
    }
}

/// Escapes for element text and attribute values in double quotes; drops control characters, marks that turn the
/// reading direction, and what XML 1.0 does not allow.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    escape_into(text, &mut out);
    out
}

fn escape_into(text: &str, out: &mut String) {
    let plain = |byte: u8| matches!(byte, b' '..=b'~') && !matches!(byte, b'&' | b'<' | b'>' | b'"' | b'\'');
    if text.bytes().all(plain) {
        out.push_str(text);
        return;
    }
    for c in printable(text) {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\u{fffe}' | '\u{ffff}' => {}
            c => out.push(c),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn elements_close_themselves() {
        let mut xml = Xml::default();
        xml.element("g").attr("data-part", "K<1>").inside(|xml| {
            xml.element("path").attr("d", "M0 0").done();
            xml.text("a & b");
        });
        assert_eq!(xml.finish(), "<g data-part=\"K&lt;1&gt;\"><path d=\"M0 0\"/>a &amp; b</g>");
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn any_text_survives_a_parser(text in any::<String>()) {
            let mut xml = Xml::default();
            xml.element("a").attr("b", &text).inside(|xml| xml.text(&text));
            let written = xml.finish();
            let read = roxmltree::Document::parse(&written).unwrap();
            let seen: String = printable(&text).filter(|c| !matches!(c, '\u{fffe}' | '\u{ffff}')).collect();
            prop_assert_eq!(read.root_element().attribute("b"), Some(seen.as_str()));
        }
    }
}
