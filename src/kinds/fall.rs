//! What flip gates, pegs and weirs have in common: one marble at a time falls through.

use crate::circuit::draw::Draw;
use crate::circuit::plan::Plan;
use crate::circuit::planned::Site;
use crate::machine::model::Fall;

/// Makes it ready.
pub fn plan(fall: &Fall, site: &Site) -> Plan {
    Plan {
        room: 1,
        travel: vec![Draw::new(&fall.law())],
        ..site.workshop.blank()
    }
}
