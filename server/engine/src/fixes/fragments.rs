//! AIS messages that come in several lines, put together.

use crate::moment::Moment;

/// Lines of one message: AIS needs at most five slots (ITU-R M.1371, after Raymond 2023).
const PARTS_MAX: usize = 5;

/// Messages of one receiver in pieces at one time; the oldest is given up for a further one.
const PENDING_MAX: usize = 16;

/// A message whose rest has not come for this long is given up, ms. Common practice, no source.
const PATIENCE_MS: i64 = 5_000;

/// Characters of one line's payload; a sentence cannot hold more.
const PAYLOAD_MAX: usize = 82;

/// One line of a message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Fragment<'a> {
    /// Lines in all, 1..=5.
    pub(crate) total: usize,
    /// Which one this is, 1..=total.
    pub(crate) number: usize,
    /// Sequence number and channel: what belongs together has the same.
    pub(crate) key: (&'a str, &'a str),
    /// Armoured six-bit text.
    pub(crate) payload: &'a str,
    /// Bits to drop at the end, 0..=5.
    pub(crate) fill: u8,
}

impl<'a> Fragment<'a> {
    /// The fragment in the fields of a VDM or VDO; `None` when they are not one.
    pub(crate) fn of(body: &'a str) -> Option<Fragment<'a>> {
        let mut fields = body.split(',').skip(1);
        let mut next = || fields.next();
        let digit = |text: &str| match text.as_bytes() {
            [digit @ b'0'..=b'9'] => Some(usize::from(digit - b'0')),
            _ => None,
        };
        let (total, number) = (digit(next()?)?, digit(next()?)?);
        let key = (next()?, next()?);
        let payload = next()?;
        let fill = u8::try_from(digit(next()?)?).ok()?;
        let sound = (1..=PARTS_MAX).contains(&total)
            && (1..=total).contains(&number)
            && fill <= 5
            && key.0.len() <= 1
            && key.1.len() <= 1
            && payload.len() <= PAYLOAD_MAX;
        sound.then_some(Fragment { total, number, key, payload, fill })
    }
}

/// A message of which some lines have come.
#[derive(Clone, Debug)]
struct Pending {
    key: (String, String),
    parts: Vec<Option<String>>,
    fill: u8,
    started: Moment,
}

/// Puts the messages of one receiver together.
#[derive(Clone, Debug, Default)]
pub(crate) struct Fragments {
    pending: Vec<Pending>,
}

impl Fragments {
    /// Takes one line; gives the whole payload and its fill bits once it is complete. Lines may
    /// come in any order. The number is that of messages given up because of this line.
    pub(crate) fn take(&mut self, now: Moment, fragment: Fragment<'_>) -> (Option<(String, u8)>, usize) {
        let mut lost = 0;
        let same = |old: &Pending| {
            old.key.0 == fragment.key.0 && old.key.1 == fragment.key.1 && old.parts.len() == fragment.total
        };
        let known = self.pending.iter().position(same);
        let at = match known {
            Some(at) => match self.pending[at].parts[fragment.number - 1].as_deref() {
                Some(part) if part == fragment.payload => return (None, 0), // sent twice
                Some(_) => {
                    // The number is in use again: the rest of the older message was lost.
                    self.pending.remove(at);
                    lost += 1;
                    self.begin(now, fragment, &mut lost)
                }
                None => at,
            },
            None => self.begin(now, fragment, &mut lost),
        };
        let message = &mut self.pending[at];
        message.parts[fragment.number - 1] = Some(fragment.payload.to_owned());
        if fragment.number == fragment.total {
            message.fill = fragment.fill;
        }
        if message.parts.iter().any(Option::is_none) {
            return (None, lost);
        }
        let message = self.pending.remove(at);
        (Some((message.parts.into_iter().flatten().collect(), message.fill)), lost)
    }

    /// Gives up messages whose rest has not come in time; says how many.
    pub(crate) fn expire(&mut self, now: Moment) -> usize {
        let before = self.pending.len();
        self.pending.retain(|message| now.ms_since(message.started) <= PATIENCE_MS);
        before - self.pending.len()
    }

    fn begin(&mut self, now: Moment, fragment: Fragment<'_>, lost: &mut usize) -> usize {
        if self.pending.len() >= PENDING_MAX {
            self.pending.remove(0);
            *lost += 1;
        }
        self.pending.push(Pending {
            key: (fragment.key.0.to_owned(), fragment.key.1.to_owned()),
            parts: vec![None; fragment.total],
            fill: 0,
            started: now,
        });
        self.pending.len() - 1
    }
}
