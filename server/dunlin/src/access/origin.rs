//! Whether a request was made by our own page: against forged requests from other sites and
//! against names that are made to point here.

use std::net::IpAddr;

use axum::http::{HeaderMap, Uri, header};

/// The name a request was sent to, with its port: the `Host` header, or HTTP/2's authority.
pub fn host(headers: &HeaderMap, uri: &Uri) -> Option<String> {
    let named = headers.get(header::HOST).and_then(|value| value.to_str().ok());
    uri.authority().map(|authority| authority.as_str()).or(named).map(str::to_ascii_lowercase)
}

/// The host without its port and brackets.
pub fn bare(host: &str) -> &str {
    if let Some(rest) = host.strip_prefix('[') {
        return rest.split(']').next().unwrap_or(rest);
    }
    host.split(':').next().unwrap_or(host)
}

/// Whether this is a name of ours: an address, `localhost`, a `.local` name, or one of `names`.
///
/// A page from elsewhere can make its own name point to our address ("DNS rebinding"); it cannot
/// make the browser send one of these.
pub fn is_ours(host: &str, names: &[String]) -> bool {
    let bare = bare(host);
    bare.parse::<IpAddr>().is_ok()
        || bare == "localhost"
        || bare.ends_with(".local")
        || names.iter().any(|name| name.eq_ignore_ascii_case(bare))
}

/// Whether the `Origin` header, which every browser sends with a write and with a WebSocket, is
/// the host itself. `None`: the header is not there.
pub fn same_origin(headers: &HeaderMap, host: &str) -> Option<bool> {
    let origin = headers.get(header::ORIGIN)?;
    let Ok(origin) = origin.to_str() else { return Some(false) };
    let authority = origin.split_once("://").map(|(_, authority)| authority);
    Some(authority.is_some_and(|authority| authority.eq_ignore_ascii_case(host)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_our_own_names_are_ours() {
        for (host, ours) in [
            ("192.168.4.1:8443", true),
            ("[fd00::1]:8443", true),
            ("localhost:8080", true),
            ("dunlin.local", true),
            ("watch.example.org:443", true),
            ("evil.example", false),
            ("evil.example:8080", false),
            ("dunlin.local.evil.example", false),
        ] {
            assert_eq!(is_ours(host, &["watch.example.org".to_owned()]), ours, "{host}");
        }
    }

    #[test]
    fn an_origin_is_the_same_only_with_host_and_port() {
        for (origin, same) in [
            ("https://dunlin.local:8443", true),
            ("https://DUNLIN.local:8443", true),
            ("https://dunlin.local", false),
            ("https://evil.example", false),
            ("null", false),
        ] {
            let mut headers = HeaderMap::new();
            headers.insert(header::ORIGIN, origin.parse().expect("a header"));
            assert_eq!(same_origin(&headers, "dunlin.local:8443"), Some(same), "{origin}");
        }
        assert_eq!(same_origin(&HeaderMap::new(), "dunlin.local"), None);
    }
}
