//! Placeholder until the crate's story is written.
