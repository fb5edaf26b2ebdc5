//! Where marbles meet each other and the turning wheel: a discrete-element calculation of rigid spheres with spin.
//!
//! Pure as `physics/`, which is all it imports: the same input gives the same bits on every computer.

pub mod chances;
pub mod law;
pub mod passes;
pub mod place;
pub mod pocket_wheel;
pub mod surface;
pub mod vector;
pub mod world;
