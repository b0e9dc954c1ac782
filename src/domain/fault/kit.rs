//! Ranges of the electrics, heating and hot water of a rig.
