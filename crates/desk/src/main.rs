//! The program; everything is in the library.

fn main() -> std::process::ExitCode {
    obliquity::cli::run()
}
