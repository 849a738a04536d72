//! Times taken by turns, so that whatever else the machine does falls on all alike.

use rustix::time::{ClockId, clock_gettime};

/// One way of doing the work.
pub struct Contender<'a> {
    /// What it is called in the tables.
    pub name: &'static str,
    /// Pieces of work in one turn.
    pub pieces: usize,
    /// One turn: processor seconds spent and bytes made.
    pub turn: Box<dyn FnMut() -> Turn + 'a>,
}

/// What one turn took.
#[derive(Clone, Copy, Debug)]
pub struct Turn {
    /// Seconds.
    pub seconds: f64,
    /// Bytes made.
    pub bytes: usize,
}

/// Seconds a piece, in each round.
pub struct Timing {
    /// What it is called in the tables.
    pub name: &'static str,
    /// One for each round, in order.
    pub seconds: Vec<f64>,
    /// Bytes a piece, in the last round.
    pub bytes: f64,
}

/// A quotient of two timings, formed round by round.
#[derive(Clone, Copy, Debug)]
pub struct Ratio {
    /// The median of the rounds.
    pub median: f64,
    /// The least.
    pub least: f64,
    /// The greatest.
    pub greatest: f64,
}

impl<'a> Contender<'a> {
    /// A contender that runs in this thread.
    pub fn here(name: &'static str, pieces: usize, mut work: impl FnMut() -> usize + 'a) -> Self {
        Contender {
            name,
            pieces,
            turn: Box::new(move || {
                let start = processor_seconds();
                let bytes = work();
                Turn {
                    seconds: processor_seconds() - start,
                    bytes,
                }
            }),
        }
    }
}

/// Processor time of this thread: other programs on the machine do not count.
pub fn processor_seconds() -> f64 {
    let now = clock_gettime(ClockId::ThreadCPUTime);
    now.tv_sec as f64 + now.tv_nsec as f64 / 1e9
}

/// One round to warm up, then `rounds` in which each takes its turn.
pub fn by_turns(rounds: usize, contenders: &mut [Contender<'_>]) -> Vec<Timing> {
    let mut timings: Vec<Timing> = contenders
        .iter()
        .map(|contender| Timing {
            name: contender.name,
            seconds: Vec::with_capacity(rounds),
            bytes: 0.0,
        })
        .collect();
    for round in 0..=rounds {
        for (contender, timing) in contenders.iter_mut().zip(&mut timings) {
            let turn = (contender.turn)();
            if round > 0 {
                timing.seconds.push(turn.seconds / contender.pieces as f64);
                timing.bytes = turn.bytes as f64 / contender.pieces as f64;
            }
        }
    }
    timings
}

impl Timing {
    /// Seconds a piece, the median of the rounds.
    pub fn median(&self) -> f64 {
        median(self.seconds.iter().copied())
    }

    /// This one's time over another's.
    pub fn over(&self, other: &Timing) -> Ratio {
        let quotients = || self.seconds.iter().zip(&other.seconds).map(|(a, b)| a / b);
        Ratio {
            median: median(quotients()),
            least: quotients().fold(f64::INFINITY, f64::min),
            greatest: quotients().fold(0.0, f64::max),
        }
    }
}

fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    if values.len() % 2 == 1 {
        values[middle]
    } else {
        (values[middle - 1] + values[middle]) / 2.0
    }
}
