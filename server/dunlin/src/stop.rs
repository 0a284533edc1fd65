//! The wish to stop, told once to every part of the program.

use tokio::sync::watch;

/// Held by whoever decides that the program stops. Dropping it stops as well.
#[derive(Debug)]
pub struct Stopper(watch::Sender<bool>);

/// Held by every part that has to end.
#[derive(Clone, Debug)]
pub struct Stop(watch::Receiver<bool>);

/// A pair that belongs together.
pub fn pair() -> (Stopper, Stop) {
    let (sender, receiver) = watch::channel(false);
    (Stopper(sender), Stop(receiver))
}

impl Stopper {
    /// Stops every part.
    pub fn stop(&self) {
        self.0.send_replace(true);
    }
}

impl Stop {
    /// Waits for the wish to stop. Can be awaited any number of times, and dropped half-way.
    pub async fn wanted(&mut self) {
        // An error means that the decider is gone, which is a wish to stop too.
        let _gone = self.0.wait_for(|stop| *stop).await;
    }

    /// Whether the wish was told.
    pub fn is_wanted(&self) -> bool {
        *self.0.borrow() || self.0.has_changed().is_err()
    }
}
