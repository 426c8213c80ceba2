//! What the exchange crate promises of its files, published values included; one module a subject.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on had better stop")]
#![allow(clippy::format_push_string, reason = "lists of what went wrong need no speed")]

mod accuracy;
mod accuracy_inputs;
mod adjusted_block;
mod answers;
mod block_figures;
mod blocks;
mod boundary;
mod calibration;
mod card;
mod card_against_export;
mod card_sheet;
mod cases;
mod chart;
mod clock;

mod cuts;
mod entry;
mod examples;
mod export;
mod flights;
#[path = "../desk/folders.rs"]
mod folders;
mod footprints;
mod frame;
#[path = "../planning/generate.rs"]
#[allow(dead_code, reason = "shared with other tests")]
mod generate;
mod hostile;
mod kept;
mod knobs;
mod left_out;
mod lessons;
mod listed;
mod output;
mod own;
mod packed_jpeg;
mod priced;
mod processed_jobs;
mod purchase;
mod reference;
mod regions;
mod report;
mod route_heights;
mod routes;
mod sample;
mod save;
mod scenario;
#[path = "../planning/scene.rs"]
#[allow(dead_code, reason = "shared with other tests")]
mod scene;
#[path = "../planning/sources.rs"]
mod sources;
mod spacing;
mod sweeps;
mod table;
mod terrain;
#[path = "../planning/transform.rs"]
#[allow(dead_code, reason = "shared with other tests")]
mod transform;
mod tunes;
mod underlay;
mod unsaved;
#[path = "../planning/walk.rs"]
mod walk;
