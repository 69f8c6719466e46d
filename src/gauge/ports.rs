//! The serial ports that are plugged in, read from the kernel's own folders.
//!
//! Nothing is opened: opening a port moves its DTR and RTS lines, which restarts some devices.

use std::fs;
use std::os::unix::fs::{FileTypeExt as _, MetadataExt as _};
use std::path::{Path, PathBuf};

use schemars::JsonSchema;
use serde::Serialize;

/// One serial port.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct SerialPort {
    /// Its device path.
    pub path: PathBuf,
    /// Its link under `/dev/serial/by-id`, which stays the same on whatever socket it is plugged.
    pub by_id: Option<PathBuf>,
    /// The kernel's driver.
    pub driver: Option<String>,
    /// The USB device that it belongs to.
    pub usb: Option<Usb>,
    /// Why it can't be opened, and what to do; null where it can.
    pub unusable: Option<String>,
}

/// The USB device of a port.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Usb {
    /// Vendor number.
    pub vendor: u16,
    /// Product number.
    pub product: u16,
    /// Serial number, where the device has one.
    pub serial: Option<String>,
    /// The maker, in the device's own words.
    pub maker: Option<String>,
    /// The product, in the device's own words.
    pub product_name: Option<String>,
    /// Which of the device's interfaces the port is.
    pub interface: Option<u8>,
}

/// The serial ports under `root` (`/`, or a copy of its folders in a test), sorted by path.
/// Pseudo-terminals and the unconnected ports of the mainboard are not among them.
pub fn list(root: &Path) -> Vec<SerialPort> {
    let Ok(entries) = fs::read_dir(root.join("sys/class/tty")) else {
        return Vec::new();
    };
    let links = by_id_links(root);
    let mut ports: Vec<SerialPort> = entries
        .flatten()
        .filter_map(|entry| port(root, &entry.file_name().into_string().ok()?, &links))
        .collect();
    ports.sort_by_key(|port| natural(&port.path));
    ports
}

fn port(root: &Path, name: &str, links: &[(String, PathBuf)]) -> Option<SerialPort> {
    let class = root.join("sys/class/tty").join(name);
    let device = fs::canonicalize(class.join("device")).ok()?;
    // The mainboard's driver reserves names for ports that do not exist: their type is 0.
    if text(&class, "type").as_deref() == Some("0") {
        return None;
    }
    let path = Path::new("/dev").join(name);
    Some(SerialPort {
        by_id: links
            .iter()
            .find(|(target, _)| target == name)
            .map(|(_, link)| link.clone()),
        driver: driver(root, &device),
        usb: usb(root, &device),
        unusable: unusable(root, &path),
        path,
    })
}

/// The nearest driver at or above the device that is more than the kernel's own layer between.
fn driver(root: &Path, device: &Path) -> Option<String> {
    above(root, device)?.find_map(|folder| {
        let link = fs::read_link(folder.join("driver")).ok()?;
        let name = link.file_name()?.to_str()?;
        (!matches!(name, "port" | "ctrl")).then(|| name.to_owned())
    })
}

/// The folders from the device upwards, as far as the kernel's tree reaches.
fn above<'a>(root: &Path, device: &'a Path) -> Option<impl Iterator<Item = &'a Path> + use<'a>> {
    let top = fs::canonicalize(root.join("sys")).ok()?;
    Some(
        device
            .ancestors()
            .take_while(move |folder| folder.starts_with(&top)),
    )
}

/// Looks upwards from the port for the USB device and the interface that it sits on.
fn usb(root: &Path, device: &Path) -> Option<Usb> {
    let mut interface = None;
    for folder in above(root, device)? {
        let hex = |file| u16::from_str_radix(&text(folder, file)?, 16).ok();
        if interface.is_none() {
            interface = text(folder, "bInterfaceNumber")
                .and_then(|number| u8::from_str_radix(&number, 16).ok());
        }
        if let (Some(vendor), Some(product)) = (hex("idVendor"), hex("idProduct")) {
            return Some(Usb {
                vendor,
                product,
                serial: text(folder, "serial"),
                maker: text(folder, "manufacturer"),
                product_name: text(folder, "product"),
                interface,
            });
        }
    }
    None
}

/// A file's first line, less blanks; `None` where it is missing or empty.
fn text(folder: &Path, file: &str) -> Option<String> {
    let bytes = fs::read(folder.join(file)).ok()?;
    let text = String::from_utf8_lossy(&bytes);
    let line = text.lines().next()?.trim();
    (!line.is_empty()).then(|| line.to_owned())
}

/// Kernel name and link of each port under `/dev/serial/by-id`.
fn by_id_links(root: &Path) -> Vec<(String, PathBuf)> {
    let folder = Path::new("/dev/serial/by-id");
    let entries = fs::read_dir(root.join("dev/serial/by-id"))
        .into_iter()
        .flatten()
        .flatten();
    let link = |entry: fs::DirEntry| {
        let target = fs::read_link(entry.path()).ok()?;
        let name = target.file_name()?.to_str()?.to_owned();
        Some((name, folder.join(entry.file_name())))
    };
    let mut links: Vec<_> = entries.filter_map(link).collect();
    links.sort();
    links
}

