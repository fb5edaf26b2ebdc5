//! Random streams: every draw belongs to an element, a purpose and a marble's number there, not to the order of events.
//!
//! So neither a change to another element nor a shift in time changes a draw, and designs are compared on common random
//! numbers: the k-th marble into an element takes the same time there, and the same way out, whenever it comes.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// The generator of run number `run` of a study seeded with `seed`, at the beginning of the stream called `name`.
///
/// The key is the seed and the run number; the stream number is a hash of the name (64-bit FNV-1a).
pub fn stream(seed: u64, run: u64, name: &str) -> ChaCha8Rng {
    let mut key = [0u8; 32];
    key[..8].copy_from_slice(&seed.to_le_bytes());
    key[8..16].copy_from_slice(&run.to_le_bytes());
    key[16..].copy_from_slice(b"marblewright run");
    let mut stream = ChaCha8Rng::from_seed(key);
    stream.set_stream(hash(FNV_BASIS, name));
    stream
}

const FNV_BASIS: u64 = 0xcbf2_9ce4_8422_2325;

/// FNV-1a with 64 bits, carried on from `hash`.
fn hash(hash: u64, text: &str) -> u64 {
    text.bytes().fold(hash, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}

/// What a random number decides at an element.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Purpose {
    /// How long a marble travels.
    Travel,
    /// Which way it takes.
    Way,
    /// Whether it wedges at the gate with those it meets.
    Wedge,
    /// How long they stay wedged.
    Clear,
    /// How long a server holds it.
    Hold,
    /// Whether a passing pocket takes, misses or pinches it.
    Take,
    /// Whether it gets out in time at the top.
    Release,
    /// Whether a marble goes over the side while a pocket passes.
    Spill,
}

/// Of each purpose there is a stream of first attempts and one of all further ones.
const STREAMS: usize = 2 * (Purpose::Spill as usize + 1);
/// Further attempts of a marble that lie side by side in their stream. Whoever fails more often than that draws on from
/// the numbers of the next marble, which does no harm.
const ATTEMPTS: u64 = 1 << 24;

/// Which draw at an element.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct DrawId {
    /// What it decides.
    pub purpose: Purpose,
    /// The marble's number: how many had entered the element before it.
    pub number: u64,
    /// How often it was drawn before for this marble: pockets that missed it, turns for which it was carried over.
    pub attempt: u32,
}

impl DrawId {
    /// The first draw for `purpose` of the marble with that number.
    pub fn first(purpose: Purpose, number: u64) -> Self {
        DrawId {
            purpose,
            number,
            attempt: 0,
        }
    }

    /// Index of its stream, and its place in it.
    fn place(self) -> (usize, u64) {
        let first = 2 * self.purpose as usize;
        match self.attempt {
            0 => (first, self.number),
            again => (first + 1, self.number * ATTEMPTS + u64::from(again)),
        }
    }
}

/// The random streams of one element.
#[derive(Clone, Debug)]
pub struct Streams {
    name: u64,
    /// Made when first drawn from: most elements draw for one purpose or two.
    streams: [Option<Box<Stream>>; STREAMS],
}

impl Streams {
    /// The streams of the element called `name`.
    pub fn new(name: &str) -> Self {
        Streams {
            name: hash(FNV_BASIS, name),
            streams: [const { None }; STREAMS],
        }
    }

    /// A uniform 64-bit number: a function of the generator's seed and run, the element's name and `drawn` alone.
    #[inline]
    pub fn at(&mut self, generator: &mut ChaCha8Rng, drawn: DrawId) -> u64 {
        let (which, place) = drawn.place();
        let block = place / BLOCK as u64;
        match &self.streams[which] {
            Some(stream) if stream.made[block as usize % 2] == block => {
                stream.numbers[place as usize % (2 * BLOCK)]
            }
            _ => self.make(generator, which, block)[place as usize % (2 * BLOCK)],
        }
    }

    /// Makes a block of a stream.
    #[cold]
    #[inline(never)]
    fn make(&mut self, generator: &mut ChaCha8Rng, which: usize, block: u64) -> &[u64; 2 * BLOCK] {
        let name = self.name;
        let stream = self.streams[which].get_or_insert_with(|| Stream::new(name, which));
        stream.make(generator, block)
    }
}

const NAMES: [&str; STREAMS / 2] = [
    "travel", "way", "wedge", "clear", "hold", "take", "release", "spill",
];

