//! The steps that edits made of something: taken back, brought back, and counted.

/// Steps that can be undone; older ones are forgotten.
const MOST_STEPS: usize = 500;

/// Steps made of states `S`; `K` tells one gesture from the next.
#[derive(Debug, Clone)]
pub(crate) struct History<S, K> {
    past: Vec<Step<S>>,
    future: Vec<Step<S>>,
    gesture: Option<K>,
    edits: u32,
}

/// What it was called and the state on its far side.
#[derive(Debug, Clone)]
struct Step<S> {
    label: String,
    state: S,
}

impl<S, K: PartialEq> History<S, K> {
    /// None yet, of something that differs by so many edits from what is saved.
    pub(crate) fn after(edits: u32) -> Self {
        History { past: Vec::new(), future: Vec::new(), gesture: None, edits }
    }

    /// Steps made, taken back and brought back since it was read or last saved.
    pub(crate) fn edits(&self) -> u32 {
        self.edits
    }

    /// Notes an edit: a step of its own, unless it goes on with the gesture of the one before.
    pub(crate) fn note(&mut self, before: S, key: Option<K>, label: impl FnOnce(&S) -> String) {
        if key.is_none() || self.gesture != key || self.past.is_empty() {
            self.past.push(Step { label: label(&before), state: before });
            self.edits = self.edits.saturating_add(1);
            let surplus = self.past.len().saturating_sub(MOST_STEPS);
            self.past.drain(..surplus);
        }
        self.gesture = key;
        self.future.clear();
    }

    /// Makes the last step a part of the one before.
    pub(crate) fn join_last(&mut self) {
        self.past.pop();
    }

    /// The state before the gesture, which is then forgotten.
    pub(crate) fn abandon_gesture(&mut self) -> Option<S> {
        self.gesture.take()?;
        self.past.pop().map(|step| step.state)
    }

    /// Whether edits have been made since the last gesture ended.
    pub(crate) fn in_gesture(&self) -> bool {
        self.gesture.is_some()
    }

    /// Ends a gesture: the next edit is a step of its own.
    pub(crate) fn end_gesture(&mut self) {
        self.gesture = None;
    }

    /// What undo would take back.
    pub(crate) fn undo_label(&self) -> Option<&str> {
        self.past.last().map(|step| step.label.as_str())
    }

    /// What redo would bring back.
    pub(crate) fn redo_label(&self) -> Option<&str> {
        self.future.last().map(|step| step.label.as_str())
    }

    /// Takes the last step back; does nothing at the beginning.
    pub(crate) fn undo(&mut self, state: &mut S) {
        self.end_gesture();
        if let Some(Step { label, state: before }) = self.past.pop() {
            self.edits = self.edits.saturating_add(1);
            self.future.push(Step { label, state: std::mem::replace(state, before) });
        }
    }

    /// Brings the last step back that was undone; does nothing at the end.
    pub(crate) fn redo(&mut self, state: &mut S) {
        self.end_gesture();
        if let Some(Step { label, state: after }) = self.future.pop() {
            self.edits = self.edits.saturating_add(1);
            self.past.push(Step { label, state: std::mem::replace(state, after) });
        }
    }

    /// Ends a gesture and counts anew: so many edits lie between what is saved and what stands.
    pub(crate) fn saved(&mut self, edits: u32) {
        self.edits = edits;
        self.end_gesture();
    }

    /// All states that undo and redo may bring back.
    pub(crate) fn states_mut(&mut self) -> impl Iterator<Item = &mut S> {
        self.past.iter_mut().chain(&mut self.future).map(|step| &mut step.state)
    }
}
