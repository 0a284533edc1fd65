//! Entries of a fleet file.

/// A dinghy whose phone goes by her name.
pub(crate) fn dinghy(id: &str, crew: u32, class: &str, waterline_m: f64) -> String {
    craft(id, &format!("phone-{id}"), crew, "dinghy")
        + &format!("class = {{ name = \"{class}\", waterline_m = {waterline_m:.1} }}\n\n")
}

/// A safety boat.
pub(crate) fn safety(id: &str, source: &str, crew: u32) -> String {
    craft(id, source, crew, "safety") + "\n"
}

fn craft(id: &str, source: &str, crew: u32, role: &str) -> String {
    format!("[[boat]]\nid = \"{id}\"\nsource = \"{source}\"\ncrew = {crew}\nrole = \"{role}\"\n")
}
