use super::model::{Card, CardFigure};
use super::words::{WIDTH, wrapped};
use obliquity_planning::{Caution, CautionSource, Severity};
use std::fmt::Write;

/// Width of the labels' column.
const LABEL: usize = 22;

/// Longest line of a figure, behind the margin.
const LONGEST: usize = 138;

/// The card as plain text.
pub(super) fn text(card: &Card) -> String {
    let mut page = Page::default();
    page.title(&format!("{}{}", super::HEADING, card.strategy));
    page.line("scenario", &card.scenario);
    page.line("site", &card.site);
    page.line("aircraft", &card.aircraft);
    for reason in &card.reasons {
        page.line("CANNOT BE FLOWN", reason);
    }
    for pass in &card.passes {
        page.title(&pass.title);
        page.figures(&pass.listed);
        if let Some(reason) = &pass.refused {
            page.line("LEFT OUT", reason);
        }
        page.figures(pass.to_key_in.iter().chain(&pass.cameras).chain(&pass.follows));
    }
    if card.reasons.is_empty() {
        page.what_it_takes(card);
    }
    page.text.push('\n');
    for line in wrapped(&card.closing, WIDTH) {
        let _ = writeln!(page.text, "{line}");
    }
    page.text
}

/// Where a caution comes from.
pub(super) fn source(caution: &Caution) -> String {
    match caution.source {
        CautionSource::Rule(citation) => format!("rule: {citation}"),
        source => source.text().to_owned(),
    }
}

/// The text as it grows.
#[derive(Default)]
struct Page {
    text: String,
}

impl Page {
    /// What is keyed in once, what is on hand, the time, the controller's report and the cautions.
    fn what_it_takes(&mut self, card: &Card) {
        self.title(super::ONCE);
        self.figures(&card.set_once);
        self.figures(&card.take_offs);
        self.title(super::DAY);
        self.figures(&card.day);
        self.title(super::LEAVING);
        self.figures(&card.on_hand);
        for sortie in &card.sorties {
            let figure = sortie.figure();
            self.line(&figure.label, &figure.sentence());
        }
        self.figures(&card.surroundings);
        self.title(super::STAY);
        self.figures(&card.time);
        self.title(super::REPORTED);
        for row in &card.reports {
            let reported = row.reported.as_deref().unwrap_or("____________");
            let difference = row.difference.as_ref().map_or_else(String::new, |text| format!(", {text}"));
            self.line(row.label, &format!("{reported}, predicted here {}{difference}", row.predicted));
        }
        self.title(super::CAUTIONS);
        for caution in &card.cautions {
            let mark = match caution.severity {
                Severity::Limit => "!!",
                Severity::Check => "! ",
                Severity::Reminder => "- ",
            };
            self.paragraph(mark, &format!("{} [{}]", caution.text, source(caution)));
        }
    }

    fn title(&mut self, title: &str) {
        let gap = if self.text.is_empty() { "" } else { "\n" };
        // Writing to a string cannot fail.
        let _ = writeln!(self.text, "{gap}{title}");
    }

    fn line(&mut self, label: &str, value: &str) {
        let mut label = label;
        for line in wrapped(value, LONGEST - LABEL) {
            let _ = writeln!(self.text, "  {label:<LABEL$}{line}");
            label = "";
        }
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
