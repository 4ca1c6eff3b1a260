//! Bytes of a text file into UTF-8: byte order marks, UTF-16, and the one-byte encodings of older files.
//!
//! A guess is always named in the survey's notes. Nothing is repaired: bytes that are not valid in a file that is otherwise
//! UTF-8 stay as they are, and the rows that hold them are reported.

use super::FileHash;
use crate::error::{Error, Result};
use chardetng::{EncodingDetector, Iso2022JpDetection, Utf8Detection};
use encoding_rs::{Decoder, Encoding, UTF_16BE, UTF_16LE};
use sha2::{Digest, Sha256};
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

/// Bytes that are read from disk at once.
const READ_BYTES: usize = 256 << 10;

/// How the bytes of a file are text.
#[derive(Debug, Clone, Copy)]
pub(super) struct TextEncoding {
    /// `None` for UTF-8, which is passed through untouched.
    legacy: Option<&'static Encoding>,
    /// Length of the byte order mark.
    mark_bytes: usize,
    /// True where neither a mark nor the bytes prove it.
    guessed: bool,
}

impl TextEncoding {
    /// What the first bytes of a file say: a byte order mark, or every second byte NUL. UTF-8 otherwise.
    pub(super) fn of_head(head: &[u8]) -> TextEncoding {
        match head {
            [0xEF, 0xBB, 0xBF, ..] => TextEncoding { legacy: None, mark_bytes: 3, guessed: false },
            [0xFF, 0xFE, ..] => TextEncoding { legacy: Some(UTF_16LE), mark_bytes: 2, guessed: false },
            [0xFE, 0xFF, ..] => TextEncoding { legacy: Some(UTF_16BE), mark_bytes: 2, guessed: false },
            _ => TextEncoding { legacy: unmarked_utf16(head), mark_bytes: 0, guessed: unmarked_utf16(head).is_some() },
        }
    }

    /// Guesses the encoding of a file that is not UTF-8 from all its bytes.
    pub(super) fn guess(path: &Path) -> Result<TextEncoding> {
        let mut file = open(path)?;
        let mut detector = EncodingDetector::new(Iso2022JpDetection::Deny);
        let mut buffer = vec![0; READ_BYTES];
        loop {
            let read = file.read(&mut buffer).map_err(|e| Error::io(path, "read", e))?;
            detector.feed(&buffer[..read], read == 0);
            if read == 0 {
                break;
            }
        }
        let legacy = detector.guess(None, Utf8Detection::Deny);
        Ok(TextEncoding { legacy: Some(legacy), mark_bytes: 0, guessed: true })
    }

    /// True where the bytes are read as UTF-8.
    pub(super) fn is_utf8(self) -> bool {
        self.legacy.is_none()
    }

    /// The survey's note, e.g. `encoding windows-1252 (guessed)`.
    pub(super) fn note(self) -> String {
        let name = self.legacy.map_or("UTF-8", Encoding::name);
        let how = match (self.guessed, self.mark_bytes) {
            (true, _) => " (guessed)",
            (false, 0) => "",
            (false, _) => " (byte order mark)",
        };
        format!("encoding {name}{how}")
    }
}

/// UTF-16 without a mark: most of the bytes at even or at odd places are NUL.
fn unmarked_utf16(head: &[u8]) -> Option<&'static Encoding> {
    let pairs = head.len() / 2;
    if pairs < 4 {
        return None;
    }
    let nul_at = |offset: usize| head.chunks_exact(2).filter(|pair| pair[offset] == 0).count();
    let (first, second) = (nul_at(0), nul_at(1));
    if second * 10 > pairs * 7 && first * 10 < pairs {
        Some(UTF_16LE)
    } else if first * 10 > pairs * 7 && second * 10 < pairs {
        Some(UTF_16BE)
    } else {
        None
    }
}

/// Opens a file for reading.
pub(super) fn open(path: &Path) -> Result<File> {
    File::open(path).map_err(|e| Error::io(path, "open", e))
}

/// The first bytes of a file.
pub(super) fn head(path: &Path, bytes: usize) -> Result<Vec<u8>> {
    let mut head = Vec::with_capacity(bytes);
    open(path)?.take(bytes as u64).read_to_end(&mut head).map_err(|e| Error::io(path, "read", e))?;
    Ok(head)
}

/// A text file as a stream of UTF-8, hashed on the way.
pub(super) struct TextReader {
    path: PathBuf,
    file: File,
    decoder: Option<Decoder>,
    raw: Vec<u8>,
    raw_start: usize,
    raw_end: usize,
    /// Decoded and not yet handed out by `append_exactly`.
    ahead: Vec<u8>,
    hasher: Option<Sha256>,
    file_bytes: u64,
    replaced: bool,
    ended: bool,
}

