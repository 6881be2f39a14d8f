//! Random choices that are the same everywhere for the same seed.

use rand::Rng;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

/// A stream of choices.
#[derive(Debug)]
pub struct Chance(ChaCha8Rng);

impl Chance {
    /// The stream of a kind of instance and a seed; kinds with the same seed share nothing.
    pub fn new(kind: &str, seed: u64) -> Chance {
        let mut key = [0; 32];
        key[..8].copy_from_slice(&seed.to_le_bytes());
        for (place, byte) in key[8..].iter_mut().zip(kind.bytes()) {
            *place = byte;
        }
        Chance(ChaCha8Rng::from_seed(key))
    }

    /// A whole number, both ends included.
    pub fn between(&mut self, low: i64, high: i64) -> i64 {
        self.0.random_range(low..=high)
    }

    /// One of a few.
    pub fn of<T: Clone>(&mut self, choices: &[T]) -> T {
        let last = choices.len() as i64 - 1;
        choices[self.between(0, last) as usize].clone()
    }

    /// True in so many of a hundred cases.
    pub fn percent(&mut self, share: i64) -> bool {
        self.between(1, 100) <= share
    }

    /// So many different ones, in random order.
    pub fn sample<T: Clone>(&mut self, choices: &[T], count: usize) -> Vec<T> {
        let mut left = choices.to_vec();
        let mut taken = Vec::new();
        while taken.len() < count && !left.is_empty() {
            let last = left.len() as i64 - 1;
            taken.push(left.remove(self.between(0, last) as usize));
        }
        taken
    }
}
