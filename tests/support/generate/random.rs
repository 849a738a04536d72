//! A small seeded source of random numbers, so that the same seed gives the same bytes on every run.
//!
//! xoshiro256** (Blackman and Vigna 2021), its state filled by splitmix64 (Steele, Lea and Flood 2014), normal numbers
//! by Box and Muller 1958. Not for anything but test data.

/// One stream of random numbers.
#[derive(Clone, Debug)]
pub struct Random {
    state: [u64; 4],
}

/// The next number of splitmix64.
pub fn splitmix64(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

impl Random {
    /// The stream of one case: each case has its own, so that cases can be made one at a time and in any order.
    /// `purpose` separates the streams of one case, so that a new draw in one does not move the others.
    pub fn stream(seed: u64, purpose: u64, index: u64) -> Self {
        let mut mixed = seed;
        let mut start = splitmix64(&mut mixed) ^ purpose.wrapping_mul(0xD6E8_FEB8_6659_FD93);
        start = splitmix64(&mut start) ^ index.wrapping_mul(0xA076_1D64_78BD_642F);
        let mut fill = || splitmix64(&mut start);
        Self {
            state: [fill(), fill(), fill(), fill()],
        }
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        let s = &mut self.state;
        let result = s[1].wrapping_mul(5).rotate_left(7).wrapping_mul(9);
        let t = s[1] << 17;
        s[2] ^= s[0];
        s[3] ^= s[1];
        s[1] ^= s[2];
        s[0] ^= s[3];
        s[2] ^= t;
        s[3] = s[3].rotate_left(45);
        result
    }

    /// Uniform from 0 (included) to 1 (excluded), 53 bits.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Uniform from `low` to `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A whole number from `low` to `high`, both included.
    pub fn whole(&mut self, low: i64, high: i64) -> i64 {
        low + (self.unit() * (high - low + 1) as f64) as i64
    }

    /// A normal number.
    pub fn normal(&mut self, mean: f64, deviation: f64) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        mean + deviation * radius * (std::f64::consts::TAU * self.unit()).cos()
    }

    /// A normal number, kept inside `low` to `high`.
    pub fn normal_within(&mut self, mean: f64, deviation: f64, low: f64, high: f64) -> f64 {
        self.normal(mean, deviation).clamp(low, high)
    }

    /// True with the given probability.
    pub fn chance(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    /// One of `choices`, each as likely as its weight.
    pub fn weighted<T: Copy>(&mut self, choices: &[(T, f64)]) -> T {
        let total: f64 = choices.iter().map(|(_, weight)| weight).sum();
        let mut left = self.unit() * total;
        for (choice, weight) in choices {
            left -= weight;
            if left < 0.0 {
                return *choice;
            }
        }
        choices[choices.len() - 1].0
    }
}
