//! Bytes of a line into sentences and TAG blocks, whatever surrounds them.

use crate::effect::DiscardReason;

/// Longest sentence accepted, start character and checksum included, without the line end. The
/// standard allows 80; real receivers send up to 100, and the parser stops at 102.
const SENTENCE_MAX: usize = 102;

/// What a TAG block says (IEC 61162-450; fields after Raymond 2023, "AIVDM/AIVDO protocol decoding").
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct TagBlock<'a> {
    /// `s`: who sent the sentence.
    pub source: Option<&'a str>,
    /// `c`: UTC in milliseconds since 1970; a value of up to eleven digits is seconds.
    pub time_ms: Option<i64>,
    /// `g`: part, parts and number of the group of sentences it belongs to.
    pub group: Option<(u32, u32, u32)>,
    /// `n`: line count of the sender.
    pub line: Option<u32>,
}

/// One piece of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Piece<'a> {
    /// A sentence whose checksum fits, from its `$` or `!` up to before the `*`.
    Sentence {
        /// The sentence with its `*hh`.
        text: &'a str,
        /// What the TAG block before it said; empty when there was none or it was damaged.
        tag: TagBlock<'a>,
    },
    /// Something else, with the reason it is refused.
    Refused { bytes: &'a [u8], reason: DiscardReason, tag: TagBlock<'a> },
}

/// The TAG block at the start of `line`, if it has one whose checksum fits.
///
/// For merging recordings by arrival time before anything is parsed.
pub fn tag(line: &[u8]) -> Option<TagBlock<'_>> {
    let start = line.iter().position(|byte| !byte.is_ascii_whitespace())?;
    let (tag, _) = tag_at(line.get(start..)?)?;
    tag
}

/// Calls `each` for every piece of `line` in order. Nothing at all is said of blank space.
pub(crate) fn pieces<'a>(line: &'a [u8], mut each: impl FnMut(Piece<'a>)) {
    let mut rest = line;
    let mut tag = TagBlock::default();
    while let Some(start) = rest.iter().position(|byte| is_start(*byte)) {
        let (before, from) = rest.split_at(start);
        refuse_rubbish(before, &mut each);
        if from[0] == b'\\' {
            match tag_at(from) {
                Some((found, len)) => {
                    // A damaged TAG block takes its data with it, not the sentence behind it.
                    tag = found.unwrap_or_default();
                    rest = &from[len..];
                }
                None => rest = &from[1..],
            }
            continue;
        }
        let len = 1 + from[1..].iter().position(|byte| is_start(*byte)).unwrap_or(from.len() - 1);
        let (sentence, after) = from.split_at(len);
        each(checked(sentence, tag));
        tag = TagBlock::default();
        rest = after;
    }
    refuse_rubbish(rest, &mut each);
}

fn is_start(byte: u8) -> bool {
    matches!(byte, b'$' | b'!' | b'\\')
}

fn refuse_rubbish<'a>(bytes: &'a [u8], each: &mut impl FnMut(Piece<'a>)) {
    let blank = |byte: &u8| byte.is_ascii_whitespace() || *byte == 0;
    if !bytes.iter().all(blank) {
        each(Piece::Refused { bytes, reason: DiscardReason::Rubbish, tag: TagBlock::default() });
    }
}

/// Judges one sentence that runs up to the next start character.
fn checked<'a>(bytes: &'a [u8], tag: TagBlock<'a>) -> Piece<'a> {
    let refused = |reason| Piece::Refused { bytes, reason, tag };
    let Some(star) = bytes.iter().position(|byte| *byte == b'*') else {
        return refused(DiscardReason::NoChecksum);
    };
    let Some(digits) = bytes.get(star + 1..star + 3) else {
        return refused(DiscardReason::NoChecksum);
    };
    let (Some(high), Some(low)) = (hex(digits[0]), hex(digits[1])) else {
        let cut = digits.iter().any(u8::is_ascii_whitespace);
        return refused(if cut { DiscardReason::NoChecksum } else { DiscardReason::WrongChecksum });
    };
    if bytes[1..star].iter().fold(0, |sum, byte| sum ^ byte) != high << 4 | low {
        return refused(DiscardReason::WrongChecksum);
    }
    if star + 3 > SENTENCE_MAX {
        return refused(DiscardReason::TooLong);
    }
    match std::str::from_utf8(&bytes[..star + 3]) {
        Ok(text) if text.bytes().all(|byte| (b' '..0x7f).contains(&byte)) => Piece::Sentence { text, tag },
        _ => refused(DiscardReason::Unreadable),
    }
}

fn hex(digit: u8) -> Option<u8> {
    match digit {
        b'0'..=b'9' => Some(digit - b'0'),
        b'a'..=b'f' => Some(digit - b'a' + 10),
        b'A'..=b'F' => Some(digit - b'A' + 10),
        _ => None,
    }
}

/// Reads the TAG block that begins at `bytes[0]`, a backslash. `None` when it is not closed before
/// the next `$` or `!`; the inner `None` when it is closed but damaged. With its whole length.
fn tag_at(bytes: &[u8]) -> Option<(Option<TagBlock<'_>>, usize)> {
    if bytes.first() != Some(&b'\\') {
        return None;
    }
    let end = 1 + bytes[1..].iter().position(|byte| is_start(*byte))?;
    if bytes[end] != b'\\' {
        return None;
    }
    Some((tag_fields(&bytes[1..end]), end + 1))
}

/// The fields between the backslashes; `None` when the checksum does not fit or a time is impossible.
fn tag_fields(bytes: &[u8]) -> Option<TagBlock<'_>> {
    let star = bytes.iter().rposition(|byte| *byte == b'*')?;
    let (fields, sum) = (&bytes[..star], &bytes[star + 1..]);
    let [high, low] = sum else { return None };
    let sum = hex(*high)? << 4 | hex(*low)?;
    if fields.iter().fold(0, |sum, byte| sum ^ byte) != sum {
        return None;
    }
    let mut tag = TagBlock::default();
    for field in std::str::from_utf8(fields).ok()?.split(',') {
        let Some((key, value)) = field.split_once(':') else {
            continue;
        };
        match key {
            "s" => tag.source = Some(value).filter(|value| !value.is_empty()),
            "c" => tag.time_ms = Some(tag_time_ms(value)?),
            "n" => tag.line = value.parse().ok(),
            "g" => {
                let mut numbers = value.splitn(3, '-').map(str::parse);
                if let (Some(Ok(part)), Some(Ok(parts)), Some(Ok(group))) =
                    (numbers.next(), numbers.next(), numbers.next())
                {
                    tag.group = Some((part, parts, group));
                }
            }
            _ => (), // d, r, i, t and whatever comes: nothing dunlin needs
        }
    }
    Some(tag)
}

/// Seconds or milliseconds since 1970, told apart by their size: eleven digits of seconds reach
/// the year 5138, twelve of milliseconds begin in 1973.
fn tag_time_ms(value: &str) -> Option<i64> {
    if value.is_empty() || value.len() > 14 || !value.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let number: i64 = value.parse().ok()?;
    Some(if value.len() <= 11 { number * 1000 } else { number })
}
