//! Free MPS: the form of a mixed-integer program that every solver reads.
//!
//! Sections `ROWS`, `COLUMNS`, `RHS`, `BOUNDS`, words separated by spaces, lines that begin with `*` for people. Every whole
//! number has its largest value written out, since readers differ in what they take for granted there.

use super::program::{Program, Sense};
use std::fmt::Write;

/// The row of the objective.
const OBJECTIVE: &str = "objective";

/// The text of a program under a title of one word, with remarks for people at its top.
pub fn text(program: &Program, title: &str, remarks: &[String]) -> String {
    let mut out = String::new();
    for remark in remarks {
        let plain: String = remark.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
        line(&mut out, format_args!("* {plain}"));
    }
    line(&mut out, format_args!("NAME {title}"));
    line(&mut out, format_args!("ROWS\n N {OBJECTIVE}"));
    for row in program.rows() {
        let sense = match row.sense {
            Sense::AtMost => 'L',
            Sense::AtLeast => 'G',
            Sense::Equal => 'E',
        };
        line(&mut out, format_args!(" {sense} {}", row.name));
    }
    columns(program, &mut out);
    line(&mut out, format_args!("RHS"));
    for row in program.rows().iter().filter(|row| row.right != 0) {
        line(&mut out, format_args!(" RHS {} {}", row.name, row.right));
    }
    line(&mut out, format_args!("BOUNDS"));
    for variable in program.variables() {
        if let Some(most) = variable.most {
            line(&mut out, format_args!(" UP BND {} {most}", variable.name));
        }
    }
    line(&mut out, format_args!("ENDATA"));
    out
}

fn columns(program: &Program, out: &mut String) {
    let mut terms: Vec<Vec<(usize, i64)>> = vec![Vec::new(); program.variables().len()];
    for (place, row) in program.rows().iter().enumerate() {
        row.terms.iter().for_each(|(variable, factor)| terms[*variable].push((place, *factor)));
    }
    line(out, format_args!("COLUMNS"));
    let mut markers = 0;
    let mut in_whole = false;
    for (variable, terms) in program.variables().iter().zip(&terms) {
        if variable.whole != in_whole {
            marker(out, &mut markers, variable.whole);
            in_whole = variable.whole;
        }
        // A variable that is in no row is told by its cost, though that be nothing.
        if variable.cost != 0 || terms.is_empty() {
            line(out, format_args!(" {} {OBJECTIVE} {}", variable.name, variable.cost));
        }
        for (row, factor) in terms {
            line(out, format_args!(" {} {} {factor}", variable.name, program.rows()[*row].name));
        }
    }
    if in_whole {
        marker(out, &mut markers, false);
    }
}

fn marker(out: &mut String, markers: &mut usize, begins: bool) {
    let word = if begins { "INTORG" } else { "INTEND" };
    line(out, format_args!(" MARKER{markers} 'MARKER' '{word}'"));
    *markers += 1;
}

fn line(out: &mut String, words: std::fmt::Arguments<'_>) {
    // Writing into a string cannot fail.
    let _ = writeln!(out, "{words}");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_program_reads_as_the_format_wants() {
        let mut program = Program::default();
        let (runs, left) = (program.whole("runs".into(), 9), program.amount("left".into(), None));
        program.charge(runs, 5);
        program.row("need".into(), vec![(runs, 2), (left, -1), (runs, 1)], Sense::Equal, 7);
        program.row("room".into(), vec![(runs, 1), (left, 1), (left, -1)], Sense::AtMost, 0);
        assert_eq!(
            text(&program, "tiny", &["two\nlines".into()]),
            "* two lines\nNAME tiny\nROWS\n N objective\n E need\n L room\nCOLUMNS\n MARKER0 'MARKER' 'INTORG'\n \
             runs objective 5\n runs need 3\n runs room 1\n MARKER1 'MARKER' 'INTEND'\n left need -1\nRHS\n RHS need 7\n\
             BOUNDS\n UP BND runs 9\nENDATA\n"
        );
    }
}
