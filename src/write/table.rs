//! Tables as files and on the terminal: comma-separated values, and plain text in columns.

use crate::drawing::annotate::reads_as_number;

/// Comma-separated values after RFC 4180 (quoted where needed), with a header row and plain line feeds.
pub fn csv(header: &[&str], rows: &[Vec<String>]) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    // Writing into memory cannot fail, and rows of any length are allowed.
    writer.write_record(header).expect("memory takes every record");
    for row in rows {
        writer.write_record(row).expect("memory takes every record");
    }
    writer.into_inner().expect("memory can be flushed")
}

/// Columns of text two spaces apart, numbers flush right, a line under the header; ends with a line feed.
pub fn plain(header: &[&str], rows: &[Vec<String>]) -> String {
    let cell = |row: &[String], k: usize| row.get(k).cloned().unwrap_or_default();
    let columns: Vec<(usize, bool)> = (0..header.len())
        .map(|k| {
            let widest = rows.iter().map(|row| cell(row, k).chars().count()).max().unwrap_or(0);
            (widest.max(header[k].chars().count()), rows.iter().all(|row| reads_as_number(&cell(row, k))))
        })
        .collect();
    let line = |cells: Vec<String>| {
        let padded = cells.iter().zip(&columns).map(|(text, (width, right))| {
            let gap = " ".repeat(width.saturating_sub(text.chars().count()));
            if *right { format!("{gap}{text}") } else { format!("{text}{gap}") }
        });
        padded.collect::<Vec<_>>().join("  ").trim_end().to_owned() + "\n"
    };
    let mut out = line(header.iter().map(|text| (*text).to_owned()).collect());
    out += &line(columns.iter().map(|(width, _)| "-".repeat(*width)).collect());
    for row in rows {
        out += &line((0..header.len()).map(|k| cell(row, k)).collect());
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows() -> Vec<Vec<String>> {
        vec![vec!["butt, held".into(), "0.150".into()], vec!["6 \"".into(), "-12.5".into()]]
    }

    #[test]
    fn commas_and_quotes_are_quoted() {
        let text = String::from_utf8(csv(&["where", "t_in"], &rows())).unwrap();
        assert_eq!(text, "where,t_in\n\"butt, held\",0.150\n\"6 \"\"\",-12.5\n");
    }

    #[test]
    fn numbers_stand_flush_right() {
        assert_eq!(
            plain(&["where", "t"], &rows()),
            "where           t\n----------  -----\nbutt, held  0.150\n6 \"         -12.5\n"
        );
        assert_eq!(plain(&["a", "b"], &[]), "a  b\n-  -\n");
    }
}
