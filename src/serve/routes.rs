//! Requests as questions, answers as responses.
//!
//! | request | asks |
//! |---|---|
//! | `GET /`, `/bench.css`, … | the page |
//! | `GET /state` | what is on the desk |
//! | `GET /events` | a stream of lines: `open`, `file`, `aside`, `made` |
//! | `GET /file/N` | the file of that number of what `make` makes |
//! | `POST /look`, `/whole`, `/glue`, `/shot`, `/lines` | `{changes: [{key, value}]}`; `/look` also `{limb}`, the one that is shown, and `{drawn}`, how far |
//! | `POST /solve` | `{changes, free: [names]}`; `/ease` also `{percent, by: "longer" or "wider"}` |
//! | `POST /keep`, `/take-back` | with `If-Match`: the hash that the page read |
//! | `GET /shop`, `POST /reading`, `/try-reading` | the places of the shop, and a reading: see [`super::shop`], which has the routes about phones, too |
//! | `POST /aside`, `/drop-aside`, `/begin`, `/begin-with`, `/name`, `/make` | |
//!
//! 403 who may not come in, 409 a newer question took its place or there is nothing to do it with, 412 the file moved on, 422 the values
//! make no bow (faults with keys), 507 the disk refused.

use super::answers::LookAt;
use super::desk::Tried;
use super::events::Events;
use super::guard::{self, Guard};
use super::page;
use super::queue::{Asker, Question, Queue};
use super::reply;
use super::shop;
use crate::buildfile::{Starter, Style};
use crate::job::Easing;
use crate::model::limb::LimbSide;
use crate::units::{Quantity, System, read};
use axum::Router;
use axum::extract::{DefaultBodyLimit, Json, Path, State};
use axum::http::{HeaderMap, HeaderName, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use serde::Deserialize;
use serde_json::json;
use std::sync::Arc;
use std::time::Duration;
use tower_http::limit::RequestBodyLimitLayer;
use tower_http::timeout::TimeoutLayer;

/// The page that asks, so that its own newer questions pass its older ones.
const PAGE: HeaderName = HeaderName::from_static("taperwright-page");
/// A question is some kilobytes.
const MAX_BODY: usize = 256 * 1024;
/// Making all files of a large bow takes seconds; what takes longer is given up.
const MAX_TIME: Duration = Duration::from_secs(60);

#[derive(Clone)]
struct Hall {
    queue: Queue,
    events: Arc<Events>,
}

/// All routes behind the guard.
pub fn router(guard: Guard, queue: Queue, events: Arc<Events>, phones: shop::ShopDesk) -> Router {
    let mut router = Router::new()
        .route("/state", get(state))
        .route("/events", get(events_of))
        .route("/file/{number}", get(file))
        .route("/shop", get(places))
        .route("/reading", post(reading))
        .route("/try-reading", post(try_reading))
        .route("/{question}", post(question));
    for part in page::DESK.iter().copied().flatten() {
        router = router.route(part.path, get(|| async { ([(header::CONTENT_TYPE, part.kind)], part.text) }));
    }
    router
        .with_state(Hall { queue, events })
        .merge(shop::desk_routes(phones))
        .layer(DefaultBodyLimit::disable())
        .layer(RequestBodyLimitLayer::new(MAX_BODY))
        .layer(TimeoutLayer::with_status_code(StatusCode::REQUEST_TIMEOUT, MAX_TIME))
        .layer(axum::middleware::from_fn_with_state(guard, guard::guard))
}

async fn state(State(hall): State<Hall>, headers: HeaderMap) -> Response {
    asked(&hall, &headers, Question::State).await
}

async fn places(State(hall): State<Hall>, headers: HeaderMap) -> Response {
    asked(&hall, &headers, Question::Shop).await
}

async fn reading(State(hall): State<Hall>, headers: HeaderMap, Json(sent): Json<super::sent::Sent>) -> Response {
    asked(&hall, &headers, Question::Reading(Box::new(sent))).await
}

async fn try_reading(State(hall): State<Hall>, headers: HeaderMap, Json(sent): Json<super::sent::Sent>) -> Response {
    asked(&hall, &headers, Question::Try(Box::new(sent))).await
}

async fn events_of(State(hall): State<Hall>) -> Response {
    ([(header::CONTENT_TYPE, "application/x-ndjson")], hall.events.stream()).into_response()
}

async fn file(State(hall): State<Hall>, headers: HeaderMap, Path(number): Path<usize>) -> Response {
    asked(&hall, &headers, Question::File(number)).await
}

/// Everything that a page may send; each question takes what it needs.
#[derive(Debug, Default, Deserialize)]
#[serde(default, deny_unknown_fields)]
struct Received {
    changes: Vec<Tried>,
    free: Vec<String>,
    percent: f64,
    by: String,
    name: String,
    weight: String,
    draw: String,
    length: String,
    units: String,
    style: String,
    /// The limb that is shown, of two different ones.
    limb: String,
    /// The draw at which the bow stands; all of them where it is absent.
    drawn: Option<usize>,
}

async fn question(
    State(hall): State<Hall>,
    headers: HeaderMap,
    Path(question): Path<String>,
    Json(sent): Json<Received>,
) -> Response {
    let hash = || {
        let named = headers.get(header::IF_MATCH).and_then(|value| value.to_str().ok());
        named.map(|hash| hash.trim_matches('"').to_owned()).unwrap_or_default()
    };
    let Received { changes, free, percent, name, .. } = sent;
    let question = match question.as_str() {
        "look" => {
            let limb = if sent.limb == LimbSide::Lower.word() { LimbSide::Lower } else { LimbSide::Upper };
            Question::Look(changes, LookAt { limb, drawn: sent.drawn })
        }
        "whole" => Question::Whole(changes),
        "glue" => Question::Glue(changes),
        "shot" => Question::Shot(changes),
        "lines" => Question::Lines(changes),
        "solve" => Question::Solve { changes, free },
        "series-bow" => Question::SeriesBow(sent.weight),
        "ease" => {
            let by = if sent.by == "wider" { Easing::Wider } else { Easing::Longer };
            Question::Ease { changes, percent: if percent.is_finite() { percent.clamp(20.0, 150.0) } else { 90.0 }, by, free }
        }
        "keep" => Question::Keep { changes, hash: hash() },
        "take-back" => Question::TakeBack { hash: hash() },
        "aside" => Question::SetAside { name, changes },
        "drop-aside" => Question::DropAside { name },
        "name" => Question::NameIt { name, changes },
        "make" => Question::Make,
        "begin" => match wish(&sent.units, &sent.style, [&sent.weight, &sent.draw, &sent.length]) {
            Ok(wish) => Question::Begin(Box::new(wish)),
            Err(why) => return (StatusCode::UNPROCESSABLE_ENTITY, Json(json!({ "why": why }))).into_response(),
        },
        "begin-with" => match EXAMPLES.iter().find(|(known, _)| *known == name) {
            Some((_, text)) => Question::BeginWith((*text).to_owned()),
            None => return StatusCode::NOT_FOUND.into_response(),
        },
        _ => return StatusCode::NOT_FOUND.into_response(),
    };
    asked(&hall, &headers, question).await
}

/// Bows to begin with, as this program brings them.
const EXAMPLES: &[(&str, &str)] =
    &[("meadow", include_str!("../../examples/meadow.toml")), ("heron", include_str!("../../examples/heron.toml"))];

/// The starter for three wishes; what is left empty stays as it is.
fn wish(units: &str, style: &str, [weight, draw, length]: [&str; 3]) -> Result<Starter, String> {
    let units = if units == "mm" { System::Millimetre } else { System::Inch };
    let style = Style::ALL.into_iter().find(|known| known.word() == style).unwrap_or(Style::Flatbow);
    let plain = Starter { style, units, ..Starter::default() };
    let taken = |what: &str, text: &str, quantity: Quantity, standard: f64| {
        if text.trim().is_empty() {
            return Ok(standard);
        }
        read(text, quantity, units).map_err(|unreadable| format!("{what}: {}; {}", unreadable.message, unreadable.hint))
    };
    Ok(Starter {
        title: "New bow".into(),
        draw_weight_n: taken("weight", weight, Quantity::Force, plain.draw_weight_n)?,
        draw_length_mm: taken("draw", draw, Quantity::Length, plain.draw_length_mm)?,
        nock_to_nock_mm: taken("length", length, Quantity::Length, plain.nock_to_nock_mm)?,
        ..plain
    })
}

async fn asked(hall: &Hall, headers: &HeaderMap, question: Question) -> Response {
    let page = headers.get(PAGE).and_then(|value| value.to_str().ok()).unwrap_or_default().chars().take(64).collect();
    reply::answered(hall.queue.ask(Asker::Desk(page), question).await)
}
