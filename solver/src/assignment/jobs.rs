//! Jobs on alike machines, and what a machine may hold of them.

/// Jobs in kinds of one length, longest first, and the number of machines.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Jobs {
    /// Minutes of each kind, falling.
    pub minutes: Vec<i64>,
    /// How many jobs of each kind.
    pub count: Vec<u32>,
    /// Machines.
    pub machines: usize,
}

/// What one machine holds: kinds in order with how many jobs of each, at least one.
pub type Load = Vec<(usize, u32)>;

impl Jobs {
    /// From the length of each job.
    pub fn new(lengths: &[i64], machines: usize) -> Jobs {
        let mut sorted = lengths.to_vec();
        sorted.sort_unstable_by_key(|&l| std::cmp::Reverse(l));
        let (mut minutes, mut count): (Vec<i64>, Vec<u32>) = (Vec::new(), Vec::new());
        for length in sorted {
            match (minutes.last(), count.last_mut()) {
                (Some(&last), Some(count)) if last == length => *count += 1,
                _ => {
                    minutes.push(length);
                    count.push(1);
                }
            }
        }
        Jobs { minutes, count, machines }
    }

    /// The minutes of all jobs.
    pub fn total(&self) -> i64 {
        self.minutes.iter().zip(&self.count).map(|(m, &n)| m * i64::from(n)).sum()
    }

    /// The minutes of a load.
    pub fn length(&self, load: &Load) -> i64 {
        load.iter().map(|&(kind, n)| self.minutes[kind] * i64::from(n)).sum()
    }

    /// A makespan that no assignment undercuts: the longest job, and what [`Jobs::crowd`] says of the longest jobs, however
    /// many of them.
    pub fn simple_bound(&self) -> i64 {
        let lengths = self.lengths();
        let mut sums = vec![0];
        sums.extend(lengths.iter().scan(0, |sum, l| {
            *sum += l;
            Some(*sum)
        }));
        let crowd = (1..=lengths.len()).map(|many| self.crowd(&sums, many)).max().unwrap_or(0);
        crowd.max(lengths.first().copied().unwrap_or(0))
    }

    /// Of so many jobs some machine has at least an even share, `k`. Say that `q` machines have `k` or more. The others
    /// have `k - 1` or fewer, so the `q` have at least all but `(k - 1)(m - q)` of the jobs, at least `qk`, and of those
    /// at the least the shortest. One of them works for an even share of their minutes; whatever `q` is, for no less
    /// than the least over all `q`. `sums` are those of the longest jobs.
    fn crowd(&self, sums: &[i64], many: usize) -> i64 {
        let share = many.div_ceil(self.machines);
        let of = |crowded: usize| {
            let others = (share - 1) * (self.machines - crowded);
            let jobs = many.saturating_sub(others).max(crowded * share);
            (sums[many] - sums[many - jobs] + crowded as i64 - 1) / crowded as i64
        };
        (1..=self.machines.min(many / share)).map(of).min().unwrap_or(0)
    }

    /// The length of each job, longest first.
    pub fn lengths(&self) -> Vec<i64> {
        self.minutes.iter().zip(&self.count).flat_map(|(&m, &n)| std::iter::repeat_n(m, n as usize)).collect()
    }
}
