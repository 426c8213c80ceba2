//! Who gives way when the row is narrow.

/// How the right end of the row is shared, in points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RowShares {
    /// For the strategy in focus.
    pub chooser: f32,
    /// For the scenario's name and what is being worked out.
    pub place: f32,
}

/// The shares of a window of this width.
pub fn share(width: f32) -> RowShares {
    let (chooser, place) = match width {
        w if w >= 1500.0 => (230.0, 210.0),
        w if w >= 1320.0 => (200.0, 150.0),
        w if w >= 1200.0 => (182.0, 124.0),
        w if w >= 900.0 => (160.0, 110.0),
        w if w >= 600.0 => (128.0, 84.0),
        _ => (104.0, 44.0),
    };
    RowShares { chooser, place }
}

/// Which items of a row stand in it, in order: all of them where they fit; else those from the left that leave room for
/// the button with the rest, and always the one that is shown.
///
/// # Units
/// - `widths`, `room`, `more`: points
pub fn standing(widths: &[f32], shown: Option<usize>, room: f32, more: f32) -> Vec<usize> {
    if widths.iter().sum::<f32>() <= room {
        return (0..widths.len()).collect();
    }
    let kept = shown.and_then(|at| widths.get(at)).copied().unwrap_or(0.0);
    let mut left = room - more - kept;
    let mut stand = Vec::new();
    for (at, width) in widths.iter().enumerate() {
        if Some(at) == shown {
            continue;
        }
        left -= width;
        if left < 0.0 {
            break;
        }
        stand.push(at);
    }
    stand.extend(shown.filter(|at| *at < widths.len()));
    stand.sort_unstable();
    stand
}

#[cfg(test)]
mod tests {
    use super::*;

    // Derived: by hand.
    #[test]
    fn all_stand_where_all_fit() {
        assert_eq!(standing(&[10.0, 10.0, 10.0], Some(1), 30.0, 20.0), [0, 1, 2]);
    }

    // Derived: by hand: 45 − 15 for the button leaves 30, of which the one shown takes 10.
    #[test]
    fn the_one_shown_always_stands() {
        assert_eq!(standing(&[10.0; 6], Some(4), 45.0, 15.0), [0, 1, 4]);
        assert_eq!(standing(&[10.0; 6], Some(0), 45.0, 15.0), [0, 1, 2]);
        assert_eq!(standing(&[10.0; 6], None, 45.0, 15.0), [0, 1, 2]);
        assert_eq!(standing(&[10.0; 6], Some(5), 5.0, 15.0), [5], "even where it is cut");
    }

    // Derived: the rule itself, over every room.
    #[test]
    fn no_room_is_overdrawn_and_more_room_never_shows_less() {
        let widths = [36.0, 27.0, 18.0, 64.0, 54.0, 44.0, 29.0, 24.0, 68.0];
        let mut before = 0;
        for room in (150..420).map(|room| room as f32) {
            let stand = standing(&widths, Some(7), room, 60.0);
            let used: f32 = stand.iter().map(|at| widths[*at]).sum();
            let more = if stand.len() < widths.len() { 60.0 } else { 0.0 };
            assert!(used + more <= room, "{room}");
            assert!(stand.len() >= before, "{room}");
            before = stand.len();
        }
        assert_eq!(before, widths.len());
    }
}
