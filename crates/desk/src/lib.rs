//! The program: what the crates below it work out, on a screen, on the command line and as pictures.
//!
//! The window is a view of one [`document::Document`]; it changes only through [`document::Edit`]s. What takes
//! long is one of its [`jobs::Jobs`]; [`figures::Figures`] keeps what is known and from which scenario. The
//! [`board::Board`] is a view-model without egui; drawing it is apart. [`obliquity_raster`] draws any screen without a display.

pub mod amendment;
pub mod app;
pub mod beside;
pub mod board;
pub mod canvas;
pub mod card;
mod caution_mark;
pub mod cautions;
mod chart;
pub mod chart_files;
mod choices;
pub mod cli;
pub mod clock;
pub mod commands;
pub mod conditions;
mod copied;
pub mod corner_advice;
pub mod dialogs;
pub mod document;
pub mod drawn_edits;
pub mod engine;
pub mod equipment;
pub mod figures;
pub mod files;
pub mod first_use;
pub mod footprints;
pub mod form;
mod handle;
pub mod inputs;
pub mod jobs;
pub mod keeping;
mod keys;
pub mod long;
pub mod mark;
mod menus;
pub mod new_site;
mod opens;
pub mod passes;
pub mod passing;
pub mod picture;
pub mod placing;
pub mod plan;
pub mod preferences;
pub mod recovering;
pub mod requirement_panel;
pub mod rose;
pub mod screen;
pub mod settings;
pub mod shell;
pub mod show;
pub mod site_panel;
pub mod space;
pub mod strategies;
mod take_off_mark;
pub mod target;
pub mod theme;
pub mod timeline;
pub mod tsv;
pub mod underlay;
pub mod undrawn;
pub mod units;
pub mod wind_advice;
pub mod window;
