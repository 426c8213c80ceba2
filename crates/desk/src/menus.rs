//! What stands in a menu: in a small or an enlarged window it may be taller than all of it, and is scrolled then.

use crate::theme::space;
use egui::{Id, ScrollArea, Ui};

/// Puts a menu's items so that the menu stays within the window; what the keys reach is scrolled to.
pub(crate) fn items<R>(ui: &mut Ui, content: impl FnOnce(&mut Ui) -> R) -> R {
    let most = ui.ctx().content_rect().height() - 2.0 * space::PAGE;
    let area = ScrollArea::vertical().max_height(most).min_scrolled_height(most);
    area.show(ui, |ui| {
        let given = content(ui);
        follow_focus(ui);
        given
    })
    .inner
}

fn follow_focus(ui: &Ui) {
    let known = ui.scope_id().with("focused item");
    let focused = ui.memory(egui::Memory::focused);
    let before = ui.data_mut(|data| data.get_temp::<Option<Id>>(known).flatten());
    if focused == before {
        return;
    }
    ui.data_mut(|data| data.insert_temp(known, focused));
    let item = focused.and_then(|id| ui.ctx().read_response(id));
    if let Some(item) = item.filter(|item| item.layer_id == ui.layer_id()) {
        ui.scroll_to_rect(item.rect, None);
    }
}
