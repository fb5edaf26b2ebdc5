//! Points that fill a space of many numbers evenly: each number alone takes every stretch of its range once.
//!
//! M. D. McKay, R. J. Beckman, W. J. Conover, "A comparison of three methods for selecting values of input variables in the
//! analysis of output from a computer code", Technometrics 21 (1979) 239.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::Rng;

/// So many places from 0 to 1, one in each stretch of equal length, in random order.
pub fn latin_column(points: usize, random: &mut ChaCha8Rng) -> Vec<f64> {
    let mut stretches: Vec<usize> = (0..points).collect();
    // R. Durstenfeld, "Algorithm 235: Random permutation", Comm. ACM 7 (1964) 420, from memory.
    for last in (1..points).rev() {
        let other = (unit(random) * (last + 1) as f64) as usize;
        stretches.swap(last, other.min(last));
    }
    let place = |stretch: usize| (stretch as f64 + unit(random)) / points as f64;
    stretches.into_iter().map(place).collect()
}

/// A number above 0 and below 1, of 53 random bits.
pub fn unit(random: &mut ChaCha8Rng) -> f64 {
    ((random.next_u64() >> 11) as f64 + 0.5) / (1u64 << 53) as f64
}

#[cfg(test)]
mod tests {
    use rand_chacha::rand_core::SeedableRng;

    use super::*;

    #[test]
    fn every_stretch_has_one_place_and_the_order_is_random() {
        let mut random = ChaCha8Rng::seed_from_u64(1);
        let [one, other] = [0, 1].map(|_| latin_column(50, &mut random));
        for column in [&one, &other] {
            let mut stretches: Vec<usize> = column.iter().map(|x| (x * 50.0) as usize).collect();
            stretches.sort_unstable();
            assert_eq!(stretches, (0..50).collect::<Vec<_>>());
        }
        assert_ne!(one, other);
    }
}
