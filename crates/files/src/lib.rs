//! Files on disk, read in the same way wherever they are read.
//!
//! Purpose: text from whatever a path leads to, or the reason in words why there is none.
//! Boundary: no parsing, no includes; knows nothing of who asks.
//! Invariants: never waits for a file that is none (a pipe, a device); whatever the bytes are, they become text, and what was odd
//! about them is kept so that it can be said.

mod folder;

use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use ohmline_circuit::{Source, Sources};
use ohmline_syntax::{Diagnostic, FileId, FileSpan, Severity, Span};

pub use folder::{Depth, Listing};

/// Largest file that is read; offsets inside are 32 bits wide.
const LARGEST: u64 = 1 << 30;

/// How a file differs from plain UTF-8.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Oddity {
    /// Some bytes are no UTF-8; the first of them was replaced at this offset of the text.
    Bytes(u32),
    /// It is UTF-16, and was converted.
    Utf16,
}

/// Text of a file, with what was odd about it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Text {
    /// The text.
    pub text: Arc<str>,
    /// What was odd.
    pub oddity: Option<Oddity>,
}

/// Bytes to text, whatever they are.
pub fn decode(bytes: Vec<u8>) -> Text {
    let little = bytes.starts_with(&[0xff, 0xfe]);
    if little || bytes.starts_with(&[0xfe, 0xff]) {
        let units = bytes[2..].chunks(2).map(|pair| match *pair {
            [a, b] if little => u16::from_le_bytes([a, b]),
            [a, b] => u16::from_be_bytes([a, b]),
            // Half a unit at the end is no character.
            _ => 0xfffd,
        });
        let text: String = char::decode_utf16(units).map(|c| c.unwrap_or(char::REPLACEMENT_CHARACTER)).collect();
        return Text { text: text.into(), oddity: Some(Oddity::Utf16) };
    }
    match String::from_utf8(bytes) {
        Ok(text) => Text { text: text.into(), oddity: None },
        Err(error) => {
            let first = error.utf8_error().valid_up_to() as u32;
            let text = String::from_utf8_lossy(error.as_bytes()).into_owned();
            Text { text: text.into(), oddity: Some(Oddity::Bytes(first)) }
        }
    }
}

/// Why a file cannot be read, in words.
pub fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file".to_owned(),
        io::ErrorKind::PermissionDenied => "there is no permission to read it".to_owned(),
        io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
        _ => error.to_string(),
    }
}

/// Reads a regular file. Anything else is refused: a pipe or a device may never end, or never begin.
pub fn read(path: &Path) -> Result<Text, String> {
    let only_files = |meta: std::fs::Metadata| match meta.is_file() {
        true => Ok(()),
        false if meta.is_dir() => Err("it is a folder".to_owned()),
        false => Err("it is not a regular file".to_owned()),
    };
    // Before it is opened, since opening a pipe waits for its other end.
    std::fs::metadata(path).map_err(|error| reason(&error)).and_then(only_files)?;
    let file = std::fs::File::open(path).map_err(|error| reason(&error))?;
    // And after, since another may have taken its place.
    file.metadata().map_err(|error| reason(&error)).and_then(only_files)?;
    read_all(file)
}

/// Reads what a person named: also a pipe, as shells make them.
pub fn read_named(path: &Path) -> Result<Text, String> {
    let file = std::fs::File::open(path).map_err(|error| reason(&error))?;
    read_all(file)
}

/// Reads everything from a stream.
pub fn read_all(stream: impl Read) -> Result<Text, String> {
    let mut bytes = Vec::new();
    stream.take(LARGEST + 1).read_to_end(&mut bytes).map_err(|error| reason(&error))?;
    if bytes.len() as u64 > LARGEST {
        return Err("it is larger than 1 GiB".to_owned());
    }
    Ok(decode(bytes))
}

