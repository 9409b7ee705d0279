//! The address under which a shop keeps a job's book, for the links on labels.

use std::fmt;
use std::str::FromStr;

/// An address of a page on the web, without a place in that page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BookAddress(String);

/// Most letters: a code of more is too fine for a label.
const LONGEST: usize = 120;

impl FromStr for BookAddress {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let rest = text.strip_prefix("https://").or_else(|| text.strip_prefix("http://"));
        let plain =
            |c: char| c.is_ascii_graphic() && !matches!(c, '"' | '<' | '>' | '\\' | '^' | '`' | '{' | '|' | '}');
        match rest {
            None => Err("an address begins with https:// or http://".to_string()),
            Some("") => Err("the address names no page".to_string()),
            Some(rest) if rest.contains('#') => {
                Err("leave out # and what follows: each label adds its own".to_string())
            }
            Some(rest) if !rest.chars().all(plain) => {
                Err("an address has no spaces, and letters outside ASCII are written as %XX".to_string())
            }
            Some(_) if text.len() > LONGEST => {
                Err(format!("{} letters are too many for a code on a label: at most {LONGEST}", text.len()))
            }
            Some(_) => Ok(Self(text.to_string())),
        }
    }
}

impl BookAddress {
    /// The address of a wire or a part in the book: `kind` is `wire` or `part`.
    pub fn of(&self, kind: &str, name: &str) -> String {
        let mut out = format!("{}#{kind}=", self.0);
        for byte in name.bytes() {
            match byte {
                b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => out.push(char::from(byte)),
                other => out.push_str(&format!("%{other:02X}")),
            }
        }
        out
    }
}

impl fmt::Display for BookAddress {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_leads_to_a_wire_or_a_part() {
        let address: BookAddress = "https://shop.example/jobs/7".parse().unwrap();
        assert_eq!(address.of("wire", "12"), "https://shop.example/jobs/7#wire=12");
        assert_eq!(address.of("part", "Ü 1"), "https://shop.example/jobs/7#part=%C3%9C%201");
    }

    #[test]
    fn what_is_no_address_is_refused() {
        let long = format!("https://{}", "x".repeat(120));
        for text in ["", "shop.example", "file:///etc", "https://", "https://a b", "https://a#b", "https://\"", &long] {
            assert!(text.parse::<BookAddress>().is_err(), "{text}");
        }
    }
}
