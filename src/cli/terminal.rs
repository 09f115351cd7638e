//! What goes to the terminal: results to stdout, everything else to stderr, and a line that moves on slow work.

use super::Ended;
use super::args::Colour;
use crate::diag::visible;
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
        match stdout.write_all(visible(text).as_bytes()).and_then(|()| stdout.flush()) {
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
        let shown = if self.colour { visible_beside_colours(text) } else { visible(text).into_owned() };
        // Nothing is left to tell if stderr itself is gone.
        let _ = writeln!(io::stderr().lock(), "{}", shown.trim_end());
    }
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
