//! The built program as its own process, a simulated gauge on a real pseudo-terminal: one file a
//! promise.
#![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

mod amended;
mod at_work;
mod calibration;
mod capture;
mod consumers;
mod crash;
mod demo;
mod disk;
mod learned;
mod main_job;
mod readme;
mod second_port;
mod study;
mod support;
mod swept;
