//! A gate that waits for another place: it lets marbles go by the trips that a lever elsewhere has given it.

/// The trips of a gate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TripState {
    /// Index of the element whose marbles trip it as they come in.
    pub by: usize,
    /// Marbles that it may let go now.
    pub open_for: u32,
    /// Marbles that a trip lets go.
    pub lets: u32,
    /// Most marbles that it may have to let go.
    pub keeps: u32,
}

impl TripState {
    /// A marble has tripped it.
    pub fn trip(&mut self) {
        self.open_for = (self.open_for + self.lets)
            .min(self.keeps)
            .max(self.open_for);
    }
}
