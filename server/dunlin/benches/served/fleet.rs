//! An invented fleet that beats and runs, as reports and as lines of NMEA 0183, and set-up files for it.

use std::{fmt::Write as _, net::SocketAddr, path::Path};

use dunlin_engine::{
    input::Report,
    moment::{FixTime, Moment},
    units::{Bearing, Position, kn_from_mps},
};

const SPEED_MPS: f64 = 1.5;

/// Boats of an invented fleet, each with where she is.
pub struct Fleet {
    at: Vec<(f64, f64)>,
}

impl Fleet {
    /// So many boats, 35 m apart.
    pub fn of(boats: usize) -> Fleet {
        Fleet { at: (0..boats).map(|boat| (50.0, -5.0 + boat as f64 * 0.0005)).collect() }
    }

    /// What boat `boat` is called and speaks as.
    pub fn name(boat: usize) -> String {
        format!("{boat:02}")
    }

    fn course(boat: usize, at: Moment) -> f64 {
        let leg = (at.0 / 1000 + 7 * boat as i64).div_euclid(40) % 4;
        [315.0, 45.0, 200.0, 160.0][leg as usize] + (boat % 5) as f64
    }

    /// She sails on for `s` seconds: a new course every 40 s.
    pub fn sail(&mut self, boat: usize, at: Moment, s: f64) {
        let (sin, cos) = Fleet::course(boat, at).to_radians().sin_cos();
        self.at[boat].0 += SPEED_MPS * s * cos / 111_200.0;
        self.at[boat].1 += SPEED_MPS * s * sin / 71_000.0;
    }

    /// Where she is, as a phone reports it.
    pub fn report(&self, boat: usize, at: Moment) -> Report {
        Report {
            taken: FixTime(at.0),
            position: Position::new(self.at[boat].0, self.at[boat].1),
            accuracy_m: Some(4.0),
            speed_mps: Some(SPEED_MPS),
            course: Bearing::from_degrees_true(Fleet::course(boat, at)),
            heading: None,
            heel_deg: None,
            battery_pct: Some(80.0),
            help: None,
        }
    }

    /// The same as an RMC with a TAG block.
    pub fn line(&self, boat: usize, at: Moment) -> String {
        let (lat, lon) = self.at[boat];
        let (lon_west, utc) = (-lon, at.to_string());
        let body = format!(
            "GPRMC,{}{}{}.{},A,{:02}{:07.4},N,{:03}{:07.4},W,{:.1},{:.1},{}{}{},,,A",
            &utc[11..13],
            &utc[14..16],
            &utc[17..19],
            &utc[20..22],
            lat.trunc(),
            lat.fract() * 60.0,
            lon_west.trunc(),
            lon_west.fract() * 60.0,
            kn_from_mps(SPEED_MPS),
            Fleet::course(boat, at),
            &utc[8..10],
            &utc[5..7],
            &utc[2..4],
        );
        let tag = format!("s:{}", Fleet::name(boat));
        format!("\\{tag}*{:02X}\\${body}*{:02X}\r\n", sum(&tag), sum(&body))
    }
}

/// A man-overboard device's position report (message 1, status 14), of one identity for each `number`:
/// case A05 of `tests/reference/ais.csv` under another identity (ITU-R M.1371, from memory: bits 8 to 37).
pub fn beacon(number: u32) -> (u32, String) {
    let mmsi = 972_010_100 + number;
    let mut bits: Vec<bool> =
        "1>Nvj>fP02wr6rpM2kG6vOvH0000".bytes().flat_map(|armour| six_bits(unarmoured(armour))).collect();
    for (place, bit) in bits[8..38].iter_mut().enumerate() {
        *bit = mmsi >> (29 - place) & 1 == 1;
    }
    let payload: String =
        bits.chunks(6).map(|six| armoured(six.iter().fold(0, |n, bit| n << 1 | u8::from(*bit)))).collect();
    let body = format!("AIVDM,1,1,,A,{payload},0");
    (mmsi, format!("!{body}*{:02X}\r\n", sum(&body)))
}

fn unarmoured(armour: u8) -> u8 {
    let six = armour - 48;
    if six > 40 { six - 8 } else { six }
}

fn armoured(six: u8) -> char {
    char::from(if six < 40 { six + 48 } else { six + 56 })
}

fn six_bits(six: u8) -> impl Iterator<Item = bool> {
    (0..6).map(move |place| six >> (5 - place) & 1 == 1)
}

fn sum(text: &str) -> u8 {
    text.bytes().fold(0, |sum, byte| sum ^ byte)
}

/// Writes a site, a fleet of `boats` (two of them safety boats) and a configuration that serves `pages`
/// and takes lines at `feed`.
pub fn write_set_up(folder: &Path, boats: usize, pages: SocketAddr, feed: SocketAddr) {
    let mut fleet = String::new();
    for boat in 0..boats {
        let (name, role) = (Fleet::name(boat), if boat < 2 { "safety" } else { "dinghy" });
        writeln!(fleet, "[[boat]]\nid = \"{name}\"\nsource = \"{name}\"\ncrew = 2\nrole = \"{role}\"\n")
            .expect("written to memory");
    }
    let zone = |kind: &str, west: f64, south: f64, east: f64, north: f64| {
        format!(
            "{{\"type\":\"Feature\",\"properties\":{{\"kind\":\"{kind}\",\"name\":\"{kind}\"}},\"geometry\":\
             {{\"type\":\"Polygon\",\"coordinates\":[[[{west},{south}],[{east},{south}],[{east},{north}],\
             [{west},{north}],[{west},{south}]]]}}}}"
        )
    };
    let zones = [
        zone("sailing-area", -5.03, 49.96, -4.9, 50.06),
        zone("no-go", -4.99, 50.03, -4.96, 50.04),
        zone("landing", -5.01, 49.98, -5.008, 49.981),
    ];
    let site = format!("{{\"type\":\"FeatureCollection\",\"features\":[{}]}}", zones.join(","));
    let config = format!(
        "site = \"site.geojson\"\nfleet = \"fleet.toml\"\nlisten = \"{pages}\"\n\
         [[feed]]\nname = \"boats\"\nkind = \"tcp-listen\"\nlisten = \"{feed}\"\n"
    );
    for (name, text) in [("fleet.toml", fleet), ("site.geojson", site), ("dunlin.toml", config)] {
        std::fs::write(folder.join(name), text).expect("written");
    }
}
