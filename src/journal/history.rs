//! Every event ever stored, in the order of their numbers, for those who resume.

use std::cmp::Reverse;
use std::collections::BinaryHeap;
use std::collections::VecDeque;
use std::fs::{self, File};
use std::io::{self, BufRead as _, BufReader, Read as _};
use std::os::unix::fs::FileExt as _;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::error::Error;
use super::{header, line};
use crate::feed::Line;

/// A file of events that are done with: a closed job's, or a stretch outside any job. Never
/// changed once it is there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct ClosedFile {
    pub(super) path: PathBuf,
    pub(super) first_seq: u64,
    pub(super) last_seq: u64,
}

/// What of the active journal may be read: only what is on the disk.
#[derive(Debug)]
pub(super) struct ActiveView {
    pub(super) path: Arc<Path>,
    pub(super) file: Arc<File>,
    /// Bytes known to be on the disk.
    pub(super) length: u64,
    /// Where each stretch of about 64 KiB begins: first number and offset.
    pub(super) marks: Vec<(u64, u64)>,
    /// Files closed since the journal was opened.
    pub(super) closed_now: Vec<Arc<ClosedFile>>,
    /// The next event's number.
    pub(super) next_seq: u64,
}

/// All events stored in a data folder, closed jobs included. Clones share one catalogue; reading
/// never holds up the writer.
#[derive(Debug, Clone)]
pub struct History(Arc<Shared>);

#[derive(Debug)]
struct Shared {
    folder: PathBuf,
    /// Events up to here were in closed files when the journal was opened.
    closed_before: u64,
    active: Mutex<ActiveView>,
    /// Files closed before the journal was opened; read on first use.
    index: Mutex<Option<Arc<Index>>>,
}

/// The closed files that were found.
#[derive(Debug, Default)]
struct Index {
    files: Vec<Arc<ClosedFile>>,
    damaged: Vec<PathBuf>,
}

impl History {
    pub(super) fn new(folder: &Path, closed_before: u64, active: ActiveView) -> Self {
        Self(Arc::new(Shared {
            folder: folder.to_owned(),
            closed_before,
            active: Mutex::new(active),
            index: Mutex::new(None),
        }))
    }

    /// The active journal's view, for the one who writes it.
    pub(super) fn active(&self) -> MutexGuard<'_, ActiveView> {
        // The view is left whole by every holder, so a panic elsewhere doesn't spoil it.
        self.0.active.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The number that the next event will carry.
    pub fn next_seq(&self) -> u64 {
        self.active().next_seq
    }

    /// Reads the catalogue of closed files, so that the first who resumes need not wait for it.
    /// Meant for a thread in the background, once the daemon is ready.
    ///
    /// # Errors
    ///
    /// [`Error::Io`] where a folder can't be listed.
    pub fn read_index(&self) -> Result<(), Error> {
        self.index().map(drop)
    }

    fn index(&self) -> Result<Arc<Index>, Error> {
        let mut index = self.0.index.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(index) = &*index {
            return Ok(Arc::clone(index));
        }
        let read = Arc::new(Index::read(&self.0.folder)?);
        *index = Some(Arc::clone(&read));
        Ok(read)
    }

    /// The events with a number greater than `seq`, in order, up to the newest that is on the
    /// disk at the time of the call. Blocking: to be read on a thread that may wait for the disk.
    ///
    /// A damaged line or file comes as an error in its place, and the events after it follow.
    ///
    /// # Errors
    ///
    /// [`Error::Io`] where the closed files can't be listed.
    pub fn since(&self, seq: u64) -> Result<Lines, Error> {
        let (active, mut closed) = {
            let view = self.active();
            let from = match view.marks.partition_point(|(first, _)| *first <= seq + 1) {
                0 => 0,
                after => view.marks[after - 1].1,
            };
            let reader = Reader::new(
                Arc::clone(&view.path),
                Arc::clone(&view.file),
                from,
                view.length,
            );
            (reader, view.closed_now.clone())
        };
        let mut failed = VecDeque::new();
        if seq < self.0.closed_before {
            let index = self.index()?;
            closed.extend(index.files.iter().cloned());
            failed.extend(
                index
                    .damaged
                    .iter()
                    .map(|path| Error::NoHeader { path: path.clone() }),
            );
        }
        closed.retain(|file| file.last_seq > seq);
        closed.sort_by_key(|file| Reverse(file.first_seq));
        let mut lines = Lines {
            after: seq,
            closed,
            open: vec![],
            heads: BinaryHeap::new(),
            failed,
        };
        lines.begin(active);
        Ok(lines)
    }
}

