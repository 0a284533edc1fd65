//! How many sockets are open, by kind and by address.

use std::{
    collections::HashMap,
    net::IpAddr,
    sync::{Arc, Mutex, PoisonError},
};

use super::limits::{PHONES_MAX, REQUESTS_BURST, REQUESTS_PER_S, SOCKETS_PER_ADDRESS, TABLETS_MAX};

/// What a socket is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// A tablet or a browser that watches.
    Tablet,
    /// A boat's phone.
    Phone,
}

#[derive(Debug, Default)]
struct Open {
    tablets: usize,
    phones: usize,
    by_address: HashMap<IpAddr, usize>,
}

/// The count of open sockets.
#[derive(Clone, Debug, Default)]
pub struct Sockets(Arc<Mutex<Open>>);

/// One place among them; given back when dropped.
#[derive(Debug)]
pub struct Place {
    open: Arc<Mutex<Open>>,
    kind: Kind,
    address: IpAddr,
}

impl Sockets {
    /// Takes a place for a socket from `address`.
    ///
    /// # Errors
    /// In words, when there is none left.
    pub fn take(&self, kind: Kind, address: IpAddr) -> Result<Place, &'static str> {
        let mut open = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let (used, most) = match kind {
            Kind::Tablet => (open.tablets, TABLETS_MAX),
            Kind::Phone => (open.phones, PHONES_MAX),
        };
        if used >= most {
            return Err("too many are connected; try again in a minute");
        }
        let from_here = open.by_address.entry(address).or_default();
        // Load tests, the simulator and a proxy on this machine share one address.
        if *from_here >= SOCKETS_PER_ADDRESS && !address.is_loopback() {
            return Err("too many connections from this address");
        }
        *from_here += 1;
        match kind {
            Kind::Tablet => open.tablets += 1,
            Kind::Phone => open.phones += 1,
        }
        Ok(Place { open: Arc::clone(&self.0), kind, address })
    }

    /// Tablets and phones connected now.
    pub fn count(&self) -> (usize, usize) {
        let open = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        (open.tablets, open.phones)
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        match self.kind {
            Kind::Tablet => open.tablets -= 1,
            Kind::Phone => open.phones -= 1,
        }
        if let Some(from_here) = open.by_address.get_mut(&self.address) {
            *from_here -= 1;
            if *from_here == 0 {
                open.by_address.remove(&self.address);
            }
        }
    }
}

/// A sender's allowance: so many messages a second on average, and a burst.
#[derive(Debug)]
pub struct Allowance {
    per_s: f64,
    burst: f64,
    left: f64,
    at: tokio::time::Instant,
}

impl Allowance {
    /// A full one.
    pub fn new(per_s: f64, burst: f64) -> Allowance {
        Allowance { per_s, burst, left: burst, at: tokio::time::Instant::now() }
    }

    /// Takes one message's worth, waiting until there is one. While it waits the socket is not
    /// read, so the sender's own link holds it back and nothing is lost.
    pub async fn take(&mut self) {
        let now = tokio::time::Instant::now();
        self.left = (self.left + self.per_s * (now - self.at).as_secs_f64()).min(self.burst);
        self.at = now;
        self.left -= 1.0;
        if self.left < 0.0 {
            tokio::time::sleep(std::time::Duration::from_secs_f64(-self.left / self.per_s)).await;
        }
    }
}

/// Addresses whose requests are counted. When full, all begin anew.
const ADDRESSES_MAX: usize = 10_000;

/// How often each address asks.
#[derive(Debug, Default)]
pub struct Requests(Mutex<HashMap<IpAddr, (f64, Option<tokio::time::Instant>)>>);

impl Requests {
    /// Whether an address may ask once more now. This machine's own always may.
    pub fn may(&self, address: IpAddr) -> bool {
        let address = address.to_canonical();
        if address.is_loopback() {
            return true;
        }
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if all.len() >= ADDRESSES_MAX && !all.contains_key(&address) {
            all.clear();
        }
        let now = tokio::time::Instant::now();
        let (left, at) = all.entry(address).or_insert((REQUESTS_BURST, None));
        let since_s = at.map_or(0.0, |at| (now - at).as_secs_f64());
        *at = Some(now);
        *left = (*left + REQUESTS_PER_S * since_s).min(REQUESTS_BURST);
        let may = *left >= 1.0;
        if may {
            *left -= 1.0;
        }
        may
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_address_cannot_take_every_place_and_gives_back_what_it_had() {
        let sockets = Sockets::default();
        let address = IpAddr::from([192, 168, 1, 7]);
        let places: Vec<Place> =
            (0..SOCKETS_PER_ADDRESS).map(|_| sockets.take(Kind::Tablet, address).expect("free")).collect();
        assert!(sockets.take(Kind::Phone, address).is_err());
        assert!(sockets.take(Kind::Phone, IpAddr::from([192, 168, 1, 8])).is_ok());
        drop(places);
        assert_eq!(sockets.count(), (0, 0));
        assert!(sockets.take(Kind::Tablet, address).is_ok());
    }

    #[tokio::test(start_paused = true)]
    async fn an_address_that_asks_too_often_has_to_wait_and_no_other_does() {
        let requests = Requests::default();
        let address = IpAddr::from([192, 168, 1, 7]);
        let let_in = (0..1_000).filter(|_| requests.may(address)).count();
        assert_eq!(let_in, REQUESTS_BURST as usize);
        assert!(requests.may(IpAddr::from([192, 168, 1, 8])));
        tokio::time::sleep(std::time::Duration::from_secs(1)).await;
        assert_eq!((0..1_000).filter(|_| requests.may(address)).count(), REQUESTS_PER_S as usize);
    }

    #[tokio::test(start_paused = true)]
    async fn a_fast_sender_is_slowed_to_its_rate() {
        let mut allowance = Allowance::new(10.0, 5.0);
        let begin = tokio::time::Instant::now();
        for _ in 0..25 {
            allowance.take().await;
        }
        let took = begin.elapsed().as_secs_f64();
        assert!((1.9..2.1).contains(&took), "{took} s for 20 beyond the burst");
    }
}
