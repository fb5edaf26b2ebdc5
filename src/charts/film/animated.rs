//! Frames as an animated PNG (W3C, "Portable Network Graphics", third edition, 2025): one palette, and in each frame only
//! what has changed.

use std::collections::BTreeMap;

use png::{BitDepth, BlendOp, ColorType, Compression, DisposeOp, Encoder, EncodingError, Filter};

use crate::charts::bitmap::Pixels;

/// Colours at most; one more stands for "as before".
const COLOURS: usize = 255;
/// Index of "as before".
const AS_BEFORE: u8 = 0;
/// Frames whose colours are counted.
const COUNTED: u32 = 12;
/// Bits kept of each channel.
const BITS: u32 = 5;

/// `count` frames at so many a second.
pub fn png(count: u32, rate: u16, frame: impl Fn(u32) -> Pixels) -> Result<Vec<u8>, EncodingError> {
    let palette =
        Palette::of((0..count.min(COUNTED)).map(|k| frame(k * count / count.min(COUNTED))));
    let first = frame(0);
    let (width, height) = (first.width, first.height);
    let mut bytes = Vec::new();
    let mut encoder = Encoder::new(&mut bytes, width, height);
    encoder.set_color(ColorType::Indexed);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_palette(palette.rgb.clone());
    encoder.set_trns(vec![0]);
    encoder.set_animated(count, 0)?;
    encoder.set_frame_delay(1, rate)?;
    encoder.set_dispose_op(DisposeOp::None)?;
    encoder.set_blend_op(BlendOp::Over)?;
    encoder.set_compression(Compression::High);
    encoder.set_filter(Filter::NoFilter);
    let mut writer = encoder.write_header()?;
    let mut shown = palette.indices(&first);
    writer.write_image_data(&shown)?;
    for k in 1..count {
        let next = palette.indices(&frame(k));
        let part = FrameRegion::changed(&shown, &next, width as usize);
        writer.reset_frame_position()?;
        writer.set_frame_dimension(part.width as u32, part.height as u32)?;
        writer.set_frame_position(part.left as u32, part.top as u32)?;
        writer.write_image_data(&part.data(&shown, &next, width as usize))?;
        shown = next;
    }
    writer.finish()?;
    Ok(bytes)
}

/// One picture in as few colours as a film has: a small file.
pub fn still(picture: &Pixels) -> Vec<u8> {
    png(1, 1, |_| picture.clone()).unwrap_or_default()
}

/// The colours of a film, and for every colour the nearest of them.
struct Palette {
    rgb: Vec<u8>,
    nearest: Vec<u8>,
}

impl Palette {
    /// The most frequent colours of `frames`.
    fn of(frames: impl Iterator<Item = Pixels>) -> Self {
        let mut counts: BTreeMap<usize, (u64, [u8; 3])> = BTreeMap::new();
        for frame in frames {
            for pixel in frame.rgb.chunks_exact(3) {
                counts
                    .entry(key(pixel))
                    .or_insert((0, [pixel[0], pixel[1], pixel[2]]))
                    .0 += 1;
            }
        }
        let mut colours: Vec<(u64, [u8; 3])> = counts.into_values().collect();
        colours.sort_by_key(|&(count, _)| std::cmp::Reverse(count));
        colours.truncate(COLOURS);
        let rgb = [0; 3]
            .into_iter()
            .chain(colours.iter().flat_map(|colour| colour.1))
            .collect();
        let nearest = (0..1 << (3 * BITS))
            .map(|key| 1 + nearest(&colours, key) as u8)
            .collect();
        Palette { rgb, nearest }
    }

    fn indices(&self, frame: &Pixels) -> Vec<u8> {
        frame
            .rgb
            .chunks_exact(3)
            .map(|pixel| self.nearest[key(pixel)])
            .collect()
    }
}

/// A colour by the first bits of its channels.
fn key(pixel: &[u8]) -> usize {
    pixel.iter().take(3).fold(0, |key, channel| {
        key << BITS | usize::from(channel >> (8 - BITS))
    })
}

fn nearest(colours: &[(u64, [u8; 3])], wanted: usize) -> usize {
    let channel = |place: u32| ((wanted >> (BITS * place)) & ((1 << BITS) - 1)) as i32;
    let distance = |colour: &[u8; 3]| -> i32 {
        (0..3)
            .map(|c| i32::from(colour[c] >> (8 - BITS)) - channel(2 - c as u32))
            .map(|d| d * d)
            .sum()
    };
    (0..colours.len())
        .min_by_key(|&k| distance(&colours[k].1))
        .unwrap_or(0)
}

/// A rectangle of a frame.
struct FrameRegion {
    left: usize,
    top: usize,
    width: usize,
    height: usize,
}

impl FrameRegion {
    /// The smallest rectangle with all that differs; one pixel where nothing does.
    fn changed(before: &[u8], after: &[u8], width: usize) -> Self {
        let (mut left, mut right, mut top, mut bottom) = (usize::MAX, 0, usize::MAX, 0);
        for (y, (old, new)) in before
            .chunks_exact(width)
            .zip(after.chunks_exact(width))
            .enumerate()
        {
            if old == new {
                continue;
            }
            let differs = |x: &usize| old[*x] != new[*x];
            left = left.min((0..width).find(differs).unwrap_or(0));
            right = right.max((0..width).rev().find(differs).unwrap_or(0));
            (top, bottom) = (top.min(y), y);
        }
        if top == usize::MAX {
            return FrameRegion {
                left: 0,
                top: 0,
                width: 1,
                height: 1,
            };
        }
        FrameRegion {
            left,
            top,
            width: right - left + 1,
            height: bottom - top + 1,
        }
    }

    fn data(&self, before: &[u8], after: &[u8], width: usize) -> Vec<u8> {
        let rows = self.top..self.top + self.height;
        rows.flat_map(|y| {
            let row = y * width + self.left..y * width + self.left + self.width;
            before[row.clone()]
                .iter()
                .zip(&after[row])
                .map(|(old, new)| if old == new { AS_BEFORE } else { *new })
        })
        .collect()
    }
}
