//! Replacing a file: at once or not at all.

use std::fs;
use std::io::Write as _;
use std::path::Path;

/// As [`replace`], where the file may not be there yet.
///
/// # Errors
/// In words, when the file cannot be written.
pub fn put(path: &Path, text: &str) -> Result<(), String> {
    if path.exists() {
        return replace(path, text);
    }
    let said = |error: std::io::Error| error.to_string();
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut file = tempfile::Builder::new().prefix(".ohmline-").tempfile_in(folder).map_err(said)?;
    file.write_all(text.as_bytes()).map_err(said)?;
    // A file made for a while is for its owner alone; this one stays, so it gets what the user gives every new file.
    fs::File::create_new(path).map_err(said)?;
    let permissions = fs::metadata(path).map_err(said)?.permissions();
    file.as_file().set_permissions(permissions).map_err(said)?;
    file.as_file().sync_all().map_err(said)?;
    file.persist(path).map_err(|error| said(error.error))?;
    Ok(())
}

/// Writes the new text of a file beside it and then moves it into its place, so that no reader ever sees half of it, and a full disk
/// loses nothing. Permissions stay; where a path is a link, the file that it leads to is replaced.
///
/// # Errors
/// In words, when the file cannot be written; it is then as it was.
pub fn replace(path: &Path, text: &str) -> Result<(), String> {
    let said = |error: std::io::Error| error.to_string();
    let path = fs::canonicalize(path).map_err(said)?;
    let permissions = fs::metadata(&path).map_err(said)?.permissions();
    if permissions.readonly() {
        return Err("it is read-only".to_owned());
    }
    let folder = path.parent().ok_or("it is in no folder")?;
    let mut file = tempfile::Builder::new().prefix(".ohmline-").tempfile_in(folder).map_err(said)?;
    file.write_all(text.as_bytes()).map_err(said)?;
    file.as_file().set_permissions(permissions).map_err(said)?;
    file.as_file().sync_all().map_err(said)?;
    file.persist(&path).map_err(|error| said(error.error))?;
    Ok(())
}
