//! The durable event log: one event a line, on the disk before anybody sees it.
//!
//! One thread writes ([`Journal`]); others read back what was stored ([`History`]). The line that
//! is stored is the line that goes out on the feed, so its text is made once.
//!
//! # The data folder
//!
//! ```text
//! lock                       held while a daemon runs; the number of its process inside, for people
//! journal.jsonl              the active journal: what the present state depends on
//! jobs/<job>/events.jsonl    the events of a closed job
//! jobs/<job>/record.json     its record
//! outside/<first>.jsonl      events outside any job that left the active journal; named by the
//!                            number of the first
//! set-aside/before-<n>.jsonl an end that was cut off; n is the number that came next
//! *.new                      a file on its way to being put in place; of no meaning after a crash
//! ```
//!
//! # A line
//!
//! Each line is a JSON object, UTF-8, ended by one line feed. Its last member is the check:
//!
//! ```text
//! {"schema":"borewright.feed/1","seq":412,…,"check":"0123abcd"}
//! ```
//!
//! The check is the CRC-32 (IEEE 802.3) of all bytes of the line before `,"check"`, as eight
//! lower-case hexadecimal digits. A line is *whole* when it ends with such a member, the digits fit
//! and a line feed follows. In the shell:
//!
//! ```text
//! sed -n 5p journal.jsonl | sed 's/,"check":"[0-9a-f]*"}$//' | tr -d '\n' | gzip -c | tail -c8 | od -An -tx4 -N4
//! ```
//!
//! The first line of each file says what the file is; `journal` is the number of the format, 1:
//!
//! ```text
//! {"journal":1,"next_seq":N,"closed_through":M,"check":…}                    journal.jsonl
//! {"journal":1,"job":ID|null,"first_seq":A,"last_seq":B,"count":C,"check":…} the others
//! ```
//!
//! The lines behind it are events ([`crate::job::Event`]) in the order of their `seq`. A later
//! version reads every format up to its own; an event's kind or a format that it doesn't know stops
//! the start.
//!
//! # What is promised
//!
//! - **Stored before shown.** [`Journal::append`] returns lines to send after one write and one
//!   sync of all of them. New files are synced before they are named, and folders after.
//! - **Nothing half.** After a failed write or sync the file is cut back to the last synced byte
//!   and opened anew, before anything else is written; none of the batch is stored, and nothing is
//!   tried again unasked.
//! - **A torn end** of any number of lines is set aside with a warning. The numbers it may have
//!   used are not used again. A damaged line with a whole one behind it is no torn end: the start is
//!   refused, the files stay as they are.
//! - **Numbers never go back**, also where the active journal was taken away: then the next number
//!   follows the greatest in the closed files.
//!
//! # What a start reads
//!
//! The active journal alone. When a closed job is sealed its events, and those outside any job,
//! leave it for files of their own, in steps of which each may be the last: the files are put in
//! place first, each in one rename; the active journal is replaced after them, in one rename. A
//! crash in between leaves an event in two files, which are read as one, and the job is named in
//! [`Opened::unsealed`]. What stays is the open jobs' events and the newest setting of each gauge in
//! its ring; where that left for a file too, the copy that stays is told by a `seq` up to
//! `closed_through`. Events outside any job also leave when they fill a mebibyte and half of the
//! file, so a gauge that nobody opens a job for doesn't make starts slow.

mod disk;
mod error;
mod finite;
mod header;
mod history;
mod line;
mod read;
mod replay;
mod seal;
mod writer;

#[cfg(test)]
mod tests;

pub use error::Error;
pub use history::{History, Lines};
pub use read::{read_active, read_closed};
pub use writer::{Journal, Opened};
