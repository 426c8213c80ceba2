use super::model::{Card, CardFigure};
use super::words::{WIDTH, wrapped};
use obliquity_planning::{CautionSource, Severity};
use std::fmt::Write;

/// Width of the labels' column.
const LABEL: usize = 18;

/// The card as plain text.
pub(super) fn text(card: &Card) -> String {
    let mut page = Page::default();
    page.title(&format!("Set-up card: {}", card.strategy));
    page.line("scenario", &card.scenario);
    page.line("site", &card.site);
    page.line("aircraft", &card.aircraft);
    for reason in &card.reasons {
        page.line("CANNOT BE FLOWN", reason);
    }
    for pass in &card.passes {
        page.title(&pass.title);
        if let Some(reason) = &pass.refused {
            page.line("LEFT OUT", reason);
        }
        page.figures(pass.to_key_in.iter().chain(&pass.cameras).chain(&pass.follows));
    }
    page.title("Before you leave");
    page.figures(&card.on_hand);
    page.figures(&card.surroundings);
    page.title("Time on site");
    page.figures(&card.time);
    page.title("What the controller reports");
    for row in &card.reports {
        let reported = row.reported.as_deref().unwrap_or("____________");
        let difference = row.difference.as_ref().map_or_else(String::new, |text| format!(", {text}"));
        page.line(row.label, &format!("{reported}, predicted here {}{difference}", row.predicted));
    }
    page.title("Cautions");
    for caution in &card.cautions {
        let mark = match caution.severity {
            Severity::Limit => "!!",
            Severity::Check => "! ",
            Severity::Reminder => "- ",
        };
        let source = match caution.source {
            CautionSource::Rule(citation) => format!("rule: {citation}"),
            source => source.text().to_owned(),
        };
        page.paragraph(mark, &format!("{} [{source}]", caution.text));
    }
    page.text.push('\n');
    for line in wrapped(card.closing, WIDTH) {
        let _ = writeln!(page.text, "{line}");
    }
    page.text
}

/// The text as it grows.
#[derive(Default)]
struct Page {
    text: String,
}

impl Page {
    fn title(&mut self, title: &str) {
        let gap = if self.text.is_empty() { "" } else { "\n" };
        // Writing to a string cannot fail.
        let _ = writeln!(self.text, "{gap}{title}");
    }

    fn line(&mut self, label: &str, value: &str) {
        let _ = writeln!(self.text, "  {label:<LABEL$}{value}");
    }

    fn figures<'a>(&mut self, figures: impl IntoIterator<Item = &'a CardFigure>) {
        for figure in figures {
            self.line(&figure.label, &figure.sentence());
        }
    }

    fn paragraph(&mut self, mark: &str, text: &str) {
        for (index, line) in wrapped(text, WIDTH).into_iter().enumerate() {
            let mark = if index == 0 { mark } else { " " };
            let _ = writeln!(self.text, "  {mark} {line}");
        }
    }
}
