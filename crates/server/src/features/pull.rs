//! Diagnostics that the editor asks for, beside those that are sent to it.

use std::hash::{DefaultHasher, Hash, Hasher};

use serde_json::json;
use tower_lsp::jsonrpc::{Error, ErrorCode};
use tower_lsp::lsp_types::{
    Diagnostic, DiagnosticOptions, DiagnosticServerCapabilities, DocumentDiagnosticReport,
    DocumentDiagnosticReportResult, FullDocumentDiagnosticReport, RelatedFullDocumentDiagnosticReport,
    RelatedUnchangedDocumentDiagnosticReport, UnchangedDocumentDiagnosticReport, WorkDoneProgressOptions,
};

/// What the editor is told about them.
pub fn options() -> DiagnosticServerCapabilities {
    DiagnosticServerCapabilities::Options(DiagnosticOptions {
        identifier: Some("ohmline".to_owned()),
        inter_file_dependencies: true,
        workspace_diagnostics: false,
        work_done_progress_options: WorkDoneProgressOptions::default(),
    })
}

/// The same number for the same list.
fn number(found: &[Diagnostic]) -> String {
    let mut hasher = DefaultHasher::new();
    serde_json::to_string(found).unwrap_or_default().hash(&mut hasher);
    format!("{:016x}", hasher.finish())
}

/// The report for an editor that has the list of this number.
pub fn report(found: Vec<Diagnostic>, had: Option<&str>) -> DocumentDiagnosticReportResult {
    let id = number(&found);
    let report = if had == Some(id.as_str()) {
        DocumentDiagnosticReport::Unchanged(RelatedUnchangedDocumentDiagnosticReport {
            related_documents: None,
            unchanged_document_diagnostic_report: UnchangedDocumentDiagnosticReport { result_id: id },
        })
    } else {
        DocumentDiagnosticReport::Full(RelatedFullDocumentDiagnosticReport {
            related_documents: None,
            full_document_diagnostic_report: FullDocumentDiagnosticReport { result_id: Some(id), items: found },
        })
    };
    DocumentDiagnosticReportResult::Report(report)
}

/// What to answer where the text changed meanwhile. Editors take "content modified" for an empty list, which would flash; this
/// one asks them to come again (Language Server Protocol 3.17, DiagnosticServerCancellationData).
pub fn overtaken(error: Error) -> Error {
    if error.code != ErrorCode::ContentModified {
        return error;
    }
    Error {
        code: ErrorCode::ServerError(-32802),
        message: "The text changed meanwhile".into(),
        data: Some(json!({ "retriggerRequest": true })),
    }
}
