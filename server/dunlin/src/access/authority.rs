//! The local certificate authority: made on the first start, signs this server's certificates.
//!
//! Browsers give a phone's position only to pages served by HTTPS, and no public authority signs a
//! name on a beach's own network. The centre's devices trust this one instead. It is bound to
//! `.local` names and private addresses, so whoever trusts it trusts it with nothing else.

use std::{
    collections::BTreeSet,
    fs::{self, OpenOptions},
    io::{self, Write},
    net::IpAddr,
    path::{Path, PathBuf},
};

use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DistinguishedName, DnType, ExtendedKeyUsagePurpose,
    GeneralSubtree, IsCa, Issuer, KeyPair, KeyUsagePurpose, NameConstraints, SanType, SerialNumber,
};
use rustls::pki_types::{CertificateDer, PrivateKeyDer, PrivatePkcs8KeyDer, pem::PemObject};
use sha2::{Digest, Sha256};
use time::{Duration, OffsetDateTime};

/// How long the authority lasts: devices have to be given it anew after that.
const AUTHORITY_DAYS: i64 = 3_650;

/// How long a server's certificate lasts. Apple's systems refuse more than 825 days (Apple, support
/// article "Requirements for trusted certificates in iOS 13 and macOS 10.15", from memory). A new one
/// is made at each start and every month, so it can be far shorter.
const LEAF_DAYS: i64 = 90;

/// Certificates begin this long before they are made: a tablet's clock may be behind.
const BEGIN_BEFORE_DAYS: i64 = 2;

/// Why there is no certificate. The program says so and ends.
#[derive(Debug, thiserror::Error)]
pub enum AuthorityError {
    /// A file of it cannot be read or written.
    #[error("cannot read or write {}", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        #[source]
        source: io::Error,
    },
    /// A file of it is not what it should be.
    #[error("{} is not a usable PEM file", path.display())]
    Pem {
        /// Which.
        path: PathBuf,
    },
    /// A certificate could not be made.
    #[error("a certificate could not be made")]
    Make(#[from] rcgen::Error),
    /// A certificate and its key do not fit together, or TLS refuses them.
    #[error("the certificate and its key cannot be used")]
    Use(#[from] rustls::Error),
}

/// The authority, with its key.
#[derive(Debug)]
pub struct Authority {
    issuer: Issuer<'static, KeyPair>,
    certificate: CertificateDer<'static>,
}

/// A certificate chain and its key, ready for TLS.
#[derive(Debug)]
pub struct Identity {
    /// The server's own first.
    pub chain: Vec<CertificateDer<'static>>,
    /// Its key.
    pub key: PrivateKeyDer<'static>,
}

impl Authority {
    /// Opens the authority in `folder`, or makes one on the first start.
    ///
    /// # Errors
    /// As [`AuthorityError`] says. A damaged authority is not replaced: devices trust the old one.
    pub fn open(folder: &Path) -> Result<Authority, AuthorityError> {
        fs::create_dir_all(folder)
            .map_err(|source| AuthorityError::File { path: folder.to_owned(), source })?;
        let (key_path, path) = (folder.join("authority.key.pem"), folder.join("authority.pem"));
        if !key_path.exists() && !path.exists() {
            let key = KeyPair::generate()?;
            let certificate = params().self_signed(&key)?;
            // The key first: without it the certificate is worth nothing, and the next start would
            // say that it is missing instead of making an authority that no device trusts.
            write_secret(&key_path, &key.serialize_pem())?;
            write_secret(&path, &certificate.pem())?;
        }
        let key = KeyPair::from_pem(&read(&key_path)?)
            .map_err(|_| AuthorityError::Pem { path: key_path.clone() })?;
        let certificate = CertificateDer::from_pem_slice(read(&path)?.as_bytes())
            .map_err(|_| AuthorityError::Pem { path: path.clone() })?;
        Ok(Authority { issuer: Issuer::new(params(), key), certificate })
    }

    /// The certificate that devices are to trust, in DER.
    pub fn der(&self) -> &[u8] {
        &self.certificate
    }

    /// SHA-256 of the certificate, as devices show it: pairs of hex digits with colons.
    pub fn fingerprint(&self) -> String {
        let pairs: Vec<String> =
            Sha256::digest(self.der()).iter().map(|byte| format!("{byte:02X}")).collect();
        pairs.join(":")
    }

    /// A certificate for this server under these names and addresses, those apart that the
    /// authority may not speak for.
    ///
    /// # Errors
    /// When it cannot be made.
    pub fn identity(
        &self,
        names: &[String],
        addresses: &BTreeSet<IpAddr>,
    ) -> Result<Identity, AuthorityError> {
        let key = KeyPair::generate()?;
        let ours = names.iter().filter(|name| name.ends_with(".local") || *name == "localhost");
        let mut params = CertificateParams::new(ours.cloned().collect::<Vec<String>>())?;
        let addresses = addresses.iter().copied().filter(is_private).map(SanType::IpAddress);
        params.subject_alt_names.extend(addresses);
        params.distinguished_name = named("dunlin on this network");
        params.is_ca = IsCa::ExplicitNoCa;
        params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        params.use_authority_key_identifier_extension = true;
        params.serial_number = Some(serial()?);
        (params.not_before, params.not_after) = from_now(LEAF_DAYS);
        let certificate = params.signed_by(&key, &self.issuer)?;
        let key = PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(key.serialize_der()));
        Ok(Identity { chain: vec![certificate.der().clone(), self.certificate.clone()], key })
    }
}

