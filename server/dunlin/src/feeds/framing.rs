//! Bytes to lines: whatever arrives, in whatever pieces, becomes lines of at most [`LINE_MAX`] bytes.
//!
//! A line ends at CR, LF or both, and where the next sentence begins: a `$`, `!` or `\` in the middle
//! of a sentence means that its end was lost. So one torn write costs one sentence, not two.

use dunlin_engine::limits::LINE_MAX;

/// Cuts a stream of bytes into lines. Keeps at most one unfinished line.
#[derive(Debug, Default)]
pub struct Framer {
    line: Vec<u8>,
    place: Place,
    /// Bytes of an over-long line so far, its start included.
    long: usize,
}

/// Where in a line the framer is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Place {
    /// Before anything that could begin a sentence.
    #[default]
    Outside,
    /// Inside a TAG block, after its opening `\`.
    Tag,
    /// Just behind a TAG block's closing `\`.
    AfterTag,
    /// Inside a sentence, after its `$` or `!`.
    Sentence,
    /// Inside a line that is too long; thrown away up to its end or the next start.
    TooLong,
}

/// One piece of the stream.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Piece<'a> {
    /// A line without its end; never empty.
    Line(&'a [u8]),
    /// A line that was longer than [`LINE_MAX`].
    TooLong {
        /// Its first [`LINE_MAX`] bytes.
        start: &'a [u8],
        /// All its bytes.
        bytes: usize,
    },
}

impl Framer {
    /// Takes the next bytes of the stream and gives out every piece that they complete.
    pub fn push(&mut self, bytes: &[u8], mut out: impl FnMut(Piece)) {
        let mut rest = bytes;
        loop {
            // Nearly all bytes are neither an end nor a start: they are taken by the run.
            let run = rest.iter().position(|byte| is_mark(*byte)).unwrap_or(rest.len());
            self.take_plain(&rest[..run]);
            let Some((mark, after)) = rest[run..].split_first() else { return };
            self.take(*mark, &mut out);
            rest = after;
        }
    }

    /// Gives out what has no line end behind it: the stream has ended, or the datagram.
    pub fn end(&mut self, mut out: impl FnMut(Piece)) {
        self.give(&mut out);
    }

    fn take(&mut self, byte: u8, out: &mut impl FnMut(Piece)) {
        let place = match (self.place, byte) {
            (_, b'\r' | b'\n') => {
                self.give(out);
                return;
            }
            (Place::Tag, b'\\') => Place::AfterTag,
            (Place::AfterTag, b'$' | b'!') => Place::Sentence,
            // A TAG block behind a TAG block is allowed (NMEA 0183 4.10, as in our reference table).
            (Place::AfterTag, b'\\') => Place::Tag,
            (Place::Outside | Place::Tag | Place::Sentence | Place::TooLong, b'$' | b'!') => {
                self.give(out);
                Place::Sentence
            }
            (Place::Outside | Place::Sentence | Place::TooLong, b'\\') => {
                self.give(out);
                Place::Tag
            }
            (same, _) => same,
        };
        self.place = place;
        self.keep(&[byte]);
    }

    /// Takes bytes that neither end a line nor begin anything.
    fn take_plain(&mut self, bytes: &[u8]) {
        if bytes.is_empty() {
            return;
        }
        if self.place == Place::AfterTag {
            self.place = Place::Outside;
        }
        self.keep(bytes);
    }

    /// Adds to the line what it has room for; beyond that it is too long, and only counted.
    fn keep(&mut self, bytes: &[u8]) {
        let room = if self.place == Place::TooLong { 0 } else { LINE_MAX - self.line.len() };
        let (fits, over) = bytes.split_at(room.min(bytes.len()));
        self.line.extend_from_slice(fits);
        if !over.is_empty() {
            self.place = Place::TooLong;
            self.long = self.long.max(LINE_MAX) + over.len();
        }
    }

    fn give(&mut self, out: &mut impl FnMut(Piece)) {
        if self.long > 0 {
            out(Piece::TooLong { start: &self.line, bytes: self.long });
        } else if !self.line.is_empty() {
            out(Piece::Line(&self.line));
        }
        self.line.clear();
        self.long = 0;
        self.place = Place::Outside;
    }
}

/// Whether the byte may end a line or begin something.
fn is_mark(byte: u8) -> bool {
    matches!(byte, b'\r' | b'\n' | b'$' | b'!' | b'\\')
}

