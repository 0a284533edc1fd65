//! The page that explains how a device comes to trust this server, and the certificate itself.

use std::sync::Arc;

use axum::{
    extract::State,
    http::{StatusCode, header},
    response::{Html, IntoResponse, Response},
};

use crate::hub::Hub;

/// `GET /authority.crt`.
pub async fn certificate(State(hub): State<Arc<Hub>>) -> Response {
    match &hub.about.authority {
        Some(authority) => {
            let kind = "application/x-x509-ca-cert";
            let file = "attachment; filename=\"dunlin-authority.crt\"";
            let headers = [(header::CONTENT_TYPE, kind), (header::CONTENT_DISPOSITION, file)];
            (headers, authority.der.clone()).into_response()
        }
        None => (StatusCode::NOT_FOUND, "this server uses no authority of its own").into_response(),
    }
}

/// `GET /trust`: a plain page, without code or style, that any browser shows.
pub async fn page(State(hub): State<Arc<Hub>>) -> Response {
    let Some(authority) = &hub.about.authority else {
        return (StatusCode::NOT_FOUND, "this server uses no authority of its own").into_response();
    };
    Html(PAGE.replace("{fingerprint}", &authority.fingerprint)).into_response()
}

const PAGE: &str = r#"<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Trust this dunlin</title>
</head>
<body>
<h1>Trust this dunlin</h1>
<p>Phones give their position only to pages they trust. Do this once on each device, on the centre's
own network. It lets this device trust <em>this</em> server only: names that end in <code>.local</code>
and addresses of private networks.</p>
<p><a href="/authority.crt"><strong>1. Fetch the certificate</strong></a></p>
<p>Before you trust it, compare its SHA-256 fingerprint with the one that the server prints when it starts:<br>
<code>{fingerprint}</code></p>
<h2>2. Android</h2>
<ol>
<li>Open <em>Settings</em> and search for <em>CA certificate</em> (under <em>Security</em>,
<em>More security settings</em>, <em>Encryption and credentials</em>, <em>Install a certificate</em>).</li>
<li>Choose <em>CA certificate</em>, read the warning, choose <em>Install anyway</em>.</li>
<li>Choose <em>dunlin-authority.crt</em> from the downloads.</li>
</ol>
<h2>2. iPhone and iPad</h2>
<ol>
<li>Use Safari to fetch the certificate, and allow the download of the profile.</li>
<li>Open <em>Settings</em>, <em>General</em>, <em>VPN &amp; Device Management</em>, choose the profile
and <em>Install</em>.</li>
<li>Open <em>Settings</em>, <em>General</em>, <em>About</em>, <em>Certificate Trust Settings</em>, and turn
on full trust for dunlin.</li>
</ol>
<h2>2. Computers</h2>
<p>Chrome and Edge: settings, <em>Manage certificates</em>, import among the trusted authorities. Firefox:
settings, <em>View Certificates</em>, <em>Authorities</em>, <em>Import</em>, trust for websites.</p>
<h2>3. Open dunlin</h2>
<p><a href="/">Go to the pages</a>. To take the trust back, remove the certificate in the same place.</p>
</body>
</html>
"#;
