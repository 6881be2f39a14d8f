//! What the workbooks look like: plain, a frozen header, real dates, and text that stays text.

use chrono::{DateTime, NaiveDateTime};
use platewright_model::calendar::Wall;
use platewright_model::{Clock, Instance, Instant};
use rust_xlsxwriter::{
    Color, DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, Workbook, Worksheet, XlsxError,
};

/// How cells are shown.
#[derive(Debug)]
pub struct Style {
    /// Column headings.
    pub head: Format,
    /// Headings of what may be left blank.
    pub optional_head: Format,
    /// Text; a quote prefix keeps it text when somebody edits the cell, whatever it begins with.
    pub text: Format,
    /// A remark beside the figures.
    pub remark: Format,
    /// Wall time to the minute.
    pub moment: Format,
    /// Wall time to the minute, where the clocks have gone back and the hour comes for the second time.
    pub second_pass: Format,
    /// A date.
    pub date: Format,
    /// Time of day, 24:00 included.
    pub time: Format,
    /// A whole number.
    pub whole: Format,
    /// A number with its decimals as they are.
    pub number: Format,
    /// Hours with one decimal.
    pub hours: Format,
}

impl Style {
    /// The style.
    pub fn new() -> Style {
        let head = Format::new().set_bold().set_border_bottom(FormatBorder::Thin).set_align(FormatAlign::Left);
        Style {
            optional_head: head.clone().set_italic().set_font_color(Color::RGB(0x0040_4040)),
            head,
            text: Format::new().set_quote_prefix(),
            remark: Format::new().set_quote_prefix().set_font_color(Color::RGB(0x0040_4040)),
            moment: Format::new().set_num_format("yyyy-mm-dd hh:mm"),
            second_pass: Format::new().set_num_format("yyyy-mm-dd hh:mm\" again\""),
            date: Format::new().set_num_format("yyyy-mm-dd"),
            time: Format::new().set_num_format("[hh]:mm"),
            whole: Format::new().set_num_format("0"),
            number: Format::new(),
            hours: Format::new().set_num_format("0.0"),
        }
    }
}

impl Default for Style {
    fn default() -> Self {
        Style::new()
    }
}

/// An empty workbook that says it was made at the farm's start, so that the same farm gives the same bytes.
pub fn workbook(instance: &Instance) -> Workbook {
    let made = DateTime::from_timestamp(instance.farm.start.0.saturating_mul(60), 0).unwrap_or_default();
    let mut workbook = Workbook::new();
    if let Ok(made) = ExcelDateTime::from_timestamp(made.timestamp()) {
        workbook.set_properties(&DocProperties::new().set_title(&instance.farm.name).set_creation_datetime(&made));
    }
    workbook
}

/// Writes a wall time of the farm as a real date.
///
/// # Errors
/// The cell lies outside a sheet.
pub fn write_moment(
    sheet: &mut Worksheet,
    (row, column): (u32, u16),
    instant: Instant,
    clock: Clock,
    style: &Style,
) -> Result<(), XlsxError> {
    let wall = clock.stamp(instant).naive_local();
    let format = if is_second_pass(wall, instant, clock) { &style.second_pass } else { &style.moment };
    sheet.write_datetime_with_format(row, column, wall, format).map(drop)
}

/// Whether the clocks showed this already, before they went back.
fn is_second_pass(wall: NaiveDateTime, instant: Instant, clock: Clock) -> bool {
    clock.instant(wall) != Wall::Exists(instant)
}
