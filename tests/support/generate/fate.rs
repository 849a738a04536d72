//! Whether and when a patient dies: drawn from a stream of its own, so that two procedures of one patient agree.

use super::random::Random;

/// A death.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Death {
    /// Days from the procedure.
    pub day: i64,
    /// Cause as the files spell it.
    pub cause: &'static str,
    /// Related to the valve.
    pub valve_related: bool,
}

/// The death of a patient of this risk, whether or not the data reach so far: about 2 % to day 30, then about 9 % a year.
pub fn death(random: &mut Random, risk: f64) -> Death {
    let early = random.chance((0.02 * (0.6 * risk).exp()).min(0.3));
    let day = if early {
        if random.chance(0.15) {
            0
        } else {
            random.whole(1, 30)
        }
    } else {
        let yearly = 0.08 * (0.5 * risk).exp();
        31 + (-(1.0 - random.unit()).ln() / yearly * 365.25) as i64
    };
    let cause = if early {
        random.weighted(&[
            ("cardiovascular", 0.8),
            ("non_cardiovascular", 0.15),
            ("unknown", 0.05),
        ])
    } else {
        random.weighted(&[
            ("cardiovascular", 0.42),
            ("non_cardiovascular", 0.44),
            ("unknown", 0.14),
        ])
    };
    let valve_related = cause == "cardiovascular" && random.chance(if early { 0.4 } else { 0.08 });
    Death {
        day,
        cause,
        valve_related,
    }
}
