//! Analysis to pages: tables, JSON, worked solutions.
//!
//! Purpose: everything that is read, by people or programs.
//! Boundary: views only. Nothing here solves, judges or words a diagnostic.
//! Invariants: numbers are rounded only here, and only for display; JSON follows the published contract (`schema` 1).

mod amounts;
mod cases;
mod check_json;
mod check_junit;
mod check_lines;
mod check_sarif;
mod check_writer;
mod groups;
mod json;
mod page;
mod paint;
mod position;
mod proof;
mod solution;
mod solve_json;
mod stream;
mod table;
mod tally;
mod undetermined;

pub use amounts::{Shower, declared, percent};
pub use check_json::CheckJson;
pub use check_junit::CheckJunit;
pub use check_lines::{check_annotation, check_line};
pub use check_sarif::{CheckSarif, fingerprint};
pub use check_writer::{CheckWriter, Checked, Unreadable};
pub use page::{Options, solve_page};
pub use paint::{Paint, Tone};
pub use position::{Place, Positions};
pub use solution::{
    SolutionOptions, elements_html, html_text, solution_body, solution_markdown, solution_sheets, solution_text,
    state_title, work_out, write_solution_circuits_json, write_solution_json,
};
pub use solve_json::{write_solve_circuits_json, write_solve_json};
pub use table::{clean, width, wrap};
pub use tally::Tally;

/// Version of the JSON contract.
pub const SCHEMA: u32 = 1;
