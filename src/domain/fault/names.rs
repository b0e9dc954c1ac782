//! Later.

use super::Fault;
use crate::domain::rig::Rig;

pub(super) fn check(_rig: &Rig, _faults: &mut Vec<Fault>) {}
