//! A running daemon, as a command asks it: its feed, its state, and commands to it.

use std::str::FromStr;
use std::time::Duration;

use serde_json::Value;
use tokio::io::{AsyncBufReadExt as _, AsyncReadExt as _, AsyncWriteExt as _, BufReader, Lines};
use tokio::net::TcpStream;
use tokio::time::timeout;

use super::Failure;
use crate::job::Command;

/// How long the daemon may take to answer.
const PATIENCE: Duration = Duration::from_secs(10);

/// Where a daemon is reached.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Address {
    /// The page's address, `host:port`: feed, state and commands.
    Page(String),
    /// The NDJSON feed's, `host:port`.
    Feed(String),
}

impl FromStr for Address {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (page, host) = match text.strip_prefix("http://") {
            Some(host) => (true, host.trim_end_matches('/')),
            None => (false, text.strip_prefix("tcp://").unwrap_or(text)),
        };
        let port = host.rsplit_once(':').map(|(_, port)| port.parse::<u16>());
        if !matches!(port, Some(Ok(_))) {
            return Err(
                "write the page's address, http://host:port, or the feed's, tcp://host:port; the \
                 daemon says both at its start"
                    .to_owned(),
            );
        }
        let host = host.to_owned();
        Ok(if page {
            Self::Page(host)
        } else {
            Self::Feed(host)
        })
    }
}

/// A page's address, where commands are taken.
pub(super) fn page(text: &str) -> Result<String, String> {
    match text.parse()? {
        Address::Page(host) => Ok(host),
        Address::Feed(host) => Err(format!(
            "commands go to the page's address: http://{host}, if that is it"
        )),
    }
}

/// The objects of a feed, one at a time.
pub(super) struct Feed {
    lines: Lines<BufReader<TcpStream>>,
    /// Objects stand behind `data:`.
    events: bool,
    from: String,
}

impl Feed {
    /// Connects to the feed at `address`.
    ///
    /// # Errors
    /// [`Failure::Outside`].
    pub(super) async fn open(address: &Address) -> Result<Self, Failure> {
        let (host, events) = match address {
            Address::Page(host) => (host, true),
            Address::Feed(host) => (host, false),
        };
        let mut stream = connect(host).await?;
        if events {
            // By HTTP/1.0 the body comes as it is, without chunks.
            let ask = format!("GET /feed HTTP/1.0\r\nHost: {host}\r\n\r\n");
            stream
                .write_all(ask.as_bytes())
                .await
                .map_err(Failure::outside)?;
        }
        let mut feed = Self {
            lines: BufReader::new(stream).lines(),
            events,
            from: host.clone(),
        };
        if events {
            let status = feed.line().await?;
            if status.split(' ').nth(1) != Some("200") {
                return Err(Failure::outside(format!("{host} has no feed: {status}")));
            }
        }
        Ok(feed)
    }

    async fn line(&mut self) -> Result<String, Failure> {
        let line = self.lines.next_line().await.map_err(Failure::outside)?;
        line.ok_or_else(|| Failure::outside(format!("the daemon at {} has ended", self.from)))
    }

    /// The next object, as JSON text.
    ///
    /// # Errors
    /// [`Failure::Outside`] where the feed ends.
    pub(super) async fn next(&mut self) -> Result<String, Failure> {
        loop {
            let line = self.line().await?;
            if !self.events {
                return Ok(line);
            }
            if let Some(data) = line.strip_prefix("data:") {
                return Ok(data.trim_start().to_owned());
            }
        }
    }
}

/// The whole present state.
///
/// # Errors
/// [`Failure::Outside`].
pub(super) async fn state(host: &str) -> Result<Value, Failure> {
    let (status, body) = ask(host, "GET", "/state", "").await?;
    if status != 200 {
        return Err(Failure::outside(format!("{host} gives no state: {body}")));
    }
    serde_json::from_str(&body).map_err(Failure::outside)
}

/// Has `command` carried out.
///
/// # Errors
/// [`Failure::Outside`] where the daemon can't be reached, [`Failure::Wrong`] with its reason
/// where it refuses.
pub(super) async fn command(host: &str, command: &Command) -> Result<(), Failure> {
    let body = serde_json::to_string(command).map_err(Failure::outside)?;
    let (status, answer) = ask(host, "POST", "/commands", &body).await?;
    if status == 200 {
        return Ok(());
    }
    let refused = serde_json::from_str::<Value>(&answer)
        .ok()
        .and_then(|answer| Some(answer["refused"].as_str()?.to_owned()));
    Err(Failure::wrong(refused.unwrap_or_else(|| {
        format!("{host} answers {status}: {answer}")
    })))
}

async fn connect(host: &str) -> Result<TcpStream, Failure> {
    let why = |error: &dyn std::fmt::Display| {
        Failure::outside(format!(
            "no daemon answers at {host}: {error}; `borewright run` says its addresses at its start"
        ))
    };
    match timeout(PATIENCE, TcpStream::connect(host)).await {
        Ok(stream) => stream.map_err(|error| why(&error)),
        Err(late) => Err(why(&late)),
    }
}

async fn ask(host: &str, method: &str, path: &str, body: &str) -> Result<(u16, String), Failure> {
    let mut stream = connect(host).await?;
    let length = body.len();
    let request = format!(
        "{method} {path} HTTP/1.0\r\nHost: {host}\r\nContent-Type: application/json\r\nContent-Length: {length}\r\n\r\n{body}"
    );
    let mut answer = String::new();
    let conversation = async {
        stream.write_all(request.as_bytes()).await?;
        stream.read_to_string(&mut answer).await
    };
    match timeout(PATIENCE, conversation).await {
        Ok(read) => read.map_err(Failure::outside)?,
        Err(_) => return Err(Failure::outside(format!("{host} does not answer in time"))),
    };
    let (head, body) = answer.split_once("\r\n\r\n").unwrap_or((&answer, ""));
    let status = head.split(' ').nth(1).and_then(|code| code.parse().ok());
    match status {
        Some(status) => Ok((status, body.to_owned())),
        None => Err(Failure::outside(format!(
            "what answers at {host} is no daemon"
        ))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_says_whose_it_is() {
        let parsed = |text: &str| text.parse::<Address>();
        let host = "127.0.0.1:4770".to_owned();
        assert_eq!(
            parsed("http://127.0.0.1:4770/"),
            Ok(Address::Page(host.clone()))
        );
        assert_eq!(parsed("127.0.0.1:4770"), Ok(Address::Feed(host.clone())));
        assert_eq!(parsed("tcp://127.0.0.1:4770"), Ok(Address::Feed(host)));
        assert!(parsed("bench").is_err() && parsed("http://bench").is_err());
        assert!(page("127.0.0.1:4770").is_err());
    }
}
