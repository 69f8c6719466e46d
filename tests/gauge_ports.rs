//! The list of ports, read from a copy of the kernel's folders, and the port found again by its
//! USB identity.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test may stop where it stands"
)]

use std::fs;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Arc;

use borewright::gauge::simulate::Simulator;
use borewright::gauge::{Description, Port, UsbIdentity, ports};

/// A root folder with the kernel's layout: a converter (its port one folder below the interface),
/// a modem-class device (its port the interface itself), a port of the mainboard, a reserved name
/// without a port, and a terminal that is no port.
struct Tree(tempfile::TempDir);

impl Tree {
    fn new() -> Self {
        let tree = Self(tempfile::tempdir().unwrap());
        let usb = "sys/devices/pci0000:00/0000:00:14.0/usb1";
        for folder in ["sys/class/tty", "dev/serial/by-id", "etc", "proc"] {
            fs::create_dir_all(tree.path(folder)).unwrap();
        }
        tree.usb_device(
            &format!("{usb}/1-2"),
            "0a1b",
            "00ff",
            "Invented Works",
            Some("SN-7"),
        );
        tree.write(&format!("{usb}/1-2/1-2:1.0/bInterfaceNumber"), "00\n");
        tree.port(
            &format!("{usb}/1-2/1-2:1.0/ttyUSB10"),
            "ttyUSB10",
            "serial-invented",
        );
        tree.usb_device(
            &format!("{usb}/1-3"),
            "0a1b",
            "00fe",
            "Invented Works",
            None,
        );
        tree.write(&format!("{usb}/1-3/1-3:1.2/bInterfaceNumber"), "02\n");
        tree.port(&format!("{usb}/1-3/1-3:1.2"), "ttyACM0", "acm-invented");
        tree.usb_device(
            &format!("{usb}/1-4"),
            "0a1b",
            "00ff",
            "Invented Works",
            Some("SN-8"),
        );
        tree.port(
            &format!("{usb}/1-4/1-4:1.0/ttyUSB9"),
            "ttyUSB9",
            "serial-invented",
        );
        tree.port("sys/devices/pnp0/00:01", "ttyS0", "serial");
        tree.write("sys/class/tty/ttyS0/type", "4\n");
        tree.port("sys/devices/platform/serial8250", "ttyS1", "serial8250");
        tree.write("sys/class/tty/ttyS1/type", "0\n");
        fs::create_dir_all(tree.path("sys/class/tty/tty0")).unwrap();
        symlink(
            "../../ttyUSB10",
            tree.path("dev/serial/by-id/usb-Invented_SN-7-if00"),
        )
        .unwrap();
        tree
    }

    fn path(&self, inside: &str) -> PathBuf {
        self.0.path().join(inside)
    }

