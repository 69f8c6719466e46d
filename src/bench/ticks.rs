//! A reminder a second later.

use std::time::Duration;

use tokio::sync::mpsc;

use super::Input;

/// Asks for a [`Input::Tick`] a second later, once at a time.
pub(super) struct Ticks {
    inputs: mpsc::WeakSender<Input>,
    pub(super) due: bool,
}

impl Ticks {
    pub(super) const fn new(inputs: mpsc::WeakSender<Input>) -> Self {
        Self { inputs, due: false }
    }

    pub(super) fn ask(&mut self) {
        if self.due {
            return;
        }
        let Some(inputs) = self.inputs.upgrade() else {
            return;
        };
        // A thread and not a timer of the runtime, since the bench can be used without one; it
        // lives for a second, and only while noise floods in.
        let tick = move || {
            std::thread::sleep(Duration::from_secs(1));
            let _ = inputs.blocking_send(Input::Tick);
        };
        self.due = std::thread::Builder::new()
            .name("tick".to_owned())
            .spawn(tick)
            .is_ok();
    }
}
