//! Which requests are answered.
//!
//! A page of somebody else that is open in the same browser can send requests to loopback, and a name of theirs can be made to
//! point to it. So a request must name us as its host, and if it tells its origin that must be us too.

use std::net::SocketAddr;

use axum::http::header::{HOST, ORIGIN};
use axum::http::{HeaderMap, HeaderValue, StatusCode};

/// Why a request is refused, if it is.
pub fn refusal(headers: &HeaderMap, address: SocketAddr) -> Option<(StatusCode, &'static str)> {
    let port = address.port();
    let hosts = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
    let is_ours = |value: &HeaderValue, before: &str| {
        value.to_str().is_ok_and(|text| {
            text.strip_prefix(before).is_some_and(|host| hosts.iter().any(|ours| host.eq_ignore_ascii_case(ours)))
        })
    };
    let mut named = headers.get_all(HOST).iter();
    match (named.next(), named.next()) {
        (Some(host), None) if is_ours(host, "") => {}
        _ => return Some((StatusCode::MISDIRECTED_REQUEST, "This is not the host that you asked for.\n")),
    }
    if headers.get_all(ORIGIN).iter().any(|origin| !is_ours(origin, "http://")) {
        return Some((StatusCode::FORBIDDEN, "Only the preview's own page may ask.\n"));
    }
    // Browsers say where a request comes from even where they send no origin (Fetch Metadata, W3C).
    if headers.get_all("sec-fetch-site").iter().any(|site| site != "same-origin" && site != "none") {
        return Some((StatusCode::FORBIDDEN, "Only the preview's own page may ask.\n"));
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn answer(headers: &[(&'static str, &'static str)]) -> Option<u16> {
        let mut map = HeaderMap::new();
        for (name, value) in headers {
            map.append(*name, HeaderValue::from_static(value));
        }
        refusal(&map, "127.0.0.1:4100".parse().expect("an address")).map(|(status, _)| status.as_u16())
    }

    #[test]
    fn only_our_own_host_and_origin() {
        assert_eq!(answer(&[("host", "127.0.0.1:4100")]), None);
        assert_eq!(answer(&[("host", "LocalHost:4100")]), None);
        assert_eq!(answer(&[("host", "127.0.0.1:4100"), ("origin", "http://127.0.0.1:4100")]), None);
        assert_eq!(answer(&[("host", "127.0.0.1:4100"), ("sec-fetch-site", "none")]), None);
        assert_eq!(answer(&[]), Some(421));
        assert_eq!(answer(&[("host", "harbour.example:4100")]), Some(421));
        assert_eq!(answer(&[("host", "127.0.0.1:4101")]), Some(421));
        assert_eq!(answer(&[("host", "127.0.0.1:4100"), ("host", "harbour.example")]), Some(421));
        assert_eq!(answer(&[("host", "127.0.0.1:4100"), ("origin", "https://127.0.0.1:4100")]), Some(403));
        assert_eq!(answer(&[("host", "127.0.0.1:4100"), ("origin", "null")]), Some(403));
        assert_eq!(answer(&[("host", "127.0.0.1:4100"), ("sec-fetch-site", "cross-site")]), Some(403));
    }
}
