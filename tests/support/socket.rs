//! Requests as they are written, on a raw socket.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

/// Status and whole answer.
pub fn raw(to: &str, request: &str) -> (u16, String) {
    let mut stream = TcpStream::connect(to).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(30))).unwrap();
    // One that is refused early may close before all is written.
    let _ = stream.write_all(request.as_bytes());
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer);
    let answer = String::from_utf8_lossy(&answer).into_owned();
    (answer.split(' ').nth(1).and_then(|status| status.parse().ok()).unwrap_or(0), answer)
}
