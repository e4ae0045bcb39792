//! Preferred values of resistors and capacitors, after IEC 60063:2015, "Preferred number series for resistors and capacitors".

/// A series of preferred values.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Series {
    /// 3 values a decade.
    E3,
    /// 6, for tolerances of 20 %.
    E6,
    /// 12, for 10 %.
    E12,
    /// 24, for 5 %.
    E24,
    /// 48, for 2 %.
    E48,
    /// 96, for 1 %.
    E96,
    /// 192, for 0.5 % and less.
    E192,
}

/// The 24 values, in tenths. They follow no formula: eight of them differ from rounded powers.
const E24: [u32; 24] = [10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91];

impl Series {
    /// The series whose steps fit a tolerance in percent: neighbors of one overlap just about.
    pub fn for_tolerance(percent: f64) -> Self {
        match percent {
            p if p >= 40.0 => Series::E3,
            p if p >= 20.0 => Series::E6,
            p if p >= 10.0 => Series::E12,
            p if p >= 5.0 => Series::E24,
            p if p >= 2.0 => Series::E48,
            p if p >= 1.0 => Series::E96,
            _ => Series::E192,
        }
    }

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Series::E3 => "E3",
            Series::E6 => "E6",
            Series::E12 => "E12",
            Series::E24 => "E24",
            Series::E48 => "E48",
            Series::E96 => "E96",
            Series::E192 => "E192",
        }
    }

    /// Its values from 100 to 999.
    pub fn hundreds(self) -> Vec<u32> {
        let every = |step: usize| E24.iter().step_by(step).map(|value| value * 10).collect();
        // Three figures of 10^(i/n), rounded; the one exception, in E192, is from memory.
        let rounded = |count: u32| {
            (0..count)
                .map(|i| (10f64.powf(f64::from(i) / f64::from(count)) * 100.0).round() as u32)
                .map(|value| if value == 919 { 920 } else { value })
                .collect()
        };
        match self {
            Series::E3 => every(8),
            Series::E6 => every(4),
            Series::E12 => every(2),
            Series::E24 => every(1),
            Series::E48 => rounded(48),
            Series::E96 => rounded(96),
            Series::E192 => rounded(192),
        }
    }

    /// The values nearest to a positive number, by ratio, nearest first.
    pub fn nearest(self, value: f64, count: usize) -> Vec<f64> {
        if !(value.is_finite() && value > 0.0) {
            return Vec::new();
        }
        let decade = value.log10().floor();
        let mut all: Vec<f64> = [-1.0, 0.0, 1.0]
            .iter()
            .flat_map(|shift| {
                // Divided or multiplied by a whole power, so that 4.7 stays 4.7.
                let exponent = (decade + shift) as i32 - 2;
                self.hundreds().into_iter().map(move |own| {
                    if exponent < 0 {
                        f64::from(own) / 10f64.powi(-exponent)
                    } else {
                        f64::from(own) * 10f64.powi(exponent)
                    }
                })
            })
            .collect();
        all.sort_by(|a, b| (a / value).ln().abs().total_cmp(&(b / value).ln().abs()));
        all.truncate(count);
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// IEC 60063:2015: the tables of E6, E12 and E24; the counts; E24 differs from its formula at eight places; E3 in E6 in E12 in E24, and E48 in
    /// E96 in E192.
    #[test]
    fn tables_of_the_standard() {
        assert_eq!(Series::E6.hundreds(), [100, 150, 220, 330, 470, 680]);
        assert_eq!(Series::E12.hundreds(), [100, 120, 150, 180, 220, 270, 330, 390, 470, 560, 680, 820]);
        let off =
            (0..24).filter(|i| (10f64.powf(f64::from(*i) / 24.0) * 10.0).round() as u32 != E24[*i as usize]).count();
        assert_eq!(off, 8);
        for (series, count) in [(Series::E3, 3), (Series::E48, 48), (Series::E96, 96), (Series::E192, 192)] {
            assert_eq!(series.hundreds().len(), count);
        }
        assert!(Series::E192.hundreds().contains(&920) && !Series::E192.hundreds().contains(&919));
        let within = |a: Series, b: Series| a.hundreds().iter().all(|value| b.hundreds().contains(value));
        assert!(within(Series::E3, Series::E6) && within(Series::E6, Series::E12) && within(Series::E12, Series::E24));
        assert!(within(Series::E48, Series::E96) && within(Series::E96, Series::E192));
        // 4.75 is an E96 value where E24 has 4.7.
        assert!(Series::E96.hundreds().contains(&475) && !Series::E96.hundreds().contains(&470));
    }

    #[test]
    fn nearest_by_ratio() {
        assert_eq!(Series::E12.nearest(4.6, 2), [4.7, 3.9]);
        assert_eq!(Series::E24.nearest(0.95, 2), [0.91, 1.0]);
        assert_eq!(Series::E6.nearest(1e6, 1), [1e6]);
        assert!(Series::E6.nearest(0.0, 1).is_empty());
    }
}
