//! Shared test means.

pub mod afternoon;
pub mod driver;
pub mod field;
pub mod hub;
/// The text of a file in `tests/reference/`.
///
/// # Panics
///
/// When there is no such file: a test without its table must not pass.
#[must_use]
pub fn reference(file: &str) -> String {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("reference").join(file);
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The rows of a table in `tests/reference/`, an empty cell being `None`.
///
/// # Panics
///
/// When the file is missing or a row does not have the row type's fields.
#[must_use]
pub fn rows<Row: serde::de::DeserializeOwned>(file: &str) -> Vec<Row> {
    let text = reference(file);
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Result<Vec<Row>, csv::Error> = reader.deserialize().collect();
    rows.unwrap_or_else(|error| panic!("{file}: {error}"))
}
