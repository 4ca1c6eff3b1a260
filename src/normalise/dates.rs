//! Dates in cells -> days of the calendar. Must not guess: `03/04/2019` is a day in March or in April, and gives none.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::Offset;

/// Years that a record of a tree or a permit can be from; anything else in a column of dates is a mistake. A choice of the program.
const YEARS: std::ops::RangeInclusive<i16> = 1900..=2199;

/// A date as ISO 8601 writes it, extended or basic, with or without a time behind it.
pub(super) fn parse_iso_date(text: &str) -> Option<Date> {
    let text = text.split(['T', ' ']).next().unwrap_or_default();
    let dashed = text.len() == 10 && text.bytes().all(|b| b.is_ascii_digit() || b == b'-');
    let basic = text.len() == 8 && text.bytes().all(|b| b.is_ascii_digit());
    if dashed || basic { text.parse().ok() } else { None }
}

/// The day of a record: as ISO 8601 writes it, with `/` for `-` as GDAL does, or as milliseconds since 1970 (map servers); else where day
/// and month cannot be taken for each other.
pub fn parse_date(cell: &str) -> Option<Date> {
    let text = cell.trim();
    let day = parse_iso_date(&text.replace('/', "-")).or_else(|| from_milliseconds(text)).or_else(|| plain(text))?;
    YEARS.contains(&day.year()).then_some(day)
}

fn from_milliseconds(text: &str) -> Option<Date> {
    let digits = (12..=13).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
    let milliseconds = digits.then(|| text.parse::<i64>().ok())??;
    let moment = Timestamp::from_millisecond(milliseconds).ok()?;
    Some(Offset::UTC.to_datetime(moment).date())
}

/// `31.12.2019`, `12/31/2019`, `31/12/2019 08:15`: points stand behind the day; with strokes one of the two must be more than 12, or both the same.
fn plain(text: &str) -> Option<Date> {
    let text = text.split(' ').next()?;
    let mark = ['.', '/'].into_iter().find(|mark| text.contains(*mark))?;
    let parts: Vec<i16> = text.split(mark).map(str::parse).collect::<Result<_, _>>().ok()?;
    let [first, second, year] = parts[..] else { return None };
    let (day, month) = match (mark, first > 12, second > 12) {
        ('.', ..) | (_, true, false) => (first, second),
        (_, false, true) => (second, first),
        _ if first == second => (first, second),
        _ => return None,
    };
    Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn days_in_the_forms_of_real_files() {
        for cell in [
            "2019-12-31",
            " 2019-12-31T08:15:00Z ",
            "20191231",
            "2019/12/31 08:15:00+00",
            // By `date -u -d 2019-12-31T08:15:00 +%s`, in thousandths.
            "1577780100000",
            "31.12.2019",
            "12/31/2019",
            "31/12/2019 08:15",
        ] {
            assert_eq!(parse_date(cell), Some(date(2019, 12, 31)), "{cell}");
        }
        assert_eq!(parse_date("04.03.2019"), Some(date(2019, 3, 4)));
        assert_eq!(parse_date("5/5/2019"), Some(date(2019, 5, 5)));
    }

    #[test]
    fn what_may_be_another_day_is_none() {
        for cell in [
            "",
            "03/04/2019",
            "2019",
            "1219",
            "31.12.19",
            "2019-02-30",
            "0001-01-01",
            "99999999",
            "99",
            "a/b/c",
            "1/2",
            "32767/1/1",
        ] {
            assert_eq!(parse_date(cell), None, "{cell}");
        }
    }
}
