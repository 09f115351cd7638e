//! Who may come in: only the page that this program opened.
//!
//! * `Host` is exactly ours, or nothing else is looked at: a name that an attacker's server resolves to this machine gets nothing (DNS
//!   rebinding).
//! * `Origin`, where it is sent, is ours; what changes something must send it. No header of cross-origin sharing is ever sent.
//! * Everything but the page's own text wants the token: 128 random bits, handed to the browser in the address's fragment, which is
//!   never sent, and sent back as a header. It is compared in constant time.
//!
//! Each address that is listened on has a guard of its own: what opens one door is no key to the other.

use super::page::PagePart;
use super::phones::Phones;
use super::token::same;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::sync::Arc;

/// The header that carries the token.
pub const TOKEN: HeaderName = HeaderName::from_static("taperwright-token");

/// Where a phone brings its code.
const PAIR: &str = "/pair";

/// What has to match.
#[derive(Debug, Clone)]
pub struct Guard {
    host: Arc<str>,
    origin: Arc<str>,
    keys: Keys,
    /// Parts of the page, which anyone who reaches this address may read: they hold nothing of the builder's.
    page: &'static [&'static [PagePart]],
}

/// Which tokens open a door.
#[derive(Debug, Clone)]
pub enum Keys {
    /// That of the page which this program opened.
    Desk(Arc<str>),
    /// Those of the phones that were paired.
    Phones(Arc<Phones>),
}

/// The phone that a request comes from, by its number.
#[derive(Debug, Clone, Copy)]
pub struct Paired(pub u32);

impl Guard {
    /// `host` as a browser names it, with its port.
    pub fn new(host: &str, keys: Keys, page: &'static [&'static [PagePart]]) -> Guard {
        Guard { host: host.into(), origin: format!("http://{host}").into(), keys, page }
    }

    /// Whether the request may go on, and from which phone it comes, or why not.
    fn judge(&self, method: &Method, path: &str, headers: &HeaderMap) -> Result<Option<Paired>, &'static str> {
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
        if reads && self.page.iter().copied().flatten().any(|part| part.path == path) {
            return Ok(None);
        }
        let token = one(TOKEN)?.unwrap_or_default();
        match &self.keys {
            Keys::Desk(wanted) if same(token, wanted.as_bytes()) => Ok(None),
            Keys::Desk(_) => Err("the token is missing or wrong: open the address that the program printed"),
            // Whoever wants to be let in has no token yet; the code is judged there.
            Keys::Phones(_) if path == PAIR && *method == Method::POST => Ok(None),
            Keys::Phones(phones) => match phones.known(token) {
                Some(number) => Ok(Some(Paired(number))),
                None => Err("this phone is not paired, or was shut out: let it read a new code at the desk"),
            },
        }
    }
}

/// What the page may load: its own parts, and pictures and books that it made itself.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; font-src 'self'; connect-src 'self'; \
     frame-src blob:; object-src blob:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// The reader shows the book as it is made: with its own style and typeface inside. Nothing else may be there, and nothing runs but the
/// reader's own lines, which fetch the book as the page does, with the token in a header, and the very script that books carry
/// (`write/book.js`; the browser tests fail where its hash is not this).
const READER_POLICY: &str = "default-src 'none'; script-src 'self' 'sha256-pJgzHo44zSzUzQl2iKe/aBkdmBcU92XXs6RWvQhp7c8='; style-src 'unsafe-inline'; img-src data:; font-src data:; connect-src 'self'; \
     base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// Lets in who may, and says on every answer what a browser may do with it.
pub async fn guard(State(guard): State<Guard>, mut request: Request, next: Next) -> Response {
    let policy = if request.uri().path() == super::page::READER { READER_POLICY } else { POLICY };
    let judged = guard.judge(request.method(), request.uri().path(), request.headers());
    let mut response = match judged {
        Ok(phone) => {
            if let Some(phone) = phone {
                request.extensions_mut().insert(phone);
            }
            next.run(request).await
        }
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
