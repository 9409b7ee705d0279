//! The folder of a job, named by its title.

/// Most letters of a folder's name.
const LONGEST: usize = 60;

/// A folder's name for a title: lower-case ASCII letters, digits and single `-`, at most 60 of them, never a path, never
/// a name that an operating system keeps for itself; `job` where nothing of the title is left.
pub fn folder(title: &str) -> String {
    let mut name = String::new();
    for c in title.chars() {
        match c.to_ascii_lowercase() {
            c @ ('a'..='z' | '0'..='9') => name.push(c),
            _ if name.is_empty() || name.ends_with('-') => {}
            _ => name.push('-'),
        }
        if name.len() >= LONGEST {
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
        assert_eq!(folder("Пикап"), "job");
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
            prop_assert!(!name.is_empty() && name.len() <= LONGEST + 4);
            prop_assert!(name.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-'));
            prop_assert!(!name.starts_with('-') && !name.ends_with('-'));
        }
    }
}
