//! How far a guess is off: as a factor, in points of a share, or as an amount.

use crate::base::{Unit, Units};
use crate::lesson::asked::{Asked, AskedOf};
use serde::{Deserialize, Serialize};

/// How far off a guess may be and still count as near.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Tolerance {
    /// Percentage points, of shares and differences of them.
    Points(f64),
    /// A factor above 1, of what has a natural zero: times, images, ratios.
    Factor(f64),
    /// An amount in the figure's unit as it is stored, of differences and of money.
    Within(f64),
}

/// How far a guess is from the figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum GuessOff {
    /// Percentage points; more than 0 where too much was guessed.
    Points(f64),
    /// The guess over the figure; more than 1 where too much was guessed.
    Factor(f64),
    /// In the figure's unit as it is stored; more than 0 where too much was guessed.
    Amount(f64),
}

/// By what errors of a figure are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum OffBy {
    Points,
    Factor,
    Amount,
}

fn off_by(asked: &Asked, unit: Unit) -> OffBy {
    match (asked.of, unit) {
        (AskedOf::Ratio { .. }, _) => OffBy::Factor,
        (_, Unit::Share) => OffBy::Points,
        // what a job leaves may be below nothing, as a difference may: no factor tells how far off that is
        (AskedOf::Difference { .. }, _) | (_, Unit::Money | Unit::MoneyPerHectare) => OffBy::Amount,
        (AskedOf::Strategy(_), _) => OffBy::Factor,
    }
}

impl Tolerance {
    /// The usual one of what is asked: 10 points, a factor of 1.25, 5 minutes, 100 of money, or one of the unit that it is shown in.
    ///
    /// # References
    /// Common practice, no source.
    pub fn usual(asked: &Asked, unit: Unit) -> Tolerance {
        match off_by(asked, unit) {
            OffBy::Points => Tolerance::Points(10.0),
            OffBy::Factor => Tolerance::Factor(1.25),
            OffBy::Amount if unit == Unit::Seconds => Tolerance::Within(300.0),
            OffBy::Amount if unit == Unit::Money => Tolerance::Within(100.0),
            OffBy::Amount => Tolerance::Within(Units::Metric.scale(unit).stored_per_shown),
        }
    }

    /// The same kind with another number.
    ///
    /// # Units
    /// - `number`: percentage points, a factor, or the figure's own unit, as its kind has it
    #[must_use]
    pub fn with(self, number: f64) -> Tolerance {
        match self {
            Tolerance::Points(_) => Tolerance::Points(number),
            Tolerance::Factor(_) => Tolerance::Factor(number),
            Tolerance::Within(_) => Tolerance::Within(number),
        }
    }

    /// Its number.
    ///
    /// # Units
    /// - returns: percentage points, a factor, or the figure's own unit, as its kind has it
    pub fn number(self) -> f64 {
        let (Tolerance::Points(number) | Tolerance::Factor(number) | Tolerance::Within(number)) = self;
        number
    }

    /// Why it cannot be that of what is asked.
    pub(in crate::lesson) fn refusal(self, asked: &Asked, unit: Unit) -> Option<String> {
        let needed = match off_by(asked, unit) {
            OffBy::Points => "Points(10.0), percentage points above 0 and at most 100",
            OffBy::Factor => "Factor(1.25), above 1 and at most 100",
            OffBy::Amount => "Within(300.0), above 0, in the figure's unit as files have it",
        };
        let is_fit = match (off_by(asked, unit), self) {
            (OffBy::Points, Tolerance::Points(points)) => points > 0.0 && points <= 100.0,
            (OffBy::Factor, Tolerance::Factor(factor)) => factor > 1.0 && factor <= 100.0,
            (OffBy::Amount, Tolerance::Within(amount)) => amount > 0.0 && amount.is_finite(),
            _ => false,
        };
        let got = self.number();
        let name = match self {
            Tolerance::Points(_) => "Points",
            Tolerance::Factor(_) => "Factor",
            Tolerance::Within(_) => "Within",
        };
        (!is_fit).then(|| {
            format!("the tolerance of this figure must be as {needed}, but it is {name}({got}); write that")
        })
    }
}

