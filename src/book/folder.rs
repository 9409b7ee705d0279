//! The folder of a job, named by its title.

use form::values::is_reordering;

/// Maximum length of a folder's name, in letters.
const LONGEST: usize = 60;

/// Maximum length of a folder's name in bytes: file systems allow 255.
const MOST_BYTES: usize = 180;

/// A folder's name for a title: lower-case letters and digits of any script and single `-`, at most 60 of them; never a
/// path, never a name that an operating system reserves. Without any letter or digit in the title, it is `job`.
pub fn folder(title: &str) -> String {
    let mut name = String::new();
    for c in title.chars() {
        let before = name.len();
        match c {
            c if is_kept(c) => name.extend(c.to_lowercase()),
            _ if name.is_empty() || name.ends_with('-') => {}
            _ => name.push('-'),
        }
        if name.len() > MOST_BYTES || name.chars().count() > LONGEST {
            name.truncate(before);
            break;
        }
    }
    let name = name.trim_end_matches('-');
    match name {
        "" => "job".to_string(),
        kept if is_device(kept) => format!("{kept}-job"),
        free => free.to_string(),
    }
}

/// Letters and digits, with the marks that some scripts set over or under them.
fn is_kept(c: char) -> bool {
    let is_mark =
        matches!(c, '\u{300}'..='\u{36f}' | '\u{900}'..='\u{dff}' | '\u{e31}'..='\u{e4e}' | '\u{1000}'..='\u{109f}');
    c.is_alphanumeric() || (is_mark && !is_reordering(c) && !c.is_control())
}

/// Names of devices that Windows reserves in every folder.
fn is_device(name: &str) -> bool {
    let numbered =
        |stem: &str| name.strip_prefix(stem).is_some_and(|n| n.len() == 1 && n.as_bytes()[0].is_ascii_digit());
    matches!(name, "con" | "prn" | "aux" | "nul") || numbered("com") || numbered("lpt")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn titles_become_plain_names() {
        assert_eq!(folder("Orchard sprayer pickup"), "orchard-sprayer-pickup");
        assert_eq!(folder("../../etc/passwd"), "etc-passwd");
        assert_eq!(folder("C:\\Windows\\System32"), "c-windows-system32");
        assert_eq!(folder(".."), "job");
        assert_eq!(folder("Пикап с прицепом"), "пикап-с-прицепом");
        assert_eq!(folder("配線 №2"), "配線-2");
        assert_eq!(folder("Müller's Bus"), "müller-s-bus");
        assert_eq!(folder("हिंदी गाड़ी"), "हिंदी-गाड़ी");
        assert_eq!(folder("🚐 !?"), "job");
        assert_eq!(folder("NUL"), "nul-job");
        assert_eq!(folder("com7"), "com7-job");
        assert_eq!(folder("a\u{202e}b\0c"), "a-b-c");
        assert_eq!(folder(&"long title ".repeat(20)).len(), 59);
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn any_title_stays_inside(title in any::<String>()) {
            let name = folder(&title);
            prop_assert!(!name.is_empty() && name.chars().count() <= LONGEST + 4 && name.len() <= MOST_BYTES + 4);
            prop_assert!(name.chars().all(|c| c == '-' || is_kept(c)), "{name:?}");
            prop_assert!(!name.starts_with('-') && !name.ends_with('-'));
        }
    }
}
