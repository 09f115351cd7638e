//! What happens without being asked for: the file changed on the disk, a file was made. Each open page reads a stream of lines, one JSON
//! object a line; a page that does not read is let go.

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
pub struct Events(Mutex<Vec<mpsc::Sender<Bytes>>>);

impl Events {
    /// Tells every open page.
    pub fn tell(&self, event: &Value) {
        let line = Bytes::from(format!("{event}\n"));
        let mut open = self.0.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        open.retain(|page| page.try_send(line.clone()).is_ok());
    }

    /// A stream for one more page; its first line says that it stands.
    pub fn stream(&self) -> Body {
        let (sender, receiver) = mpsc::channel(WAITING);
        let _ = sender.try_send(Bytes::from_static(b"{\"event\":\"open\"}\n"));
        let mut open = self.0.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        open.retain(|page| !page.is_closed());
        open.push(sender);
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
