use super::*;

/// Sends a request as it stands and gives the status and what follows the headers.
async fn request(address: SocketAddr, text: &str) -> (u16, BufReader<TcpStream>) {
    let mut stream = TcpStream::connect(address).await.unwrap();
    stream.write_all(text.as_bytes()).await.unwrap();
    let mut reader = BufReader::new(stream);
    let status = next(&mut reader).await.unwrap();
    while next(&mut reader)
        .await
        .is_some_and(|header| !header.is_empty())
    {}
    (status.split(' ').nth(1).unwrap().parse().unwrap(), reader)
}

async fn body(mut reader: BufReader<TcpStream>) -> String {
    let mut text = String::new();
    timeout(PATIENCE, reader.read_to_string(&mut text))
        .await
        .unwrap()
        .unwrap();
    text
}

fn get(address: SocketAddr, path: &str, headers: &str) -> String {
    format!("GET {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n{headers}\r\n")
}

fn post(address: SocketAddr, headers: &str, body: &str) -> String {
    format!(
        "POST /commands HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\
         Content-Length: {}\r\n{headers}\r\n{body}",
        body.len()
    )
}

const JSON: &str = "Content-Type: application/json\r\n";

/// The next server-sent event: its id and its data. Chunk sizes of the transfer are passed over,
/// as are comments.
async fn sent(reader: &mut BufReader<TcpStream>) -> Option<(Option<u64>, String)> {
    let mut id = None;
    let mut data = None;
    loop {
        let line = next(reader).await?;
        if let Some(text) = line.strip_prefix("data: ") {
            data = Some(text.to_owned());
        } else if let Some(text) = line.strip_prefix("id: ") {
            id = Some(text.parse().unwrap());
        } else if line.is_empty() && data.is_some() {
            return data.map(|data| (id, data));
        }
    }
}

#[tokio::test]
async fn the_feed_is_resumed_while_events_come_without_gap_or_double() {
    let fake = Fake::new();
    let (_, address, _) = serve(&fake).await;
    fake.publish(500, "before");
    let publisher = fake.clone();
    let (begun, begin) = tokio::sync::oneshot::channel();
    let published = tokio::task::spawn_blocking(move || {
        for _ in 0..20 {
            publisher.publish(3, "meanwhile");
        }
        begun.send(()).unwrap();
        for _ in 0..200 {
            publisher.publish(3, "meanwhile");
        }
    });
    begin.await.unwrap();
    let (status, mut reader) = request(address, &get(address, "/feed?from=10", "")).await;
    assert_eq!(status, 200);
    let end = 500 + 3 * 220;
    let mut expected = 11;
    let mut last_id = 10;
    while last_id < end {
        let (id, data) = sent(&mut reader).await.unwrap();
        let (kind, seq) = named(&data);
        if kind == "noted" {
            assert_eq!(seq, Some(expected));
            expected += 1;
        }
        if let Some(id) = id {
            assert_eq!(Some(id), seq);
            assert!(id >= last_id, "a resume point never goes back");
            assert_eq!(
                id,
                expected - 1,
                "nothing before a resume point is still to come"
            );
            last_id = id;
        }
    }
    assert_eq!(expected, end + 1);
    published.await.unwrap();
}

#[tokio::test]
async fn the_number_goes_with_the_last_object_and_from_wins_over_the_header() {
    let fake = Fake::new();
    let (_, address, _) = serve(&fake).await;
    fake.publish(4, "");
    let by_header = get(address, "/feed", "Last-Event-ID: 2\r\n");
    let by_both = get(address, "/feed?from=2", "Last-Event-ID: 0\r\n");
    for asked in [by_header, by_both] {
        let (_, mut reader) = request(address, &asked).await;
        let mut found = vec![];
        for _ in 0..3 {
            let (id, data) = sent(&mut reader).await.unwrap();
            found.push((id, named(&data).0, named(&data).1.unwrap()));
        }
        assert_eq!(
            found,
            [
                (Some(3), "noted".to_owned(), 3),
                (None, "noted".to_owned(), 4),
                (Some(4), "section".to_owned(), 4)
            ]
        );
    }
    let (status, _) = request(address, &get(address, "/feed", "Last-Event-ID: x\r\n")).await;
    assert_eq!(status, 400);
    let (status, _) = request(address, &get(address, "/feed?from=x", "")).await;
    assert_eq!(status, 400);
}

