//! What happens without being asked for: the file changed on the disk, a file was made. Each open page reads a stream of lines, one JSON
//! object a line; a page that does not read is let go. A phone hears only what its places show.

use axum::body::{Body, Bytes, HttpBody};
use http_body::Frame;
use serde_json::Value;
use std::convert::Infallible;
use std::pin::Pin;
use std::sync::Mutex;
use std::task::{Context, Poll};
use tokio::sync::mpsc;

/// Lines that wait for a page that is slow to read.
const WAITING: usize = 256;

/// The open pages.
#[derive(Debug, Default)]
pub struct Events(Mutex<Vec<Page>>);

#[derive(Debug)]
struct Page {
    lines: mpsc::Sender<Bytes>,
    /// The phone's number; none for a page at the desk.
    phone: Option<u32>,
}

/// What phones hear of.
const FOR_PHONES: [&str; 2] = ["file", "log"];

impl Events {
    /// Tells every open page.
    pub fn tell(&self, event: &Value) {
        let line = Bytes::from(format!("{event}\n"));
        let for_phones = event["event"].as_str().is_some_and(|name| FOR_PHONES.contains(&name));
        let mut open = self.0.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        open.retain(|page| (page.phone.is_some() && !for_phones) || page.lines.try_send(line.clone()).is_ok());
    }

    /// A stream for one more page; its first line says that it stands.
    pub fn stream(&self) -> Body {
        self.begin(None)
    }

    /// A stream for a page on this phone.
    pub fn stream_for(&self, phone: u32) -> Body {
        self.begin(Some(phone))
    }

    /// Ends the streams of phones that are not in any more.
    pub fn keep(&self, is_in: impl Fn(u32) -> bool) {
        let mut open = self.0.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        open.retain(|page| page.phone.is_none_or(&is_in));
    }

    fn begin(&self, phone: Option<u32>) -> Body {
        let (sender, receiver) = mpsc::channel(WAITING);
        let _ = sender.try_send(Bytes::from_static(b"{\"event\":\"open\"}\n"));
        let mut open = self.0.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        open.retain(|page| !page.lines.is_closed());
        open.push(Page { lines: sender, phone });
        Body::new(Lines(receiver))
    }
}

struct Lines(mpsc::Receiver<Bytes>);

impl HttpBody for Lines {
    type Data = Bytes;
    type Error = Infallible;

    fn poll_frame(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Result<Frame<Bytes>, Infallible>>> {
        self.0.poll_recv(context).map(|line| line.map(|line| Ok(Frame::data(line))))
    }
}
