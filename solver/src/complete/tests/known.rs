//! Cases whose optimum is known otherwise.
