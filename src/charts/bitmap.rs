//! Pixels in memory, and their bytes as PNG.

/// Pixels, row by row, three bytes each.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pixels {
    /// Pixels in a row.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// Red, green and blue of each.
    pub rgb: Vec<u8>,
}

impl Pixels {
    /// Half as wide and half as high.
    pub fn halved(&self) -> Pixels {
        self.averaged(2)
    }

    /// Every block of `by` times `by` pixels averaged into one; what is left over at the right and below goes.
    pub fn averaged(&self, by: usize) -> Pixels {
        let (width, height) = (self.width / by as u32, self.height / by as u32);
        let row = self.width as usize * 3;
        let pixels = (by * by) as u32;
        let mut rgb = Vec::with_capacity(self.rgb.len() / (by * by));
        for rows in self.rgb.chunks_exact(row * by) {
            for x in 0..width as usize {
                for channel in 0..3 {
                    let mut sum = 0;
                    for dy in 0..by {
                        for dx in 0..by {
                            sum += u32::from(rows[dy * row + (x * by + dx) * 3 + channel]);
                        }
                    }
                    rgb.push(((sum + pixels / 2) / pixels) as u8);
                }
            }
        }
        Pixels { width, height, rgb }
    }

    /// Puts `other` over these with its upper left corner at (`x`, `y`), as much of it as fits.
    pub fn put(&mut self, other: &Pixels, (x, y): (u32, u32)) {
        let width = other.width.min(self.width.saturating_sub(x)) as usize * 3;
        for row in 0..other.height.min(self.height.saturating_sub(y)) {
            let to = ((y + row) as usize * self.width as usize + x as usize) * 3;
            let from = row as usize * other.width as usize * 3;
            self.rgb[to..to + width].copy_from_slice(&other.rgb[from..from + width]);
        }
    }

    /// Their bytes as PNG.
    pub fn png(&self) -> Vec<u8> {
        self.encoded().unwrap_or_default()
    }

    /// Their bytes as a PNG in greys, which says how many dots there are to a metre.
    pub fn grey_png(&self, dots_m: u32) -> Vec<u8> {
        self.greys(dots_m).unwrap_or_default()
    }

    fn greys(&self, dots_m: u32) -> Result<Vec<u8>, png::EncodingError> {
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, self.width, self.height);
        encoder.set_color(png::ColorType::Grayscale);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_pixel_dims(Some(png::PixelDimensions {
            xppu: dots_m,
            yppu: dots_m,
            unit: png::Unit::Meter,
        }));
        let mut writer = encoder.write_header()?;
        let grey: Vec<u8> = self.rgb.chunks_exact(3).map(|rgb| rgb[1]).collect();
        writer.write_image_data(&grey)?;
        writer.finish()?;
        Ok(bytes)
    }

    /// Writing into memory can fail only where the sizes disagree, and they never do.
    fn encoded(&self) -> Result<Vec<u8>, png::EncodingError> {
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, self.width, self.height);
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        let mut writer = encoder.write_header()?;
        writer.write_image_data(&self.rgb)?;
        writer.finish()?;
        Ok(bytes)
    }
}
