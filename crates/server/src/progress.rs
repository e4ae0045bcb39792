//! Telling the editor that something takes its time. Short work is not spoken of.

use std::time::Duration;

use tokio::runtime::Handle;
use tokio::sync::oneshot;
use tower_lsp::Client;
use tower_lsp::lsp_types::{
    NumberOrString, ProgressParams, ProgressParamsValue, WorkDoneProgress, WorkDoneProgressBegin,
    WorkDoneProgressCreateParams, WorkDoneProgressEnd, notification, request,
};

/// Work that is done sooner is not spoken of.
const THRESHOLD: Duration = Duration::from_millis(300);
/// How long the editor may take to make room for it.
const LIMIT: Duration = Duration::from_secs(10);

/// Work under way; dropped when it is done.
pub struct Progress {
    _done: oneshot::Sender<()>,
}

/// Tells the editor of work that goes on for longer than the threshold. Nothing here waits for the editor.
pub fn begin(client: &Client, runtime: &Handle, number: u64, title: String) -> Progress {
    let (done, mut finished) = oneshot::channel::<()>();
    let client = client.clone();
    runtime.spawn(async move {
        if tokio::time::timeout(THRESHOLD, &mut finished).await.is_ok() {
            return;
        }
        let token = NumberOrString::String(format!("ohmline-{number}"));
        let create = client
            .send_request::<request::WorkDoneProgressCreate>(WorkDoneProgressCreateParams { token: token.clone() });
        if !matches!(tokio::time::timeout(LIMIT, create).await, Ok(Ok(()))) {
            return;
        }
        let tell = |value: WorkDoneProgress| {
            let value = ProgressParamsValue::WorkDone(value);
            client.send_notification::<notification::Progress>(ProgressParams { token: token.clone(), value })
        };
        tell(WorkDoneProgress::Begin(WorkDoneProgressBegin {
            title,
            cancellable: Some(false),
            ..WorkDoneProgressBegin::default()
        }))
        .await;
        // The other end is dropped when the work is done, which is what is waited for.
        let _ = finished.await;
        tell(WorkDoneProgress::End(WorkDoneProgressEnd { message: None })).await;
    });
    Progress { _done: done }
}
