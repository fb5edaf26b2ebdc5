//! Many runs of one machine or of several.

pub mod repeat;

pub use repeat::repeat;
