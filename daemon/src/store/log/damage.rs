//! What is known of a damaged log, and how what can be read of it comes into a file.

use std::collections::BTreeMap;
use std::fs::File;
use std::io;
use std::os::unix::fs::FileExt;

/// What a damaged log has lost, and what of it can still be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::store) struct Damage {
    /// The first frame that SQLite leaves out, from 1.
    pub first_lost: u32,
    /// The last frame that is known to be committed.
    pub last_committed: u32,
    /// Commits that can be seen behind the damage: that many acknowledged changes at least are left out.
    pub commits: u32,
    pub(super) page_size: u32,
    /// Pages of the file after the last commit that can be read.
    pub(super) pages: u32,
    /// Where in the log the last readable image of each page lies.
    pub(super) images: BTreeMap<u32, u64>,
}

impl Damage {
    /// Brings everything that can be read into a copy of the store's file, of which SQLite needs no log.
    pub fn put_into(&self, copy: &File, log: Option<&File>) -> io::Result<()> {
        let size = u64::from(self.page_size);
        let mut page = vec![0; self.page_size as usize];
        for (number, at) in &self.images {
            let Some(log) = log else { break };
            log.read_exact_at(&mut page, *at)?;
            copy.write_all_at(&page, (u64::from(*number) - 1) * size)?;
        }
        let pages = match self.pages {
            0 => u32::try_from(copy.metadata()?.len() / size).unwrap_or(u32::MAX),
            pages => pages,
        };
        copy.set_len(u64::from(pages) * size)?;
        // The first page says whether there is a log, how many pages there are, and that this number holds.
        let mut head = [0; 100];
        copy.read_exact_at(&mut head, 0)?;
        head[18..20].fill(1);
        head[28..32].copy_from_slice(&pages.to_be_bytes());
        let (changes, valid_for) = (24..28, 92..96);
        head.copy_within(changes, valid_for.start);
        copy.write_all_at(&head, 0)?;
        copy.sync_all()
    }
}
