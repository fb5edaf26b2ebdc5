//! What a picture shows, and that it can be read.

#[path = "../support/mod.rs"]
mod support;

mod charts;
mod charts_colours;
mod charts_wheel_face;
mod diagnose;
mod layout;
mod map_chart;
mod narrow;
mod profile;
mod template;
mod timeline;
mod tolerance;
