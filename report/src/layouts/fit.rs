//! Printing minutes of `n` copies: so much for the plate, so much for each copy.
//!
//! A plate begins with what does not depend on the count (heating, levelling, the purge line) and goes on with what
//! each copy adds, so minutes are taken for `fixed + per_copy * copies` and fitted by least squares. Where the known
//! plates ask for a fixed part below zero, the line goes through the origin instead: no plate begins before it begins.

/// A line through known plates.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Minutes of a plate without a copy on it; never below 0.
    pub fixed: f64,
    /// Minutes that each copy adds; more than 0.
    pub per_copy: f64,
    /// Known less fitted minutes, in the order of the points.
    pub residuals: Vec<f64>,
    /// The line was held at the origin, because the points alone would put it below.
    pub held: bool,
}

/// Why known plates give no line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unfit {
    /// Fewer than two counts are known.
    TooFew,
    /// More copies do not take more minutes.
    NotRising,
}

impl Fit {
    /// Fits points of copies and minutes.
    ///
    /// # Errors
    /// Fewer than two different counts, or minutes that do not rise with the count.
    pub fn of(points: &[(u64, i64)]) -> Result<Fit, Unfit> {
        if points.iter().all(|p| Some(p.0) == points.first().map(|p| p.0)) {
            return Err(Unfit::TooFew);
        }
        let of: Vec<(f64, f64)> = points.iter().map(|&(copies, minutes)| (copies as f64, minutes as f64)).collect();
        let (mut fixed, mut per_copy) = least_squares(&of);
        let held = fixed < 0.0;
        if held {
            fixed = 0.0;
            per_copy = of.iter().map(|(x, y)| x * y).sum::<f64>() / of.iter().map(|(x, _)| x * x).sum::<f64>();
        }
        if per_copy <= 0.0 {
            return Err(Unfit::NotRising);
        }
        let residuals = of.iter().map(|(x, y)| y - (fixed + per_copy * x)).collect();
        Ok(Fit { fixed, per_copy, residuals, held })
    }

    /// The printing minutes of so many copies, rounded up to whole ones.
    pub fn minutes(&self, copies: u64) -> i64 {
        // A line through whole minutes is a whole number at its own points but for the last bit.
        ((self.fixed + self.per_copy * copies as f64 - 1e-6).ceil() as i64).max(1)
    }

    /// The largest distance of a known plate from the line, in minutes.
    pub fn worst(&self) -> f64 {
        self.residuals.iter().fold(0.0, |worst, r| worst.max(r.abs()))
    }

    /// The standard deviation of the residuals, with two degrees of freedom spent on the line; none where two points
    /// leave nothing to judge it by.
    pub fn deviation(&self) -> Option<f64> {
        let free = self.residuals.len().checked_sub(2).filter(|free| *free > 0)?;
        Some((self.residuals.iter().map(|r| r * r).sum::<f64>() / free as f64).sqrt())
    }
}

/// Intercept and slope of the least-squares line; the points have at least two different abscissae.
fn least_squares(points: &[(f64, f64)]) -> (f64, f64) {
    let count = points.len() as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / count;
    let (x, y) = (mean(|p| p.0), mean(|p| p.1));
    let together: f64 = points.iter().map(|p| (p.0 - x) * (p.1 - y)).sum();
    let alone: f64 = points.iter().map(|p| (p.0 - x) * (p.0 - x)).sum();
    let slope = together / alone;
    (y - slope * x, slope)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST/ITL Statistical Reference Datasets, linear regression, "Norris": thirty-six readings of an ozone monitor,
    /// with certified intercept, slope and residual standard deviation.
    #[test]
    fn the_line_is_the_certified_one_of_a_reference_dataset() {
        let points = [
            (0.2, 0.1),
            (337.4, 338.8),
            (118.2, 118.1),
            (884.6, 888.0),
            (10.1, 9.2),
            (226.5, 228.1),
            (666.3, 668.5),
            (996.3, 998.5),
            (448.6, 449.1),
            (777.0, 778.9),
            (558.2, 559.2),
            (0.4, 0.3),
            (0.6, 0.1),
            (775.5, 778.1),
            (666.9, 668.8),
            (338.0, 339.3),
            (447.5, 448.9),
            (11.6, 10.8),
            (556.0, 557.7),
            (228.1, 228.3),
            (995.8, 998.0),
            (887.6, 888.8),
            (120.2, 119.6),
            (0.3, 0.3),
            (0.3, 0.6),
            (556.8, 557.6),
            (339.1, 339.3),
            (887.2, 888.0),
            (999.0, 998.5),
            (779.0, 778.9),
            (11.1, 10.2),
            (118.3, 117.6),
            (229.2, 228.9),
            (669.1, 668.4),
            (448.9, 449.2),
            (0.5, 0.2),
        ];
        let (intercept, slope) = least_squares(&points);
        assert!((intercept - -0.262_323_073_774_029).abs() < 1e-10, "{intercept}");
        assert!((slope - 1.002_116_818_020_45).abs() < 1e-12, "{slope}");
        let residuals = points.iter().map(|(x, y)| y - intercept - slope * x).collect();
        let deviation = Fit { fixed: 0.0, per_copy: slope, residuals, held: false }.deviation().unwrap();
        assert!((deviation - 0.884_796_396_144_373).abs() < 1e-9, "{deviation}");
    }

    #[test]
    fn two_plates_are_met_exactly_and_judge_nothing() {
        let fit = Fit::of(&[(1, 236), (2, 452)]).unwrap();
        assert_eq!((fit.fixed, fit.per_copy, fit.held), (20.0, 216.0, false));
        assert_eq!([1, 2, 3].map(|n| fit.minutes(n)), [236, 452, 668]);
        assert_eq!((fit.worst(), fit.deviation()), (0.0, None));
    }

    #[test]
    fn three_plates_say_how_far_off_the_line_is() {
        // By hand: the means are 2 and 20, the slope is 18 / 2, the intercept 20 - 18.
        let fit = Fit::of(&[(1, 10), (2, 22), (3, 28)]).unwrap();
        assert_eq!((fit.fixed, fit.per_copy), (2.0, 9.0));
        assert_eq!(fit.residuals, [-1.0, 2.0, -1.0]);
        assert_eq!((fit.worst(), fit.deviation()), (2.0, Some(6_f64.sqrt())));
    }

    #[test]
    fn a_line_below_the_origin_is_held_there() {
        let fit = Fit::of(&[(1, 10), (2, 30)]).unwrap();
        assert!(fit.held && fit.fixed == 0.0);
        assert_eq!(fit.per_copy, 14.0, "(10 + 60) / (1 + 4)");
    }

    #[test]
    fn one_count_or_falling_minutes_give_no_line() {
        assert_eq!(Fit::of(&[]), Err(Unfit::TooFew));
        assert_eq!(Fit::of(&[(4, 100), (4, 110)]), Err(Unfit::TooFew));
        assert_eq!(Fit::of(&[(4, 100), (8, 100)]), Err(Unfit::NotRising));
        assert_eq!(Fit::of(&[(4, 100), (8, 90)]), Err(Unfit::NotRising));
    }
}
