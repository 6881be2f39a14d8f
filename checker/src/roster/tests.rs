//! Shifts on the odd nights of a year, and against the planners' own layout.

use super::*;
use crate::folder::{farm, farm_toml, repository};
use platewright_model::instance::CrewId;
use platewright_model::roster::{operator_name, stretches, unattended};
use rand::Rng;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

/// Lays out `shifts.csv` of a farm in a zone, with `closures.csv`.
fn laid_out(toml: &str, shifts: &str, closures: &str) -> (Instance, Roster) {
    let shifts = format!("crew,days,from,to,operators\n{shifts}");
    let closures = format!("date\n{closures}");
    let instance = farm(&[("farm.toml", toml), ("shifts.csv", &shifts), ("closures.csv", &closures)]);
    let roster = of(&instance);
    (instance, roster)
}

fn of(instance: &Instance) -> Roster {
    Roster::lay_out(instance, Span::new(instance.farm.start, instance.farm.horizon_end()), &[])
}

/// An operator's stretches as wall time and length: `Sat 2026-03-28 22:00 + 540`.
fn said((instance, roster): &(Instance, Roster), operator: &str) -> Vec<String> {
    let operator = roster.operator(operator).expect("the operator is known");
    let zone = instance.farm.clock.zone();
    let say = |s: &Span| format!("{} + {}", wall::show(zone, s.from), s.minutes().0);
    roster.stretches(operator).iter().map(say).collect()
}

#[test]
fn a_night_across_a_clock_change_is_an_hour_shorter_or_longer() {
    // Lisbon goes from 01:00 to 02:00 on 2026-03-29 and from 02:00 back to 01:00 on 2026-10-25 (IANA tz database).
    let spring = laid_out(&farm_toml("Europe/Lisbon", "2026-03-27T12:00", 4), "night,daily,22:00,07:00,1\n", "");
    assert_eq!(
        said(&spring, "night-1"),
        [
            "Fri 2026-03-27 22:00 + 540",
            "Sat 2026-03-28 22:00 + 480",
            "Sun 2026-03-29 22:00 + 540",
            "Mon 2026-03-30 22:00 + 540"
        ]
    );
    let autumn = laid_out(&farm_toml("Europe/Lisbon", "2026-10-24T12:00", 2), "night,daily,22:00,07:00,1\n", "");
    assert_eq!(said(&autumn, "night-1"), ["Sat 2026-10-24 22:00 + 600", "Sun 2026-10-25 22:00 + 540"]);
}

#[test]
fn a_shift_from_a_skipped_hour_starts_later_and_one_within_it_does_not_happen() {
    let toml = farm_toml("Europe/Lisbon", "2026-03-28T12:00", 2);
    let roster = laid_out(&toml, "early,Sun,01:30,04:00,1\nbrief,daily,01:00,02:00,1\n", "");
    assert_eq!(said(&roster, "early-1"), ["Sun 2026-03-29 02:30 + 90"]);
    assert_eq!(said(&roster, "brief-1"), ["Mon 2026-03-30 01:00 + 60"]);
}

#[test]
fn of_a_doubled_hour_the_first_is_meant() {
    let toml = farm_toml("Europe/Lisbon", "2026-10-24T12:00", 2);
    // 01:30 comes twice: from the first to 04:00 are three and a half hours; 00:30 to the first 01:30 is one.
    let roster = laid_out(&toml, "early,Sun,01:30,04:00,1\nbrief,Sun,00:30,01:30,1\n", "");
    assert_eq!(said(&roster, "early-1"), ["Sun 2026-10-25 01:30 + 210"]);
    assert_eq!(said(&roster, "brief-1"), ["Sun 2026-10-25 00:30 + 60"]);
}

#[test]
fn a_night_that_began_before_the_start_is_clipped_to_it_and_one_at_the_end_too() {
    let toml = farm_toml("Europe/Lisbon", "2026-03-02T05:00", 1);
    let roster = laid_out(&toml, "night,daily,22:00,06:00,2\n", "");
    let expected = ["Mon 2026-03-02 05:00 + 60", "Mon 2026-03-02 22:00 + 420"];
    assert_eq!(said(&roster, "night-1"), expected);
    assert_eq!(said(&roster, "night-2"), expected);
    let start = roster.0.farm.start.0;
    assert_eq!(roster.1.unattended(), [Span { from: Instant(start + 60), to: Instant(start + 17 * 60) }]);
}

#[test]
fn no_shift_starts_on_a_closed_date_but_the_night_before_runs_on_into_it() {
    let toml = farm_toml("Europe/Lisbon", "2026-03-02T12:00", 3);
    let roster = laid_out(&toml, "night,daily,22:00,06:00,1\nday,Mon-Fri,08:00,16:00,1\n", "2026-03-03\n");
    assert_eq!(said(&roster, "night-1"), ["Mon 2026-03-02 22:00 + 480", "Wed 2026-03-04 22:00 + 480"]);
    assert_eq!(
        said(&roster, "day-1"),
        ["Mon 2026-03-02 12:00 + 240", "Wed 2026-03-04 08:00 + 480", "Thu 2026-03-05 08:00 + 240"]
    );
}