/// What the generator makes at a time: four blocks of ChaCha, 64 bytes each.
const BLOCK: usize = 32;

/// A stream read at any place. Marbles overtake each other, so places come nearly in order: two neighbouring blocks are
/// kept, and only a place beyond both makes the generator seek.
#[derive(Clone, Debug)]
struct Stream {
    id: u64,
    /// Numbers of the two blocks.
    made: [u64; 2],
    numbers: [u64; 2 * BLOCK],
}

impl Stream {
    fn new(element: u64, which: usize) -> Box<Self> {
        // No name of an element has a NUL in it, so no two streams share a number but by an accident of the hash.
        let id = hash(hash(element, "\0"), NAMES[which / 2]);
        let id = if which.is_multiple_of(2) {
            id
        } else {
            hash(id, " again")
        };
        Box::new(Stream {
            id,
            made: [u64::MAX; 2],
            numbers: [0; 2 * BLOCK],
        })
    }

    fn make(&mut self, generator: &mut ChaCha8Rng, block: u64) -> &[u64; 2 * BLOCK] {
        generator.set_stream(self.id);
        // Two 32-bit words a number.
        generator.set_word_pos(u128::from(block) * 2 * BLOCK as u128);
        let mut bytes = [0; 8 * BLOCK];
        generator.fill_bytes(&mut bytes);
        let slot = block as usize % 2;
        self.made[slot] = block;
        for (number, bytes) in self.numbers[slot * BLOCK..]
            .iter_mut()
            .zip(bytes.as_chunks().0)
        {
            *number = u64::from_le_bytes(*bytes);
        }
        &self.numbers
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    /// First block of ChaCha with 8 rounds, 256-bit zero key, zero nonce: J. Strombergson, "Test vectors for the stream
    /// cipher ChaCha" (Internet draft draft-strombergson-chacha-test-vectors-01, 2013), TC1, read second-hand.
    #[test]
    fn the_generator_is_chacha_with_eight_rounds() {
        let mut stream = ChaCha8Rng::from_seed([0; 32]);
        let words: Vec<u32> = (0..4).map(|_| stream.next_u32()).collect();
        assert_eq!(
            words,
            [804_192_318, 3_594_542_985, 3_904_396_159, 2_711_947_551]
        );
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
        assert_eq!(
            numbers,
            [
                0xcbf2_9ce4_8422_2325,
                0xaf63_dc4c_8601_ec8c,
                0x8594_4171_f739_67e8
            ]
        );
    }

    /// A second way to the same number: the stream from its beginning, one number after another.
    #[test]
    fn a_draw_is_its_place_in_the_stream_of_its_element_and_purpose_whatever_was_drawn_before() {
        let mut by_hand = stream(5, 7, "bowl\0way");
        let numbers: Vec<u64> = (0..500).map(|_| by_hand.next_u64()).collect();
        let mut generator = stream(5, 7, "");
        let mut streams = Streams::new("bowl");
        for k in 0..2000u64 {
            let number = k * k * 31 % 500;
            assert_eq!(
                streams.at(&mut generator, DrawId::first(Purpose::Way, number)),
                numbers[number as usize]
            );
            streams.at(&mut generator, DrawId::first(Purpose::Travel, k));
        }
    }

    #[test]
    fn elements_purposes_marbles_and_attempts_draw_apart() {
        let mut generator = stream(1, 2, "");
        let mut seen = BTreeSet::new();
        for name in ["lift", "left"] {
            let mut streams = Streams::new(name);
            for purpose in PURPOSES {
                for (number, attempt) in
                    (0..40).flat_map(|number| (0..40).map(move |attempt| (number, attempt)))
                {
                    seen.insert(streams.at(
                        &mut generator,
                        DrawId {
                            purpose,
                            number,
                            attempt,
                        },
                    ));
                }
            }
        }
        assert_eq!(seen.len(), 2 * PURPOSES.len() * 40 * 40);
    }

    #[test]
    fn every_purpose_has_a_stream_of_its_own_name() {
        for (n, purpose) in PURPOSES.into_iter().enumerate() {
            assert_eq!(
                (purpose as usize, NAMES[n].to_owned()),
                (n, format!("{purpose:?}").to_lowercase())
            );
        }
    }

    const PURPOSES: [Purpose; 8] = [
        Purpose::Travel,
        Purpose::Way,
        Purpose::Wedge,
        Purpose::Clear,
        Purpose::Hold,
        Purpose::Take,
        Purpose::Release,
        Purpose::Spill,
    ];
}
