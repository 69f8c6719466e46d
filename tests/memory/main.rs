//! The shop's memory, from jobs that a real bench did.
#![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

mod commands;
mod learned;
mod pages;
mod records;
mod support;