impl TextReader {
    /// Opens the file behind its byte order mark; `hash` asks for its SHA-256.
    pub(super) fn open(path: &Path, encoding: TextEncoding, hash: bool) -> Result<TextReader> {
        let mut reader = TextReader {
            path: path.to_path_buf(),
            file: open(path)?,
            decoder: encoding.legacy.map(Encoding::new_decoder_without_bom_handling),
            raw: vec![0; if encoding.legacy.is_some() { READ_BYTES } else { encoding.mark_bytes }],
            raw_start: 0,
            raw_end: 0,
            ahead: Vec::new(),
            hasher: hash.then(Sha256::new),
            file_bytes: 0,
            replaced: false,
            ended: false,
        };
        let mut mark = [0; 3];
        let mut missing = encoding.mark_bytes;
        while missing > 0 {
            let read = reader.read_file(&mut mark[..missing])?;
            if read == 0 {
                break;
            }
            missing -= read;
        }
        Ok(reader)
    }

    fn read_file(&mut self, buffer: &mut [u8]) -> Result<usize> {
        let read = loop {
            match self.file.read(buffer) {
                Err(e) if e.kind() == std::io::ErrorKind::Interrupted => {}
                other => break other.map_err(|e| Error::io(&self.path, "read", e))?,
            }
        };
        self.file_bytes += read as u64;
        if let Some(hasher) = &mut self.hasher {
            hasher.update(&buffer[..read]);
        }
        Ok(read)
    }

    /// Appends up to about `bytes` of UTF-8 to `text`; false at the end of the file.
    pub(super) fn append(&mut self, text: &mut Vec<u8>, bytes: usize) -> Result<bool> {
        let before = text.len();
        text.resize(before + bytes.max(16), 0);
        let mut end = before;
        while end < text.len() {
            let written = match self.decoder.take() {
                None => self.read_file(&mut text[end..])?,
                Some(mut decoder) => {
                    let written = self.decode(&mut decoder, &mut text[end..]);
                    self.decoder = Some(decoder);
                    written?
                }
            };
            if written == 0 {
                break;
            }
            end += written;
        }
        text.truncate(end);
        Ok(end > before)
    }

    /// Appends at most `wanted` bytes and nothing beyond; false at the end of the file.
    ///
    /// A decoder may have more ready than is wanted: it is kept for the next call.
    pub(super) fn append_exactly(&mut self, text: &mut Vec<u8>, wanted: usize) -> Result<bool> {
        let before = text.len();
        if self.decoder.is_none() {
            text.resize(before + wanted, 0);
            let read = self.read_file(&mut text[before..])?;
            text.truncate(before + read);
            return Ok(read > 0);
        }
        if self.ahead.is_empty() {
            let mut ahead = std::mem::take(&mut self.ahead);
            self.append(&mut ahead, READ_BYTES)?;
            self.ahead = ahead;
        }
        let taken = wanted.min(self.ahead.len());
        text.extend(self.ahead.drain(..taken));
        Ok(taken > 0)
    }

    /// Decodes into `out`; 0 only at the end of the file or where `out` is too small for a character.
    fn decode(&mut self, decoder: &mut Decoder, out: &mut [u8]) -> Result<usize> {
        loop {
            if self.ended || out.len() < 8 {
                return Ok(0);
            }
            if self.raw_start == self.raw_end {
                let mut raw = std::mem::take(&mut self.raw);
                let read = self.read_file(&mut raw);
                self.raw = raw;
                (self.raw_start, self.raw_end) = (0, read?);
            }
            let last = self.raw_end == 0;
            let source = &self.raw[self.raw_start..self.raw_end];
            let (result, read, written, replaced) = decoder.decode_to_utf8(source, out, last);
            self.raw_start += read;
            self.replaced |= replaced;
            self.ended = last && result == encoding_rs::CoderResult::InputEmpty;
            if written > 0 {
                return Ok(written);
            }
        }
    }

    /// True where bytes could not be decoded and U+FFFD stands in their place.
    pub(super) fn replaced(&self) -> bool {
        self.replaced
    }

    /// Size and hash, once everything has been read.
    pub(super) fn finish(self) -> FileHash {
        let sha256 = self.hasher.map(|hasher| hexadecimal(&hasher.finalize())).unwrap_or_default();
        let name = self.path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
        FileHash { name, bytes: self.file_bytes, sha256 }
    }
}

/// Lower-case hexadecimal digits.
pub(super) fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Counts the valid characters beyond ASCII and the invalid sequences of a text that should be UTF-8.
pub(super) fn utf8_tally(bytes: &[u8]) -> (u64, u64) {
    let mut tally = (0, 0);
    for chunk in bytes.utf8_chunks() {
        tally.0 += chunk.valid().chars().filter(|c| !c.is_ascii()).count() as u64;
        tally.1 += u64::from(!chunk.invalid().is_empty());
    }
    tally
}
