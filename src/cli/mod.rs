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
mod sleds;
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

use args::{Cli, Command};
use clap::{ColorChoice, CommandFactory, FromArgMatches};
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

/// What `--color` asks for, read before all else: help, and faults of the command line itself, follow it too.
fn asked_colour() -> ColorChoice {
    let args: Vec<String> = std::env::args_os().map(|arg| arg.to_string_lossy().into_owned()).collect();
    let asked = args.iter().enumerate().find_map(|(at, arg)| match arg.strip_prefix("--color")? {
        "" => args.get(at + 1).map(String::as_str),
        value => value.strip_prefix('='),
    });
    match asked {
        Some("always") => ColorChoice::Always,
        Some("never") => ColorChoice::Never,
        _ => ColorChoice::Auto,
    }
}

/// Runs the command line.
pub fn run() -> ExitCode {
    let mut command = Cli::command().color(asked_colour());
    let parsed = command.try_get_matches_from_mut(std::env::args_os()).and_then(|matches| Cli::from_arg_matches(&matches));
    let cli = match parsed.map_err(|error| error.format(&mut command)) {
        Ok(cli) => cli,
        Err(error) => {
            // Help and version come this way as well; a closed pipe is no error.
            let code = if error.use_stderr() { Ended::Files } else { Ended::Well };
            let _ = error.print();
            return code.into();
        }
    };
    let terminal = Terminal::new(&cli);
    match &cli.command {
        Command::New(args) => new::new(args, terminal),
        Command::Check(args) => check::check(args, terminal),
        Command::Make(args) => make::make(args, terminal),
        Command::Bench(args) => bench::bench(args, terminal),
        Command::Passes(args) => passes::passes(args, terminal),
        Command::Sleds(args) => sleds::sleds(args, terminal),
        Command::Bow(args) => bow::bow(args, terminal),
        Command::Shot(args) => shot::shot(args, terminal),
        Command::Glue(args) => glue::glue(args, terminal),
        Command::Size(args) => size::size(args, terminal),
        Command::Series(args) => series::series(args, terminal),
        Command::Log(args) => log::log(args, terminal),
        Command::Rescale(args) => rescale::rescale(args, terminal),
        Command::Woods(args) => woods::woods(args, terminal),
        Command::Schema(args) => terminal.data(&args.of.schema()),
        Command::Completions(args) => {
            let mut bytes = Vec::new();
            clap_complete::generate(args.shell, &mut Cli::command(), "taperwright", &mut bytes);
            terminal.data(&String::from_utf8_lossy(&bytes))
        }
    }
    .into()
}
