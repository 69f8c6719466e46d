//! The customer's report: its numbers are the record's, it says no more than the record carries,
//! it needs nothing from elsewhere, and it survives what people write.
#![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

mod browser;
#[path = "../page/chromium.rs"]
mod chromium;
#[path = "../page/eye.rs"]
mod eye;
mod gauges;
mod html;
mod numbers;
#[cfg(feature = "pdf")]
mod pdf;
mod poppler;
mod served;
mod support;
