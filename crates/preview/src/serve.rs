//! The server: the page, its news, and nothing else.

use std::collections::HashMap;
use std::convert::Infallible;
use std::net::TcpListener;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::extract::{Query, Request, State};
use axum::http::header::{CACHE_CONTROL, CONTENT_SECURITY_POLICY, REFERRER_POLICY, X_CONTENT_TYPE_OPTIONS};
use axum::http::{HeaderName, HeaderValue, StatusCode};
use axum::middleware::{Next, from_fn_with_state};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{Html, IntoResponse, Response};
use axum::routing::get;
use futures::stream;
use ohmline_analysis::Analysis;
use ohmline_circuit::StateId;
use ohmline_page::{Live, PageOptions, page, trouble_page};
use ohmline_report::SolutionOptions;
use tokio::sync::oneshot;

use crate::guard::refusal;
use crate::nonce::nonce;
use crate::{Board, Shown};

/// Room for deeply nested circuits.
pub const STACK: usize = 64 << 20;

/// Serves until told to stop.
pub async fn serve(listener: TcpListener, board: Arc<Board>, stopped: oneshot::Receiver<()>) {
    let app = Router::new()
        .route("/", get(show))
        .route("/news", get(news))
        .layer(from_fn_with_state(board.clone(), guarded))
        .with_state(board);
    let Ok(listener) = tokio::net::TcpListener::from_std(listener) else { return };
    tokio::select! {
        // Open pages wait for news without end, so nothing is waited for.
        _ = axum::serve(listener, app) => {}
        _ = stopped => {}
    }
}

async fn guarded(State(board): State<Arc<Board>>, request: Request, next: Next) -> Response {
    let mut answer = match refusal(request.headers(), board.address) {
        Some(refused) => refused.into_response(),
        None => next.run(request).await,
    };
    let headers = answer.headers_mut();
    headers.insert(X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    headers.insert(REFERRER_POLICY, HeaderValue::from_static("no-referrer"));
    headers.insert(CACHE_CONTROL, HeaderValue::from_static("no-store"));
    headers.insert(HeaderName::from_static("cross-origin-opener-policy"), HeaderValue::from_static("same-origin"));
    headers.insert(HeaderName::from_static("cross-origin-resource-policy"), HeaderValue::from_static("same-origin"));
    headers.entry(CONTENT_SECURITY_POLICY).or_insert(HeaderValue::from_static("default-src 'none'"));
    answer
}

/// The state that is asked for.
fn state(analysis: &Analysis, case: Option<&str>) -> Result<StateId, String> {
    let Some(case) = case else { return Ok(StateId::DRAWN) };
    let named = |state: &ohmline_circuit::State| state.name.as_deref() == Some(case);
    match analysis.circuit.states.iter().position(named) {
        Some(index) => Ok(StateId(index as u32)),
        None => Err(format!("There is no case \u{201c}{case}\u{201d} in this circuit.")),
    }
}

async fn show(State(board): State<Arc<Board>>, Query(query): Query<HashMap<String, String>>) -> Response {
    let (version, shown) = board.last();
    let live = Live { nonce: nonce(), version };
    let policy = format!(
        "default-src 'none'; style-src 'nonce-{0}'; script-src 'nonce-{0}'; connect-src 'self'; base-uri 'none'; \
         form-action 'none'; frame-ancestors 'none'",
        live.nonce
    );
    let (status, text) = match shown {
        Shown::Trouble(what) => (StatusCode::OK, trouble_page(&board.name, &what, &live)),
        Shown::Circuit(analysis) => {
            let case = query.get("case").or(board.case.as_ref()).filter(|case| !case.is_empty());
            match state(&analysis, case.map(String::as_str)) {
                Ok(state) => {
                    let solution = SolutionOptions { state, ..board.options.clone() };
                    let options = PageOptions { solution, live: Some(live.clone()) };
                    let made = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| page(&analysis, &options)));
                    match made {
                        Ok(text) => (StatusCode::OK, text),
                        Err(_) => {
                            let what = "This circuit could not be shown, and the fault is not yours. Change what you edited \
                                        last, and please report the text that led here.";
                            (StatusCode::OK, trouble_page(&board.name, what, &live))
                        }
                    }
                }
                Err(what) => (StatusCode::NOT_FOUND, trouble_page(&board.name, &what, &live)),
            }
        }
    };
    let mut answer = (status, Html(text)).into_response();
    if let Ok(policy) = HeaderValue::from_str(&policy) {
        answer.headers_mut().insert(CONTENT_SECURITY_POLICY, policy);
    }
    answer
}

/// The number of what is shown, now and at every change.
async fn news(State(board): State<Arc<Board>>) -> impl IntoResponse {
    let mut listener = board.news.subscribe();
    listener.mark_changed();
    let events = stream::unfold(listener, |mut listener| async move {
        listener.changed().await.ok()?;
        let version = *listener.borrow_and_update();
        let event = Event::default().event("version").data(version.to_string());
        Some((Ok::<_, Infallible>(event), listener))
    });
    Sse::new(events).keep_alive(KeepAlive::new().interval(Duration::from_secs(15)))
}
