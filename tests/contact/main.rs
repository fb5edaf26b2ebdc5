//! Spheres in contact with each other, fixed surfaces and the turning wheel.

#[path = "../support/mod.rs"]
mod support;

mod bowls;
mod floors;
mod interpolated;
mod loops;
mod mouths;
mod rig;
mod rows;
mod spheres;
mod stay_below;
