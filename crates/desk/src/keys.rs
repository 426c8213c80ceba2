//! Keys as often as they were pressed, and in their order: on a slow machine several come between two frames.

use egui::{Event, Key, Modifiers, Ui};

/// Of some keys, those pressed since the last frame, each as often as it was, in their order; nothing else hears them. Held
/// keys other than Shift and Alt make another key of it.
pub(crate) fn taken(ui: &Ui, keys: &[Key]) -> Vec<Key> {
    let mut taken = Vec::new();
    ui.input_mut(|input| {
        input.events.retain(|event| {
            let &Event::Key { key, pressed: true, modifiers, .. } = event else { return true };
            let is_meant = keys.contains(&key) && modifiers.matches_logically(Modifiers::NONE);
            taken.extend(is_meant.then_some(key));
            !is_meant
        });
    });
    taken
}

/// How often a key was pressed with others since the last frame; nothing else hears it.
pub(crate) fn times(ui: &Ui, modifiers: Modifiers, key: Key) -> usize {
    ui.input_mut(|input| input.count_and_consume_key(modifiers, key))
}
