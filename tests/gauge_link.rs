//! The link to a gauge over a real pseudo-terminal: whatever the chunks, through unplugging and
//! back, and with what it says when a port can't be had.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test may stop where it stands"
)]

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use borewright::gauge::simulate::Simulator;
use borewright::gauge::{Arrival, Content, Description, Gauge, Port, link};
use borewright::units::Length;
use tokio::io::AsyncWriteExt as _;
use tokio::sync::mpsc;
use tokio_util::sync::{CancellationToken, DropGuard};

/// Far longer than anything here takes; only a failure waits for it.
const LONG: Duration = Duration::from_secs(20);

fn form(name: &str) -> Arc<Description> {
    Arc::new(Description::named(name, None).unwrap())
}

/// A form of one's own, changed from a shipped one.
fn changed(name: &str, from: &str, to: &str) -> Arc<Description> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("config/gauges/{name}.toml"));
    let text = std::fs::read_to_string(path).unwrap();
    assert!(text.contains(from));
    Arc::new(Description::parse(&text.replace(from, to), "test").unwrap())
}

/// A running link, ended with the test.
struct Linked {
    arrivals: mpsc::Receiver<Arrival>,
    _ends: DropGuard,
}

impl Linked {
    fn to(port: &str, form: Arc<Description>) -> Self {
        let (out, arrivals) = mpsc::channel(64);
        let cancel = CancellationToken::new();
        let gauge = Gauge {
            name: "bore-gauge".into(),
            port: port.parse().unwrap(),
            form,
        };
        tokio::spawn(link::run(gauge, Instant::now(), out, cancel.clone()));
        Self {
            arrivals,
            _ends: cancel.drop_guard(),
        }
    }

    fn to_path(path: &Path, form: Arc<Description>) -> Self {
        Self::to(path.to_str().unwrap(), form)
    }

    async fn next(&mut self) -> Content {
        let arrival = tokio::time::timeout(LONG, self.arrivals.recv()).await;
        arrival
            .expect("nothing arrived")
            .expect("the link ended")
            .content
    }

    async fn opened(&mut self) -> String {
        match self.next().await {
            Content::Opened { port } => port,
            other => panic!("{other:?} instead of the news that the port is open"),
        }
    }

    async fn reading(&mut self) -> (String, f64) {
        match self.next().await {
            Content::Reading { raw, value } => (raw.text(), value.mm()),
            other => panic!("{other:?} instead of a reading"),
        }
    }

    async fn noise(&mut self) -> (Vec<u8>, String) {
        match self.next().await {
            Content::Noise { raw, why } => (raw.0, why),
            other => panic!("{other:?} instead of noise"),
        }
    }

    async fn lost(&mut self) -> String {
        match self.next().await {
            Content::Lost { why, .. } => why,
            other => panic!("{other:?} instead of the news that the port is lost"),
        }
    }
}

fn mm(value: f64) -> Length {
    Length::from_mm(value).unwrap()
}

#[tokio::test]
async fn a_frame_may_come_byte_by_byte_or_three_in_one_read() {
    let gauge = Simulator::open(form("plain-mm-stream")).unwrap();
    let mut linked = Linked::to_path(gauge.path(), form("plain-mm-stream"));
    assert_eq!(linked.opened().await, gauge.path().to_str().unwrap());

    for byte in b"+0045.9630 mm\r\n" {
        gauge.send_bytes(&[*byte]).unwrap();
        tokio::time::sleep(Duration::from_millis(1)).await;
    }
    assert_eq!(linked.reading().await, ("+0045.9630 mm".to_owned(), 45.963));

    gauge
        .send_bytes(b"+0045.9640 mm\r\n+0045.9650 mm\r-0000.0005 mm\n")
        .unwrap();
    assert_eq!(linked.reading().await.1, 45.964);
    assert_eq!(linked.reading().await.1, 45.965);
    assert_eq!(linked.reading().await.1, -0.0005);
}

#[tokio::test]
async fn what_was_sent_before_the_port_was_opened_is_read() {
    let gauge = Simulator::open(form("plain-mm")).unwrap();
    gauge.send_value(mm(45.963)).unwrap();
    let mut linked = Linked::to_path(gauge.path(), form("plain-mm"));
    linked.opened().await;
    assert_eq!(linked.reading().await, ("+0045.9630 mm".to_owned(), 45.963));
}

#[tokio::test]
async fn noise_is_handed_on_with_its_bytes_and_does_not_hide_the_next_reading() {
    let gauge = Simulator::open(form("plain-mm")).unwrap();
    let mut linked = Linked::to_path(gauge.path(), form("plain-mm"));
    linked.opened().await;
    gauge.send_bytes(b"\x00\xfe\x07\r\n").unwrap();
    gauge.send_value(mm(45.963)).unwrap();
    assert_eq!(linked.noise().await.0, b"\x00\xfe\x07");
    assert_eq!(linked.reading().await.1, 45.963);
}

