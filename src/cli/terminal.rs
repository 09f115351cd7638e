//! What goes to the terminal: results to stdout, everything else to stderr, and a line that moves on slow work.

use super::Ended;
use super::args::Colour;
use std::io::{self, IsTerminal, Write};
use std::time::{Duration, Instant};

/// Where messages go and whether they may be coloured.
#[derive(Debug, Clone, Copy)]
pub struct Terminal {
    pub quiet: bool,
    pub colour: bool,
}

impl Terminal {
    pub fn new(colour: Colour, quiet: bool) -> Terminal {
        let colour = match colour {
            Colour::Always => true,
            Colour::Never => false,
            Colour::Auto => io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none(),
        };
        Terminal { quiet, colour }
    }

    /// Writes results to stdout. A reader that went away (a closed pipe) is not an error.
    pub fn results(&self, text: &str) -> Ended {
        let mut stdout = io::stdout().lock();
        match stdout.write_all(text.as_bytes()).and_then(|()| stdout.flush()) {
            Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
                self.fault(&format!("error: writing to stdout: {error}"));
                Ended::Files
            }
            _ => Ended::Well,
        }
    }

    /// A remark on stderr, unless quiet.
    pub fn remark(&self, text: &str) {
        if !self.quiet {
            self.fault(text);
        }
    }

    /// A fault on stderr.
    pub fn fault(&self, text: &str) {
        // Nothing is left to tell if stderr itself is gone.
        let _ = writeln!(io::stderr().lock(), "{}", text.trim_end());
    }
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
            watched: !terminal.quiet && io::stderr().is_terminal(),
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
