//! Shares of the lives as people count them.

/// "7 of 10 futures". Rounded to the nearest tenth, but never to none or all of them when
/// that is not so: "under 1 in 20 futures", "over 19 in 20 futures".
pub fn futures(share: f64) -> String {
    format!("{} futures", of_ten(share))
}

/// "7 of 10", rounded as [`futures`] does.
pub fn of_ten(share: f64) -> String {
    let share = if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.0 };
    match (share * 10.0).round() as u32 {
        0 if share > 0.0 => "under 1 in 20".to_string(),
        10 if share < 1.0 => "over 19 in 20".to_string(),
        tenths => format!("{tenths} of 10"),
    }
}

/// "42 %", to the nearest whole, of a share in `[0, 1]`.
pub fn percent(share: f64) -> String {
    if !share.is_finite() {
        return "? %".to_string();
    }
    format!("{:.0} %", (share * 100.0).clamp(0.0, 999.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rare_is_never_called_impossible() {
        let rows = [
            (0.0, "0 of 10"),
            (0.001, "under 1 in 20"),
            (0.66, "7 of 10"),
            (0.97, "over 19 in 20"),
            (1.0, "10 of 10"),
            (f64::NAN, "0 of 10"),
        ];
        for (share, words) in rows {
            assert_eq!(of_ten(share), words);
        }
        assert_eq!(futures(0.7), "7 of 10 futures");
        assert_eq!(percent(0.416), "42 %");
        assert_eq!(percent(f64::NAN), "? %");
    }
}
