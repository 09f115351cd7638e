//! The edge: the only room that touches files, the clock and the terminal. A file per command chains the other rooms.

pub mod args;
mod terminal;
mod input;
mod new;
mod check;
mod threads;
mod two_limbs;
mod make;
mod passes;
mod bench;
mod bow;
mod shot;
mod glue;
mod beside;
mod size;
mod series;
mod rescale;
mod log;
mod woods;

use args::{Cli, Command, SchemaOf};
use clap::{CommandFactory, Parser};
use std::process::ExitCode;
use terminal::Terminal;

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// Done; warnings allowed.
    Well,
    /// The build file is at fault.
    BuildFile,
    /// Usage or files.
    Files,
}

impl From<Ended> for ExitCode {
    fn from(ended: Ended) -> ExitCode {
        match ended {
            Ended::Well => ExitCode::SUCCESS,
            Ended::BuildFile => ExitCode::from(1),
            Ended::Files => ExitCode::from(2),
        }
    }
}

/// Runs the command line.
pub fn run() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => {
            // Help and version come this way as well; a closed pipe is no error.
            let code = if error.use_stderr() { Ended::Files } else { Ended::Well };
            let _ = error.print();
            return code.into();
        }
    };
    let terminal = Terminal::new(cli.color, cli.quiet);
    match &cli.command {
        Command::New(args) => new::new(args, terminal),
        Command::Check(args) => check::check(args, terminal),
        Command::Make(args) => make::make(args, terminal),
        Command::Bench(args) => bench::bench(args, terminal),
        Command::Passes(args) => passes::passes(args, terminal),
        Command::Bow(args) => bow::bow(args, terminal),
        Command::Shot(args) => shot::shot(args, terminal),
        Command::Glue(args) => glue::glue(args, terminal),
        Command::Size(args) => size::size(args, terminal),
        Command::Series(args) => series::series(args, terminal),
        Command::Log(args) => log::log(args, terminal),
        Command::Rescale(args) => rescale::rescale(args, terminal),
        Command::Woods(args) => match woods::woods(args) {
            Some(text) => terminal.results(&text),
            None => {
                terminal.fault(&format!("error: no material's name holds `{}`", args.name.as_deref().unwrap_or("")));
                Ended::Files
            }
        },
        Command::Schema(args) => match args.of {
            SchemaOf::Report => terminal.results(&crate::report::schema()),
        },
        Command::Completions(args) => {
            let mut bytes = Vec::new();
            clap_complete::generate(args.shell, &mut Cli::command(), "taperwright", &mut bytes);
            terminal.results(&String::from_utf8_lossy(&bytes))
        }
    }
    .into()
}
