//! Programs of the system that tests need: looked for, and installed where that is allowed.

use std::process::{Command, Stdio};

use crate::is_root;

/// Whether a program can be started.
pub fn has(program: &str) -> bool {
    // Each is asked in the way that it understands.
    ["--version", "-version", "-V"].iter().any(|question| {
        let mut command = Command::new(program);
        command.arg(question).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
        command.status().is_ok_and(|status| status.success())
    })
}

/// Whether a program is there; where it is not and may be installed (Debian's packages, as root), that is tried.
pub fn ensure(program: &str, packages: &[&str]) -> bool {
    if has(program) {
        return true;
    }
    if !is_root() {
        return false;
    }
    println!("installing {}", packages.join(" "));
    let apt = |args: &[&str]| {
        let mut command = Command::new("apt-get");
        command.args(args).env("DEBIAN_FRONTEND", "noninteractive").stdout(Stdio::null());
        command.status().is_ok_and(|status| status.success())
    };
    // An old list of packages may still do.
    let _ = apt(&["update", "-qq"]);
    let mut install = vec!["install", "-y", "-qq", "--no-install-recommends"];
    install.extend(packages);
    apt(&install) && has(program)
}
