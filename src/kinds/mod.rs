//! The kinds of element, one file each: all that is particular to a kind.
//!
//! Each room below that needs something of a kind says in a trait what that is; here the traits are filled in. Nobody imports
//! these files: `machine/kind.rs` lists the kinds, and what goes for any of them reaches its file through the traits.

mod bell;
mod bowl;
mod chain_lift;
mod escapement;
mod fall;
mod flip_gate;
mod funnel;
mod jump;
mod lift;
mod line;
mod looping;
mod peg;
mod pocket_wheel;
mod ramp;
mod return_floor;
mod screw_lift;
mod see_saw;
mod slide;
mod stair_lift;
mod stroke_lift;
mod swing_arm;
mod tipping_cup;
mod track;
mod trip_gate;
mod weir;
