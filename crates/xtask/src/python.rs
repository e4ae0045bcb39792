//! A Python of the project's own under `target/`, with what its tests need, and the tests that run in it.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use anyhow::{Context, Result, bail};

use crate::{is_root, root, run, target_dir};

/// What the tests import, by the names under which it is installed and imported.
const PACKAGES: &[&str] = &["numpy", "jsonschema"];

/// The crate that carries the JSON schema of SARIF 2.1.0 as OASIS publishes it, and its place in there.
const SCHEMA: (&str, &str, &str) = ("serde-sarif", "0.8.0", "src/schema.json");

/// Runs the tests in `tests/python` against the built command; with `browser`, it is a failure when they do not find one.
pub fn test(binary: &Path, browser: bool) -> Result<()> {
    let python = set_up()?;
    let schema = sarif_schema()?;
    let tests = root().join("tests/python");
    let mut files: Vec<PathBuf> = fs::read_dir(&tests)
        .with_context(|| format!("cannot read {}", tests.display()))?
        .filter_map(|entry| entry.ok().map(|entry| entry.path()))
        .filter(|path| path.file_name().is_some_and(|name| name.to_string_lossy().starts_with("test_")))
        .collect();
    files.sort();
    if files.is_empty() {
        bail!("no tests in {}", tests.display());
    }
    for file in files {
        let mut command = python.command();
        command.arg(file).env("OHMLINE", binary).env("SARIF_SCHEMA", &schema).current_dir(root());
        if browser {
            command.env("OHMLINE_BROWSER", "1");
        }
        run(&mut command)?;
    }
    Ok(())
}

/// A Python that can import what the tests need.
struct Python {
    program: PathBuf,
    /// Where packages were put when the machine's Python cannot make environments.
    packages: Option<PathBuf>,
}

impl Python {
    fn command(&self) -> Command {
        let mut command = Command::new(&self.program);
        if let Some(packages) = &self.packages {
            command.env("PYTHONPATH", packages);
        }
        command
    }

    fn imports_all(&self) -> bool {
        let mut command = self.command();
        command.arg("-c").arg(format!("import {}", PACKAGES.join(", "))).stdout(Stdio::null()).stderr(Stdio::null());
        command.status().is_ok_and(|status| status.success())
    }
}

/// Makes the environment once; later runs find it ready.
fn set_up() -> Result<Python> {
    let folder = target_dir().join("venv");
    let inside = Python { program: folder.join("bin/python"), packages: None };
    if inside.imports_all() {
        return Ok(inside);
    }
    if make_environment(&folder) {
        run(inside.command().args(["-m", "pip", "install", "--quiet"]).args(PACKAGES))?;
        return Ok(inside);
    }

    // Debian ships `python3` without the part that makes environments; whoever may install it gets it.
    if is_root() {
        println!("installing python3 and python3-venv");
        let mut install = Command::new("apt-get");
        install.env("DEBIAN_FRONTEND", "noninteractive").stdout(Stdio::null());
        let _ = Command::new("apt-get").args(["update", "-qq"]).stdout(Stdio::null()).status();
        let installed = install.args(["install", "-y", "-qq", "python3", "python3-venv"]).status();
        if installed.is_ok_and(|status| status.success()) && make_environment(&folder) {
            run(inside.command().args(["-m", "pip", "install", "--quiet"]).args(PACKAGES))?;
            return Ok(inside);
        }
    }

    // Without it, pip alone can still put packages into a folder.
    let packages = target_dir().join("python-packages");
    let beside = Python { program: PathBuf::from("python3"), packages: Some(packages.clone()) };
    if beside.imports_all() {
        return Ok(beside);
    }
    let mut install = Command::new("python3");
    run(install.args(["-m", "pip", "install", "--quiet", "--target"]).arg(&packages).args(PACKAGES))
        .context("the Python tests need python3 with venv or pip (Debian: apt-get install python3 python3-venv)")?;
    Ok(beside)
}

/// The JSON schema of SARIF, fetched once with a crate that nothing is built of.
fn sarif_schema() -> Result<PathBuf> {
    let folder = target_dir().join("sarif-schema");
    let schema = folder.join("sarif-schema-2.1.0.json");
    if schema.is_file() {
        return Ok(schema);
    }
    let (name, version, inside) = SCHEMA;
    fs::create_dir_all(folder.join("src")).with_context(|| format!("cannot make {}", folder.display()))?;
    let manifest = folder.join("Cargo.toml");
    let text = format!(
        "[package]\nname = \"schema\"\nversion = \"0.0.0\"\nedition = \"2021\"\n\n[workspace]\n\n[dependencies]\n{name} = \"={version}\"\n"
    );
    fs::write(&manifest, text).with_context(|| format!("cannot write {}", manifest.display()))?;
    fs::write(folder.join("src/lib.rs"), "").context("cannot write an empty library")?;
    let told = Command::new(env!("CARGO"))
        .args(["metadata", "--quiet", "--format-version", "1", "--manifest-path"])
        .arg(&manifest)
        .stderr(Stdio::inherit())
        .output()
        .context("cannot run cargo")?;
    if !told.status.success() {
        bail!("cannot fetch the crate {name} {version}, which carries the schema of SARIF");
    }
    let told: serde_json::Value = serde_json::from_slice(&told.stdout).context("cargo metadata is no JSON")?;
    let found = told["packages"].as_array().and_then(|all| all.iter().find(|package| package["name"] == name));
    let Some(at) = found.and_then(|package| package["manifest_path"].as_str()) else {
        bail!("cargo does not tell where the crate {name} is");
    };
    let carried = Path::new(at).with_file_name(inside);
    fs::copy(&carried, &schema).with_context(|| format!("cannot copy {}", carried.display()))?;
    Ok(schema)
}

/// Makes a Python environment with pip in it; whether it worked.
fn make_environment(folder: &Path) -> bool {
    let _ = fs::remove_dir_all(folder);
    let mut make = Command::new("python3");
    make.args(["-m", "venv"]).arg(folder).stdout(Stdio::null()).stderr(Stdio::null());
    let made = make.status().is_ok_and(|status| status.success());
    if !made {
        let _ = fs::remove_dir_all(folder);
    }
    made
}
