//! A PDF as the library writes it, with what the library cannot say: preferences in its catalogue, and its structure packed.
//!
//! "Fit to page" is what spoils most templates, so readers are told not to scale; and they are told to show the title. The elements of
//! a tagged book are some thousand small objects, which the library writes one by one as plain text: they go into compressed object
//! streams, and the table of places becomes a stream too. All other objects stay as they are. Source: ISO 32000-1, 7.5 (file
//! structure; object streams 7.5.7, cross-reference streams 7.5.8) and 12.2 (viewer preferences).

use flate2::Compression;
use flate2::write::ZlibEncoder;
use std::io::Write;

const LOST: &str = "the PDF library's file is not laid out as expected";
/// Objects in a stream: a reader unpacks one whole stream for any of them.
const IN_A_STREAM: usize = 200;

/// The file with its catalogue completed and its structure packed.
pub(super) fn packed(pdf: &[u8]) -> Result<Vec<u8>, String> {
    pack(pdf).ok_or_else(|| LOST.to_owned())
}

/// Where an object stands in the new file.
#[derive(Debug, Clone, Copy)]
enum ObjectPlace {
    Free,
    At(usize),
    /// In which object stream, and which of its objects it is.
    In(usize, usize),
}

fn pack(pdf: &[u8]) -> Option<Vec<u8>> {
    let trailer_at = last(pdf, b"trailer")?;
    let trailer = std::str::from_utf8(&pdf[trailer_at..]).ok()?;
    let number = |key: &str| -> Option<usize> {
        let rest = trailer[trailer.find(key)? + key.len()..].trim_start();
        rest.split(|c: char| !c.is_ascii_digit()).next()?.parse().ok()
    };
    let (root, table_at) = (number("/Root")?, number("startxref")?);
    let dictionary = &trailer[trailer.find("<<")? + 2..trailer.rfind(">>")?];
    let objects = objects(std::str::from_utf8(pdf.get(table_at..trailer_at)?).ok()?)?;
    let mut starts: Vec<usize> = objects.iter().copied().flatten().collect();
    starts.sort_unstable();
    let first = *starts.first()?;
    starts.push(table_at);

    let mut out = pdf.get(..first)?.to_vec();
    let mut places = vec![ObjectPlace::Free; objects.len()];
    let mut small: Vec<(usize, &[u8])> = Vec::new();
    for (number, start) in objects.iter().enumerate() {
        let Some(start) = *start else { continue };
        let end = starts[starts.partition_point(|other| *other <= start)..].first()?;
        let object = pdf.get(start..*end)?;
        let body = object.strip_prefix(format!("{number} 0 obj\n").as_bytes())?;
        let body = &body[..last(body, b"endobj")?];
        if body.starts_with(b"<</Type/StructElem") {
            small.push((number, body.trim_ascii()));
            continue;
        }
        places[number] = ObjectPlace::At(out.len());
        if number == root {
            let cut = last(body, b">>")?;
            out.extend(format!("{number} 0 obj\n").as_bytes());
            out.extend(without(&body[..cut], b"/Suspects false"));
            out.extend(b"/ViewerPreferences<</PrintScaling/None/DisplayDocTitle true>>>>\nendobj\n\n");
        } else {
            out.extend(object);
        }
    }
    let mut packer = ZlibEncoder::new(Vec::new(), Compression::default());
    for objects in small.chunks(IN_A_STREAM) {
        let stream = places.len();
        let (mut index, mut bodies) = (String::new(), Vec::new());
        for (k, (number, body)) in objects.iter().enumerate() {
            index += &format!("{number} {} ", bodies.len());
            bodies.extend(*body);
            bodies.push(b'\n');
            places[*number] = ObjectPlace::In(stream, k);
        }
        places.push(ObjectPlace::At(out.len()));
        let head = format!("/Type/ObjStm/N {}/First {}", objects.len(), index.len());
        put_stream(&mut out, stream, &head, &[index.as_bytes(), &bodies].concat(), &mut packer)?;
    }
    let table = places.len();
    places.push(ObjectPlace::At(out.len()));
    let rows: Option<Vec<[u8; 7]>> = places.iter().map(|place| row(*place)).collect();
    let at = out.len();
    // What the library says of the document, but for the count of objects.
    let size = dictionary.find("/Size")?;
    let after = dictionary[size + 5..].trim_start().trim_start_matches(|c: char| c.is_ascii_digit());
    let head = format!("/Type/XRef/Size {}/W[1 4 2]{}{after}", places.len(), &dictionary[..size]);
    put_stream(&mut out, table, &head, &rows?.concat(), &mut packer)?;
    out.extend(format!("startxref\n{at}\n%%EOF\n").as_bytes());
    Some(out)
}

/// Where each object begins, by its number; `None` for one that is free.
fn objects(table: &str) -> Option<Vec<Option<usize>>> {
    let mut lines = table.lines();
    (lines.next()? == "xref").then_some(())?;
    let count: usize = lines.next()?.strip_prefix("0 ")?.trim().parse().ok()?;
    let entry = |line: &str| -> Option<Option<usize>> {
        let mut parts = line.split_whitespace();
        let at: usize = parts.next()?.parse().ok()?;
        Some((parts.nth(1)? == "n").then_some(at))
    };
    let entries: Vec<Option<usize>> = lines.take(count).map(entry).collect::<Option<_>>()?;
    (entries.len() == count).then_some(entries)
}

/// A line of the table: kind, then four bytes and two.
fn row(place: ObjectPlace) -> Option<[u8; 7]> {
    let (kind, wide, narrow) = match place {
        ObjectPlace::Free => (0, 0, u16::MAX),
        ObjectPlace::At(at) => (1, at, 0),
        ObjectPlace::In(stream, k) => (2, stream, u16::try_from(k).ok()?),
    };
    let [a, b, c, d] = u32::try_from(wide).ok()?.to_be_bytes();
    let [e, f] = narrow.to_be_bytes();
    Some([kind, a, b, c, d, e, f])
}

fn put_stream(out: &mut Vec<u8>, number: usize, head: &str, data: &[u8], packer: &mut ZlibEncoder<Vec<u8>>) -> Option<()> {
    packer.write_all(data).ok()?;
    let data = packer.reset(Vec::new()).ok()?;
    out.extend(format!("{number} 0 obj\n<<{head}/Filter/FlateDecode/Length {}>>\nstream\n", data.len()).as_bytes());
    out.extend(data);
    out.extend(b"\nendstream\nendobj\n\n");
    Some(())
}

/// What says the same where it does not stand: a reader that is widely used takes it for a fault (ISO 32000-1, 14.7.1: false is the default).
fn without(body: &[u8], entry: &[u8]) -> Vec<u8> {
    match last(body, entry) {
        Some(at) => [&body[..at], &body[at + entry.len()..]].concat(),
        None => body.to_vec(),
    }
}

fn last(haystack: &[u8], needle: &[u8]) -> Option<usize> {
    haystack.windows(needle.len()).rposition(|window| window == needle)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_of_another_shape_is_refused_not_broken() {
        assert!(packed(b"%PDF-1.7\nno trailer here").is_err());
        assert!(packed(&[]).is_err());
        assert!(packed(b"trailer\n<</Root 1 0 R>>\nstartxref\n9\n").is_err());
        assert!(packed(b"%PDF-1.7\nxref\n0 1\n0000000000 65535 f\ntrailer\n<</Size 1/Root 1 0 R>>\nstartxref\n9\n").is_err());
    }
}
