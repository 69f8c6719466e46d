use super::*;

async fn connect(address: SocketAddr, request: &str) -> BufReader<TcpStream> {
    let mut stream = TcpStream::connect(address).await.unwrap();
    stream.write_all(request.as_bytes()).await.unwrap();
    BufReader::new(stream)
}

#[tokio::test]
async fn a_consumer_that_sends_nothing_gets_what_happens_from_now_on() {
    let fake = Fake::new();
    let (address, ..) = serve(&fake).await;
    fake.publish(3, "before");
    let mut reader = connect(address, "").await;
    // Taken on, which the consumer itself can't see.
    while fake.0.published.receiver_count() == 0 {
        tokio::task::yield_now().await;
    }
    fake.publish(2, "after");
    for expected in [("noted", 4), ("noted", 5), ("section", 5)] {
        let line = next(&mut reader).await.unwrap();
        assert_eq!(named(&line), (expected.0.to_owned(), Some(expected.1)));
    }
}

#[tokio::test]
async fn a_consumer_resumes_with_one_line_and_may_close_its_side() {
    let fake = Fake::new();
    let (address, ..) = serve(&fake).await;
    fake.publish(5, "before");
    let mut reader = connect(address, "{\"from\":3}\n").await;
    reader.get_mut().shutdown().await.unwrap();
    let mut found = vec![];
    for _ in 0..3 {
        found.push(named(&next(&mut reader).await.unwrap()).1.unwrap());
    }
    fake.publish(1, "after");
    for _ in 0..2 {
        found.push(named(&next(&mut reader).await.unwrap()).1.unwrap());
    }
    assert_eq!(found, [4, 5, 5, 6, 6]);
}

#[tokio::test]
async fn what_is_not_understood_is_answered_and_the_connection_closed() {
    let fake = Fake::new();
    let (address, ..) = serve(&fake).await;
    for request in [
        "GET / HTTP/1.1\r\n\r\n",
        "{\"form\":3}\n",
        &"x".repeat(1000),
    ] {
        let mut reader = connect(address, request).await;
        let line = next(&mut reader).await.unwrap();
        assert_eq!(named(&line), ("not_understood".to_owned(), None));
        let mut rest = vec![];
        // Reset or closed: either way nothing follows.
        let _ = reader.read_to_end(&mut rest).await;
        assert_eq!(rest, b"");
    }
}

#[tokio::test]
async fn a_consumer_that_stops_reading_is_cut_and_resumes_without_a_gap() {
    let fake = Fake::new();
    let (address, ..) = serve(&fake).await;
    let mut reader = connect(address, "{\"from\":0}\n").await;
    fake.publish(1, "first");
    assert_eq!(named(&next(&mut reader).await.unwrap()).1, Some(1));

    // More than socket buffers and queue hold together; nothing of it waits for the consumer.
    let padding = "x".repeat(1000);
    let publisher = fake.clone();
    let published = tokio::task::spawn_blocking(move || {
        for _ in 0..2 * QUEUE {
            publisher.publish(48, &padding);
        }
    });
    timeout(PATIENCE, published)
        .await
        .expect("the bench is not held up")
        .unwrap();

    let mut expected = 2;
    let last = loop {
        let line = next(&mut reader).await.expect("a last line before the end");
        let (kind, seq) = named(&line);
        match kind.as_str() {
            "noted" => {
                assert_eq!(seq, Some(expected));
                expected += 1;
            }
            "cut" => break seq.unwrap(),
            _ => {}
        }
    };
    assert_eq!(
        last,
        expected - 1,
        "the cut names the last event that was sent"
    );
    assert_eq!(next(&mut reader).await, None, "closed after the cut");

    let mut reader = connect(address, &format!("{{\"from\":{last}}}\n")).await;
    let end = 1 + 48 * 2 * QUEUE as u64;
    while expected <= end {
        let (kind, seq) = named(&next(&mut reader).await.unwrap());
        assert_eq!((kind.as_str(), seq), ("noted", Some(expected)));
        expected += 1;
    }
    assert_eq!(
        named(&next(&mut reader).await.unwrap()),
        ("section".to_owned(), Some(end))
    );
}

#[tokio::test]
async fn the_end_of_the_daemon_closes_the_connection() {
    let fake = Fake::new();
    let (address, _, stop) = serve(&fake).await;
    let mut reader = connect(address, "{\"from\":0}\n").await;
    fake.publish(1, "");
    assert!(next(&mut reader).await.is_some());
    assert!(next(&mut reader).await.is_some());
    stop.cancel();
    assert_eq!(next(&mut reader).await, None);
}
