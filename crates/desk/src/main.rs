//! The program; everything is in the library.

/// An evaluation makes and lets go of thousands of small lists: with the system's allocator up to a third of its time.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> std::process::ExitCode {
    obliquity::cli::run()
}
