//! How often a secret may be tried.

use std::{
    collections::HashMap,
    net::{IpAddr, Ipv6Addr},
    sync::Mutex,
};

/// Wrong tries from one address before it is locked out.
pub const TRIES_PER_ADDRESS: u32 = 5;

/// How long an address is locked out, and how long its wrong tries count, ms.
pub const ADDRESS_LOCK_MS: i64 = 15 * 60_000;

/// Wrong tries from everywhere in [`ALL_LOCK_MS`] before PINs stop working for everyone. A four-digit
/// PIN then takes 10,000 / 40 * 10 minutes to search: more than 40 hours of an alarm in the log.
pub const TRIES_BY_ALL: u32 = 40;

/// How long the count for everyone runs, ms.
pub const ALL_LOCK_MS: i64 = 10 * 60_000;

/// Addresses remembered. When full, the one longest quiet is forgotten.
pub const ADDRESSES_MAX: usize = 10_000;

#[derive(Clone, Copy, Debug)]
struct Tries {
    wrong: u32,
    last_ms: i64,
}

#[derive(Debug, Default)]
struct Counts {
    by_address: HashMap<IpAddr, Tries>,
    all: Option<Tries>,
}

/// Counts wrong tries by address and by all.
#[derive(Debug, Default)]
pub struct Lockout {
    counts: Mutex<Counts>,
}

/// An IPv6 user has a whole /64 to try from.
fn network(address: IpAddr) -> IpAddr {
    match address {
        IpAddr::V4(_) => address,
        IpAddr::V6(v6) => v6
            .to_ipv4_mapped()
            .map_or_else(|| IpAddr::V6(Ipv6Addr::from(u128::from(v6) & !u128::from(u64::MAX))), IpAddr::V4),
    }
}

impl Lockout {
    /// Counts a try as wrong before it is checked, so that tries at once cannot slip through
    /// together; [`Lockout::right`] takes it back.
    ///
    /// # Errors
    /// Seconds to wait, when this address or everyone is locked out; the try is then not counted.
    pub fn try_from(&self, address: IpAddr, now_ms: i64) -> Result<(), i64> {
        let address = network(address);
        let mut counts = self.counts.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        let mut all = counts.all.filter(|all| now_ms - all.last_ms < ALL_LOCK_MS);
        let mut own =
            counts.by_address.get(&address).copied().filter(|own| now_ms - own.last_ms < ADDRESS_LOCK_MS);
        let wait = |tries: Option<Tries>, most: u32, lock_ms: i64| {
            tries
                .filter(|tries| tries.wrong >= most)
                .map(|tries| (tries.last_ms + lock_ms - now_ms) / 1000 + 1)
        };
        if let Some(seconds) =
            wait(own, TRIES_PER_ADDRESS, ADDRESS_LOCK_MS).or(wait(all, TRIES_BY_ALL, ALL_LOCK_MS))
        {
            return Err(seconds);
        }
        let one_more =
            |tries: Option<Tries>| Tries { wrong: tries.map_or(0, |tries| tries.wrong) + 1, last_ms: now_ms };
        own = Some(one_more(own));
        // The count for all runs from its first try, so that steady slow guessing also fills it.
        all = Some(Tries { last_ms: all.map_or(now_ms, |all| all.last_ms), ..one_more(all) });
        counts.all = all;
        if counts.by_address.len() >= ADDRESSES_MAX
            && !counts.by_address.contains_key(&address)
            && let Some(quiet) =
                counts.by_address.iter().min_by_key(|(_, tries)| tries.last_ms).map(|(at, _)| *at)
        {
            counts.by_address.remove(&quiet);
        }
        counts.by_address.extend(own.map(|own| (address, own)));
        Ok(())
    }

    /// The last try from here was right after all.
    pub fn right(&self, address: IpAddr) {
        let mut counts = self.counts.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        counts.by_address.remove(&network(address));
        if let Some(all) = counts.all.as_mut() {
            all.wrong = all.wrong.saturating_sub(1);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn five_wrong_tries_lock_one_address_and_no_other() {
        let lockout = Lockout::default();
        let (one, other) = (IpAddr::from([192, 168, 1, 7]), IpAddr::from([192, 168, 1, 8]));
        for _ in 0..TRIES_PER_ADDRESS {
            assert_eq!(lockout.try_from(one, 1_000), Ok(()));
        }
        assert_eq!(lockout.try_from(one, 1_000), Err(901));
        assert_eq!(lockout.try_from(other, 1_000), Ok(()));
        assert_eq!(lockout.try_from(one, 1_000 + ADDRESS_LOCK_MS), Ok(()));
    }

    #[test]
    fn many_addresses_together_lock_everyone_for_a_while() {
        let lockout = Lockout::default();
        for n in 0..TRIES_BY_ALL {
            assert_eq!(lockout.try_from(IpAddr::from([10, 0, 0, n as u8]), 1_000), Ok(()));
        }
        let fresh = IpAddr::from([10, 0, 1, 1]);
        assert!(lockout.try_from(fresh, 2_000).is_err());
        assert_eq!(lockout.try_from(fresh, 1_000 + ALL_LOCK_MS), Ok(()));
    }

    #[test]
    fn a_right_try_is_not_held_against_anyone() {
        let lockout = Lockout::default();
        let address = IpAddr::from([192, 168, 1, 7]);
        for _ in 0..1_000 {
            assert_eq!(lockout.try_from(address, 1_000), Ok(()));
            lockout.right(address);
        }
    }

    #[test]
    fn a_whole_ipv6_network_is_one_address() {
        let lockout = Lockout::default();
        for n in 0..5_u16 {
            let address = IpAddr::V6(Ipv6Addr::new(0xfd00, 0, 0, 0, 1, 2, 3, n));
            assert_eq!(lockout.try_from(address, 1_000), Ok(()));
        }
        let address = IpAddr::V6(Ipv6Addr::new(0xfd00, 0, 0, 0, 9, 9, 9, 9));
        assert!(lockout.try_from(address, 1_000).is_err());
    }
}