    fn write(&self, inside: &str, text: &str) {
        let path = self.path(inside);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    fn usb_device(
        &self,
        folder: &str,
        vendor: &str,
        product: &str,
        maker: &str,
        serial: Option<&str>,
    ) {
        self.write(&format!("{folder}/idVendor"), &format!("{vendor}\n"));
        self.write(&format!("{folder}/idProduct"), &format!("{product}\n"));
        self.write(&format!("{folder}/manufacturer"), &format!("{maker}\n"));
        self.write(&format!("{folder}/product"), "Serial converter\n");
        if let Some(serial) = serial {
            self.write(&format!("{folder}/serial"), &format!("{serial}\n"));
        }
    }

    /// The port `name` on `device`, as the class folder shows it: a link to a folder that links
    /// back to the device.
    fn port(&self, device: &str, name: &str, driver: &str) {
        let class = format!("{device}/tty/{name}");
        fs::create_dir_all(self.path(&class)).unwrap();
        symlink(self.path(device), self.path(&format!("{class}/device"))).unwrap();
        let drivers = format!("sys/bus/drivers/{driver}");
        fs::create_dir_all(self.path(&drivers)).unwrap();
        symlink(self.path(&drivers), self.path(&format!("{device}/driver"))).unwrap();
        symlink(
            self.path(&class),
            self.path(&format!("sys/class/tty/{name}")),
        )
        .unwrap();
    }
}

fn names(ports: &[ports::SerialPort]) -> Vec<&str> {
    ports
        .iter()
        .map(|port| port.path.to_str().unwrap())
        .collect()
}

#[test]
fn what_is_plugged_in_is_listed_with_its_identity() {
    let tree = Tree::new();
    let found = ports::list(tree.0.path());
    assert_eq!(
        names(&found),
        [
            "/dev/ttyACM0",
            "/dev/ttyS0",
            "/dev/ttyUSB9",
            "/dev/ttyUSB10"
        ]
    );

    let converter = &found[3];
    let usb = converter.usb.as_ref().unwrap();
    assert_eq!(
        (usb.vendor, usb.product, usb.interface),
        (0x0a1b, 0x00ff, Some(0))
    );
    assert_eq!(usb.serial.as_deref(), Some("SN-7"));
    assert_eq!(usb.maker.as_deref(), Some("Invented Works"));
    assert_eq!(usb.product_name.as_deref(), Some("Serial converter"));
    assert_eq!(converter.driver.as_deref(), Some("serial-invented"));
    assert_eq!(
        converter.by_id.as_deref(),
        Some(Path::new("/dev/serial/by-id/usb-Invented_SN-7-if00"))
    );

    assert_eq!(found[0].usb.as_ref().unwrap().interface, Some(2));
    assert_eq!(found[0].usb.as_ref().unwrap().serial, None);
    assert_eq!(found[1].usb, None);
    assert_eq!(found[1].driver.as_deref(), Some("serial"));
}

#[test]
fn no_kernel_folders_mean_no_ports() {
    let empty = tempfile::tempdir().unwrap();
    assert!(ports::list(empty.path()).is_empty());
}

#[test]
fn a_gauge_is_found_by_its_identity_on_whatever_path_it_has() {
    let tree = Tree::new();
    let found = ports::list(tree.0.path());
    let among = |text: &str| match text.parse().unwrap() {
        Port::Usb(identity) => UsbIdentity::among(&identity, &found),
        other => panic!("{other:?}"),
    };
    assert_eq!(
        among("usb:0a1b:00ff:SN-8"),
        Ok(PathBuf::from("/dev/ttyUSB9"))
    );
    assert_eq!(among("usb:0a1b:00fe"), Ok(PathBuf::from("/dev/ttyACM0")));
    let two = among("usb:0a1b:00ff").unwrap_err();
    assert!(
        two.contains("fits both") && two.contains("serial number"),
        "{two}"
    );
    let none = among("usb:0a1b:00ff:SN-9").unwrap_err();
    assert!(none.contains("plug the gauge in"), "{none}");
}

#[test]
fn a_missing_port_and_a_file_are_told_apart() {
    let tree = Tree::new();
    tree.write("dev/ttyUSB9", "a file");
    let unusable = |path| ports::unusable(tree.0.path(), Path::new(path)).unwrap();
    assert!(unusable("/dev/ttyUSB9").contains("is no serial port"));
    assert!(unusable("/dev/ttyUSB3").contains("there is no /dev/ttyUSB3"));
}

#[test]
fn the_program_that_has_a_port_open_is_named() {
    let form = Arc::new(Description::named("plain-mm", None).unwrap());
    let gauge = Simulator::open(form).unwrap();
    let root = Path::new("/");
    assert_eq!(ports::unusable(root, gauge.path()), None);
    let mut holder = Command::new("sleep")
        .arg("60")
        .stdin(fs::File::open(gauge.path()).unwrap())
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let why = ports::unusable(root, gauge.path()).unwrap();
    holder.kill().unwrap();
    holder.wait().unwrap();
    assert!(
        why.contains(&format!("in use by sleep (process {})", holder.id())),
        "{why}"
    );
}
