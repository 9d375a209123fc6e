//! What the cross-checks share. [`stand`] is also built into the images for a bare processor.

pub mod draw;
pub mod faults;
pub mod latency;
pub mod record_files;
pub mod scene;
pub mod small_world;
pub mod stand;
