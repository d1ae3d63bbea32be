//! The desktop's own notifications. Every call may block for ever; only the herald's thread
//! comes here.

use notify_rust::{Hint, Notification, NotificationHandle, Timeout};

use super::herald::{NotPosted, Notice, Post};
use super::ring::{Quiet, Turn};
use super::words::Urgency;

/// The name under which the desktop shows our messages.
const APP_NAME: &str = "knuckle";

/// The desktop of this session, found as the desktop's own rules say. It is asked anew for
/// every message, so that a desktop that comes later is found, too.
#[derive(Debug, Default)]
pub struct Desktop {
    shown: Option<NotificationHandle>,
}

impl Post for Desktop {
    /// A repeat is written over the message before; something new is put up as a new message,
    /// which the desktop shows afresh, and the one before is taken down. So there is never
    /// more than one of ours.
    fn show(&mut self, notice: &Notice) -> Result<(), NotPosted> {
        let mut message = message(notice);
        let over = self.shown.as_ref().filter(|_| notice.turn == Turn::Again);
        if let Some(before) = over {
            message.id(before.id());
        }
        let is_new = over.is_none();
        let handle = message.show().map_err(|refusal| NotPosted {
            why: refusal.to_string(),
        })?;
        let before = self.shown.replace(handle);
        if let Some(before) = before.filter(|_| is_new) {
            before.close();
        }
        Ok(())
    }

    fn take_down(&mut self) {
        if let Some(shown) = self.shown.take() {
            shown.close();
        }
    }
}

/// It stays until somebody takes it down, and nothing but a person answers the alarm.
fn message(notice: &Notice) -> Notification {
    let mut message = Notification::new();
    message
        .appname(APP_NAME)
        .summary(&notice.summary)
        .body(&notice.body)
        .urgency(match notice.urgency {
            Urgency::Low => notify_rust::Urgency::Low,
            Urgency::Middle => notify_rust::Urgency::Normal,
            Urgency::High => notify_rust::Urgency::Critical,
        })
        .timeout(Timeout::Never);
    if notice.quiet == Quiet::On {
        message.hint(Hint::SuppressSound(true));
    }
    message
}
