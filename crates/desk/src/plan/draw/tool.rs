//! The tools, in one table: name, key, what each is for.

use super::outlines::AreaKind;

/// What a click on the plan does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Tool {
    /// Chooses what is drawn, and moves it.
    #[default]
    Select,
    /// Draws the boundary.
    Boundary,
    /// Draws a building or a tank.
    Building,
    /// Draws a deck.
    Deck,
    /// Draws a keep-out.
    KeepOut,
    /// Draws the line of a corridor.
    Line,
    /// Puts the take-off point.
    TakeOff,
    /// Puts further take-off points of the strategy in focus.
    FurtherTakeOff,
    /// Puts a control point.
    ControlPoint,
    /// Cuts a corner out of an outline.
    Cut,
}

/// How an area is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DrawForm {
    /// By two opposite corners.
    Rectangle,
    /// By one side and the width: a rectangle that lies any way.
    Side,
    /// Corner by corner.
    #[default]
    Corners,
    /// By its middle and a place on its edge.
    Circle,
}

/// What is said of a tool.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ToolRow {
    /// The tool.
    pub tool: Tool,
    /// On its button.
    pub name: &'static str,
    /// Its key.
    pub key: char,
    /// What it is for.
    pub hint: &'static str,
}

/// All tools, in the order of the row.
pub const TOOLS: [ToolRow; 10] = [
    row(
        Tool::Select,
        "Select",
        'S',
        "Choose what is drawn; drag its corners, drag it to move it, turn it by its handle",
    ),
    row(
        Tool::Boundary,
        "Boundary",
        'B',
        "Draw the edge of what is to be captured, in place of the present one",
    ),
    row(
        Tool::Building,
        "Building",
        'U',
        "Draw the footprint of a building or a tank; type its height afterwards",
    ),
    row(Tool::Deck, "Deck", 'D', "Draw a bridge or a canopy: a slab above the ground, with an underside"),
    row(Tool::KeepOut, "Keep-out", 'K', "Draw an area that is flown round"),
    row(Tool::Cut, "Cut out", 'X', "Cut a corner out of an outline: from a rectangle an L"),
    row(
        Tool::Line,
        "Corridor",
        'L',
        "Draw the line of a corridor: of the pass that the strategy in focus has, or of a new one",
    ),
    row(Tool::TakeOff, "Take-off", 'T', "Put the place where the aircraft takes off and lands"),
    row(
        Tool::FurtherTakeOff,
        "More take-offs",
        'M',
        "Put further take-off points of the strategy in focus: sorties start where the pilot sees the most of them",
    ),
    row(
        Tool::ControlPoint,
        "Control point",
        'G',
        "Put places that the crew measures; their number follows in the conditions",
    ),
];

const fn row(tool: Tool, name: &'static str, key: char, hint: &'static str) -> ToolRow {
    ToolRow { tool, name, key, hint }
}

/// The ways to draw an area: name, key, what is done.
pub const FORMS: [(DrawForm, &str, char, &str); 4] = [
    (
        DrawForm::Rectangle,
        "Rectangle",
        'R',
        "Two opposite corners, by a drag or two clicks; its sides lie along the screen, along the edge that it begins on, or along \
         an edge chosen by A",
    ),
    (
        DrawForm::Side,
        "Side, width",
        'W',
        "A rectangle that lies any way: both ends of one side, by two clicks or a drag, then the width",
    ),
    (DrawForm::Corners, "Corners", 'P', "Corner by corner; Enter or a click on the first corner closes it"),
    (DrawForm::Circle, "Circle", 'C', "The middle, then the edge: by two clicks or a drag"),
];

/// How each kind of area is drawn: a shape chosen for one does not carry over to the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Forms([DrawForm; 4]);

impl Forms {
    /// Of a kind of area.
    pub(super) fn of(self, area: AreaKind) -> DrawForm {
        self.0[area as usize]
    }

    /// Another one for it.
    pub(super) fn put(&mut self, area: AreaKind, form: DrawForm) {
        self.0[area as usize] = form;
    }
}

impl Tool {
    /// What it draws; nothing for a tool that draws no area.
    pub fn area(self) -> Option<AreaKind> {
        match self {
            Tool::Boundary => Some(AreaKind::Boundary),
            Tool::Building => Some(AreaKind::Building),
            Tool::Deck => Some(AreaKind::Deck),
            Tool::KeepOut => Some(AreaKind::KeepOut),
            Tool::Select
            | Tool::Line
            | Tool::TakeOff
            | Tool::FurtherTakeOff
            | Tool::ControlPoint
            | Tool::Cut => None,
        }
    }

    /// The tool of a key.
    pub fn of_key(letter: char) -> Option<Tool> {
        TOOLS.iter().find(|row| row.key == letter.to_ascii_uppercase()).map(|row| row.tool)
    }
}

impl DrawForm {
    /// The form of a key.
    pub fn of_key(letter: char) -> Option<DrawForm> {
        FORMS.iter().find(|row| row.2 == letter.to_ascii_uppercase()).map(|row| row.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_tools_have_one_key() {
        let keys = TOOLS.iter().map(|row| row.key).chain(FORMS.iter().map(|row| row.2));
        let mut keys: Vec<char> = keys.chain(['A', 'Q', 'E', 'Y']).collect();
        keys.sort_unstable();
        assert!(keys.windows(2).all(|pair| pair[0] != pair[1]), "{keys:?}");
    }
}
