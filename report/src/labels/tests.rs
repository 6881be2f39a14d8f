//! Labels.

use super::*;
use crate::paper::Paper;

fn stock(label: (f64, f64), gap: (f64, f64), paper: Paper) -> Stock {
    Stock { paper, label, gap }
}

/// Sheets of labels as they are sold: 21 of 63.5 by 38.1 mm and 24 of 70 by 37 mm on A4, 30 of 2 5/8 by 1 inch on Letter
/// (common practice, no source).
#[test]
fn a_sheet_has_as_many_places_as_it_is_sold_with() {
    let places = |label, gap, paper| Grid::of(&stock(label, gap, paper)).map(|grid| (grid.per_sheet(), grid.columns()));
    assert_eq!(places((63.5, 38.1), (2.5, 0.0), Paper::A4), Ok((21, 3)));
    assert_eq!(places((70.0, 37.0), (0.0, 0.0), Paper::A4), Ok((24, 3)));
    assert_eq!(places((66.675, 25.4), (3.0, 0.0), Paper::Letter), Ok((33, 3)));
    assert_eq!(places((210.0, 297.0), (0.0, 0.0), Paper::A4), Ok((1, 1)));
    assert_eq!(places((211.0, 40.0), (0.0, 0.0), Paper::A4), Err(Misfit::TooLarge(Paper::A4)));
    assert_eq!(places((20.0, 20.0), (0.0, 0.0), Paper::A4), Err(Misfit::TooSmall));
}

#[test]
fn margins_are_what_the_labels_leave() {
    let grid = Grid::of(&stock((63.5, 38.1), (2.5, 0.0), Paper::A4)).unwrap();
    let variables = grid.variables();
    // 210 less three labels and two gaps, 297 less seven labels, by two.
    assert!(variables.contains("--left:7.250mm") && variables.contains("--top:15.150mm"), "{variables}");
    assert_eq!((grid.sheets(0, 5), grid.sheets(21, 0), grid.sheets(21, 1), grid.sheets(22, 0)), (0, 1, 2, 2));
}

/// Version 1 has 21 modules to a side and a finder pattern of 7 by 7 in three corners (ISO/IEC 18004, 2015, figures 2 and 3);
/// that it says what it should is for ZBar to tell, in `tests/outside/paper.py`.
#[test]
fn a_number_fits_the_smallest_code() {
    for number in ["BAG-0001-7F3A", "TRAY-9999-0000", "BOX-123456-FFFF"] {
        let (path, side) = code(number).unwrap();
        assert_eq!(side, 21 + 8, "{number}");
        for corner in ["M4 4h7v", "M18 4h7v", "M4 18h7v"] {
            assert!(path.contains(corner), "{number} has no module at {corner}");
        }
        assert!(!path.contains("M5 5h"), "{number}");
    }
}
