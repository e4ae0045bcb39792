//! The names nearest to one that is not known.

/// Names looked at for one suggestion; beyond, none is made.
const MOST_COMPARED: usize = 20_000;
/// Most names offered.
const MOST_OFFERED: usize = 3;

/// The known names nearest to a wrong one, the likeliest first: one that differs only in case, else those within one
/// slip of the keyboard (two in words of six letters or more).
pub(super) fn nearest<'n>(wrong: &str, known: impl IntoIterator<Item = &'n str>) -> Vec<String> {
    let length = wrong.chars().count();
    if length > 64 {
        return Vec::new();
    }
    let reach = if length >= 6 { 2 } else { 1 };
    let lower = wrong.to_lowercase();
    let mut same = Vec::new();
    let mut close: Vec<(usize, &str)> = Vec::new();
    for name in known.into_iter().take(MOST_COMPARED) {
        if name.len().abs_diff(wrong.len()) > reach * 4 {
            continue;
        }
        if name.to_lowercase() == lower {
            same.push(name);
            continue;
        }
        let distance = strsim::osa_distance(wrong, name);
        // A one-letter name is near to everything.
        if distance <= reach && distance < length {
            close.push((distance, name));
        }
    }
    let mut names: Vec<&str> = if same.is_empty() {
        close.sort();
        let best = close.first().map_or(0, |(distance, _)| *distance);
        close.into_iter().filter(|(distance, _)| *distance == best).map(|(_, name)| name).collect()
    } else {
        same.sort_unstable();
        same
    };
    names.dedup();
    names.truncate(MOST_OFFERED);
    names.into_iter().map(str::to_owned).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn case_comes_first_then_one_slip() {
        let known = ["R1", "Lamp", "lamp2", "tolerance", "rating"];
        assert_eq!(nearest("r1", known), ["R1"]);
        assert_eq!(nearest("lamp", known), ["Lamp"]);
        assert_eq!(nearest("tolerence", known), ["tolerance"]);
        assert_eq!(nearest("raitng", known), ["rating"]);
        assert!(nearest("quay", known).is_empty());
        assert!(nearest("x", ["y", "z"]).is_empty());
    }
}
