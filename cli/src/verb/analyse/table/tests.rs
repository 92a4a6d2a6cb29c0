//! Tables as they come, and mistakes with their place.

use super::*;

const COLUMNS: &[Column] = &[
    Column::needed("round"),
    Column::needed("reading_mm"),
    Column::optional("clamped"),
];

fn readings(text: &str) -> Result<Vec<(i64, i64)>, Failure> {
    Table::parse("t.csv", text, COLUMNS)?
        .rows()
        .map(|row| {
            row.count("round")?;
            row.flag("clamped")?;
            let shown = row.length("reading_mm")?;
            Ok((shown.value.pm(), shown.resolution.pm()))
        })
        .collect()
}

#[test]
fn tables_as_they_come() {
    for (legend, text, expected) in [
        (
            "any order",
            "reading_mm,round\n0.0042,1\n",
            (4_200_000, 100_000),
        ),
        (
            "a sign, blanks, CR LF, a last line without end",
            "round, reading_mm\r\n 1 , -0.5",
            (-500_000_000, 100_000_000),
        ),
        (
            "semicolons and a decimal comma",
            "round;reading_mm\n1;0,0042\n",
            (4_200_000, 100_000),
        ),
        (
            "semicolons and a decimal point",
            "round;reading_mm\n1;0.0042\n",
            (4_200_000, 100_000),
        ),
        (
            "a byte order mark and capitals",
            "\u{feff}Round,Reading_mm\n1,1\n",
            (1_000_000_000, 1_000_000_000),
        ),
        (
            "an exponent",
            "round,reading_mm\n1,-3.2e-05\n",
            (-32_000, 1),
        ),
        (
            "more decimals than a picometre has",
            "round,reading_mm\n1,0.30000000000000004\n",
            (300_000_000, 1),
        ),
        (
            "rows of nothing",
            "round,reading_mm\n\n,\n1,1.0\n,\n",
            (1_000_000_000, 100_000_000),
        ),
        (
            "quotes and a flag",
            "\"round\",\"reading_mm\",clamped\n1,\"2\",yes\n",
            (2_000_000_000, 1_000_000_000),
        ),
    ] {
        assert_eq!(readings(text).expect(legend), [expected], "{legend}");
    }
}

#[test]
fn mistakes_have_a_place() {
    for (text, expected) in [
        ("", "t.csv: column `round` is missing"),
        ("round,reading_mm\n", "t.csv: the table has no rows"),
        ("round\n1\n", "t.csv: column `reading_mm` is missing"),
        (
            "round,reading_mn\n1,2\n",
            "t.csv: unknown column `reading_mn`",
        ),
        (
            "round,round,reading_mm\n1,1,2\n",
            "t.csv: column `round` is there twice",
        ),
        (
            "round,reading_mm\n1,2\n1,NaN\n",
            "t.csv, line 3, column reading_mm: `NaN` is not a number in mm",
        ),
        (
            "round,reading_mm\n1,inf\n",
            "t.csv, line 2, column reading_mm: `inf` is not a number in mm",
        ),
        (
            "round,reading_mm\n1,\n",
            "t.csv, line 2, column reading_mm: the cell is empty",
        ),
        (
            "round,reading_mm\n1,2\n\n1,x\n",
            "t.csv, line 4, column reading_mm: `x` is not a number in mm",
        ),
        (
            "round,reading_mm\n0,2\n",
            "t.csv, line 2, column round: `0` is not a whole number from 1",
        ),
        (
            "round,reading_mm\n1.5,2\n",
            "t.csv, line 2, column round: `1.5` is not a whole number from 1",
        ),
        (
            "round,reading_mm\n1,\"0,0042\"\n",
            "t.csv, line 2, column reading_mm: `0,0042` has a decimal comma",
        ),
        (
            "round,reading_mm,clamped\n1,1,tight\n",
            "t.csv, line 2, column clamped: `tight` is neither 0 nor 1",
        ),
        (
            "round,reading_mm\r\n\r\n1,2,3\r\n",
            "t.csv, line 3: 3 cells, and the first line names 2 columns",
        ),
    ] {
        assert_eq!(readings(text).unwrap_err().message, expected, "{text:?}");
    }
}

#[test]
fn a_length_beyond_the_limit_is_told_as_such() {
    for cell in ["1000001", "1e300"] {
        let failure = readings(&format!("round,reading_mm\n1,{cell}\n")).unwrap_err();
        assert!(
            failure.message.contains("out of domain") || failure.message.contains("1 km"),
            "{failure}"
        );
    }
    assert!(readings("round,reading_mm\n1,1000000\n").is_ok());
}
