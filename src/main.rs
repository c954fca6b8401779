//! The thin binary: everything it does lives in the library.

/// A ledger is many small pieces of memory that come and go together: an allocator made for that takes an eighth of the
/// time off a lint.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> std::process::ExitCode {
    wayledger::run()
}
