//! Turns the bytes of a log into text: decompresses gzip, decodes UTF-16, and reports files that are not text.

use crate::trouble::Trouble;
use encoding_rs_io::{DecodeReaderBytes, DecodeReaderBytesBuilder};
use flate2::read::MultiGzDecoder;
use std::io::{self, Chain, Cursor, Read};

/// Number of bytes inspected to identify the format.
const LOOK: usize = 4096;

/// All bytes of a log: the inspected first bytes are put back in front of the rest.
type Whole<R> = Chain<Cursor<Vec<u8>>, R>;

/// Plain or decompressed bytes.
enum Unpacked<R: Read> {
    Plain(Whole<R>),
    Gzip(Box<MultiGzDecoder<Whole<R>>>),
}

impl<R: Read> Read for Unpacked<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        match self {
            Self::Plain(bytes) => bytes.read(out),
            Self::Gzip(bytes) => bytes.read(out),
        }
    }
}

/// The text of a log; bytes that are not UTF-8 are passed through.
pub(super) struct Text<R: Read>(DecodeReaderBytes<Whole<Unpacked<R>>, Vec<u8>>);

impl<R: Read> Read for Text<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        self.0.read(out)
    }
}

/// Opens the bytes of a log for reading as text.
pub(super) fn open<R: Read>(mut bytes: R) -> Result<Text<R>, Trouble> {
    let failed = |e: io::Error| unreadable(&e.to_string());
    let first = head(&mut bytes).map_err(failed)?;
    let gzip = first.starts_with(&[0x1F, 0x8B]);
    let whole = Cursor::new(first).chain(bytes);
    let mut unpacked = match gzip {
        true => Unpacked::Gzip(Box::new(MultiGzDecoder::new(whole))),
        false => Unpacked::Plain(whole),
    };
    let first = head(&mut unpacked).map_err(failed)?;
    let wide = wide(&first);
    if let Some(kind) = (!wide.0).then(|| no_text(&first)).flatten() {
        return Err(Trouble::input(
            kind.0,
            "a line of headings, then rows of separated values, as text",
        )
        .hint(kind.1));
    }
    let text = DecodeReaderBytesBuilder::new()
        .encoding(wide.1)
        .bom_sniffing(true)
        .strip_bom(true)
        .utf8_passthru(true)
        .build(Cursor::new(first).chain(unpacked));
    Ok(Text(text))
}

/// The error for an unreadable file, with the reason.
pub(super) fn unreadable(why: &str) -> Trouble {
    Trouble::input(format!("cannot be read: {why}"), "a file that can be read")
}

/// Reads the first bytes, up to the number that is inspected.
fn head(bytes: &mut impl Read) -> io::Result<Vec<u8>> {
    let mut first = Vec::with_capacity(LOOK);
    bytes.take(LOOK as u64).read_to_end(&mut first)?;
    Ok(first)
}

/// Whether the text is UTF-16, and its encoding if no byte-order mark states it.
fn wide(first: &[u8]) -> (bool, Option<&'static encoding_rs::Encoding>) {
    match first {
        [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..] => (true, None),
        [a, 0, b, 0, ..] if *a != 0 && *b != 0 => (true, Some(encoding_rs::UTF_16LE)),
        [0, a, 0, b, ..] if *a != 0 && *b != 0 => (true, Some(encoding_rs::UTF_16BE)),
        _ => (false, None),
    }
}

/// For a file that is not delimited text: its format, and what the user can do; `None` if it looks like text.
fn no_text(first: &[u8]) -> Option<(&'static str, &'static str)> {
    const SAVE: &str = "save it as comma-separated values with the program that wrote it";
    let starts = |magic: &[u8]| first.starts_with(magic);
    if starts(b"PK\x03\x04") || starts(b"PK\x05\x06") {
        return Some((
            "a zip archive (a spreadsheet is one too)",
            "unpack it first, or save the sheet as comma-separated values",
        ));
    }
    if [
        &b"BZh"[..],
        b"\xFD7zXZ\0",
        b"7z\xBC\xAF\x27\x1C",
        b"\x28\xB5\x2F\xFD",
        b"Rar!",
    ]
    .iter()
    .any(|m| starts(m))
    {
        return Some((
            "a compressed archive",
            "unpack it first; only gzip files are unpacked automatically",
        ));
    }
    if starts(b"%PDF") {
        return Some(("a PDF document", SAVE));
    }
    if starts(b"\xD0\xCF\x11\xE0") {
        return Some(("a spreadsheet in a binary format", SAVE));
    }
    let strange =
        |c: &&u8| (**c < 32 && !matches!(**c, b'\t' | b'\n' | b'\r' | 12 | 26)) || **c == 127;
    let many = first.iter().filter(strange).count();
    if many * 20 > first.len() || first.iter().filter(|c| **c == 0).count() > 3 {
        return Some(("binary data, not text", SAVE));
    }
    let mut marks = first.iter().filter(|c| !c.is_ascii_whitespace());
    match (marks.next(), marks.next()) {
        (Some(b'{'), Some(b'"' | b'}')) | (Some(b'['), Some(b'{' | b'[' | b'"')) => Some((
            "JSON, not rows of separated values",
            "convert it to a line of headings with rows of readings below",
        )),
        (Some(b'<'), Some(b'?' | b'!' | b'h' | b'H')) => Some((
            "a marked-up document (XML or HTML), not rows of separated values",
            SAVE,
        )),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    fn text(bytes: &[u8]) -> Result<String, Trouble> {
        let mut out = Vec::new();
        open(bytes)?.read_to_end(&mut out).unwrap();
        Ok(String::from_utf8(out).unwrap())
    }

    #[test]
    fn packed_and_two_byte_text_come_out_alike() {
        let wanted = "Time,Coolant [°C]\n0,90\n";
        let mut packed = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
        packed.write_all(wanted.as_bytes()).unwrap();
        let two = |mark: &[u8], of: fn(u16) -> [u8; 2]| -> Vec<u8> {
            let units = wanted.encode_utf16().flat_map(of);
            mark.iter().copied().chain(units).collect()
        };
        for bytes in [
            wanted.as_bytes().to_vec(),
            format!("\u{feff}{wanted}").into_bytes(),
            packed.finish().unwrap(),
            two(&[0xFF, 0xFE], u16::to_le_bytes),
            two(&[0xFE, 0xFF], u16::to_be_bytes),
            two(&[], u16::to_le_bytes),
            two(&[], u16::to_be_bytes),
        ] {
            assert_eq!(text(&bytes).unwrap(), wanted, "{:?}", &bytes[..4]);
        }
    }

    #[test]
    fn what_is_no_text_is_named() {
        for (bytes, word) in [
            (&b"PK\x03\x04rest"[..], "zip"),
            (b"{\"time\": [1, 2]}", "JSON"),
            (b"[{\"time\": 1}]", "JSON"),
            (b"%PDF-1.7", "PDF"),
            (b"\xD0\xCF\x11\xE0\xA1\xB1", "spreadsheet"),
            (b"<?xml version", "XML"),
            (b"MDF     3.30\0\0\0\0\x01\x02\x03", "binary"),
        ] {
            let said = text(bytes).err().unwrap().to_string();
            assert!(said.contains(word), "{said}");
        }
        for sound in [&b""[..], b"[km/h],x\n", b"a,b\n1,2\n"] {
            assert!(text(sound).is_ok());
        }
    }
}