#[tokio::test]
async fn a_command_is_answered_with_the_events_that_followed() {
    let fake = Fake::new();
    let (_, address, _) = serve(&fake).await;
    let (status, reader) = request(
        address,
        &post(address, JSON, r#"{"command":"undo","if_seq":6}"#),
    )
    .await;
    assert_eq!(
        (status, body(reader).await.as_str()),
        (200, r#"[{"seq":1},{"seq":2}]"#)
    );

    let (status, reader) = request(
        address,
        &post(address, JSON, r#"{"command":"undo","if_seq":7}"#),
    )
    .await;
    assert_eq!(
        (status, body(reader).await.as_str()),
        (409, r#"{"refused":"the job has moved on"}"#)
    );
}

#[tokio::test]
async fn a_command_that_is_none_is_told_why() {
    let fake = Fake::new();
    let (_, address, _) = serve(&fake).await;
    let form = "Content-Type: application/x-www-form-urlencoded\r\n";
    let utf8 = "Content-Type: Application/JSON; charset=utf-8\r\n";
    let undo = r#"{"command":"undo"}"#;
    let long = format!(r#"{{"command":"note","text":"{}"}}"#, "x".repeat(100_000));
    for (headers, text, expected) in [
        (utf8, undo, 200),
        (form, undo, 415),
        ("Content-Type: text/plain\r\n", undo, 415),
        ("", undo, 415),
        (JSON, "", 422),
        (JSON, "{", 422),
        (JSON, "[]", 422),
        (JSON, r#"{"command":"melt"}"#, 422),
        (JSON, r#"{"command":"undo","if_seq":"six"}"#, 422),
        (JSON, &long, 413),
    ] {
        let (status, _) = request(address, &post(address, headers, text)).await;
        assert_eq!(status, expected, "{headers} {text:.40}");
    }
    let (status, _) = request(address, &get(address, "/commands", "")).await;
    assert_eq!(status, 405, "no GET changes anything");
    let (status, reader) = request(address, &get(address, "/state", "")).await;
    assert_eq!(
        (status, body(reader).await.as_str()),
        (200, r#"{"state":"whole"}"#)
    );
}

#[tokio::test]
async fn pages_of_other_sites_are_refused_on_every_method() {
    let fake = Fake::new();
    let (_, address, _) = serve(&fake).await;
    let port = address.port();
    for (host, expected) in [
        (format!("127.0.0.1:{port}"), 200),
        (format!("localhost:{port}"), 200),
        (format!("[::1]:{port}"), 200),
        // Forwarded from another port of the same machine.
        ("127.0.0.1:80".to_owned(), 200),
        ("Bench.Example".to_owned(), 200),
        ("attacker.example".to_owned(), 403),
        (format!("attacker.example:{port}"), 403),
        (format!("127.0.0.1.attacker.example:{port}"), 403),
        // A daemon on the loopback has no other address.
        (format!("192.168.1.4:{port}"), 403),
        ("not a host".to_owned(), 403),
    ] {
        let asked = format!("GET /state HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
        assert_eq!(request(address, &asked).await.0, expected, "{host}");
    }
    let (status, _) = request(address, "GET /state HTTP/1.0\r\n\r\n").await;
    assert_eq!(status, 403, "without a host");

    for (headers, expected) in [
        (format!("Origin: http://{address}\r\n"), 200),
        ("Origin: http://attacker.example\r\n".to_owned(), 403),
        ("Origin: null\r\n".to_owned(), 403),
        (format!("Origin: http://localhost:{port}\r\n"), 403),
        (
            format!("Origin: http://127.0.0.1:{}\r\n", port.wrapping_add(1)),
            403,
        ),
        (
            format!("Origin: http://{address}\r\nOrigin: http://attacker.example\r\n"),
            403,
        ),
        (
            "Sec-Fetch-Site: same-origin\r\nSec-Fetch-Mode: cors\r\n".to_owned(),
            200,
        ),
        (
            "Sec-Fetch-Site: none\r\nSec-Fetch-Mode: navigate\r\n".to_owned(),
            200,
        ),
        (
            "Sec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: no-cors\r\n".to_owned(),
            403,
        ),
        (
            "Sec-Fetch-Site: same-site\r\nSec-Fetch-Mode: cors\r\n".to_owned(),
            403,
        ),
    ] {
        let (status, _) = request(address, &get(address, "/state", &headers)).await;
        assert_eq!(status, expected, "GET {headers}");
        let undo = post(
            address,
            &format!("{JSON}{headers}"),
            r#"{"command":"undo"}"#,
        );
        assert_eq!(request(address, &undo).await.0, expected, "POST {headers}");
        let (status, _) = request(address, &get(address, "/feed", &headers)).await;
        assert_eq!(status, expected, "feed {headers}");
    }
    // A person who follows a link to the page.
    let followed = "Sec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: navigate\r\n";
    assert_eq!(
        request(address, &get(address, "/state", followed)).await.0,
        200
    );
    let undo = post(
        address,
        &format!("{JSON}{followed}"),
        r#"{"command":"undo"}"#,
    );
    assert_eq!(request(address, &undo).await.0, 403);
}

#[tokio::test]
async fn the_end_of_the_daemon_ends_the_streams() {
    let fake = Fake::new();
    let (_, address, stop) = serve(&fake).await;
    let (status, mut reader) = request(address, &get(address, "/feed?from=0", "")).await;
    assert_eq!(status, 200);
    fake.publish(1, "");
    assert!(sent(&mut reader).await.is_some());
    stop.cancel();
    while sent(&mut reader).await.is_some() {}
}
