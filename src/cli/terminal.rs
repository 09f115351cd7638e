//! What goes to the terminal: results to stdout, everything else to stderr, and a line that moves on slow work.

use super::Ended;
use super::args::{Cli, Colour};
use crate::diag::visible;
use crate::diag::wrap::wrapped;
use crate::report;
use anstream::{AutoStream, ColorChoice};
use serde::Serialize;
use std::borrow::Cow;
use std::io::{self, IsTerminal, Write};
use std::time::{Duration, Instant};
use terminal_size::{Height, Width, terminal_size_of};

/// Where messages go, in which colours, and how wide the windows are.
#[derive(Debug, Clone, Copy)]
pub struct Terminal {
    pub quiet: bool,
    /// Of stderr: nothing on stdout is coloured.
    pub colour: bool,
    /// Columns of the window that stdout goes to; `None` where it goes elsewhere.
    out_columns: Option<usize>,
    /// The same of stderr.
    pub err_columns: Option<usize>,
}

/// Prose in fewer columns than this is not easier to read.
const MIN_COLUMNS: usize = 20;

/// Columns of the window behind a stream: as the window says, else as `COLUMNS` does.
fn columns<S: IsTerminal>(stream: &S, size: Option<(Width, Height)>) -> Option<usize> {
    if !stream.is_terminal() {
        return None;
    }
    let told = || std::env::var("COLUMNS").ok()?.trim().parse().ok();
    let wide = size.map(|(Width(columns), _)| usize::from(columns)).filter(|columns| 0 < *columns);
    wide.or_else(told).map(|columns| columns.max(MIN_COLUMNS))
}

impl Terminal {
    pub fn new(cli: &Cli) -> Terminal {
        let colour = match cli.color {
            Colour::Always => true,
            Colour::Never => false,
            // It knows NO_COLOR, CLICOLOR, CLICOLOR_FORCE and TERM.
            Colour::Auto => AutoStream::choice(&io::stderr()) != ColorChoice::Never,
        };
        Terminal {
            quiet: cli.quiet,
            colour,
            out_columns: columns(&io::stdout(), terminal_size_of(io::stdout())),
            err_columns: columns(&io::stderr(), terminal_size_of(io::stderr())),
        }
    }

    /// Prints results to stdout, their prose within the window.
    pub fn results(&self, text: &str) -> Ended {
        self.results_with(text, &[])
    }

    /// The same; `whole` are pieces that no line is broken in, such as paths.
    pub fn results_with(&self, text: &str, whole: &[&str]) -> Ended {
        self.data(&within(&visible(text), self.out_columns, whole))
    }

    /// Prints results whose prose is at most so wide, in a window or not.
    pub fn results_within(&self, text: &str, columns: usize) -> Ended {
        self.data(&wrapped(&visible(text), self.out_columns.map_or(columns, |window| window.min(columns)), &[]))
    }

    /// Prints an answer for programs, its keys in the order of the alphabet.
    pub fn answer(&self, answer: &impl Serialize) -> Ended {
        self.data(&report::sorted(answer))
    }

    /// Prints what stands in the report, its keys in the order of the report.
    pub fn published(&self, row: &impl Serialize) -> Ended {
        self.data(&String::from_utf8_lossy(&report::json(row)))
    }

    /// Writes to stdout as it is. A reader that went away (a closed pipe) is not an error.
    pub fn data(&self, text: &str) -> Ended {
        let mut stdout = io::stdout().lock();
        match stdout.write_all(visible(text).as_bytes()).and_then(|()| stdout.flush()) {
            Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
                self.fault(&format!("error: writing to stdout: {error}"));
                Ended::Files
            }
            _ => Ended::Well,
        }
    }

    /// A remark on stderr, unless quiet; `whole` are pieces that no line is broken in.
    pub fn remark(&self, text: &str, whole: &[&str]) {
        if !self.quiet {
            self.told(text, whole);
        }
    }

    /// A fault on stderr.
    pub fn fault(&self, text: &str) {
        self.told(text, &[]);
    }

    fn told(&self, text: &str, whole: &[&str]) {
        self.rendered(&within(&visible(text), self.err_columns, whole));
    }

    /// To stderr as it is, in colours or not.
    pub fn rendered(&self, text: &str) {
        let shown = if self.colour { visible_beside_colours(text) } else { visible(text).into_owned() };
        // Nothing is left to tell if stderr itself is gone.
        let _ = writeln!(io::stderr().lock(), "{}", shown.trim_end());
    }
}

fn within<'a>(text: &'a str, columns: Option<usize>, whole: &[&str]) -> Cow<'a, str> {
    columns.map_or(Cow::Borrowed(text), |columns| Cow::Owned(wrapped(text, columns, whole)))
}

/// [`visible`], with the colours of our own messages left in: what they quote has been made visible before.
fn visible_beside_colours(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for (index, part) in text.split("\x1b[").enumerate() {
        let end = part.find(|c: char| !c.is_ascii_digit() && c != ';').filter(|end| part[*end..].starts_with('m'));
        match (index, end) {
            (0, _) => out.push_str(&visible(part)),
            (_, Some(_)) => {
                out.push_str("\x1b[");
                out.push_str(&visible(part));
            }
            (_, None) => {
                out.push_str("\\u001b[");
                out.push_str(&visible(part));
            }
        }
    }
    out
}

/// A line on stderr that says how far slow work has come; silent on quick work and where nobody watches.
#[derive(Debug)]
pub struct Progress {
    shown: bool,
    watched: bool,
    next: Instant,
}

impl Progress {
    /// Quick work is done before the line would appear.
    const PATIENCE: Duration = Duration::from_millis(400);
    /// Often enough to look alive, seldom enough to cost nothing.
    const EVERY: Duration = Duration::from_millis(100);

    #[allow(clippy::disallowed_methods, reason = "the edge may look at the clock: nothing of it reaches an output file")]
    pub fn new(terminal: Terminal) -> Progress {
        Progress {
            shown: false,
            watched: !terminal.quiet && io::stderr().is_terminal() && anstyle_query::term_supports_ansi_color(),
            next: Instant::now() + Progress::PATIENCE,
        }
    }

    #[allow(clippy::disallowed_methods, reason = "the edge may look at the clock: nothing of it reaches an output file")]
    pub fn at(&mut self, what: &str, done: usize, of: usize) {
        if !self.watched || Instant::now() < self.next {
            return;
        }
        self.next = Instant::now() + Progress::EVERY;
        self.shown = true;
        let _ = write!(io::stderr().lock(), "\r\x1b[K{} of {of}  {what}", done + 1);
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if self.shown {
            let _ = write!(io::stderr().lock(), "\r\x1b[K");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_colours_pass_and_only_where_there_are_some() {
        let text = "\x1b[1m\x1b[91mfault\x1b[0m: \x1b]0;title\x07 \x1b[2J \u{202e}x\r\n";
        assert_eq!(
            visible_beside_colours(text),
            "\x1b[1m\x1b[91mfault\x1b[0m: \\u001b]0;title\\u0007 \\u001b[2J \\u202ex\\u000d\n"
        );
        assert!(!visible(text).contains('\x1b'));
    }
}
