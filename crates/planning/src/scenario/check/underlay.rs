use crate::base::limits;
use crate::scenario::faults::Checker;
use crate::scenario::{Underlay, UnderlayFrame};

pub(super) fn check(check: &mut Checker, underlay: &Underlay) {
    let name = underlay.file.trim();
    let is_path = name.contains(['/', '\\', ':']) || name == "." || name == "..";
    if name.is_empty() || is_path || underlay.file.chars().count() > limits::NAME_CHARS {
        check.fault(
            "underlay.file",
            format!(
                "the picture must be named without folders, in at most {} characters, but it is {:?}; put it beside the \
                 scenario and write its name alone",
                limits::NAME_CHARS,
                shortened(&underlay.file)
            ),
        );
    }
    for (field, pixels) in [("columns", underlay.columns), ("rows", underlay.rows)] {
        if !(1..=limits::UNDERLAY_SIDE_PX).contains(&pixels) {
            check.fault(
                format!("underlay.{field}"),
                format!(
                    "a picture must have from 1 to {} {field}, but this has {pixels}; choose the picture again",
                    limits::UNDERLAY_SIDE_PX
                ),
            );
        }
    }
    if let UnderlayFrame::UtmNorth { zone } | UnderlayFrame::UtmSouth { zone } = underlay.coordinates
        && !(1..=60).contains(&zone)
    {
        let told = format!("a UTM zone must be from 1 to 60, but it is {zone}; choose the picture again");
        check.fault("underlay.coordinates", told);
    }
    check.number("underlay.opacity", underlay.opacity, limits::OPACITY);
    let all = [underlay.first, underlay.right, underlay.down];
    let has_area = underlay.right.perp_dot(underlay.down).is_normal();
    if !(all.iter().all(|numbers| numbers.is_finite()) && has_area) {
        let told = "the pixels of a picture must lie somewhere and have a size, but these do not; choose the picture again";
        check.fault("underlay.right", told);
    }
}

fn shortened(text: &str) -> String {
    text.chars().take(40).collect()
}
