//! The lines of a stream of Server-Sent Events, as far as the daemon uses them: the `data` of each event.

/// An event larger than this is no event of the daemon; a snapshot has some tens of kilobytes.
pub(super) const LONGEST_EVENT: usize = 8 * 1024 * 1024;

/// Takes bytes as they come and gives the data of whole events.
///
/// Lines end with LF, CR LF or CR; an empty line ends an event; `data` lines of one event are joined with
/// LF; comments and other fields are passed over (WHATWG HTML, "Interpreting an event stream").
#[derive(Debug, Default)]
pub(super) struct Lines {
    line: Vec<u8>,
    data: Vec<u8>,
    has_data: bool,
    /// The last byte was a CR: a LF that follows belongs to it.
    after_cr: bool,
    begun: bool,
}

/// An event grew past [`LONGEST_EVENT`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct TooLong;

impl Lines {
    /// Takes bytes; calls `event` with the data of each event that they complete.
    pub(super) fn take(
        &mut self,
        bytes: &[u8],
        mut event: impl FnMut(Vec<u8>),
    ) -> Result<(), TooLong> {
        for &byte in bytes {
            let lf_of_crlf = byte == b'\n' && self.after_cr;
            self.after_cr = byte == b'\r';
            match byte {
                b'\n' if lf_of_crlf => {}
                b'\n' | b'\r' => {
                    if let Some(data) = self.end_of_line() {
                        event(data);
                    }
                }
                _ => {
                    if self.line.len() + self.data.len() >= LONGEST_EVENT {
                        return Err(TooLong);
                    }
                    self.line.push(byte);
                }
            }
        }
        Ok(())
    }

    fn end_of_line(&mut self) -> Option<Vec<u8>> {
        let mut line = std::mem::take(&mut self.line);
        if !std::mem::replace(&mut self.begun, true)
            && let Some(rest) = line.strip_prefix("\u{feff}".as_bytes())
        {
            line = rest.to_vec();
        }
        if line.is_empty() {
            let data = std::mem::take(&mut self.data);
            return std::mem::take(&mut self.has_data).then_some(data);
        }
        let value = match line.as_slice() {
            b"data" => &[][..],
            line => match line.strip_prefix(b"data:") {
                Some(value) => value.strip_prefix(b" ").unwrap_or(value),
                None => return None,
            },
        };
        if self.has_data {
            self.data.push(b'\n');
        }
        self.has_data = true;
        self.data.extend_from_slice(value);
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn events(chunks: &[&[u8]]) -> Vec<String> {
        let mut lines = Lines::default();
        let mut events = Vec::new();
        for chunk in chunks {
            lines
                .take(chunk, |data| {
                    events.push(String::from_utf8(data).unwrap());
                })
                .unwrap();
        }
        events
    }

    #[test]
    fn streams_and_their_events() {
        for (legend, stream, expected) in [
            ("one event", "data: {\"a\":1}\n\n", vec!["{\"a\":1}"]),
            ("without the blank", "data:x\n\n", vec!["x"]),
            ("only the first blank goes", "data:  x\n\n", vec![" x"]),
            ("two events", "data: 1\n\ndata: 2\n\n", vec!["1", "2"]),
            ("CR LF", "data: 1\r\n\r\ndata: 2\r\n\r\n", vec!["1", "2"]),
            ("CR alone", "data: 1\r\rdata: 2\r\r", vec!["1", "2"]),
            ("lines are joined", "data: 1\ndata: 2\n\n", vec!["1\n2"]),
            (
                "comments and other fields",
                ": keep\n\nevent: x\nid: 3\nretry: 5\ndata: 1\n\n",
                vec!["1"],
            ),
            ("an event without data is none", "event: x\n\n", vec![]),
            ("a field without colon", "data\n\n", vec![""]),
            ("a name that only begins so", "database: 1\n\n", vec![]),
            ("a byte order mark", "\u{feff}data: 1\n\n", vec!["1"]),
            ("an event that is not ended", "data: 1\n", vec![]),
        ] {
            assert_eq!(events(&[stream.as_bytes()]), expected, "{legend}");
            let bytes: Vec<&[u8]> = stream.as_bytes().chunks(1).collect();
            assert_eq!(events(&bytes), expected, "{legend}, byte by byte");
            for cut in 0..stream.len() {
                let (a, b) = stream.as_bytes().split_at(cut);
                assert_eq!(events(&[a, b]), expected, "{legend}, cut at {cut}");
            }
        }
    }

    #[test]
    fn an_event_is_bounded() {
        let mut lines = Lines::default();
        let mut longest = b"data: ".to_vec();
        longest.resize(LONGEST_EVENT, b'x');
        assert_eq!(lines.take(&longest, |_| {}), Ok(()));
        assert_eq!(lines.take(b"x", |_| {}), Err(TooLong));
    }
}