/// Where a path leads once every symbolic link on the way is followed. Of what does not exist, the part that does is followed.
pub fn real_path(path: &Path) -> PathBuf {
    let mut missing = Vec::new();
    for ancestor in path.ancestors() {
        if let Ok(real) = std::fs::canonicalize(ancestor) {
            return missing.iter().rev().fold(real, |real, name| real.join(name));
        }
        missing.extend(ancestor.file_name());
    }
    path.to_path_buf()
}

/// Says of every file that is no plain UTF-8 that it is none; `oddity` knows of a file by its index and its path.
pub fn reports(sources: &Sources, oddity: impl Fn(usize, Option<&Path>) -> Option<Oddity>) -> Vec<Diagnostic> {
    let all = sources.files.iter().enumerate();
    all.filter_map(|(at, source)| Some(report(FileId(at as u32), source, oddity(at, source.path.as_deref())?)))
        .collect()
}

/// Says that a file is no plain UTF-8.
fn report(file: FileId, source: &Source, oddity: Oddity) -> Diagnostic {
    let (at, message) = match oddity {
        Oddity::Bytes(at) => {
            (at, format!("{} is not UTF-8: bytes that are no text were read as \u{fffd}", source.name))
        }
        Oddity::Utf16 => (0, format!("{} is UTF-16, not UTF-8; it was converted for reading", source.name)),
    };
    let text: &str = &source.tree.text;
    let start = (at as usize).min(text.len());
    let end = start + text.get(start..).and_then(|rest| rest.chars().next()).map_or(0, char::len_utf8);
    let at = FileSpan::new(file, Span::new(start as u32, end as u32));
    let diagnostic = Diagnostic::new("foreign-encoding", Severity::Warning, at, message);
    match oddity {
        Oddity::Bytes(_) => diagnostic.here("the first such byte"),
        Oddity::Utf16 => diagnostic,
    }
    .help("Save the file as UTF-8 in your editor")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_bytes_become_text() {
        assert_eq!(&*decode("lamp Ωb".into()).text, "lamp Ωb");
        // 0xB5 is the micro sign of ISO 8859-1 and no UTF-8 by itself (RFC 3629).
        let latin = decode(b"47 \xb5F".to_vec());
        assert_eq!((&*latin.text, latin.oddity), ("47 \u{fffd}F", Some(Oddity::Bytes(3))));
        let utf16: Vec<u8> =
            [0xfeff_u16].iter().copied().chain("a Ω".encode_utf16()).flat_map(u16::to_le_bytes).collect();
        assert_eq!((&*decode(utf16.clone()).text, decode(utf16).oddity), ("a Ω", Some(Oddity::Utf16)));
        let cut: Vec<u8> = vec![0xfe, 0xff, 0x00, 0x61, 0x00];
        assert_eq!(&*decode(cut).text, "a\u{fffd}");
        assert_eq!(decode(Vec::new()).oddity, None);
    }

    #[test]
    fn reasons_are_words() {
        assert_eq!(read(Path::new("no/such/harbor.ohmline")), Err("there is no such file".to_owned()));
        assert_eq!(read(Path::new("/")), Err("it is a folder".to_owned()));
        assert!(read_named(Path::new("/")).is_err());
    }

    #[cfg(unix)]
    #[test]
    fn what_may_never_end_or_begin_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let pipe = folder.path().join("pipe.ohmline");
        assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
        for path in [pipe.as_path(), Path::new("/dev/zero")] {
            assert_eq!(read(path), Err("it is not a regular file".to_owned()), "{}", path.display());
        }
    }

    #[test]
    fn a_link_to_a_file_is_read() {
        let folder = tempfile::tempdir().unwrap();
        let (file, link) = (folder.path().join("lamp.ohmline"), folder.path().join("link.ohmline"));
        std::fs::write(&file, "lamp L1 = 6 ohm\n").unwrap();
        #[cfg(unix)]
        std::os::unix::fs::symlink(&file, &link).unwrap();
        #[cfg(not(unix))]
        std::fs::copy(&file, &link).unwrap();
        assert_eq!(read(&link).unwrap().text, read(&file).unwrap().text);
    }
}
