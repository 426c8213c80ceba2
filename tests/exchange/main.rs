//! What the exchange crate promises of its files, published values included; one module a subject.

mod boundary;
mod frame;
mod hostile;
mod sample;
mod save;
mod scenario;
