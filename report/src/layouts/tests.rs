use super::*;
use crate::sample;

/// The sample's cups have plates of 4 in 240 and 9 in 500 minutes: 52 a copy and 32 for the plate.
#[test]
fn counts_up_to_the_largest_known_are_read_off_the_line() {
    let instance = sample::instance();
    let studies = studies(&instance, &[PartId(0)], Most::Known);
    let [study] = &studies[..] else { panic!("{studies:?}") };
    let fit = study.fit.as_ref().unwrap();
    assert_eq!((fit.fixed, fit.per_copy), (32.0, 52.0));
    let minutes: Vec<(u64, i64)> = study.layouts.iter().map(|l| (l.copies, l.minutes.0)).collect();
    assert_eq!(minutes[..4], [(1, 84), (2, 136), (3, 188), (4, 240)]);
    assert_eq!(study.layouts.len(), 9);
    assert_eq!(study.layouts[3].plate.as_deref(), Some("cup-4"));
    assert_eq!(study.layouts.iter().filter(|l| l.stretched).count(), 3);
}

#[test]
fn with_a_bag_only_counts_that_close_it() {
    let mut instance = sample::instance();
    instance.parts[0].per_bag = Some(Count(12));
    instance.farm.whole_plates_per_bag = true;
    let copies =
        |most| -> Vec<u64> { studies(&instance, &[PartId(0)], most)[0].layouts.iter().map(|l| l.copies).collect() };
    // Nine is known and does not close a bag of twelve.
    assert_eq!(copies(Most::Known), [1, 2, 3, 4, 6]);
    assert_eq!(copies(Most::Copies(40)), [1, 2, 3, 4, 6, 12]);
}

#[test]
fn many_counts_without_a_bag_are_thinned_out() {
    let instance = sample::instance();
    let study = &studies(&instance, &[PartId(0)], Most::Copies(120))[0];
    let copies: Vec<u64> = study.layouts.iter().map(|l| l.copies).collect();
    assert_eq!(copies, [4, 9, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100, 110, 120]);
}

/// Facts of the trade, common practice with no source: a 607-minute plate is loaded in the evening and ready in the
/// morning; a 10-up plate of 133 minutes goes several times into a shift.
#[test]
fn a_long_plate_fills_the_night_and_a_short_one_the_shift() {
    let mut instance = sample::instance();
    instance.shifts[0].to = chrono::NaiveTime::from_hms_opt(21, 0, 0).unwrap();
    let day = UsualDay::of(&instance);
    assert_eq!(day.night, Some(Minutes(600)));
    let layout = |copies, minutes| Layout {
        plate: None,
        copies,
        minutes: Minutes(minutes),
        stretched: false,
        cool: Minutes(0),
        load: Minutes(3),
        harvest: Minutes(4),
        failure_rate: 0.0,
    };
    let (long, short) = (layout(25, 607), layout(10, 133));
    assert_eq!((long.in_a_night(&instance, day), long.in_a_shift(day)), (Some(Minutes(600)), 1));
    assert_eq!((short.in_a_night(&instance, day), short.in_a_shift(day)), (Some(Minutes(133)), 6));
    assert_eq!((long.harvests_per_thousand(), short.harvests_per_thousand()), (40, 100));
    assert_eq!(short.per_part(), 14.0);
    instance.farm.unattended.max_minutes = Some(Minutes(500));
    assert_eq!(long.in_a_night(&instance, day), None);
}

#[test]
fn what_has_yet_to_be_cut_gets_a_name_of_its_own() {
    let mut instance = sample::instance();
    // Another plate has the name that three cups would get.
    instance.plates[1].name = "cup-3".into();
    let studies = studies(&instance, &[PartId(0)], Most::Copies(4));
    let names: Vec<String> = candidates(&instance, &studies).into_iter().map(|c| c.plate).collect();
    assert_eq!(names, ["cup-1", "cup-2", "cup-3-2"]);
}

#[test]
fn handling_follows_the_known_plates() {
    let mut instance = sample::instance();
    instance.plates[2].on_groups[0].harvest = Minutes(9);
    let study = &studies(&instance, &[PartId(0)], Most::Copies(10))[0];
    // Four minutes for four copies, nine for nine.
    let harvest: Vec<i64> = study.layouts.iter().map(|l| l.harvest.0).collect();
    assert_eq!(harvest, [4, 4, 4, 4, 5, 6, 7, 8, 9, 10]);
}

#[test]
fn copies_lie_in_rows_turned_or_not() {
    assert_eq!(on_bed((220.0, 220.0), (70.0, 40.0)), 15);
    assert_eq!(on_bed((210.0, 80.0), (70.0, 40.0)), 6);
    assert_eq!(on_bed((80.0, 210.0), (70.0, 40.0)), 6);
    assert_eq!(on_bed((60.0, 60.0), (70.0, 40.0)), 0);
    assert_eq!(on_bed((0.6, 0.6), (0.2, 0.2)), 9);
    assert_eq!(on_bed((220.0, 220.0), (0.0, 40.0)), 0);
}

#[test]
fn the_page_shows_the_line_and_what_has_none() {
    let instance = sample::instance();
    let mut page = crate::page::Page::new("t");
    studies_section(&instance, &studies(&instance, &[], Most::Known), &mut page);
    let text = page.text();
    for words in [
        "cup on small",
        "32.0 minutes and 52.00 for each copy, from 4 in 240 and 9 in 500: two counts",
        "base on large: one count is known, two are needed.",
    ] {
        assert!(text.replace("\n  ", " ").contains(words), "{words} in {text}");
    }
    assert!(text.lines().all(|l| l.len() <= 80), "{text}");
}
