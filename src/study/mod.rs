//! Many runs of one machine or of several.

pub mod assumptions;
pub mod axis;
pub mod bottleneck;
pub mod close_up;
pub mod compare;
mod compared_figures;
pub mod decided;
pub mod diagnose;
pub mod first_jams;
pub mod fit;
pub mod found_window;
pub mod interpolated;
pub mod looks;
pub mod map;
pub mod mend;
pub mod motor_stop;
pub mod precision;
pub mod readings;
pub mod repeat;
pub mod rolling;
pub mod starter;
pub mod tolerance;
pub mod varied;
pub mod window;

pub use repeat::repeat;