#[test]
fn adjoining_stretches_of_one_operator_are_one() {
    let toml = farm_toml("Europe/Lisbon", "2026-03-02T12:00", 2);
    let roster = laid_out(&toml, "late,daily,16:00,24:00,2\nlate,daily,00:00,02:00,1\n", "");
    assert_eq!(said(&roster, "late-1"), ["Mon 2026-03-02 16:00 + 600", "Tue 2026-03-03 16:00 + 600"]);
    assert_eq!(said(&roster, "late-2"), ["Mon 2026-03-02 16:00 + 480", "Tue 2026-03-03 16:00 + 480"]);
}

#[test]
fn a_crew_present_all_day_is_one_stretch() {
    let roster = laid_out(&farm_toml("Europe/Lisbon", "2026-03-02T12:00", 2), "all,daily,00:00,24:00,1\n", "");
    assert_eq!(said(&roster, "all-1"), ["Mon 2026-03-02 12:00 + 2880"]);
    assert_eq!(roster.1.unattended(), []);
}

#[test]
fn overlapping_rows_of_a_crew_bring_further_people_and_the_next_row_takes_who_is_free() {
    let toml = farm_toml("Europe/Lisbon", "2026-03-02T06:00", 1);
    let roster = laid_out(&toml, "day,daily,07:00,15:00,2\nday,daily,14:00,18:00,1\nday,daily,15:00,20:00,1\n", "");
    assert_eq!(said(&roster, "day-1"), ["Mon 2026-03-02 07:00 + 780"]);
    assert_eq!(said(&roster, "day-2"), ["Mon 2026-03-02 07:00 + 480"]);
    assert_eq!(said(&roster, "day-3"), ["Mon 2026-03-02 14:00 + 240"]);
    assert_eq!(roster.1.operator("day-4"), None);
    assert_eq!(roster.1.strength(0), 3);
}

#[test]
fn crews_are_numbered_apart() {
    let toml = farm_toml("Europe/Lisbon", "2026-03-02T06:00", 1);
    let roster = laid_out(&toml, "day,daily,07:00,15:00,1\nlate,daily,14:00,22:00,1\n", "");
    assert_eq!(said(&roster, "day-1"), ["Mon 2026-03-02 07:00 + 480"]);
    assert_eq!(said(&roster, "late-1"), ["Mon 2026-03-02 14:00 + 480"]);
}

/// Planner and checker lay the shifts out apart; they must come to the same.
fn agrees_with_the_planners(name: &str, instance: &Instance) {
    let roster = of(instance);
    let theirs = stretches(instance);
    for stretch in &theirs {
        let operator = roster.operator(&operator_name(instance, stretch.crew, stretch.operator)).unwrap_or(usize::MAX);
        let span = Span { from: stretch.from, to: stretch.to };
        assert!(roster.stretches(operator).contains(&span), "{name}: {stretch:?} is missing");
    }
    let ours: usize = (0..roster.operators()).map(|operator| roster.stretches(operator).len()).sum();
    assert_eq!(ours, theirs.len(), "{name}");
    let gaps: Vec<_> = roster.unattended().iter().map(|gap| (gap.from, gap.to)).collect();
    assert_eq!(gaps, unattended(instance), "{name}");
    let crews = (0..).map(CrewId).take(instance.crews.len());
    for crew in crews {
        let highest = theirs.iter().filter(|s| s.crew == crew).map(|s| s.operator as usize).max().unwrap_or(0);
        assert_eq!(roster.strength(crew.index()), highest, "{name}");
    }
}

#[test]
fn the_instances_of_the_repository_are_laid_out_as_the_planners_do() {
    let instances = repository();
    assert!(instances.len() >= 10);
    instances.iter().for_each(|(name, instance)| agrees_with_the_planners(name, instance));
}

#[test]
fn random_shifts_are_laid_out_as_the_planners_do() {
    let zones = ["Europe/Lisbon", "America/Sao_Paulo", "Australia/Lord_Howe", "Asia/Kathmandu", "America/New_York"];
    let starts = ["2026-03-27T09:17", "2026-10-22T23:30", "2026-04-03T00:00", "2026-11-01T01:30", "2026-03-08T03:00"];
    for seed in 0..60 {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let zone = zones[random.random_range(0..zones.len())];
        let start = starts[random.random_range(0..starts.len())];
        let mut shifts = String::new();
        for _ in 0..random.random_range(1..6) {
            let crew = ["day", "late"][random.random_range(0..2)];
            let days = ["daily", "Mon-Fri", "Sat,Sun", "2026-03-29", "2026-10-25"][random.random_range(0..5)];
            let from = format!("{:02}:{:02}", random.random_range(0..24), 30 * random.random_range(0..2));
            let to = format!("{:02}:{:02}", random.random_range(0..24), 15 * random.random_range(0..4));
            if from != to {
                shifts += &format!("{crew},\"{days}\",{from},{to},{}\n", random.random_range(1..4));
            }
        }
        shifts += "day,daily,06:00,14:00,1\n";
        let closures = ["", "2026-03-28\n", "2026-10-25\n2026-10-26\n"][random.random_range(0..3)];
        let (instance, _) = laid_out(&farm_toml(zone, start, random.random_range(1..12)), &shifts, closures);
        agrees_with_the_planners(&format!("seed {seed}"), &instance);
    }
}
