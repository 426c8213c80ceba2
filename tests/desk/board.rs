use crate::made_up::{self, CROSSED, FIVE, NADIR};
use obliquity::board::{Bar, Board, Standing, Verdict};
use obliquity::figures::{Figures, Freshness};
use obliquity::worker::Report;
use obliquity_planning::{Depth, Scenario};
use std::sync::Arc;

pub fn known(scenario: &Arc<Scenario>) -> Figures {
    let mut figures = Figures::default();
    figures.follow(scenario, &|scenario, id| Ok(made_up::outcome(scenario, id, Depth::Quick)));
    for id in [NADIR, CROSSED, FIVE] {
        let outcome = Box::new(made_up::outcome(scenario, id, Depth::Views));
        figures.take(Report::Done { scenario: Arc::clone(scenario), outcome });
    }
    figures
}

#[test]
fn look() {
    let scenario = Arc::new(made_up::scenario());
    let board = Board::new(&scenario, &known(&scenario));
    for (name, w, h, s, mode) in [("a", 1280, 800, 1.0, obliquity::theme::Mode::Light), ("b", 1920, 1080, 1.0, obliquity::theme::Mode::Dark)] {
        let canvas = obliquity::picture::Canvas { width_px: w, height_px: h, pixels_per_point: s, mode };
        let image = obliquity::picture::draw(&canvas, |ui| {
            obliquity::board::ui(ui, &board, None, &mut Vec::new());
        });
        std::fs::write(format!("/tmp/look-{name}.png"), obliquity::picture::png_bytes(&image).unwrap()).unwrap();
    }
}
