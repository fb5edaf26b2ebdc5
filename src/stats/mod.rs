//! Intervals, tests and estimates over `statrs`: what many runs allow one to say.
