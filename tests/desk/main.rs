//! Tests of the program.
#![expect(clippy::unwrap_used, reason = "a test fails where it cannot go on")]
#![expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "made-up numbers are small")]

mod board;
mod made_up;
