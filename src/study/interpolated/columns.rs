//! Which numbers of places differ, and each of them by how much from their middle.

/// Numbers go together where they are correlated so much: one of them stands for both.
const TOGETHER: f64 = 0.999;
/// Beyond the places looked at, what is known is that of so much further on, in shares of their range.
const BEYOND: f64 = 0.25;

/// The numbers that differ.
#[derive(Clone, Debug)]
pub struct Columns {
    /// One place, for the numbers that do not.
    same: Vec<f64>,
    kept: Vec<Column>,
    /// Numbers that differ together with one that is kept.
    follow: Vec<usize>,
}

#[derive(Clone, Copy, Debug)]
struct Column {
    number: usize,
    mean: f64,
    sd: f64,
    low: f64,
    high: f64,
}

impl Columns {
    /// Those that differ among some places, each described by as many numbers.
    pub fn of(places: &[&[f64]]) -> Columns {
        let mut columns = Columns {
            same: places.first().map_or(Vec::new(), |first| first.to_vec()),
            kept: Vec::new(),
            follow: Vec::new(),
        };
        let mut centred: Vec<Vec<f64>> = Vec::new();
        for number in 0..columns.same.len() {
            let values: Vec<f64> = places.iter().map(|place| place[number]).collect();
            let column = Column::of(number, &values);
            if column.low == column.high {
                continue;
            }
            let scaled: Vec<f64> = values
                .iter()
                .map(|x| (x - column.mean) / column.sd)
                .collect();
            let follows = centred.iter().any(|known| {
                let product: f64 = known.iter().zip(&scaled).map(|(a, b)| a * b).sum();
                (product / values.len() as f64).abs() > TOGETHER
            });
            if follows {
                columns.follow.push(number);
            } else {
                columns.kept.push(column);
                centred.push(scaled);
            }
        }
        columns
    }

    /// How far a place is from the middle, number by number that differs, in standard deviations, and then the squares of
    /// these, less 1. `None` where another number differs.
    pub fn at(&self, place: &[f64]) -> Option<Vec<f64>> {
        if place.len() != self.same.len() {
            return None;
        }
        for (number, (x, same)) in place.iter().zip(&self.same).enumerate() {
            let differs = self.follow.contains(&number)
                || self.kept.iter().any(|column| column.number == number);
            if x != same && !differs {
                return None;
            }
        }
        let mut at: Vec<f64> = self
            .kept
            .iter()
            .map(|column| column.scaled(place))
            .collect();
        for n in 0..at.len() {
            at.push(at[n] * at[n] - 1.0);
        }
        Some(at)
    }

    /// How many numbers differ by themselves: so many come first in what [`Columns::at`] gives.
    pub fn count(&self) -> usize {
        self.kept.len()
    }
}

impl Column {
    fn of(number: usize, values: &[f64]) -> Column {
        let many = values.len() as f64;
        let mean = values.iter().sum::<f64>() / many;
        let squares: f64 = values.iter().map(|x| (x - mean) * (x - mean)).sum();
        Column {
            number,
            mean,
            sd: (squares / many).sqrt().max(f64::MIN_POSITIVE),
            low: values.iter().copied().fold(f64::INFINITY, f64::min),
            high: values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        }
    }

    fn scaled(&self, place: &[f64]) -> f64 {
        let beyond = BEYOND * (self.high - self.low);
        let x = place[self.number].clamp(self.low - beyond, self.high + beyond);
        (x - self.mean) / self.sd
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_that_differ_together_count_once_and_others_may_not_differ() {
        let places = [[1.0, 5.0, 2.0], [2.0, 5.0, 4.0], [4.0, 5.0, 8.0]];
        let places: Vec<&[f64]> = places.iter().map(|place| place.as_slice()).collect();
        let columns = Columns::of(&places);
        assert_eq!(columns.count(), 1);
        let at = columns.at(&[7.0 / 3.0, 5.0, 14.0 / 3.0]).expect("between");
        assert!(at[0].abs() < 1e-12 && (at[1] + 1.0).abs() < 1e-12, "{at:?}");
        assert_eq!(columns.at(&[2.0, 5.1, 4.0]), None);
        assert_eq!(columns.at(&[2.0, 5.0]), None);
    }

    /// Two numbers that differ each by itself: the mean 2 and the deviation 1 of the first, 30 and 10 of the second.
    #[test]
    fn places_are_told_in_deviations_from_their_middle() {
        let places = [[1.0, 20.0], [1.0, 40.0], [3.0, 20.0], [3.0, 40.0]];
        let places: Vec<&[f64]> = places.iter().map(|place| place.as_slice()).collect();
        let columns = Columns::of(&places);
        assert_eq!(columns.count(), 2);
        let at = |place: [f64; 2]| columns.at(&place).expect("nothing else differs");
        assert_eq!(at([3.0, 25.0]), [1.0, -0.5, 0.0, -0.75]);
        // A quarter of the range beyond the ends, and no farther.
        assert_eq!(at([3.5, 15.0]), [1.5, -1.5, 1.25, 1.25]);
        assert_eq!(at([9.0, 0.0]), at([3.5, 15.0]));
    }

    /// Numbers that go against each other go together as well; less than nearly so they are two.
    #[test]
    fn what_goes_together_is_told_by_correlation() {
        let count = |last: f64| {
            let places = [[1.0, -1.0], [2.0, -2.0], [3.0, -3.0], [4.0, last]];
            let places: Vec<&[f64]> = places.iter().map(|place| place.as_slice()).collect();
            Columns::of(&places).count()
        };
        assert_eq!(count(-4.0), 1);
        // Correlated by 0.9997 and by 0.9989.
        assert_eq!(count(-4.1), 1);
        assert_eq!(count(-4.2), 2);
    }
}