/// A certificate of the centre's own.
///
/// # Errors
/// When a file cannot be read or is not PEM.
pub fn own_identity(certificate: &Path, key: &Path) -> Result<Identity, AuthorityError> {
    let pem = |path: &Path| AuthorityError::Pem { path: path.to_owned() };
    let chain: Result<Vec<_>, _> = CertificateDer::pem_slice_iter(read(certificate)?.as_bytes()).collect();
    let chain = chain.map_err(|_| pem(certificate))?;
    if chain.is_empty() {
        return Err(pem(certificate));
    }
    let key = PrivateKeyDer::from_pem_slice(read(key)?.as_bytes()).map_err(|_| pem(key))?;
    Ok(Identity { chain, key })
}

/// What the authority's certificate says. Everything but the dates and the serial number must be
/// the same at each start, since certificates are signed with what is rebuilt from here.
fn params() -> CertificateParams {
    let mut params = CertificateParams::default();
    params.distinguished_name = named("dunlin, this centre's own authority");
    params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    params.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
    let names = ["local", "localhost"].map(|name| GeneralSubtree::DnsName(name.to_owned()));
    let networks = PRIVATE
        .iter()
        .map(|(base, bits)| GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(*base, *bits)));
    params.name_constraints = Some(NameConstraints {
        permitted_subtrees: names.into_iter().chain(networks).collect(),
        excluded_subtrees: Vec::new(),
    });
    (params.not_before, params.not_after) = from_now(AUTHORITY_DAYS);
    params
}

/// Networks that never reach the internet: RFC 1918, RFC 3927, RFC 4193, RFC 4291, and loopback.
const PRIVATE: [(IpAddr, u8); 8] = [
    (IpAddr::V4(std::net::Ipv4Addr::new(10, 0, 0, 0)), 8),
    (IpAddr::V4(std::net::Ipv4Addr::new(172, 16, 0, 0)), 12),
    (IpAddr::V4(std::net::Ipv4Addr::new(192, 168, 0, 0)), 16),
    (IpAddr::V4(std::net::Ipv4Addr::new(169, 254, 0, 0)), 16),
    (IpAddr::V4(std::net::Ipv4Addr::new(127, 0, 0, 0)), 8),
    (IpAddr::V6(std::net::Ipv6Addr::new(0xfc00, 0, 0, 0, 0, 0, 0, 0)), 7),
    (IpAddr::V6(std::net::Ipv6Addr::new(0xfe80, 0, 0, 0, 0, 0, 0, 0)), 10),
    (IpAddr::V6(std::net::Ipv6Addr::new(0, 0, 0, 0, 0, 0, 0, 1)), 128),
];

fn is_private(address: &IpAddr) -> bool {
    match address {
        IpAddr::V4(v4) => v4.is_private() || v4.is_link_local() || v4.is_loopback(),
        IpAddr::V6(v6) => v6.is_unique_local() || v6.is_unicast_link_local() || v6.is_loopback(),
    }
}

fn named(name: &str) -> DistinguishedName {
    let mut distinguished = DistinguishedName::new();
    distinguished.push(DnType::CommonName, name);
    distinguished
}

fn serial() -> Result<SerialNumber, AuthorityError> {
    let mut bytes = [0_u8; 16];
    // Never the same twice: a browser that has seen two certificates of one number trusts neither.
    getrandom::fill(&mut bytes).map_err(|_| rcgen::Error::RingUnspecified)?;
    bytes[0] &= 0x7f; // serial numbers are positive (RFC 5280 4.1.2.2)
    Ok(SerialNumber::from_slice(&bytes))
}

fn from_now(days: i64) -> (OffsetDateTime, OffsetDateTime) {
    let now = OffsetDateTime::now_utc();
    (now - Duration::days(BEGIN_BEFORE_DAYS), now + Duration::days(days))
}

fn read(path: &Path) -> Result<String, AuthorityError> {
    fs::read_to_string(path).map_err(|source| AuthorityError::File { path: path.to_owned(), source })
}

