//! NMEA 0183 by a serial line (IEC 61162-1: 4,800 bit/s; 38,400 for AIS).

use std::path::Path;

use serial2_tokio::SerialPort;

use super::{BackOff, Intake};

/// Opens the device and reads, again and again: adapters are pulled out and plugged in.
pub(super) async fn read(intake: &Intake, device: &Path, baud: u32) {
    let mut back_off = BackOff::new();
    let mut before = false;
    loop {
        match SerialPort::open(device, baud) {
            Ok(port) => {
                back_off.reset();
                intake.watched.up();
                intake.watched.lock().health.reconnects += u64::from(before);
                before = true;
                let ended = intake.pump(port, intake.name(None)).await;
                let device = device.display();
                intake.watched.down(match ended {
                    Ok(()) => format!("{device} was closed: is the adapter plugged in?"),
                    Err(error) => format!("{device} lost ({error}): is the adapter plugged in?"),
                });
            }
            Err(error) => intake.watched.down(format!(
                "cannot open {} ({error}): is the adapter plugged in, and may dunlin read it?",
                device.display()
            )),
        }
        back_off.wait().await;
    }
}
