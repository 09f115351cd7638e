//! The shop's network: one more address to listen on, where phones read and add to the log, and nothing else is to be had.
//!
//! | on the shop's address | |
//! |---|---|
//! | `GET /`, `/shop.css`, … | the phone's page |
//! | `POST /pair` | `{code}`: a token of its own for the code that the desk shows |
//! | `GET /shop` | what the phone's places show |
//! | `POST /reading` | a reading, checked and added as `log add` does; see `readings` |
//! | `POST /try-reading` | what a reading would say; nothing is written |
//! | `GET /events` | a stream of lines, until the phone is shut out |
//!
//! There is no route to the build file, to tries or to files made: what is not there cannot be opened. The desk's token is none here, and
//! a phone's is none at the desk. The desk has `/shop`, `/reading` and `/try-reading` as well, and three of its own: `POST /phone-code`, `GET /phones`,
//! `POST /shut-out` `{number}`.
//!
//! This is plain HTTP: whoever is on that network can read along, and who reads along can write readings as that phone. The desk says so
//! where it shows the code, and nothing else than readings is at stake.

use super::events::Events;
use super::guard::{self, Guard, Paired};
use super::page;
use super::phones::{PairedPhone, Phones, picture};
use super::queue::{Asker, Question, Queue};
use super::reply;
use super::sent::Sent;
use axum::Router;
use axum::extract::{DefaultBodyLimit, Extension, Json, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use serde::Deserialize;
use serde_json::json;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::Semaphore;
use tower_http::limit::RequestBodyLimitLayer;
use tower_http::timeout::TimeoutLayer;

/// What `bench --shop` opens.
#[derive(Debug, Clone)]
pub struct ShopOpened {
    pub address: SocketAddr,
    /// What phones call this machine; none for its address.
    pub name: Option<String>,
    pub times: super::phones::Times,
}

/// The longest reading is some hundred places of a sled.
const MAX_BODY: usize = 16 * 1024;
/// A phone that takes longer to send is not waited for.
const MAX_TIME: Duration = Duration::from_secs(20);
/// Questions of all phones that wait for the desk at a time: its own page is not kept waiting for more.
const MAX_ASKING: usize = 4;

/// An address of the shop's own network, as it is typed. One that the whole world can reach, or that stands for all of this machine's, is
/// refused.
pub fn address(text: &str) -> Result<SocketAddr, String> {
    let read = text.parse::<SocketAddr>().or_else(|_| text.parse::<IpAddr>().map(|ip| SocketAddr::from((ip, 0))));
    let address = read.map_err(|_| {
        format!("--shop {text}: not an address\nhelp: give this machine's own on the shop's network, such as 192.168.1.20 or 192.168.1.20:8040")
    })?;
    let own = match address.ip().to_canonical() {
        IpAddr::V4(ip) => ip.is_private() || ip.is_link_local() || ip.is_loopback(),
        IpAddr::V6(ip) => ip.is_unique_local() || ip.is_loopback(),
    };
    if address.ip().is_unspecified() {
        return Err(format!(
            "--shop {text}: this stands for every network of this machine\nhelp: name its address on the shop's own"
        ));
    }
    if !own {
        return Err(format!(
            "--shop {text}: no address of a network of one's own\nhelp: the bench is not made to be reached from outside"
        ));
    }
    Ok(address)
}

/// A plain name on a network; it has to match what browsers send to the letter.
pub fn name(text: &str) -> Result<String, String> {
    let label = |label: &str| {
        let plain = label.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-');
        plain && !label.is_empty() && label.len() <= 63 && !label.starts_with('-') && !label.ends_with('-')
    };
    let numeric = text.rsplit('.').next().is_some_and(|last| last.starts_with(|c: char| c.is_ascii_digit()));
    if text.len() <= 253 && text.split('.').all(label) && !numeric {
        return Ok(text.to_owned());
    }
    Err(format!("--shop-name {text}: not a plain name\nhelp: small letters, figures, dashes and dots, such as bench.lan"))
}

/// Ends the streams of phones that were silent for too long.
pub async fn let_silent_go(phones: Arc<Phones>, events: Arc<Events>) {
    let every = (phones.times().idle / 4).min(Duration::from_secs(60));
    loop {
        tokio::time::sleep(every).await;
        events.keep(|phone| phones.is_in(phone));
    }
}

/// Connection's other end, put on each request.
#[derive(Debug, Clone, Copy)]
pub struct From(pub IpAddr);

/// Who waits in the shop.
#[derive(Clone)]
struct ShopState {
    queue: Queue,
    events: Arc<Events>,
    phones: Arc<Phones>,
    asking: Arc<Semaphore>,
}

/// The routes on the shop's address.
pub fn router(guard: Guard, queue: Queue, events: Arc<Events>, phones: Arc<Phones>) -> Router {
    let mut router = Router::new()
        .route("/pair", post(pair))
        .route("/shop", get(state))
        .route("/reading", post(reading))
        .route("/try-reading", post(try_reading))
        .route("/events", get(events_of));
    for part in page::SHOP.iter().copied().flatten() {
        router = router.route(part.path, get(|| async { ([(header::CONTENT_TYPE, part.kind)], part.text) }));
    }
    router
        .with_state(ShopState { queue, events, phones, asking: Arc::new(Semaphore::new(MAX_ASKING)) })
        .layer(DefaultBodyLimit::disable())
        .layer(RequestBodyLimitLayer::new(MAX_BODY))
        .layer(TimeoutLayer::with_status_code(StatusCode::REQUEST_TIMEOUT, MAX_TIME))
        .layer(axum::middleware::from_fn_with_state(guard, guard::guard))
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Code {
    code: String,
}

async fn pair(State(shop): State<ShopState>, Extension(from): Extension<From>, Json(sent): Json<Code>) -> Response {
    match shop.phones.pair(&sent.code, from.0) {
        Ok(PairedPhone { number, token }) => {
            shop.events.tell(&json!({ "event": "phones" }));
            Json(json!({ "number": number, "token": token })).into_response()
        }
        Err(why) => (StatusCode::FORBIDDEN, Json(json!({ "why": why }))).into_response(),
    }
}

async fn state(State(shop): State<ShopState>, Extension(phone): Extension<Paired>) -> Response {
    shop.ask(phone, Question::Shop).await
}

async fn reading(State(shop): State<ShopState>, Extension(phone): Extension<Paired>, Json(sent): Json<Sent>) -> Response {
    shop.ask(phone, Question::Reading(Box::new(sent))).await
}

async fn try_reading(State(shop): State<ShopState>, Extension(phone): Extension<Paired>, Json(sent): Json<Sent>) -> Response {
    shop.ask(phone, Question::Try(Box::new(sent))).await
}

async fn events_of(State(shop): State<ShopState>, Extension(phone): Extension<Paired>) -> Response {
    ([(header::CONTENT_TYPE, "application/x-ndjson")], shop.events.stream_for(phone.0)).into_response()
}

impl ShopState {
    async fn ask(&self, phone: Paired, question: Question) -> Response {
        let Ok(_one) = self.asking.try_acquire() else {
            let why = "other phones are asking: in a moment";
            return (StatusCode::SERVICE_UNAVAILABLE, Json(json!({ "why": why }))).into_response();
        };
        reply::answered(self.queue.ask(Asker::Phone(phone.0), question).await)
    }
}

/// What the desk's page asks about phones; `address` is where they find the shop, none where `--shop` was not given.
#[derive(Clone)]
pub struct ShopDesk {
    pub phones: Arc<Phones>,
    pub events: Arc<Events>,
    pub address: Option<Arc<str>>,
}

/// The desk's own routes about phones.
pub fn desk_routes(desk: ShopDesk) -> Router {
    Router::new()
        .route("/phone-code", post(code))
        .route("/phones", get(listed))
        .route("/shut-out", post(shut_out))
        .with_state(desk)
}

async fn code(State(desk): State<ShopDesk>) -> Response {
    let Some(address) = &desk.address else {
        let why = "the shop's network is not listened on: start the bench with --shop and this machine's address on it";
        return (StatusCode::CONFLICT, Json(json!({ "why": why }))).into_response();
    };
    let made = desk.phones.offer().and_then(|code| {
        let address = format!("{address}/#{code}");
        Ok(json!({ "address": address, "picture": picture(&address)?, "seconds": desk.phones.times().code.as_secs() }))
    });
    match made {
        Ok(code) => Json(code).into_response(),
        Err(why) => (StatusCode::INTERNAL_SERVER_ERROR, Json(json!({ "why": why }))).into_response(),
    }
}

async fn listed(State(desk): State<ShopDesk>) -> Response {
    let hours = desk.phones.times().idle.as_secs() / 3600;
    Json(json!({ "address": desk.address.as_deref(), "phones": desk.phones.listed(), "idle_hours": hours })).into_response()
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Number {
    number: u32,
}

async fn shut_out(State(desk): State<ShopDesk>, Json(sent): Json<Number>) -> Response {
    desk.phones.shut_out(sent.number);
    desk.events.keep(|phone| phone != sent.number);
    desk.events.tell(&json!({ "event": "phones" }));
    Json(json!(null)).into_response()
}
