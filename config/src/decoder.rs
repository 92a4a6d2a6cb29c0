//! What reads a cable's bytes.

use crate::model::Cable;
use protocol::frame::Frame;

impl Cable {
    /// The frame, ready to use: the one that its table describes, or the shipped one of its name.
    ///
    /// `None` for a name that is not shipped, which the loader refuses.
    #[must_use]
    pub fn decoder(&self) -> Option<Frame> {
        match &self.described {
            Some(table) => table.frame().ok(),
            None => Frame::shipped(&self.frame),
        }
    }
}
