//! Chance: one ChaCha stream an element, so that a change to one element leaves the luck of every other as it was.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

/// The stream of the element called `name` in run number `run` of a study seeded with `seed`.
///
/// The key is the seed and the run number; the stream number is a hash of the name (64-bit FNV-1a).
pub fn stream(seed: u64, run: u64, name: &str) -> ChaCha8Rng {
    let mut key = [0u8; 32];
    key[..8].copy_from_slice(&seed.to_le_bytes());
    key[8..16].copy_from_slice(&run.to_le_bytes());
    key[16..].copy_from_slice(b"marblewright run");
    let mut stream = ChaCha8Rng::from_seed(key);
    stream.set_stream(
        name.bytes()
            .fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)),
    );
    stream
}

#[cfg(test)]
mod tests {
    use rand_chacha::rand_core::Rng;

    use super::*;

    /// First block of ChaCha with 8 rounds, 256-bit zero key, zero nonce: J. Strombergson, "Test vectors for the stream
    /// cipher ChaCha" (Internet draft draft-strombergson-chacha-test-vectors-01, 2013), TC1, read second-hand.
    #[test]
    fn the_generator_is_chacha_with_eight_rounds() {
        let mut stream = ChaCha8Rng::from_seed([0; 32]);
        let words: Vec<u32> = (0..4).map(|_| stream.next_u32()).collect();
        assert_eq!(words, [804_192_318, 3_594_542_985, 3_904_396_159, 2_711_947_551]);
    }

    #[test]
    fn streams_differ_by_seed_run_and_name_alone() {
        let first = |seed, run, name| stream(seed, run, name).next_u64();
        assert_eq!(first(1, 2, "lift"), first(1, 2, "lift"));
        assert_ne!(first(1, 2, "lift"), first(1, 2, "left"));
        assert_ne!(first(1, 2, "lift"), first(2, 1, "lift"));
    }

    /// G. Fowler, L. Noll, K. Vo, D. Eastlake, "The FNV non-cryptographic hash algorithm" (Internet draft
    /// draft-eastlake-fnv), test vectors of FNV-1a with 64 bits, from memory.
    #[test]
    fn the_number_of_a_stream_is_the_hash_of_its_name() {
        let numbers = ["", "a", "foobar"].map(|name| stream(1, 2, name).get_stream());
        assert_eq!(numbers, [0xcbf2_9ce4_8422_2325, 0xaf63_dc4c_8601_ec8c, 0x8594_4171_f739_67e8]);
    }
}
