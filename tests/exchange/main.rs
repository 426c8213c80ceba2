//! What the exchange crate promises of its files, published values included; one module a subject.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on had better stop")]
#![allow(clippy::format_push_string, reason = "lists of what went wrong need no speed")]

mod boundary;
mod card;
mod examples;
mod export;
mod frame;
mod hostile;
mod own;
mod reference;
mod report;
mod routes;
mod sample;
mod save;
mod scenario;
mod spacing;
mod terrain;
