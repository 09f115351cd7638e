//! The binary: hands the command line to [`taperwright::cli`] and returns its exit code.

fn main() -> std::process::ExitCode {
    taperwright::cli::run()
}
