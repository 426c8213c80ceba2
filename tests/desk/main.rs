//! Tests of the program.
#![expect(clippy::unwrap_used, clippy::expect_used, reason = "a test fails where it cannot go on")]
#![expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "made-up numbers are small")]

mod best;
mod block;
mod board;
mod card;
mod clicker;
mod command_line;
mod commands;
mod comparing;
mod conditions;
mod contrast;
mod curves;
mod document;
mod drawing;
mod drawing_screen;
mod drawn;
mod entry;
mod equipment;
mod extremes;
mod files;
mod first_use;
mod folders;
mod footprints;
mod frames;
#[path = "../planning/generate.rs"]
#[allow(dead_code, reason = "shared with the tests of planning, which use more of it")]
mod generate;
mod jobs;
mod layout;
mod lesson;
mod lesson_making;
mod logs;
mod made_up;
mod measures;
mod menus;
mod new_site;
mod opened;
mod passes;
mod pictures;
mod plan;
mod preferences;
mod purchase;
mod raster;
mod read_back;
mod reading;
mod recomputing;
mod requirement;
#[path = "../planning/scene.rs"]
#[allow(dead_code, reason = "shared with the tests of planning, which use more of it")]
mod scene;
mod screens;
mod searching;
mod section_screen;
mod site;
#[path = "../planning/sources.rs"]
mod sources;
mod space;
mod strategies;
mod timeline;
mod underlay;
mod units;
mod unsaved;
mod walls;
mod window;
mod words;
mod workings;
