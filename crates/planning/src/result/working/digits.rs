//! How many digits a number is shown with.

use crate::base::wording::trimmed;

/// Figures of a number that is not whole, where no more are needed.
pub(crate) const FEWEST: usize = 4;

/// Decimals of a very small number.
const MOST_DECIMALS: i32 = 12;

/// Places behind the point of a number that is not whole.
pub(crate) fn decimals(value: f64, figures: usize) -> usize {
    let places = value.abs().log10().floor().clamp(-f64::from(MOST_DECIMALS), f64::from(MOST_DECIMALS));
    (figures as f64 - 1.0 - places).clamp(1.0, f64::from(MOST_DECIMALS)) as usize
}

/// A number with so many figures, zeros at the end left out.
pub(crate) fn shown(value: f64, figures: usize) -> String {
    if value.fract() == 0.0 {
        return format!("{:.0}", value + 0.0);
    }
    trimmed(value, decimals(value, figures))
}

#[cfg(test)]
mod tests {
    use crate::result::working::digits::*;

    // Derived: four figures, by hand; zeros at the end say nothing.
    #[test]
    fn numbers_show_four_figures_or_what_there_is() {
        let shown = |value: f64| shown(value, FEWEST);
        assert_eq!(shown(360.0), "360");
        assert_eq!(shown(1234.56), "1234.6");
        assert_eq!(shown(73.25), "73.25");
        assert_eq!(shown(73.2), "73.2");
        assert_eq!(shown(1999.96), "2000");
        assert_eq!(shown(0.012343), "0.01234");
        assert_eq!([shown(0.0), shown(-0.0), shown(-1e-13)], ["0", "0", "0"]);
    }
}
