//! Tests of the program.
#![expect(clippy::unwrap_used, clippy::expect_used, reason = "a test fails where it cannot go on")]
#![expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "made-up numbers are small")]

mod board;
mod card;
mod command_line;
mod comparing;
mod conditions;
mod document;
mod equipment;
mod files;
mod first_use;
mod made_up;
mod opened;
mod passes;
mod pictures;
mod plan;
mod preferences;
mod raster;
mod requirement;
mod site;
mod space;
mod strategies;
mod timeline;
mod units;
mod walls;
mod window;
mod worker;