/// Writes a file that only this user can read, whole or not at all.
fn write_secret(path: &Path, text: &str) -> Result<(), AuthorityError> {
    let failed = |source| AuthorityError::File { path: path.to_owned(), source };
    let half = path.with_extension("half");
    let mut options = OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(&half).map_err(failed)?;
    file.write_all(text.as_bytes()).and_then(|()| file.sync_all()).map_err(failed)?;
    fs::rename(&half, path).map_err(failed)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_authority_is_the_same_after_a_restart_and_its_key_is_private() {
        let folder = tempfile::tempdir().expect("a folder");
        let first = Authority::open(folder.path()).expect("made");
        let second = Authority::open(folder.path()).expect("opened");
        assert_eq!(first.der(), second.der());
        assert_eq!(first.fingerprint().len(), 32 * 3 - 1);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let key = fs::metadata(folder.path().join("authority.key.pem")).expect("there");
            assert_eq!(key.permissions().mode() & 0o777, 0o600);
        }
    }

    /// What a device that trusts the authority says of a certificate for `name`.
    fn verdict(authority: &Authority, identity: &Identity, name: &str) -> Result<(), rustls::Error> {
        let mut roots = rustls::RootCertStore::empty();
        roots.add(CertificateDer::from(authority.der().to_vec()))?;
        let provider = std::sync::Arc::new(rustls::crypto::ring::default_provider());
        let verifier =
            rustls::client::WebPkiServerVerifier::builder_with_provider(std::sync::Arc::new(roots), provider)
                .build()
                .expect("a verifier");
        let name = rustls::pki_types::ServerName::try_from(name.to_owned()).expect("a name");
        let now = rustls::pki_types::UnixTime::now();
        rustls::client::danger::ServerCertVerifier::verify_server_cert(
            &*verifier,
            &identity.chain[0],
            &identity.chain[1..],
            &name,
            &[],
            now,
        )
        .map(drop)
    }

    #[test]
    fn devices_believe_it_for_local_names_and_private_addresses_only() {
        let folder = tempfile::tempdir().expect("a folder");
        let authority = Authority::open(folder.path()).expect("made");
        let names = ["heron.local".to_owned(), "localhost".to_owned(), "bank.example".to_owned()];
        let addresses = ["192.168.4.1", "fd00::1", "93.184.216.34"].map(|at| at.parse().expect("an address"));
        let identity = authority.identity(&names, &addresses.into()).expect("made");
        for (name, believed) in [
            ("heron.local", true),
            ("localhost", true),
            ("192.168.4.1", true),
            ("fd00::1", true),
            ("bank.example", false),
            ("93.184.216.34", false),
        ] {
            assert_eq!(verdict(&authority, &identity, name).is_ok(), believed, "{name}");
        }
    }

    #[test]
    fn a_certificate_of_the_centres_own_is_served_and_a_wrong_file_is_named() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = |name: &str| folder.path().join(name);
        let key = KeyPair::generate().expect("made");
        let params = CertificateParams::new(vec!["watch.example.org".to_owned()]).expect("a name");
        let made = params.self_signed(&key).expect("signed");
        fs::write(path("cert.pem"), made.pem()).expect("written");
        fs::write(path("key.pem"), key.serialize_pem()).expect("written");
        fs::write(path("empty.pem"), "no certificate").expect("written");
        let other = KeyPair::generate().expect("made");
        fs::write(path("other.pem"), other.serialize_pem()).expect("written");

        let served = own_identity(&path("cert.pem"), &path("key.pem")).expect("usable");
        assert_eq!(served.chain, [made.der().clone()]);
        assert!(crate::access::tls::config(served).is_ok());
        // A key that is not the certificate's is told at the start, not by every tablet.
        let unlike = own_identity(&path("cert.pem"), &path("other.pem")).expect("both are PEM");
        assert!(crate::access::tls::config(unlike).is_err());
        for (certificate, key, named) in [
            ("empty.pem", "key.pem", "empty.pem"),
            ("cert.pem", "empty.pem", "empty.pem"),
            ("cert.pem", "nowhere.pem", "nowhere.pem"),
        ] {
            let wrong = own_identity(&path(certificate), &path(key)).expect_err("cannot be used").to_string();
            assert!(wrong.contains(named), "{wrong}");
        }
    }

    #[test]
    fn a_stolen_authority_is_good_for_nothing_on_the_internet() {
        let folder = tempfile::tempdir().expect("a folder");
        let authority = Authority::open(folder.path()).expect("made");
        let key = KeyPair::generate().expect("made");
        for (name, is_local) in [("bank.example", false), ("thief.local", true), ("93.184.216.34", false)] {
            let mut params = CertificateParams::new(vec![name.to_owned()]).expect("a name");
            params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
            let certificate = params.signed_by(&key, &authority.issuer).expect("signed");
            let key = PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(key.serialize_der()));
            let identity = Identity { chain: vec![certificate.der().clone()], key };
            assert_eq!(verdict(&authority, &identity, name).is_ok(), is_local, "{name}");
        }
    }

    #[test]
    fn a_lost_key_is_not_replaced_in_silence() {
        let folder = tempfile::tempdir().expect("a folder");
        Authority::open(folder.path()).expect("made");
        fs::remove_file(folder.path().join("authority.key.pem")).expect("removed");
        assert!(matches!(Authority::open(folder.path()), Err(AuthorityError::File { .. })));
    }
}
