//! The page around drawing, findings and worked solution.

use ohmline_analysis::Analysis;
use ohmline_circuit::StateId;
use ohmline_draw::{Theme, css};
use ohmline_report::{SolutionOptions, elements_html, html_text, solution_body, state_title, work_out};

use crate::findings::findings;
use crate::overview::overview;

const LOOK: &str = include_str!("look.css");
const STEPPING: &str = include_str!("stepping.js");
const FOLLOWING: &str = include_str!("following.js");

/// A page that follows its file: what a server puts into it.
#[derive(Clone, Debug, Default)]
pub struct Live {
    /// Stands in the policy of the answer too; other scripts and styles are not let in.
    pub nonce: String,
    /// The number of the state that the page shows; its successor has another.
    pub version: u64,
}

/// What the reader can choose.
#[derive(Clone, Debug, Default)]
pub struct PageOptions {
    /// Numbers, state, method.
    pub solution: SolutionOptions,
    /// For a page that is served and follows its file; `None` for a file that stands alone.
    pub live: Option<Live>,
}

/// The page.
pub fn page(analysis: &Analysis, options: &PageOptions) -> String {
    let state = options.solution.state;
    let title = html_text(&state_title(analysis, state));
    let mut main = String::new();
    main.push_str("<section class=\"stage\" aria-label=\"Drawing\">\n");
    main.push_str(&overview(analysis, state, options.solution.style));
    main.push_str(
        "<div id=\"shown\" hidden></div>\n<p id=\"about\" aria-live=\"polite\" hidden></p>\n</section>\n<div class=\"text\" id=\"solution\">\n",
    );
    if options.live.is_some() {
        main.push_str(&findings(analysis));
    }
    match work_out(analysis, state, options.solution.method) {
        Ok(solution) => main.push_str(&solution_body(analysis, &solution, &options.solution)),
        Err(sentences) => {
            main.push_str("<section class=\"unsolved\">\n<h2>No worked solution</h2>\n");
            for sentence in sentences {
                main.push_str(&format!("<p>{}</p>\n", html_text(&sentence)));
            }
            main.push_str("</section>\n<section class=\"table\">\n<h2>Every element</h2>\n");
            main.push_str(&elements_html(analysis, state, options.solution.style));
            main.push_str("</section>\n");
        }
    }
    main.push_str("</div>\n");
    document(&title, &cases(analysis, options), &main, options.live.as_ref())
}

/// A page that only says that something went wrong, such as a file that is gone; it goes on following.
pub fn trouble_page(title: &str, what: &str, live: &Live) -> String {
    let main = format!(
        "<div class=\"text\"><section class=\"unsolved\"><h2>Nothing to show</h2>\n<p>{}</p></section></div>\n",
        html_text(what)
    );
    document(&html_text(title), "", &main, Some(live))
}

/// Links to the other states of the circuit, which only a server can show.
fn cases(analysis: &Analysis, options: &PageOptions) -> String {
    let states = &analysis.circuit.states;
    if options.live.is_none() || states.len() < 2 {
        return String::new();
    }
    let links: Vec<String> = states
        .iter()
        .enumerate()
        .map(|(index, state)| {
            let (text, address) = match &state.name {
                Some(name) => {
                    (format!("\u{201c}{}\u{201d}", html_text(name)), format!("/?case={}", percent_encoded(name)))
                }
                None => ("as drawn".to_owned(), "/".to_owned()),
            };
            let here = if StateId(index as u32) == options.solution.state { " aria-current=\"page\"" } else { "" };
            format!("<a href=\"{address}\"{here}>{text}</a>")
        })
        .collect();
    format!("<nav class=\"cases\" aria-label=\"Cases\">{}</nav>\n", links.join(" "))
}

/// For the query of an address (RFC 3986).
fn percent_encoded(text: &str) -> String {
    let mut out = String::new();
    for byte in text.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => out.push(byte as char),
            _ => out.push_str(&format!("%{byte:02X}")),
        }
    }
    out
}

fn document(title: &str, cases: &str, main: &str, live: Option<&Live>) -> String {
    let nonce = live.map_or_else(String::new, |live| format!(" nonce=\"{}\"", html_text(&live.nonce)));
    let version = live.map_or_else(String::new, |live| format!(" data-version=\"{}\"", live.version));
    // A file that stands alone brings its own policy: nothing is fetched from anywhere.
    let policy = if live.is_some() {
        ""
    } else {
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; \
         script-src 'unsafe-inline'; base-uri 'none'; form-action 'none'\">\n"
    };
    let following = if live.is_some() { FOLLOWING } else { "" };
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n{policy}\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"referrer\" content=\"no-referrer\">\n<title>{title}</title>\n\
         <style{nonce}>\n{LOOK}{drawings}\n</style>\n</head>\n<body>\n<header>\n<h1>{title}</h1>\n{cases}\
         <div class=\"controls\" hidden>\n\
         <div class=\"steps\" role=\"group\" aria-label=\"Steps\">\n\
         <button type=\"button\" id=\"back\" title=\"Step back (left arrow)\">\u{2190} Back</button>\n\
         <output id=\"where\">Whole circuit</output>\n\
         <button type=\"button\" id=\"on\" title=\"Next step (right arrow)\">Next \u{2192}</button>\n</div>\n\
         <button type=\"button\" id=\"light\" title=\"Light or dark\">Light or dark</button>\n</div>\n</header>\n\
         <main id=\"main\"{version}>\n{main}</main>\n\
         <script{nonce}>\n{STEPPING}{following}</script>\n</body>\n</html>\n",
        drawings = css(Theme::Page),
    )
}
