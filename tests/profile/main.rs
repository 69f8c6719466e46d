//! `borewright profile` from a file or a pipe: the contract's numbers, and plain sentences where
//! the file can't be used.
#![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

mod budgets;
mod input;
mod missing;
mod seat;
mod setting;

use std::io::Write as _;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

fn profile(input: &str, arguments: &[&str]) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .arg("profile")
        .arg("-")
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child
        .stdin
        .take()
        .unwrap()
        .write_all(input.as_bytes())
        .unwrap();
    child.wait_with_output().unwrap()
}

fn json(input: &str, arguments: &[&str]) -> Value {
    let output = profile(input, &[&["--json"], arguments].concat());
    assert_eq!(
        output.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    serde_json::from_slice(&output.stdout).unwrap()
}