impl Index {
    fn read(folder: &Path) -> Result<Self, Error> {
        let mut index = Self::default();
        for (folder, file) in [
            (folder.join("jobs"), Some("events.jsonl")),
            (folder.join("outside"), None),
        ] {
            for path in list(&folder)? {
                let path = match file {
                    Some(file) => path.join(file),
                    None if path.extension().is_some_and(|end| end == "jsonl") => path,
                    None => continue,
                };
                match ClosedFile::read(&path) {
                    Ok(file) => index.files.push(Arc::new(file)),
                    Err(error) if error.kind() == io::ErrorKind::NotFound => {}
                    Err(_) => index.damaged.push(path),
                }
            }
        }
        Ok(index)
    }
}

/// What is in a folder; nothing where it isn't there.
fn list(folder: &Path) -> Result<Vec<PathBuf>, Error> {
    let failed = |source| Error::io("list", folder, source);
    match fs::read_dir(folder) {
        Ok(entries) => entries
            .map(|entry| entry.map(|entry| entry.path()).map_err(failed))
            .collect(),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(vec![]),
        Err(error) => Err(failed(error)),
    }
}

impl ClosedFile {
    /// Reads the first line of the file at `path`.
    fn read(path: &Path) -> io::Result<Self> {
        let mut text = Vec::with_capacity(256);
        BufReader::with_capacity(256, File::open(path)?.take(4096)).read_until(b'\n', &mut text)?;
        let head = text.strip_suffix(b"\n").ok_or(io::ErrorKind::InvalidData)?;
        let head: header::Closed = header::read(head).map_err(|_| io::ErrorKind::InvalidData)?;
        Ok(Self {
            path: path.to_owned(),
            first_seq: head.first_seq,
            last_seq: head.last_seq,
        })
    }
}

/// The greatest number in any closed file of `folder`; 0 where there is none.
pub(super) fn greatest_closed(folder: &Path) -> Result<u64, Error> {
    let index = Index::read(folder)?;
    if let Some(path) = index.damaged.first() {
        return Err(Error::NoHeader { path: path.clone() });
    }
    Ok(index
        .files
        .iter()
        .map(|file| file.last_seq)
        .max()
        .unwrap_or(0))
}

/// Events in the order of their numbers, merged from all files that hold some.
#[derive(Debug)]
pub struct Lines {
    /// The last number given.
    after: u64,
    /// Files not yet opened, the earliest last.
    closed: Vec<Arc<ClosedFile>>,
    open: Vec<Reader>,
    /// The next line of each open file.
    heads: BinaryHeap<Reverse<Head>>,
    failed: VecDeque<Error>,
}

/// The next line of one open file. Orders by number.
#[derive(Debug)]
struct Head {
    seq: u64,
    reader: usize,
    line: Line,
}

impl Ord for Head {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        (self.seq, self.reader).cmp(&(other.seq, other.reader))
    }
}

impl PartialOrd for Head {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Head {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Head {}

impl Lines {
    fn begin(&mut self, reader: Reader) {
        self.open.push(reader);
        self.advance(self.open.len() - 1);
    }

