//! A diagram on the clipboard: the right button on one offers its picture, which is cut out of the window once the menu has
//! gone.

use egui::{Context, Id, Rect, Response};

fn due() -> Id {
    Id::unique("what is copied")
}

/// Offers a picture of something drawn, `name` as in "view angles of the walls"; with it goes all of `area`.
pub(crate) fn offer(response: &Response, area: Rect, name: &str) {
    response.container_context_menu(|ui| {
        if ui.button(format!("Copy picture: {name}")).clicked() {
            ui.data_mut(|data| data.insert_temp(due(), Some(area)));
            ui.close();
        }
    });
}

/// What was asked for since the last call.
pub(crate) fn take(ctx: &Context) -> Option<Rect> {
    ctx.data_mut(|data| data.remove_temp::<Option<Rect>>(due()).flatten())
}
