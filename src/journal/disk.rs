//! The calls to the file system that can fail half-way, in one place so that tests can make them.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write as _};
use std::path::Path;

/// Everything that the journal changes on the disk. The default methods do it; a test's disk
/// overrides them to fail, to write short, or to stop as a power cut does.
pub(super) trait Disk: Send {
    /// A folder, made where it isn't there yet; its name is on the disk when this returns.
    fn make_folder(&mut self, path: &Path) -> io::Result<()> {
        if path.is_dir() {
            return Ok(());
        }
        fs::create_dir_all(path)?;
        match path
            .parent()
            .filter(|parent| !parent.as_os_str().is_empty())
        {
            Some(parent) => self.sync_folder(parent),
            None => Ok(()),
        }
    }

    /// A new, empty file in place of any old one, for reading as well.
    fn create(&mut self, path: &Path) -> io::Result<File> {
        OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(true)
            .open(path)
    }

    /// The file opened for appending.
    fn open_append(&mut self, path: &Path) -> io::Result<File> {
        OpenOptions::new().append(true).open(path)
    }

    /// All of `bytes` at the end of `file`.
    fn write(&mut self, mut file: &File, bytes: &[u8]) -> io::Result<()> {
        file.write_all(bytes)
    }

    /// What was written is on the disk.
    fn sync(&mut self, file: &File) -> io::Result<()> {
        file.sync_data()
    }

    /// `file` is `length` bytes long.
    fn cut(&mut self, file: &File, length: u64) -> io::Result<()> {
        file.set_len(length)
    }

    /// `from` takes the place of `to`.
    fn rename(&mut self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)
    }

    /// The names in a folder are on the disk.
    fn sync_folder(&mut self, path: &Path) -> io::Result<()> {
        File::open(path)?.sync_all()
    }

    /// A whole file put in place at once: under another name, synced, then renamed. The folder is
    /// not synced yet, since several files often share it.
    fn put(&mut self, path: &Path, bytes: &[u8]) -> io::Result<File> {
        let mut name = path.file_name().unwrap_or_default().to_owned();
        name.push(".new");
        let new = path.with_file_name(name);
        let file = self.create(&new)?;
        self.write(&file, bytes)?;
        self.sync(&file)?;
        self.rename(&new, path)?;
        Ok(file)
    }
}

/// The disk itself.
pub(super) struct Real;

impl Disk for Real {}