    /// Puts the next line of open file `reader` that is still wanted among the heads.
    fn advance(&mut self, reader: usize) {
        loop {
            match self.open[reader].next_line() {
                Ok(Some((seq, _))) if seq <= self.after => {}
                Ok(Some((seq, line))) => {
                    return self.heads.push(Reverse(Head { seq, reader, line }));
                }
                Ok(None) => return,
                Err(Stop { error, more }) => {
                    self.failed.push_back(error);
                    if !more {
                        return;
                    }
                }
            }
        }
    }
}

impl Iterator for Lines {
    type Item = Result<Line, Error>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            if let Some(error) = self.failed.pop_front() {
                return Some(Err(error));
            }
            let head = self.heads.peek().map(|Reverse(head)| head.seq);
            if let Some(file) = self
                .closed
                .pop_if(|file| head.is_none_or(|head| file.first_seq <= head))
            {
                match Reader::open(&file.path) {
                    Ok(reader) => self.begin(reader),
                    Err(error) => self.failed.push_back(error),
                }
                continue;
            }
            let Reverse(Head { seq, reader, line }) = self.heads.pop()?;
            // A line may stand in two files: carried over, or in the midst of being moved.
            let fresh = seq > self.after;
            self.after = self.after.max(seq);
            self.advance(reader);
            if fresh {
                return Some(Ok(line));
            }
        }
    }
}

/// Lines of one file, read in stretches; the lines of a stretch share one allocation.
#[derive(Debug)]
struct Reader {
    path: Arc<Path>,
    file: Arc<File>,
    /// The first byte not yet in a stretch, and where to end.
    at: u64,
    end: u64,
    stretch: Arc<str>,
    position: usize,
    /// The first line of the file is no event.
    first: bool,
}

/// A line that can't be given, and whether others follow.
struct Stop {
    error: Error,
    more: bool,
}

impl Reader {
    fn new(path: Arc<Path>, file: Arc<File>, from: u64, end: u64) -> Self {
        Self {
            path,
            file,
            at: from,
            end,
            stretch: "".into(),
            position: 0,
            first: from == 0,
        }
    }

    fn open(path: &Path) -> Result<Self, Error> {
        let file = File::open(path).map_err(|source| Error::io("open", path, source))?;
        let end = file
            .metadata()
            .map_err(|source| Error::io("read", path, source))?
            .len();
        Ok(Self::new(path.into(), Arc::new(file), 0, end))
    }

    /// The next event's number and line; `None` at the end.
    fn next_line(&mut self) -> Result<Option<(u64, Line)>, Stop> {
        loop {
            if self.position == self.stretch.len()
                && !self.fill().map_err(|error| Stop { error, more: false })?
            {
                return Ok(None);
            }
            let start = self.position;
            let rest = &self.stretch.as_bytes()[start..];
            let length = memchr::memchr(b'\n', rest).unwrap_or(rest.len() - 1);
            let text = &rest[..length];
            self.position = start + length + 1;
            if std::mem::take(&mut self.first) {
                continue;
            }
            let seq = Some(text)
                .filter(|text| line::is_whole(text))
                .and_then(line::seq);
            return match seq {
                Some(seq) => {
                    let stretch = Arc::clone(&self.stretch);
                    Ok(Some((seq, Line::event(seq, stretch, start, self.position))))
                }
                None => Err(Stop {
                    error: self.damaged(),
                    more: true,
                }),
            };
        }
    }

    /// Reads the next stretch of whole lines; `false` at the end.
    fn fill(&mut self) -> Result<bool, Error> {
        if self.at == self.end {
            return Ok(false);
        }
        let mut wanted = 1 << 16;
        loop {
            let length = usize::try_from(self.end - self.at)
                .unwrap_or(usize::MAX)
                .min(wanted);
            let mut bytes = vec![0; length];
            let read = self.file.read_exact_at(&mut bytes, self.at);
            read.map_err(|source| Error::io("read", &self.path, source))?;
            let Some(last) = memchr::memrchr(b'\n', &bytes) else {
                if self.at + length as u64 == self.end {
                    return Err(self.damaged());
                }
                wanted *= 2;
                continue;
            };
            bytes.truncate(last + 1);
            let text = String::from_utf8(bytes).map_err(|_| self.damaged())?;
            self.at += text.len() as u64;
            self.stretch = text.into();
            self.position = 0;
            return Ok(true);
        }
    }

    fn damaged(&self) -> Error {
        Error::DamagedHistory {
            path: self.path.to_path_buf(),
            near: self.at,
        }
    }
}
