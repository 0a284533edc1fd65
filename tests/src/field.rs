//! Recordings that are not part of the project.

use std::path::PathBuf;

/// A file of the folder of field data, which `DUNLIN_FIELD_DATA` names and which lies beside the
/// checkout by default. `None`, said aloud, where it is not on this machine.
pub fn recording(path: &str) -> Option<Vec<u8>> {
    let root = std::env::var_os("DUNLIN_FIELD_DATA").map_or_else(
        || PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../shared/field-data"),
        PathBuf::from,
    );
    let file = root.join(path);
    match std::fs::read(&file) {
        Ok(bytes) => Some(bytes),
        Err(error) => {
            eprintln!("SKIPPED: {} cannot be read: {error}", file.display());
            None
        }
    }
}
