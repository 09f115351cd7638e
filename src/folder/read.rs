//! Texts from the disk, bounded: a build file or a log is some kilobytes, and what does not end is neither.

use crate::job::{Named, named_files};
use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

/// Far more than any build file or log.
const MAX_BYTES: u64 = 8_000_000;

/// All bytes of a source that ends in time.
pub fn bounded(source: impl Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    source.take(MAX_BYTES + 1).read_to_end(&mut bytes)?;
    if MAX_BYTES < bytes.len() as u64 {
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, "more than 8 MB: neither a build file nor a log"));
    }
    Ok(bytes)
}

/// Refuses what is not there, and what is no plain file: a pipe or a device may never end.
pub fn plain_file(path: &Path) -> io::Result<()> {
    if !std::fs::metadata(path)?.is_file() {
        return Err(io::Error::new(io::ErrorKind::InvalidInput, "not a plain file"));
    }
    Ok(())
}

/// The text of a plain file, without the byte-order mark that some editors put in front.
pub fn read_text(path: &Path) -> io::Result<String> {
    plain_file(path)?;
    let text = String::from_utf8(File::open(path).and_then(bounded)?)
        .map_err(|_| io::Error::new(io::ErrorKind::InvalidData, "not a text file (UTF-8)"))?;
    Ok(text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text))
}

/// The texts of the files that a build file or a log names; their paths start from its own folder.
pub fn named_texts(folder: &Path, text: &str) -> Named {
    let mut named = Named::default();
    for name in named_files(text) {
        let text = read_text(&folder.join(&name)).map_err(|error| error.to_string());
        named.add(name, text);
    }
    named
}
