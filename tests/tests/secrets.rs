//! What is secret or personal never reaches the log.

use std::{
    io,
    sync::{Arc, Mutex},
};

use dunlin_tests::hub::Bay;
use futures_util::{SinkExt, StreamExt};
use serde_json::json;
use tokio_tungstenite::{connect_async, tungstenite::Message};
use tracing_subscriber::{EnvFilter, fmt::MakeWriter};

#[derive(Clone, Default)]
struct Log(Arc<Mutex<Vec<u8>>>);

impl io::Write for Log {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.lock().expect("not poisoned").extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl<'a> MakeWriter<'a> for Log {
    type Writer = Log;

    fn make_writer(&'a self) -> Log {
        self.clone()
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn no_key_code_pin_or_name_is_ever_logged() {
    let log = Log::default();
    // Everything of our own, and what others log by default.
    let filter = EnvFilter::new("info,dunlin=trace");
    tracing_subscriber::fmt().with_env_filter(filter).with_writer(log.clone()).init();

    let bay = Bay::open(false).await;
    let code = bay.code.clone().expect("a first code");
    let officer = bay.join("Xenophonia", "code", &code).await;
    let pin = r#"{"role":"viewer","pin":"83629174"}"#;
    assert_eq!(bay.ask("PUT", "/api/pins", Some(&officer), pin).await.status, 204);
    let viewer = bay.join("Perpetua", "pin", "83629174").await;
    let invitation = r#"{"role":"instructor","once":false,"hours":1}"#;
    let link = bay.ask("POST", "/api/invitations", Some(&officer), invitation).await.json();
    let boat = bay.ask("POST", "/api/boat-keys", Some(&officer), r#"{"boat":"07"}"#).await.json();
    let wrong = bay.ask("POST", "/api/join", None, r#"{"name":"Eve","pin":"55550000"}"#).await;
    assert_eq!(wrong.status, 401);

    let (mut phone, _) = connect_async(format!("ws://{}/feed", bay.address)).await.expect("opened");
    let hello = json!({"kind": "hello", "v": 1, "key": boat["code"], "run": "r"}).to_string();
    phone.send(Message::text(hello)).await.expect("sent");
    let welcome = phone.next().await.expect("open").expect("sound");
    assert!(welcome.to_text().expect("text").contains("welcome"));
    let keys = bay.ask("GET", "/api/keys", Some(&officer), "").await.json();
    for key in keys.as_array().expect("keys").iter().filter(|key| key["yours"] == false) {
        let path = format!("/api/keys/{}", key["id"]);
        assert_eq!(bay.ask("DELETE", &path, Some(&officer), "").await.status, 204);
    }

    let text = String::from_utf8(log.0.lock().expect("not poisoned").clone()).expect("text");
    assert!(text.contains("Somebody joined."), "the log is heard at all: {text}");
    let value = |cookie: &str| cookie.split_once('=').map(|(_, key)| key.to_owned()).expect("a key");
    for secret in [
        code,
        value(&officer),
        value(&viewer),
        "83629174".to_owned(),
        "55550000".to_owned(),
        link["code"].as_str().expect("a code").to_owned(),
        boat["code"].as_str().expect("a key").to_owned(),
        "Xenophonia".to_owned(),
        "Perpetua".to_owned(),
    ] {
        assert!(!text.contains(&secret), "{secret} is in the log");
    }
}
