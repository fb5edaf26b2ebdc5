//! Many runs of one machine or of several.

pub mod compare;
pub mod precision;
pub mod map;
pub mod recall;
pub mod repeat;
pub mod window;

pub use recall::recall;
pub use repeat::repeat;
