/// The shortest part of a stay that is shown.
const SHORTEST_S: f64 = 10.0;

/// The part of a stay that is looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Since the arrival.
    pub from_s: f64,
    /// Since the arrival.
    pub to_s: f64,
}

impl Stretch {
    /// All of a stay.
    pub fn whole(end_s: f64) -> Self {
        Stretch { from_s: 0.0, to_s: end_s.max(SHORTEST_S) }
    }

    /// How much is shown.
    pub fn length_s(&self) -> f64 {
        self.to_s - self.from_s
    }

    /// As share of what is shown: 0 at its left end, 1 at its right.
    pub fn share(&self, at_s: f64) -> f64 {
        (at_s - self.from_s) / self.length_s()
    }

    /// The instant at a share of what is shown.
    pub fn at_s(&self, share: f64) -> f64 {
        self.from_s + share * self.length_s()
    }

    /// Shows `factor` times as little; what is at `at_s` stays where it is, as far as the stay's ends allow.
    #[must_use]
    pub fn zoomed(&self, factor: f64, at_s: f64, end_s: f64) -> Self {
        let length_s = (self.length_s() / factor).clamp(SHORTEST_S, end_s.max(SHORTEST_S));
        let from_s = at_s - self.share(at_s) * length_s;
        Stretch { from_s, to_s: from_s + length_s }.within(end_s)
    }

    /// Moves it, as far as the stay's ends allow.
    #[must_use]
    pub fn moved(&self, by_s: f64, end_s: f64) -> Self {
        Stretch { from_s: self.from_s + by_s, to_s: self.to_s + by_s }.within(end_s)
    }

    /// Moved just so far that an instant is seen.
    #[must_use]
    pub fn showing(&self, at_s: f64, end_s: f64) -> Self {
        let by_s = (at_s - self.to_s).max(0.0) + (at_s - self.from_s).min(0.0);
        self.moved(by_s, end_s)
    }

    /// Within a stay, which may have become shorter.
    #[must_use]
    pub fn within(&self, end_s: f64) -> Self {
        let end_s = end_s.max(SHORTEST_S);
        let length_s = self.length_s().min(end_s);
        let from_s = self.from_s.clamp(0.0, end_s - length_s);
        Stretch { from_s, to_s: from_s + length_s }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Derived: by hand.
    #[test]
    fn what_is_zoomed_at_stays_and_the_ends_hold() {
        let whole = Stretch::whole(1000.0);
        let near = whole.zoomed(4.0, 200.0, 1000.0);
        assert_eq!(near, Stretch { from_s: 150.0, to_s: 400.0 });
        assert_eq!(near.moved(-900.0, 1000.0), Stretch { from_s: 0.0, to_s: 250.0 });
        assert_eq!(near.moved(900.0, 1000.0), Stretch { from_s: 750.0, to_s: 1000.0 });
        assert_eq!(near.zoomed(0.1, 300.0, 1000.0), whole);
        assert_eq!(whole.zoomed(1e9, 500.0, 1000.0).length_s(), SHORTEST_S);
        assert_eq!(near.showing(500.0, 1000.0), Stretch { from_s: 250.0, to_s: 500.0 });
        assert_eq!(near.within(300.0), Stretch { from_s: 50.0, to_s: 300.0 });
    }
}