/// Sorts `ttyUSB10` behind `ttyUSB9`.
fn natural(path: &Path) -> (String, u64) {
    let text = path.display().to_string();
    let letters = text.trim_end_matches(|c: char| c.is_ascii_digit());
    (
        letters.to_owned(),
        text[letters.len()..].parse().unwrap_or(0),
    )
}

/// Why the device at `path` under `root` can't be opened, and what to do, as a sentence; `None`
/// where nothing speaks against it. Looks only; opens nothing but lists of open files.
pub fn unusable(root: &Path, path: &Path) -> Option<String> {
    blocked(root, path).or_else(|| holder(root, path).map(|holder| busy(path, Some(&holder))))
}

/// The same, without a look for other programs that have it open.
pub(super) fn blocked(root: &Path, path: &Path) -> Option<String> {
    let shown = path.display();
    let inside = root.join(path.strip_prefix("/").unwrap_or(path));
    let metadata = match fs::metadata(&inside) {
        Ok(metadata) => metadata,
        Err(error) if error.kind() == std::io::ErrorKind::PermissionDenied => {
            return Some(format!("permission denied on the way to {shown}"));
        }
        Err(_) => {
            return Some(format!(
                "there is no {shown}: plug the gauge in; `borewright ports` lists what there is"
            ));
        }
    };
    if !metadata.file_type().is_char_device() {
        return Some(format!(
            "{shown} is no serial port; `borewright ports` lists those there are"
        ));
    }
    let wanted = rustix::fs::Access::READ_OK | rustix::fs::Access::WRITE_OK;
    if rustix::fs::access(&inside, wanted).is_err() {
        return Some(permission_denied(
            root,
            path,
            metadata.gid(),
            metadata.mode(),
        ));
    }
    None
}

/// The sentence for a port that another program has open.
pub(super) fn busy(path: &Path, holder: Option<&Holder>) -> String {
    let shown = path.display();
    match holder {
        Some(Holder { program, process }) => format!(
            "{shown} is in use by {program} (process {process}): end that program, then this one \
             takes the port by itself"
        ),
        None => format!(
            "{shown} is in use by another program: end that program, then this one takes the port \
             by itself"
        ),
    }
}

fn permission_denied(root: &Path, path: &Path, group: u32, mode: u32) -> String {
    let shown = path.display();
    let group_may = mode & 0o060 == 0o060;
    match group_name(root, group).filter(|name| group_may && name != "root") {
        Some(group) => format!(
            "permission denied on {shown}: add the user to the group {group} (`sudo usermod -aG \
             {group} $USER`), then log out and in again"
        ),
        None => format!(
            "permission denied on {shown}, and no group may use it: a udev rule that gives it to \
             the group dialout helps, and the user in that group (`sudo usermod -aG dialout \
             $USER`), then log out and in again"
        ),
    }
}

fn group_name(root: &Path, wanted: u32) -> Option<String> {
    let groups = fs::read_to_string(root.join("etc/group")).ok()?;
    groups.lines().find_map(|line| {
        let mut fields = line.split(':');
        let name = fields.next()?;
        let number: u32 = fields.nth(1)?.parse().ok()?;
        (number == wanted).then(|| name.to_owned())
    })
}

/// A process that has a port open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Holder {
    pub(super) program: String,
    pub(super) process: u32,
}

/// Another process that has `path` for itself or open, where the system tells: locks always, open
/// files of one's own processes always, those of others only to root.
pub(super) fn holder(root: &Path, path: &Path) -> Option<Holder> {
    let inside = root.join(path.strip_prefix("/").unwrap_or(path));
    let device = fs::canonicalize(inside).ok()?;
    let of = |process: u32| {
        let folder = root.join("proc").join(process.to_string());
        let program = text(&folder, "comm").unwrap_or_else(|| "a program".to_owned());
        Holder { program, process }
    };
    locker(root, &device)
        .or_else(|| opener(root, &device))
        .map(of)
}

/// The process that has locked a device, by the kernel's list of locks, whose lines are such as
/// `1: FLOCK ADVISORY WRITE 1234 00:18:3 0 EOF`: process, then device and inode of the file.
fn locker(root: &Path, device: &Path) -> Option<u32> {
    let metadata = fs::metadata(device).ok()?;
    let (major, minor) = (
        rustix::fs::major(metadata.dev()),
        rustix::fs::minor(metadata.dev()),
    );
    let file = format!("{major:02x}:{minor:02x}:{}", metadata.ino());
    let locks = fs::read_to_string(root.join("proc/locks")).ok()?;
    locks.lines().find_map(|line| {
        let fields: Vec<&str> = line.split_whitespace().collect();
        let at = fields.iter().position(|field| *field == file)?;
        fields
            .get(at.checked_sub(1)?)?
            .parse()
            .ok()
            .filter(|id| *id != 0 && *id != std::process::id())
    })
}

fn opener(root: &Path, device: &Path) -> Option<u32> {
    for entry in fs::read_dir(root.join("proc")).ok()?.flatten() {
        let name = entry.file_name();
        let Some(process) = name.to_str().and_then(|name| name.parse::<u32>().ok()) else {
            continue;
        };
        if process == std::process::id() {
            continue;
        }
        let mut files = fs::read_dir(entry.path().join("fd"))
            .into_iter()
            .flatten()
            .flatten();
        if files.any(|file| fs::read_link(file.path()).is_ok_and(|target| target == device)) {
            return Some(process);
        }
    }
    None
}
