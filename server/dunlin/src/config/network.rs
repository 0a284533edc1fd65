//! Who may feed.

use std::net::IpAddr;

/// Addresses that share their first bits: `192.168.1.0/24`, or one address.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Network {
    base: IpAddr,
    bits: u8,
}

impl Network {
    /// Reads `a.b.c.d`, `a.b.c.d/n` and the same for IPv6; `None` for anything else.
    pub fn parse(text: &str) -> Option<Network> {
        let (base, bits) = match text.split_once('/') {
            Some((base, bits)) => (base, Some(bits.parse().ok()?)),
            None => (text, None),
        };
        let base: IpAddr = base.parse().ok()?;
        let all = if base.is_ipv4() { 32 } else { 128 };
        let bits = bits.unwrap_or(all);
        (bits <= all).then_some(Network { base, bits })
    }

    /// Whether `address` is one of them. An IPv4 address that comes in IPv6 clothing counts as IPv4.
    pub fn holds(&self, address: IpAddr) -> bool {
        let (base, address) = (bits_of(self.base), bits_of(address.to_canonical()));
        let shift = u32::from(base.1 - self.bits);
        base.1 == address.1 && (shift == u32::from(base.1) || base.0 >> shift == address.0 >> shift)
    }
}

fn bits_of(address: IpAddr) -> (u128, u8) {
    match address {
        IpAddr::V4(four) => (u128::from(four.to_bits()), 32),
        IpAddr::V6(six) => (six.to_bits(), 128),
    }
}

/// Whether a peer may feed; an empty list lets everyone.
pub fn allowed(list: &[Network], peer: IpAddr) -> bool {
    list.is_empty() || list.iter().any(|network| network.holds(peer))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn networks_hold_their_own_addresses_only() {
        for (network, address, holds) in [
            ("192.168.1.0/24", "192.168.1.77", true),
            ("192.168.1.0/24", "192.168.2.77", false),
            ("192.168.1.0/24", "::ffff:192.168.1.77", true),
            ("10.0.0.7", "10.0.0.7", true),
            ("10.0.0.7", "10.0.0.8", false),
            ("0.0.0.0/0", "8.8.8.8", true),
            ("0.0.0.0/0", "fe80::1", false),
            ("fe80::/10", "fe80::1", true),
        ] {
            let network = Network::parse(network).expect("a network");
            let address = address.parse().expect("an address");
            assert_eq!(network.holds(address), holds, "{network:?} and {address}");
        }
        assert_eq!(Network::parse("192.168.1.0/33"), None);
    }
}
