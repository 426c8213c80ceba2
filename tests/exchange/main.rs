//! What the exchange crate promises of its files, published values included; one module a subject.

mod boundary;
mod card;
mod export;
mod frame;
mod hostile;
mod report;
mod sample;
mod save;
mod scenario;