#[tokio::test]
async fn a_line_without_end_comes_out_in_pieces_as_noise() {
    let gauge = Simulator::open(form("plain-mm")).unwrap();
    let mut linked = Linked::to_path(gauge.path(), form("plain-mm"));
    linked.opened().await;
    let endless = vec![b'7'; 10_000];
    gauge.send_bytes(&endless).unwrap();
    gauge.send_bytes(b"\r\n+0045.9630 mm\r\n").unwrap();
    let mut noise = 0;
    while noise < endless.len() {
        let (raw, why) = linked.noise().await;
        assert!(
            raw.len() <= 80 && why.contains("without an end"),
            "{} bytes: {why}",
            raw.len()
        );
        noise += raw.len();
    }
    assert_eq!(noise, endless.len());
    assert_eq!(linked.reading().await.1, 45.963);
}

#[tokio::test]
async fn half_a_line_is_given_up_when_the_rest_stays_away() {
    let gauge = Simulator::open(form("plain-mm")).unwrap();
    let impatient = changed(
        "plain-mm",
        "longest = 64",
        "longest = 64\nunfinished_ms = 50",
    );
    let mut linked = Linked::to_path(gauge.path(), impatient);
    linked.opened().await;
    gauge.send_bytes(b"+0045.96").unwrap();
    assert_eq!(linked.noise().await.0, b"+0045.96");
    gauge.send_value(mm(45.963)).unwrap();
    assert_eq!(linked.reading().await.1, 45.963);
}

#[tokio::test]
async fn a_gap_ends_a_frame_where_the_form_says_so() {
    let gauge = Simulator::open(form("plain-mm")).unwrap();
    let gaps = changed("plain-mm", r#"ends = ["\r\n", "\r", "\n"]"#, "idle_ms = 30");
    let mut linked = Linked::to_path(gauge.path(), gaps);
    linked.opened().await;
    gauge.send_bytes(b"+0045.9630 mm").unwrap();
    assert_eq!(linked.reading().await.1, 45.963);
    gauge.send_bytes(b"+0045.9640 mm").unwrap();
    assert_eq!(linked.reading().await.1, 45.964);
}

/// A pseudo-terminal forces eight bits; the parity bit of a line of seven arrives as the top bit.
#[tokio::test]
async fn a_parity_bit_in_the_eighth_bit_is_not_read() {
    let gauge = Simulator::open(form("comma-status")).unwrap();
    let mut linked = Linked::to_path(gauge.path(), form("comma-status"));
    linked.opened().await;
    let even = |byte: &u8| {
        if byte.count_ones() % 2 == 1 {
            byte | 0x80
        } else {
            *byte
        }
    };
    let frame: Vec<u8> = b"D   45,963 A\r".iter().map(even).collect();
    assert_ne!(frame, b"D   45,963 A\r");
    gauge.send_bytes(&frame).unwrap();
    match linked.next().await {
        Content::Reading { raw, value } => {
            assert_eq!(value.mm(), 45.963);
            assert_eq!(
                raw.0,
                frame[..frame.len() - 1],
                "the raw bytes are as they came"
            );
        }
        other => panic!("{other:?}"),
    }
}

#[tokio::test]
async fn unplugged_is_said_once_and_the_gauge_is_taken_up_when_it_is_back() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("gauge");
    let gauge = Simulator::open_at(form("plain-mm"), &path).unwrap();
    let mut linked = Linked::to_path(&path, form("plain-mm"));
    linked.opened().await;
    gauge.send_bytes(b"+0045.9630 mm\r\n+0045.9").unwrap();
    tokio::task::spawn_blocking(|| gauge.close()).await.unwrap();
    assert_eq!(linked.reading().await.1, 45.963);
    assert_eq!(
        linked.noise().await.0,
        b"+0045.9",
        "half a frame is no reading"
    );
    let why = linked.lost().await;
    assert!(
        why.contains("is gone") && why.contains("plug the gauge in again"),
        "{why}"
    );

    // Away for several looks: nothing more is said.
    tokio::time::sleep(Duration::from_millis(700)).await;
    assert!(linked.arrivals.try_recv().is_err());

    let gauge = Simulator::open_at(form("plain-mm"), &path).unwrap();
    assert_eq!(linked.opened().await, path.to_str().unwrap());
    gauge.send_value(mm(45.964)).unwrap();
    assert_eq!(linked.reading().await.1, 45.964);
}

#[tokio::test]
async fn a_port_that_is_not_there_yet_is_said_and_then_opened() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("gauge");
    let mut linked = Linked::to_path(&path, form("plain-mm"));
    let why = linked.lost().await;
    assert!(
        why.contains("there is no") && why.contains("borewright ports"),
        "{why}"
    );
    let _gauge = Simulator::open_at(form("plain-mm"), &path).unwrap();
    linked.opened().await;
}

