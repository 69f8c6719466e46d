//! Borewright reads digital bore gauges, groups readings by depth and rotation angle into a bore
//! profile, says in numbers what is wrong with the seat, and keeps a record that other programs
//! can read.
//!
//! # The rooms
//!
//! ```text
//! bytes ─▶ gauge ─▶ reading ─▶ job ─▶ event ─▶ journal ─▶ feed ─▶ other programs
//!                               │ ▲                  └───▶ display, report
//!                               ▼ │
//!                     bore ─▶ fit ─▶ findings    (pure functions of what was measured)
//! ```
//!
//! One direction, one writer. `bore`, `fit`, `uncertainty` and `job` never touch a file, a socket,
//! a clock or a thread.

pub mod bench;
pub mod bore;
pub mod commands;
pub mod config;
pub mod daemon;
pub mod display;
pub mod drawing;
pub mod feed;
pub mod fit;
pub mod gauge;
pub mod job;
pub mod journal;
pub mod memory;
pub mod mistake;
pub mod report;
pub mod uncertainty;
pub mod units;
