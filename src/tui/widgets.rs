//! Our own widgets: a time axis, bands on it, and the fan of one stock. Inputs in a struct,
//! nothing global, every number clamped before it is drawn.

pub mod axis;
pub mod band;
pub mod fan;
pub mod past;
mod row;
