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
    /// Headings of columns of figures.
    pub figure_head: Format,
    /// Headings of what may be left blank.
    pub optional_head: Format,
    /// Headings of columns of figures that may be left blank.
    pub optional_figure_head: Format,
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
    /// A share, as per cent.
    pub share: Format,
}

impl Style {
    /// The style.
    pub fn new() -> Style {
        let head = Format::new().set_bold().set_border_bottom(FormatBorder::Thin).set_align(FormatAlign::Left);
        let optional_head = head.clone().set_italic().set_font_color(Color::RGB(0x0040_4040));
        // Figures end a little before their column does, so that words beside them stand apart.
        let figure = |head: &Format| head.clone().set_align(FormatAlign::Right).set_indent(1);
        let text = Format::new().set_quote_prefix().set_align(FormatAlign::Top);
        let time = Format::new().set_align(FormatAlign::Left).set_align(FormatAlign::Top);
        let number = figure(&Format::new().set_align(FormatAlign::Top));
        Style {
            figure_head: figure(&head),
            optional_figure_head: figure(&optional_head),
            optional_head,
            head,
            remark: text.clone().set_font_color(Color::RGB(0x0040_4040)),
            text,
            moment: time.clone().set_num_format("yyyy-mm-dd hh:mm"),
            second_pass: time.clone().set_num_format("yyyy-mm-dd hh:mm\" again\""),
            date: time.clone().set_num_format("yyyy-mm-dd"),
            time: time.set_num_format("[hh]:mm"),
            whole: number.clone().set_num_format("0"),
            hours: number.clone().set_num_format("0.0"),
            share: number.clone().set_num_format("0.00 %"),
            number,
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

/// How a sheet of columns prints: across, every column on one page, its headings on each, numbered.
///
/// # Errors
/// Never for a row that is there.
pub fn print_across(sheet: &mut Worksheet) -> Result<(), XlsxError> {
    sheet.set_landscape().set_print_fit_to_pages(1, 0).set_repeat_rows(0, 0)?;
    sheet.set_margins(0.4, 0.4, 0.5, 0.6, 0.3, 0.3).set_footer("&L&F, &A&R&P of &N");
    Ok(())
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

/// How wide a column for a time has to be, in characters; one too narrow would show nothing of it.
pub fn width_of_moment(instant: Instant, clock: Clock) -> u16 {
    if is_second_pass(clock.stamp(instant).naive_local(), instant, clock) { 22 } else { 17 }
}
