//! What the desk said, as a response.

use super::desk::Refusal;
use super::queue::Said;
use axum::extract::Json;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde_json::{Value, json};

/// What the desk said, as a response.
pub fn answered(said: Option<Said>) -> Response {
    match said {
        None => (StatusCode::CONFLICT, Json(json!({ "newer": true }))).into_response(),
        Some(Said::Json(text)) => ([(header::CONTENT_TYPE, "application/json")], text).into_response(),
        Some(Said::File { name, bytes }) => ([(header::CONTENT_TYPE, kind(&name))], bytes).into_response(),
        Some(Said::Refused(refusal)) => refused(refusal),
    }
}

fn refused(refusal: Refusal) -> Response {
    let (status, why): (StatusCode, Value) = match refusal {
        Refusal::Faults(faults) => (StatusCode::UNPROCESSABLE_ENTITY, json!({ "faults": faults })),
        Refusal::Moved(hash) => (
            StatusCode::PRECONDITION_FAILED,
            json!({ "hash": hash, "why": "the file was changed meanwhile; nothing was written" }),
        ),
        Refusal::Cannot(why) => (StatusCode::CONFLICT, json!({ "why": why })),
        Refusal::Asked(asked) => (StatusCode::UNPROCESSABLE_ENTITY, json!({ "asked": asked })),
        Refusal::Disk(why) => (StatusCode::INSUFFICIENT_STORAGE, json!({ "why": why })),
    };
    (status, Json(why)).into_response()
}

fn kind(name: &str) -> &'static str {
    match name.rsplit('.').next() {
        Some("pdf") => "application/pdf",
        Some("svg") => "image/svg+xml",
        Some("html") => "text/html; charset=utf-8",
        Some("json") => "application/json",
        Some("csv") => "text/csv; charset=utf-8",
        _ => "application/octet-stream",
    }
}