#[tokio::test]
async fn a_second_reader_of_a_port_is_told_that_it_is_in_use() {
    let gauge = Simulator::open(form("plain-mm")).unwrap();
    let mut first = Linked::to_path(gauge.path(), form("plain-mm"));
    first.opened().await;
    let mut second = Linked::to_path(gauge.path(), form("plain-mm"));
    let why = second.lost().await;
    assert!(why.contains("is in use by another program"), "{why}");
    gauge.send_value(mm(45.963)).unwrap();
    assert_eq!(first.reading().await.1, 45.963);
    // When the first lets go, the second takes the port by itself.
    drop(first);
    second.opened().await;
}

#[tokio::test]
async fn what_is_no_serial_port_is_called_so_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("notes.txt");
    std::fs::write(&file, "keep").unwrap();
    for path in [file.clone(), PathBuf::from("/dev/null")] {
        let why = Linked::to_path(&path, form("plain-mm")).lost().await;
        assert!(why.contains("is no serial port"), "{why}");
    }
    assert_eq!(std::fs::read_to_string(file).unwrap(), "keep");
}

#[tokio::test]
async fn a_gauge_that_must_be_asked_is_asked() {
    let asked = changed("polled-inch", "every_ms = 500", "every_ms = 20");
    let gauge = Arc::new(Simulator::open(asked.clone()).unwrap());
    let mut linked = Linked::to_path(gauge.path(), asked);
    linked.opened().await;
    for steps in [36_190, 36_191] {
        let size = Length::from_decimal(steps * 5, 5, borewright::units::LengthUnit::In).unwrap();
        let gauge = gauge.clone();
        tokio::task::spawn_blocking(move || {
            assert!(gauge.asked(LONG).unwrap(), "no question came");
            gauge.send_value(size).unwrap();
        })
        .await
        .unwrap();
        let (raw, value) = linked.reading().await;
        assert!(raw.ends_with("in"), "{raw}");
        assert_eq!(value, size.mm());
    }
}

#[tokio::test]
async fn a_gauge_that_does_not_answer_is_called_silent_until_it_does() {
    let asked = changed(
        "polled-inch",
        "every_ms = 500",
        "every_ms = 20\nsilent_after_ms = 60",
    );
    let gauge = Simulator::open(asked.clone()).unwrap();
    let mut linked = Linked::to_path(gauge.path(), asked);
    linked.opened().await;
    let why = linked.lost().await;
    assert!(
        why.contains("does not answer") && why.contains("switched on"),
        "{why}"
    );
    gauge.send_bytes(b"1.80950in\n").unwrap();
    linked.opened().await;
    assert_eq!(linked.reading().await.0, "1.80950in");
}

#[tokio::test]
async fn a_device_server_is_read_and_connected_again() {
    let server = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = format!("tcp://{}", server.local_addr().unwrap());
    let mut linked = Linked::to(&address, form("plain-mm"));
    for value in [45.963, 45.964] {
        let (mut stream, _) = server.accept().await.unwrap();
        assert_eq!(linked.opened().await, address);
        stream
            .write_all(format!("+00{value:.4} mm\r\n").as_bytes())
            .await
            .unwrap();
        assert_eq!(linked.reading().await.1, value);
        drop(stream);
        assert!(linked.lost().await.contains("connected again by itself"));
    }
}

#[tokio::test]
async fn arrivals_carry_the_time_since_the_start() {
    let gauge = Simulator::open(form("plain-mm")).unwrap();
    let mut linked = Linked::to_path(gauge.path(), form("plain-mm"));
    linked.opened().await;
    let mut last = Duration::ZERO;
    for _ in 0..3 {
        gauge.send_value(mm(45.963)).unwrap();
        let arrival = tokio::time::timeout(LONG, linked.arrivals.recv())
            .await
            .unwrap()
            .unwrap();
        assert!(arrival.since_start > last);
        last = arrival.since_start;
    }
}

#[test]
fn ports_are_told_apart_by_how_they_are_written() {
    assert_eq!(
        "/dev/pts/3".parse(),
        Ok(Port::Path(PathBuf::from("/dev/pts/3")))
    );
    assert_eq!(
        "tcp://10.0.0.7:4001".parse(),
        Ok(Port::Tcp("10.0.0.7:4001".to_owned()))
    );
    for text in ["usb:0a1b:00ff", "usb:0a1b:00ff:SN:7"] {
        let port: Port = text.parse().unwrap();
        assert!(matches!(port, Port::Usb(_)));
        assert_eq!(port.to_string(), text);
    }
    for wrong in [
        "",
        "ttyUSB0",
        "usb:1:2",
        "usb:0a1b",
        "usb:0a1b:00ff:",
        "tcp://host",
        "tcp://:1",
    ] {
        assert!(wrong.parse::<Port>().is_err(), "{wrong}");
    }
}
