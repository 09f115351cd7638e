//! Who may come in: only the page that this program opened.
//!
//! * `Host` is exactly ours, or nothing else is looked at: a name that an attacker's server resolves to this machine gets nothing (DNS
//!   rebinding).
//! * `Origin`, where it is sent, is ours; what changes something must send it. No header of cross-origin sharing is ever sent.
//! * Everything but the page's own text wants the token: 128 random bits, handed to the browser in the address's fragment, which is
//!   never sent, and sent back as a header. It is compared in constant time.

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::net::SocketAddr;
use std::sync::Arc;

/// The header that carries the token.
pub const TOKEN: HeaderName = HeaderName::from_static("taperwright-token");

/// What has to match.
#[derive(Debug, Clone)]
pub struct Guard {
    host: Arc<str>,
    origin: Arc<str>,
    token: Arc<str>,
}

impl Guard {
    pub fn new(address: SocketAddr, token: String) -> Guard {
        Guard { host: address.to_string().into(), origin: format!("http://{address}").into(), token: token.into() }
    }

    /// Whether the request may go on, or why not.
    fn judge(&self, method: &Method, path: &str, headers: &HeaderMap) -> Result<(), &'static str> {
        let one = |name: HeaderName| {
            let mut all = headers.get_all(name).iter();
            match (all.next(), all.next()) {
                (value, None) => Ok(value.map(HeaderValue::as_bytes)),
                _ => Err("a header is sent twice"),
            }
        };
        if one(header::HOST)? != Some(self.host.as_bytes()) {
            return Err("another host was asked for");
        }
        let reads = matches!(*method, Method::GET | Method::HEAD);
        match one(header::ORIGIN)? {
            Some(origin) if origin != self.origin.as_bytes() => return Err("another page asks"),
            None if !reads => return Err("it does not say which page asks"),
            _ => {}
        }
        if reads && super::page::is_public(path) {
            return Ok(());
        }
        let token = one(TOKEN)?.unwrap_or_default();
        if same(token, self.token.as_bytes()) {
            Ok(())
        } else {
            Err("the token is missing or wrong: open the address that the program printed")
        }
    }
}

/// Whether two texts are equal, in a time that does not tell where they differ.
fn same(a: &[u8], b: &[u8]) -> bool {
    a.len() == b.len() && std::hint::black_box(a.iter().zip(b).fold(0, |differs, (a, b)| differs | (a ^ b))) == 0
}

/// A token: 128 bits from the system, in hexadecimal digits.
pub fn token() -> Result<String, String> {
    let mut bytes = [0u8; 16];
    getrandom::fill(&mut bytes).map_err(|error| format!("the system gives no random bits: {error}"))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

/// What the page may load: its own parts, and pictures and books that it made itself.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; font-src 'self'; connect-src 'self'; \
     frame-src blob:; object-src blob:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// The reader shows the book as it is made: with its own style and typeface inside. Nothing else may be there, and nothing runs but the
/// reader's own lines, which fetch the book as the page does, with the token in a header.
const READER_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'unsafe-inline'; img-src data:; font-src data:; connect-src 'self'; \
     base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// Lets in who may, and says on every answer what a browser may do with it.
pub async fn guard(State(guard): State<Guard>, request: Request, next: Next) -> Response {
    let policy = if request.uri().path() == super::page::READER { READER_POLICY } else { POLICY };
    let judged = guard.judge(request.method(), request.uri().path(), request.headers());
    let mut response = match judged {
        Ok(()) => next.run(request).await,
        Err(why) => (StatusCode::FORBIDDEN, format!("{why}\n")).into_response(),
    };
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, policy),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::CACHE_CONTROL, "no-store"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_is_equal_and_nothing_else() {
        assert!(same(b"abc", b"abc") && same(b"", b""));
        assert!(!same(b"abc", b"abd") && !same(b"abc", b"ab") && !same(b"", b"a"));
        let (one, other) = (token().expect("random bits"), token().expect("random bits"));
        assert!(one.len() == 32 && one != other);
    }
}