impl GuessOff {
    /// How far a guess is off.
    ///
    /// A factor where both are above zero and the figure has a natural zero, points of shares, otherwise the difference.
    ///
    /// # Units
    /// - `guess`, `figure`: the measure's own as it is stored
    pub fn of(asked: &Asked, unit: Unit, guess: f64, figure: f64) -> GuessOff {
        match off_by(asked, unit) {
            OffBy::Points => GuessOff::Points(100.0 * (guess - figure)),
            OffBy::Factor if guess > 0.0 && figure > 0.0 => GuessOff::Factor(guess / figure),
            OffBy::Factor | OffBy::Amount => GuessOff::Amount(guess - figure),
        }
    }

    /// Whether it counts as near.
    pub fn is_within(self, tolerance: Tolerance) -> bool {
        match (self, tolerance) {
            (GuessOff::Points(points), Tolerance::Points(most)) => points.abs() <= most + 1e-9,
            (GuessOff::Factor(factor), Tolerance::Factor(most)) => {
                factor.max(factor.recip()) <= most * (1.0 + 1e-9)
            }
            (GuessOff::Amount(amount), Tolerance::Within(most)) => amount.abs() <= most * (1.0 + 1e-9),
            // A guess of none, or of a figure that is none: only the very thing is near.
            (GuessOff::Amount(amount), _) => amount == 0.0,
            _ => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::base::{Id, Unit};
    use crate::lesson::*;

    fn asked(of: AskedOf) -> Asked {
        Asked { measure: "time_on_site_s".to_owned(), of }
    }

    /// Derived: a guess of half and one of double are off by the same factor; shares are told in points.
    #[test]
    fn errors_are_factors_of_times_and_points_of_shares() {
        let one = asked(AskedOf::Strategy(Id(1)));
        for guess in [50.0, 200.0] {
            let off = GuessOff::of(&one, Unit::Seconds, guess, 100.0);
            assert!(off.is_within(Tolerance::Factor(2.0)) && !off.is_within(Tolerance::Factor(1.99)));
        }
        let off = GuessOff::of(&one, Unit::Share, 0.6, 0.715);
        assert!(matches!(off, GuessOff::Points(points) if (points + 11.5).abs() < 1e-9), "{off:?}");
        assert!(off.is_within(Tolerance::Points(11.5)) && !off.is_within(Tolerance::Points(11.4)));
        let less = asked(AskedOf::Difference { of: Id(1), less: Id(2) });
        assert_eq!(GuessOff::of(&less, Unit::Seconds, -60.0, 30.0), GuessOff::Amount(-90.0));
        assert_eq!(GuessOff::of(&one, Unit::Count, 0.0, 30.0), GuessOff::Amount(-30.0));
        assert!(!GuessOff::Amount(-30.0).is_within(Tolerance::Factor(100.0)));
    }

    #[test]
    fn a_tolerance_is_of_the_kind_that_the_figure_has() {
        let one = asked(AskedOf::Strategy(Id(1)));
        let ratio = asked(AskedOf::Ratio { of: Id(1), over: Id(2) });
        let less = asked(AskedOf::Difference { of: Id(1), less: Id(2) });
        assert_eq!(Tolerance::Points(5.0).refusal(&one, Unit::Share), None);
        assert_eq!(Tolerance::Factor(1.5).refusal(&ratio, Unit::Share), None);
        assert_eq!(Tolerance::Within(60.0).refusal(&less, Unit::Seconds), None);
        for (wrong, of, unit) in [
            (Tolerance::Factor(1.5), &one, Unit::Share),
            (Tolerance::Points(5.0), &one, Unit::Count),
            (Tolerance::Factor(1.0), &one, Unit::Count),
            (Tolerance::Points(0.0), &one, Unit::Share),
            (Tolerance::Within(f64::INFINITY), &less, Unit::Seconds),
        ] {
            let told = wrong.refusal(of, unit).expect("refused");
            assert!(told.contains("must be as") && told.contains("write that"), "{told}");
        }
        for (of, unit) in
            [(&one, Unit::Share), (&ratio, Unit::Count), (&less, Unit::Seconds), (&one, Unit::Hours)]
        {
            assert_eq!(Tolerance::usual(of, unit).refusal(of, unit), None);
        }
    }
}