/// The fields of a line's TAG blocks that stand at its start, as `(letter, value)`; those of a block
/// with a wrong checksum are left out, for nothing in it can be believed.
pub fn tag_fields(line: &[u8]) -> impl Iterator<Item = (u8, &[u8])> {
    let mut rest = line;
    std::iter::from_fn(move || {
        let inner = rest.strip_prefix(b"\\")?;
        let end = inner.iter().position(|byte| *byte == b'\\')?;
        rest = &inner[end + 1..];
        Some(sound(&inner[..end]).unwrap_or_default())
    })
    .flat_map(|block: &[u8]| block.split(|byte| *byte == b','))
    .filter_map(|field| match field {
        [letter, b':', value @ ..] => Some((*letter, value)),
        _ => None,
    })
}

/// The TAG block without its checksum; `None` when that is wrong. A block without one is accepted.
fn sound(block: &[u8]) -> Option<&[u8]> {
    let Some(star) = block.iter().rposition(|byte| *byte == b'*') else {
        return Some(block);
    };
    let (body, sum) = (&block[..star], &block[star + 1..]);
    let said = u8::from_str_radix(std::str::from_utf8(sum).ok()?.trim(), 16).ok()?;
    let found = body.iter().fold(0, |sum, byte| sum ^ byte);
    (said == found).then_some(body)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn lines(bytes: &[u8], chunk: usize) -> Vec<String> {
        let mut framer = Framer::default();
        let mut lines = Vec::new();
        let mut keep = |piece: Piece| {
            lines.push(match piece {
                Piece::Line(line) => String::from_utf8_lossy(line).into_owned(),
                Piece::TooLong { start, bytes } => format!("<{} of {bytes}>", start.len()),
            });
        };
        for part in bytes.chunks(chunk) {
            framer.push(part, &mut keep);
        }
        framer.end(&mut keep);
        lines
    }

    #[test]
    fn lines_end_where_they_end_and_where_the_next_begins() {
        let long = [b"$", "x".repeat(5_000).as_bytes(), b"\r\n$GPA*00\n"].concat();
        for (bytes, expected) in [
            (&b"$GPA*00\r\n$GPB*00\n"[..], &["$GPA*00", "$GPB*00"][..]),
            (b"$GPA*00\r$GPB*00", &["$GPA*00", "$GPB*00"]),
            (b"$GPRMC,12$GPGGA*00\r\n", &["$GPRMC,12", "$GPGGA*00"]),
            (b"\\s:07*00\\$GPA*00\n", &["\\s:07*00\\$GPA*00"]),
            (b"\\g:1-2-3*00\\\\s:07*00\\!AI*00\n", &["\\g:1-2-3*00\\\\s:07*00\\!AI*00"]),
            (b"$GPA*00\\s:07*00\\!AI*00\n", &["$GPA*00", "\\s:07*00\\!AI*00"]),
            (b"\\s:07$GPA*00\n", &["\\s:07", "$GPA*00"]),
            (b"\xff\xfe$GPA*00\n\n\n", &["\u{fffd}\u{fffd}", "$GPA*00"]),
            (&long, &["<1024 of 5001>", "$GPA*00"]),
            (b"", &[]),
        ] {
            for chunk in [1, 3, 7, 4096] {
                assert_eq!(lines(bytes, chunk), expected, "in pieces of {chunk}");
            }
        }
    }

    #[test]
    fn tag_fields_are_read_unless_the_checksum_denies_them() {
        let fields = |line: &[u8]| -> Vec<(char, String)> {
            tag_fields(line)
                .map(|(letter, value)| (letter as char, String::from_utf8_lossy(value).into()))
                .collect()
        };
        let both = vec![('s', "07".to_owned()), ('c', "1780308133".to_owned())];
        assert_eq!(fields(b"\\s:07,c:1780308133\\$GPA"), both);
        assert_eq!(fields(b"\\s:07,c:1780308133*00\\$GPA"), vec![]);
        assert_eq!(fields(b"$GPA"), vec![]);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn no_byte_is_lost_and_no_line_is_too_long(
            bytes in proptest::collection::vec(prop_oneof![Just(b'$'), Just(b'\\'), Just(b'\n'), any::<u8>()], 0..2_500),
            chunk in 1_usize..100,
        ) {
            let mut framer = Framer::default();
            let mut given = 0;
            let mut count = |piece: Piece| match piece {
                Piece::Line(line) => { assert!(line.len() <= LINE_MAX); given += line.len(); }
                Piece::TooLong { start, bytes } => { assert_eq!(start.len(), LINE_MAX); given += bytes; }
            };
            for part in bytes.chunks(chunk) {
                framer.push(part, &mut count);
            }
            framer.end(&mut count);
            let ends = bytes.iter().filter(|byte| matches!(byte, b'\r' | b'\n')).count();
            prop_assert_eq!(given + ends, bytes.len());
        }
    }
}
