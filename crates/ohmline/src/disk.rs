//! Files on disk.

use std::cell::RefCell;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use ohmline_analysis::FileSystem;
use ohmline_circuit::sources::Source;
use ohmline_syntax::{Diagnostic, FileId, FileSpan, Severity, Span};

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
fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file".to_owned(),
        io::ErrorKind::PermissionDenied => "there is no permission to read it".to_owned(),
        io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
        _ => error.to_string(),
    }
}

/// Reads a file.
pub fn read(path: &Path) -> Result<Text, String> {
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

/// The disk, remembering which files were no plain UTF-8.
#[derive(Default)]
pub struct Disk {
    odd: RefCell<Vec<(PathBuf, Oddity)>>,
}

impl FileSystem for Disk {
    fn read(&self, path: &Path) -> Result<Arc<str>, String> {
        let text = read(path)?;
        if let Some(oddity) = text.oddity {
            self.odd.borrow_mut().push((path.to_path_buf(), oddity));
        }
        Ok(text.text)
    }

    fn exists(&self, path: &Path) -> bool {
        path.exists()
    }
}

impl Disk {
    /// What was odd about a file read before.
    pub fn oddity(&self, path: &Path) -> Option<Oddity> {
        self.odd.borrow().iter().find(|(other, _)| other == path).map(|(_, oddity)| *oddity)
    }
}

/// Says that a file is no plain UTF-8.
pub fn report(file: FileId, source: &Source, oddity: Oddity) -> Diagnostic {
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
        assert!(read(Path::new("/")).is_err());
    }
}
