//! The name that was most likely meant.

/// Below this similarity two names have nothing to do with each other.
const LEAST: f64 = 0.75;

/// Finds the name most like `found` among those accepted, where one is like it at all.
pub(crate) fn nearest<'a>(found: &str, accepted: impl Iterator<Item = &'a str>) -> Option<String> {
    let bare = |name: &str| -> String {
        let inside = name.trim_matches('"');
        inside.split([' ', '=']).next().unwrap_or_default().to_owned()
    };
    let is_name = |name: &String| {
        name.len() > 1 && name.chars().all(|c| c.is_ascii_alphanumeric() || "_.%".contains(c))
    };
    accepted
        .map(bare)
        .filter(is_name)
        .map(|name| (strsim::jaro_winkler(found, &name), name))
        .filter(|(likeness, name)| *likeness >= LEAST && name != found)
        .max_by(|(one, _), (other, _)| one.total_cmp(other))
        .map(|(_, name)| name)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_of_the_finger_finds_its_name_and_nonsense_finds_none() {
        let names = ["farads", "volts", "across", "\"general\"", "volts_rms = 0 to 20000"];
        let of = |found| nearest(found, names.into_iter());
        assert_eq!(of("farrads").as_deref(), Some("farads"));
        assert_eq!(of("genral").as_deref(), Some("general"));
        assert_eq!(of("volt_rms").as_deref(), Some("volts_rms"));
        assert_eq!(of("xyzzy"), None);
        assert_eq!(of(""), None);
    }
}
