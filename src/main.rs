//! The thin binary: everything it does lives in the library.

fn main() -> std::process::ExitCode {
    wayledger::cli::run()
}
