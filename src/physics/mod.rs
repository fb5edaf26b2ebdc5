//! From workshop dimensions to behaviour: pure functions, SI numbers in and out.
